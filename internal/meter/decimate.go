package meter

import (
	"math"

	"tidemark/internal/kernel"
)

// decimator brings a sound down to a low rate, for meters that look at its
// lowest part with fine resolution.
//
// Two filters in a row. The first is a boxcar of d samples put through itself
// four times (a cubic spline): its zeros lie where its rate folds, so that what
// folds onto the usable part of the band is 72 dB down or more. The second halves
// the rate with a short Kaiser-windowed sinc, 80 dB down where its rate folds
// onto 0.22 of the output rate. So much of it is usable; the droop of both filters
// is known: see gain.
type decimator struct {
	d     int // of the first filter
	first []float32
	half  [decimateHalf]float32
	in    []float32 // samples from the first one that the next output of the first filter needs
	n     int
	mid   []float32 // the same for the second filter
	k     int
}

// lowSound is the lowest part of a sound: the decimator with room for what comes
// out. The meters that look there share one, so that every sample is filtered once.
type lowSound struct {
	dec *decimator
	out []float32
}

func newLowSound(rateHz int) *lowSound {
	return &lowSound{dec: newDecimator(rateHz), out: make([]float32, 256)}
}

// decimateHalf is the length of the second filter: (80−8)/(2.285·2π·0.28)+1,
// by Kaiser's formula for a transition from 0.11 to 0.39 of its input rate.
const decimateHalf = 19

// newDecimator brings a rate from 8.7 kHz up down to between 2.1 and 3.7 kHz (the
// usual ones from 44.1 kHz up to 2.7 to 3 kHz), and halves a lower one.
func newDecimator(rateHz int) *decimator {
	d := max(1, int(math.Round(float64(rateHz)/2/2900)))
	m := &decimator{d: d}
	box := []float64{1}
	for range 4 {
		wider := make([]float64, len(box)+d-1)
		for i, v := range box {
			for k := range d {
				wider[i+k] += v / float64(d)
			}
		}
		box = wider
	}
	for _, v := range box {
		m.first = append(m.first, float32(v))
	}
	const beta = 7.857 // Kaiser's 0.1102·(80−8.7)
	sum := 0.0
	var taps [decimateHalf]float64
	for i := range taps {
		t := float64(i) - (decimateHalf-1)/2
		s := 0.5
		if t != 0 {
			s = math.Sin(math.Pi*t/2) / (math.Pi * t)
		}
		u := 2 * t / (decimateHalf - 1)
		taps[i] = s * besselI0(beta*math.Sqrt(max(1-u*u, 0)))
		sum += taps[i]
	}
	for i := range taps {
		m.half[i] = float32(taps[i] / sum)
	}
	// Zeros before the sound, so that its first samples are heard in full.
	m.in = make([]float32, len(m.first)+64*d)
	m.n = len(m.first) - 1
	m.mid = make([]float32, decimateHalf+64)
	m.k = decimateHalf - 1
	return m
}

// factor is how many input samples make one output sample.
func (m *decimator) factor() int { return 2 * m.d }

// tail is how many zeros bring out the last of the sound.
func (m *decimator) tail() int { return len(m.first) + 2*m.d*decimateHalf }

// gain is the gain at a frequency, in parts of the output rate.
func (m *decimator) gain(f float64) float64 {
	g := 1.0
	if w := math.Pi * f / float64(2*m.d); w > 0 && m.d > 1 {
		s := math.Sin(w*float64(m.d)) / (float64(m.d) * math.Sin(w))
		g = s * s * s * s
	}
	h := 0.0
	for i, v := range m.half {
		h += float64(v) * math.Cos(math.Pi*f*(float64(i)-(decimateHalf-1)/2))
	}
	return g * h
}

// next filters samples of x, and returns what came out, good until the next
// call, and what is left of x; more says that there is reason to call again.
func (l *lowSound) next(x []float32) (low, rest []float32, more bool) {
	rest, made := l.dec.push(x, l.out)
	return l.out[:made], rest, made == len(l.out)
}

// ended is what still lies in the filters, brought out on a copy.
func (l *lowSound) ended() (low []float32) {
	c := lowSound{dec: l.dec.apart(), out: make([]float32, len(l.out))}
	x := make([]float32, c.dec.tail())
	for more := true; more; {
		var part []float32
		part, x, more = c.next(x)
		low = append(low, part...)
	}
	return low
}

// push filters the samples of x that fit, writes what comes out to out[:made],
// and returns the rest of x. It makes no more than len(out) samples.
func (m *decimator) push(x, out []float32) (rest []float32, made int) {
	for {
		k := copy(m.in[m.n:], x)
		m.n += k
		x = x[k:]
		taps := m.first
		outs := min(max(m.n-len(taps)+m.d, 0)/m.d, len(m.mid)-m.k)
		kernel.Decimate(m.mid[m.k:m.k+outs], m.in[:m.n], taps, m.d)
		m.k += outs
		m.n = copy(m.in, m.in[outs*m.d:m.n])
		outs = min(max(m.k-decimateHalf+2, 0)/2, len(out)-made)
		kernel.Decimate(out[made:made+outs], m.mid[:m.k], m.half[:], 2)
		made += outs
		m.k = copy(m.mid, m.mid[2*outs:m.k])
		if len(x) == 0 && (m.n < len(taps) || made == len(out)) || made == len(out) {
			return x, made
		}
	}
}

// apart is a copy that goes its own way.
func (m *decimator) apart() *decimator {
	c := *m
	c.in, c.mid = append([]float32(nil), m.in...), append([]float32(nil), m.mid...)
	return &c
}

// besselI0 is the modified Bessel function of order 0, by its power series.
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1; term > 1e-17*sum; k++ {
		term *= x / 2 / float64(k)
		term *= x / 2 / float64(k)
		sum += term
	}
	return sum
}
