package meter

import (
	"slices"

	"tidemark/internal/kernel"
)

// tape is the latest stretch of a channel, kept for the meters that look at more
// than the samples of the moment. They share one, so that the sound is copied
// once, whoever looks at it.
type tape struct {
	store []float32 // made at the first sample: by then all views are known
	tops  []uint32  // magnitude of the largest of each run of eight in store, as bits
	n     int       // samples held
	start int64     // frame of store[0]
	back  int       // zeros before the first sample
	keep  int       // samples of the longest view
}

// view gives a meter its own look at the tape, in steps of fixed length, so that
// how the caller cut the signal into blocks cannot change a reading. Views are
// taken before the first sample.
//
// A view is back samples already looked at, step samples to look at now, and
// ahead samples yet to come. Before the first sample of the recording lie zeros.
func (t *tape) view(back, step, ahead int) tapeView {
	t.back = max(t.back, back)
	t.keep = max(t.keep, (back+step+ahead+kernel.TopRun-1)/kernel.TopRun*kernel.TopRun)
	return tapeView{tape: t, length: back + step + ahead, back: back, ahead: ahead, start: int64(-back)}
}

// put takes what fits of x and returns the rest. Then every view has to be moved
// on as far as it goes.
func (t *tape) put(x []float32) (rest []float32) {
	if t.store == nil {
		t.store = make([]float32, 3*t.keep)
		t.tops = make([]uint32, len(t.store)/kernel.TopRun)
		t.n, t.start = t.back, int64(-t.back)
	}
	if t.n == len(t.store) { // by whole runs
		gone := t.n - t.keep
		t.start += int64(gone)
		t.n = copy(t.store, t.store[gone:])
		copy(t.tops, t.tops[gone/kernel.TopRun:])
	}
	k := copy(t.store[t.n:], x)
	known := t.n / kernel.TopRun
	t.n += k
	kernel.Tops(t.tops[known:t.n/kernel.TopRun], t.store[known*kernel.TopRun:])
	return x[k:]
}

// peak is the magnitude of the largest sample from one frame up to another, as
// bits (see kernel.MaxAbs). All must be on the tape.
func (t *tape) peak(from, to int64) uint32 {
	a, b := int(from-t.start), int(to-t.start)
	lo, hi := (a+kernel.TopRun-1)/kernel.TopRun, b/kernel.TopRun
	if lo >= hi {
		return kernel.MaxAbs(t.store[a:b])
	}
	top := kernel.MaxTop(t.tops[lo:hi])
	if edge := t.store[a : lo*kernel.TopRun]; len(edge) > 0 {
		top = max(top, kernel.MaxAbs(edge))
	}
	if edge := t.store[hi*kernel.TopRun : b]; len(edge) > 0 {
		top = max(top, kernel.MaxAbs(edge))
	}
	return top
}

// largest is peak of the samples x, which begin at a frame; without a tape it
// looks at them itself.
func (t *tape) largest(x []float32, from int64) uint32 {
	if t == nil {
		return kernel.MaxAbs(x)
	}
	return t.peak(from, from+int64(len(x)))
}

// tapeView is a meter's look at a tape.
type tapeView struct {
	tape        *tape
	length      int
	back, ahead int
	buf         []float32 // what there is to look at, between next and slide
	n           int       // samples in it
	start       int64     // frame of buf[0]
}

// next says whether a step has come in whole. The meter then looks at
// buf[back : len(buf)-ahead] and calls slide.
func (w *tapeView) next() bool {
	t := w.tape
	from := int(w.start - t.start)
	if t.store == nil || from+w.length > t.n {
		return false
	}
	w.buf, w.n = t.store[from:from+w.length], w.length
	return true
}

// slide goes on by a step.
func (w *tapeView) slide() { w.start += int64(w.length - w.back - w.ahead) }

// ended is a copy whose samples to come are zeros: what Reading looks at.
func (w *tapeView) ended() tapeView {
	c := *w
	var held []float32
	if t := w.tape; t.store != nil {
		held = t.store[int(w.start-t.start):t.n]
	} else {
		held = make([]float32, w.back)
	}
	c.n = len(held)
	c.buf = make([]float32, c.n+w.ahead)
	copy(c.buf, held)
	c.tape = nil
	return c
}

// peak is the magnitude of the largest sample of buf[lo:hi], as bits.
func (w *tapeView) peak(lo, hi int) uint32 {
	return w.tape.largest(w.buf[lo:hi], w.start+int64(lo))
}

// frames is how many frames have been put in: of an ended view.
func (w *tapeView) frames() int64 { return w.start + int64(w.n) }

// apart is a copy of the events whose growth leaves e alone.
func (e *Events) apart() Events {
	c := *e
	c.Kept = slices.Clone(e.Kept)
	return c
}
