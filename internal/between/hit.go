package between

import "math"

// Hit is one stretch of one line, typically 0.25 to 0.5 s from about 20 ms
// before a hit, made ready to be measured against the same stretch of any number
// of other lines: what needs one line alone is done once. It keeps a copy of
// the stretch, and its memory serves the next one.
type Hit struct {
	x       []float32
	mean    float64
	power   float64 // Σ without the mean, of the whole stretch
	steady  bool
	seconds float64 // effective length of the piece
	tells   bool    // long enough, with sound in it, and all numbers
	spectrum
}

// spectrum of a piece on the grid, brought to energy 1.
type spectrum struct {
	s      []complex64
	white  []float32 // factor that whitens each bin
	energy float64   // that it had
	band   [octaves]float64
}

// Hit makes one ready; old is used again where it is not nil.
func (l *Lags) Hit(old *Hit, x []float32) *Hit {
	h := old
	if h == nil {
		h = &Hit{}
	}
	h.x = append(h.x[:0], x...)
	h.listen(l)
	return h
}

// listen prepares the stretch that h.x holds.
func (h *Hit) listen(l *Lags) {
	h.tells = false
	h.power, h.mean = lineSums(h.x)
	if len(h.x) < l.least || !(h.power > 0) || math.IsInf(h.power, 0) {
		return
	}
	n := min(len(h.x), l.piece)
	h.steady, h.seconds = envelope(h.x[:n], h.mean, l.rate)
	w := l.fade
	if n != l.piece {
		w = tukey(n, int(fadeInS*l.rate))
	}
	h.transform(l, h.x[:n], h.mean, w)
	h.tells = h.finish(l)
}

// transform windows a piece without its mean and keeps its spectrum up to half the grid's rate.
func (s *spectrum) transform(l *Lags, x []float32, mean float64, w []float32) {
	m := float32(mean)
	for i, v := range x {
		l.x[i] = (v - m) * w[i]
	}
	clear(l.x[len(x):])
	l.input.Forward(l.full, l.x)
	s.s = append(s.s[:0], l.full[:len(l.cross)]...)
}

// finish brings the spectrum to energy 1 and finds what whitens it: its smooth
// course, so that in what follows the skirts of a loud low end do not pass for
// sound in higher bins. The course is the mean power within a quarter octave
// around; a real positive factor moves no phase. It reports whether sound is left.
func (s *spectrum) finish(l *Lags) bool {
	// Under 20 Hz there is no sound, only stands, doors and offsets.
	clear(s.s[:l.low])
	sum, top := 0.0, 0.0
	for k, v := range s.s {
		e := float64(real(v))*float64(real(v)) + float64(imag(v))*float64(imag(v))
		l.power[k] = e
		sum += e
		l.running[k+1] = sum
		top = max(top, e)
	}
	s.energy = sum
	if !(sum > 0) || math.IsInf(sum, 0) {
		return false
	}
	for i, b := range l.bands {
		s.band[i] = 0
		if b[0] < b[1] {
			s.band[i] = max(0, l.running[b[1]]-l.running[b[0]])
		}
	}
	if cap(s.white) < len(s.s) {
		s.white = make([]float32, len(s.s))
	}
	s.white = s.white[:len(s.s)]
	floor := whitenFloor * top
	g := 1 / math.Sqrt(sum)
	root, g32 := math.Sqrt(sum), float32(g)
	for k, v := range s.s {
		wide := max(4, k/12)
		lo, hi := max(0, k-wide), min(len(s.s), k+wide+1)
		mean := (l.running[hi] - l.running[lo]) * l.one[hi-lo]
		// The running sum has lost what lies 150 dB under the rest.
		s.white[k] = float32(root / math.Sqrt(max(mean, 0)+floor))
		s.s[k] = complex(real(v)*g32, imag(v)*g32)
	}
	return true
}

// lineSums returns the power of a stretch without its mean, and the mean.
func lineSums(x []float32) (power, mean float64) {
	if len(x) == 0 {
		return 0, 0
	}
	var s0, s1 float64
	i := 0
	for ; i+1 < len(x); i += 2 {
		s0 += float64(x[i])
		s1 += float64(x[i+1])
	}
	if i < len(x) {
		s0 += float64(x[i])
	}
	n := float64(len(x))
	mean = (s0 + s1) / n
	all := product(x, x) // added up as that of two lines is: equal lines have equal sums
	power = all - n*mean*mean
	// A line with nothing but an offset is silent: what is left is rounding.
	if power <= 1e-12*all {
		power = 0
	}
	return power, mean
}

// envelope looks at the power in blocks of 20 ms. steady: the blocks lie within
// 4 dB, as those of hum, hiss and held notes do. seconds is the effective
// length (Σp)²/Σp²: a short hit fills little of its window.
func envelope(x []float32, mean, rate float64) (steady bool, seconds float64) {
	block := max(int(0.02*rate), 1)
	var sum, square, lo, hi float64
	lo = math.Inf(1)
	for at := 0; at < len(x); at += block {
		part := x[at:min(len(x), at+block)]
		e := 0.0
		for _, v := range part {
			d := float64(v) - mean
			e += d * d
		}
		sum += e
		square += e * e
		if len(part) == block {
			lo, hi = min(lo, e), max(hi, e)
		}
	}
	if square > 0 {
		seconds = sum * sum / square * 0.02
	}
	return hi > 0 && hi < 2.5*lo, min(seconds, float64(len(x))/rate)
}
