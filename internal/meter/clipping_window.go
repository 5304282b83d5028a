package meter

import "slices"

// faultWindow gives a fault meter the samples around the ones it looks at. It
// hands them over in steps of fixed length, so that how the caller cut the
// signal into blocks cannot change a reading.
//
// buf holds back samples already looked at, step samples to look at now, and
// ahead samples yet to come. Before the first sample lie back zeros.
type faultWindow struct {
	buf         []float32
	n           int // samples held
	back, ahead int
	start       int64 // frame of buf[0]
}

func newFaultWindow(back, step, ahead int) faultWindow {
	return faultWindow{buf: make([]float32, back+step+ahead), n: back, back: back, ahead: ahead, start: int64(-back)}
}

// put takes what fits of x, and returns the rest and whether a step is complete.
// The caller then looks at buf[back : len(buf)-ahead] and calls slide.
func (w *faultWindow) put(x []float32) (rest []float32, full bool) {
	k := copy(w.buf[w.n:], x)
	w.n += k
	return x[k:], w.n == len(w.buf)
}

func (w *faultWindow) slide() {
	keep := w.back + w.ahead
	copy(w.buf, w.buf[w.n-keep:w.n])
	w.start += int64(w.n - keep)
	w.n = keep
}

// ended is a copy whose samples to come are zeros: what Reading looks at.
func (w *faultWindow) ended() faultWindow {
	c := *w
	c.buf = make([]float32, w.n+w.ahead)
	copy(c.buf, w.buf[:w.n])
	return c
}

// frames is how many frames have been put in.
func (w *faultWindow) frames() int64 { return w.start + int64(w.n) }

// apart is a copy of the events whose growth leaves e alone.
func (e *Events) apart() Events {
	c := *e
	c.Kept = slices.Clone(e.Kept)
	return c
}
