package material

import "math"

// sincReach is how many zero crossings of the kernel lie on each side.
const sincReach = 12

// Resample returns x at another rate: windowed-sinc interpolation, its cutoff at
// the lower of the two Nyquist frequencies.
func Resample(x []float32, from, to int) []float32 {
	if from == to || len(x) == 0 {
		return x
	}
	step := float64(from) / float64(to)
	cut := math.Min(1, 1/step) * 0.95
	reach := float64(sincReach) / cut
	out := make([]float32, int(float64(len(x))/step))
	for n := range out {
		at := float64(n) * step
		var sum float64
		for k := max(int(math.Ceil(at-reach)), 0); k <= min(int(at+reach), len(x)-1); k++ {
			d := float64(k) - at
			w := 0.5 + 0.5*math.Cos(math.Pi*d/reach)
			s := cut
			if d != 0 {
				s = math.Sin(math.Pi*cut*d) / (math.Pi * d)
			}
			sum += float64(x[k]) * s * w
		}
		out[n] = float32(sum)
	}
	return out
}

// trim cuts leading near-silence so that a hit begins where it is put.
func trim(x []float32) []float32 {
	var peak float32
	for _, v := range x {
		peak = max(peak, v, -v)
	}
	for i, v := range x {
		if max(v, -v) > peak/100 {
			return x[max(0, i-16):]
		}
	}
	return nil
}

// scaled copies x so that its peak is to.
func scaled(x []float32, to float64) []float32 {
	var peak float32
	for _, v := range x {
		peak = max(peak, v, -v)
	}
	out := make([]float32, len(x))
	if peak > 0 {
		g := float32(to) / peak
		for i, v := range x {
			out[i] = v * g
		}
	}
	return out
}

// edged takes the offset out of a clip and fades its ends, in place. A clip that
// was cut with a step would bring a click that no microphone line has.
func edged(x []float32, rateHz int, inS, outS float64) []float32 {
	var sum float64
	for _, v := range x {
		sum += float64(v)
	}
	mean := float32(sum / float64(max(len(x), 1)))
	in, out := int(inS*float64(rateHz)), int(outS*float64(rateHz))
	for i := range x {
		x[i] -= mean
		if i < in {
			x[i] *= float32(i) / float32(in)
		}
		if k := len(x) - 1 - i; k < out {
			x[i] *= float32(k) / float32(out)
		}
	}
	return x
}
