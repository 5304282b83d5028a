package meter

import "math/bits"

// bufferLengths are the lengths of a buffer that a repeat is looked for at:
// what drivers and recorders commonly use (common practice, no source).
var bufferLengths = [...]int{64, 128, 256, 441, 480, 512, 882, 960, 1024, 2048}

const (
	longestBuffer = 2048
	repeatSlack   = 4 // samples by which equality may outlast a buffer by chance
	// repeatBack is how far back the buffer before three copies of the longest lies.
	repeatBack = 4*longestBuffer + 32
)

// repeatStrides are how far apart the looks for a buffer of each length are: the
// power of two at or below a quarter of it, so that three looks or more fall into
// every repeat, one of them surely on a sample that is not zero.
var repeatStrides = func() (s [len(bufferLengths)]int64) {
	for k, n := range bufferLengths {
		s[k] = 1 << (bits.Len(uint(n/4)) - 1)
	}
	return s
}()

// repeatRun is a stretch over which the sound equals itself one buffer earlier.
type repeatRun struct {
	open bool
	from int64 // first equal frame
	next int64 // first frame not compared yet
}

// scanRepeats compares buf[lo:hi] with itself one buffer earlier: a sample here
// and there, and all of them where those agree.
func (m *Dropout) scanRepeats(lo, hi int) {
	buf := m.win.buf
	for k, length := range bufferLengths {
		r := &m.lags[k]
		if r.open {
			m.follow(r, length, hi)
		}
		stride := repeatStrides[k]
		first := lo + int(-(m.win.start+int64(lo))&(stride-1)) // frames divisible by the stride
		for i := first; i < hi; i += int(stride) {
			v := buf[i]
			if v != buf[i-length] || v == 0 || r.open || m.win.start+int64(i) < r.next {
				continue
			}
			if buf[i-1] != buf[i-1-length] || buf[i-2] != buf[i-2-length] || m.win.start+int64(i-length) < 2 {
				continue
			}
			from := i - 2
			for from > m.win.back-longestBuffer && buf[from-1] == buf[from-1-length] {
				from--
			}
			r.open, r.from, r.next = true, m.win.start+int64(from), m.win.start+int64(i+1)
			m.follow(r, length, hi)
		}
	}
}

// follow carries an open stretch on up to hi, and judges it where it ends.
func (m *Dropout) follow(r *repeatRun, length, hi int) {
	buf := m.win.buf
	i := int(r.next - m.win.start)
	for ; i < hi; i++ {
		if buf[i] != buf[i-length] {
			r.open, r.next = false, m.win.start+int64(i)
			m.judgeRepeat(r, length, i)
			return
		}
	}
	r.next = m.win.start + int64(i)
}

// judgeRepeat counts a stretch that ended before buf[i] if it is one or two
// whole buffers long, sounds, and has no shorter period.
func (m *Dropout) judgeRepeat(r *repeatRun, length, i int) {
	n := int(m.win.start + int64(i) - r.from)
	copies := n / length
	if copies < 1 || copies > 2 || n-copies*length > repeatSlack || r.from < int64(length) {
		return
	}
	at := i - n // first equal sample
	x := m.win.buf[at-length : at]
	var power float64
	for _, v := range x {
		power += float64(v) * float64(v)
	}
	if !(power > holeSoft*holeSoft*float64(length)) || periodic(x) {
		return
	}
	if before := m.win.buf[at-2*length : at-length]; alike(x, before) {
		return // a synthetic tone whose period is the buffer
	}
	m.repeats.add(Run{Frame: r.from, Frames: int64(n), Amplitude: peakOf(x)})
}

// periodic says whether x repeats itself within half its length: a synthetic tone.
func periodic(x []float32) bool {
	for p := 1; p <= len(x)/2; p++ {
		if alike(x[p:], x[:len(x)-p]) {
			return true
		}
	}
	return false
}

// alike says whether a and b, of one length, are equal to a few steps of 16 bits.
func alike(a, b []float32) bool {
	for i, v := range a {
		if !within(v, b[i], 4*lsb16) {
			return false
		}
	}
	return true
}

// endRepeats judges stretches that last to the end of the recording.
func (m *Dropout) endRepeats(end int) {
	for k, length := range bufferLengths {
		if r := &m.lags[k]; r.open {
			m.judgeRepeat(r, length, end)
		}
	}
}
