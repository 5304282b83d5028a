package band

import "math"

// kernelTaps is the length of the interpolator that delays by a fraction of a
// frame: a windowed sinc, flat within 0.1 dB up to 0.3 of the rate.
const kernelTaps = 8

// leadFrames is a delay that every line has, direct ones too, so that a source
// nearer than the kernel's half length needs no frames from the future.
const leadFrames = kernelTaps / 2

// kernel for a delay of whole + frac frames. The filter
// y[n] = Σ k[j]·x[n − whole − leadFrames − 4 + j + 1 …] is laid out for addDelayed.
func kernel(frac float64, gain float64) (k [kernelTaps]float32) {
	var h [kernelTaps]float64
	sum := 0.0
	for j := range h {
		// Tap j looks at the frame j − 3 after the wanted whole delay's frame, and
		// the wanted point lies frac before it.
		t := float64(j-kernelTaps/2+1) - (1 - frac)
		w := math.Cos(math.Pi * t / (kernelTaps + 1))
		h[j] = sinc(t) * w * w
		sum += h[j]
	}
	for j := range h {
		k[j] = float32(gain * h[j] / sum)
	}
	return k
}

func sinc(t float64) float64 {
	if t == 0 {
		return 1
	}
	return math.Sin(math.Pi*t) / (math.Pi * t)
}

// addDelayed adds the kernel's view of src to dst; src holds kernelTaps − 1
// frames more than dst.
func addDelayed(dst, src []float32, k *[kernelTaps]float32) {
	k0, k1, k2, k3, k4, k5, k6, k7 := k[0], k[1], k[2], k[3], k[4], k[5], k[6], k[7]
	src = src[:len(dst)+kernelTaps-1]
	for i := range dst {
		s := src[i : i+kernelTaps : i+kernelTaps]
		dst[i] += (k0*s[0] + k1*s[1]) + (k2*s[2] + k3*s[3]) + (k4*s[4] + k5*s[5]) + (k6*s[6] + k7*s[7])
	}
}

func addScaled(dst, src []float32, g float32) {
	src = src[:len(dst)]
	for i := range dst {
		dst[i] += g * src[i]
	}
}

// addTwo is addScaled for two sounds at once.
func addTwo(dst, a, b []float32, ga, gb float32) {
	a, b = a[:len(dst)], b[:len(dst)]
	for i := range dst {
		dst[i] += ga*a[i] + gb*b[i]
	}
}

// path is one way from a source to a microphone: straight, with a kernel.
type path struct {
	source int
	back   int // frames that the kernel's first tap lies behind the output frame
	k      [kernelTaps]float32
	dull   *onePole // through a screen; nil in the open
}

// echo is one reflection: whole frames, a gain, and the source's dulled sound.
type echo struct {
	source int
	back   int
	gain   float32
}

// straight is the direct path from s to m, and its delay in frames.
func straight(s *Source, m *Mic, delayFrames, gain float64) path {
	whole := math.Floor(delayFrames)
	frac := delayFrames - whole
	// Tap 0 is 3 frames before frame n − whole − 1, in which the kernel counts
	// frac from the later neighbour.
	return path{back: int(whole) + leadFrames + kernelTaps/2, k: kernel(frac, gain)}
}

// loudness of s at m along the way from p (the source or its mirror image).
func spread(s *Source, m *Mic, from Point, facing Point) float64 {
	way := m.Pos.Sub(from)
	r := way.Length()
	g := 1 / math.Sqrt(r*r+s.SizeM*s.SizeM)
	if s.Beam > 0 {
		g *= max(rearFloor, 1-s.Beam+s.Beam*cosine(facing, way))
	}
	p := float64(m.Pattern)
	if m.Aim.Length() > 0 {
		g *= p + (1-p)*cosine(m.Aim, way.Times(-1))
	}
	return g
}

// mirrors are the six images of p in the walls of a room, and of a direction.
func mirrors(r Room, p, facing Point) (at, turned [6]Point) {
	for i := range at {
		at[i], turned[i] = p, facing
	}
	at[0].X, turned[0].X = -p.X, -facing.X
	at[1].X, turned[1].X = 2*r.Size.X-p.X, -facing.X
	at[2].Y, turned[2].Y = -p.Y, -facing.Y
	at[3].Y, turned[3].Y = 2*r.Size.Y-p.Y, -facing.Y
	at[4].Z, turned[4].Z = -p.Z, -facing.Z
	at[5].Z, turned[5].Z = 2*r.Size.Z-p.Z, -facing.Z
	return at, turned
}
