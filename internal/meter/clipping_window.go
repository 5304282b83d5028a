package meter

import "slices"

// faultWindow gives a fault meter the samples around the ones it looks at. It
// hands them over in steps of fixed length, so that how the caller cut the
// signal into blocks cannot change a reading.
//
// buf holds back samples already looked at, step samples to look at now, and
// ahead samples yet to come. Before the first sample lie back zeros.
//
// The buffer moves along a longer store and is copied back to its front only when
// it comes to the end: what lies around is often longer than a step.
type faultWindow struct {
	store       []float32
	at          int       // where buf lies in it
	buf         []float32 // store[at:][:back+step+ahead]
	n           int       // samples held
	back, ahead int
	start       int64 // frame of buf[0]
}

func newFaultWindow(back, step, ahead int) faultWindow {
	w := faultWindow{store: make([]float32, back+step+ahead+back+ahead), n: back, back: back, ahead: ahead, start: int64(-back)}
	w.buf = w.store[:back+step+ahead]
	return w
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
	step := w.n - keep
	if w.at += step; w.at+len(w.buf) > len(w.store) {
		copy(w.store, w.buf[step:w.n])
		w.at = 0
	}
	w.buf = w.store[w.at:][:len(w.buf)]
	w.start += int64(step)
	w.n = keep
}

// ended is a copy whose samples to come are zeros: what Reading looks at.
func (w *faultWindow) ended() faultWindow {
	c := *w
	c.buf = make([]float32, w.n+w.ahead)
	copy(c.buf, w.buf[:w.n])
	c.store, c.at = c.buf, 0
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
