package flac

import (
	"encoding/binary"
	"errors"
	"io"
	"math/bits"
)

const (
	// windowBytes is the usual size of the window: one read from the disk.
	windowBytes = 256 << 10
	// maxCoded is the most that a coded block may take. 65535 samples of 8
	// channels of 32 bits are 2 MiB where nothing is compressed.
	maxCoded = 4 << 20
)

// window is the stretch of the file that is held, and a reader of bits in it.
// Bits are taken from the front of cache; below the first have bits it may hold
// the ones that come next, which loading them again does not change.
type window struct {
	r     io.ReaderAt
	size  int64 // of the file
	base  int64 // byte of the file at buf[0]
	buf   []byte
	start int // of the coded block in buf: what must be kept

	pos   int // of the next byte to load
	cache uint64
	have  uint // valid bits in cache
	short bool // bits were asked for that are not there
	err   error
}

// seek moves to a byte of the file, where a coded block is to begin.
func (w *window) seek(at int64) {
	if at < w.base || at > w.base+int64(len(w.buf)) {
		w.base, w.buf = at, w.buf[:0]
	}
	w.start = int(at - w.base)
	w.pos, w.cache, w.have, w.short = w.start, 0, 0, false
}

// at is the byte of the file that comes next; bits must be aligned.
func (w *window) at() int64 { return w.base + int64(w.pos) - int64(w.have/8) }

// more loads bytes behind those held, and says whether there were any.
func (w *window) more() bool {
	end := w.base + int64(len(w.buf))
	if end >= w.size || w.err != nil {
		return false
	}
	if w.start > 0 {
		w.buf = w.buf[:copy(w.buf, w.buf[w.start:])]
		w.base += int64(w.start)
		w.pos -= w.start
		w.start = 0
	}
	held := len(w.buf)
	if held >= maxCoded {
		return false
	}
	want := max(2*held, windowBytes) // of room
	if cap(w.buf) < want {
		want = int(min(int64(want), w.size-w.base))
	}
	if cap(w.buf) < want {
		grown := make([]byte, held, want)
		copy(grown, w.buf)
		w.buf = grown
	}
	space := w.buf[held:min(int64(cap(w.buf)), w.size-w.base)]
	n, err := w.r.ReadAt(space, end)
	w.buf = w.buf[:held+n]
	if n < len(space) {
		w.size = end + int64(n) // the file became shorter, or cannot be read
		if !errors.Is(err, io.EOF) {
			w.err = err
		}
	}
	return n > 0
}

// refill makes at least 57 bits valid, or as many as there are.
func (w *window) refill() {
	if w.pos+8 <= len(w.buf) {
		w.cache |= binary.BigEndian.Uint64(w.buf[w.pos:]) >> w.have
		n := (63 - w.have) >> 3
		w.pos += int(n)
		w.have += 8 * n
		return
	}
	for w.have <= 56 {
		if w.pos >= len(w.buf) && !w.more() {
			return
		}
		w.cache |= uint64(w.buf[w.pos]) << (56 - w.have)
		w.pos++
		w.have += 8
	}
}

// bits takes n bits, up to 33; 0 and short where they are not there.
func (w *window) bits(n uint) uint64 {
	if n > w.have {
		if w.refill(); n > w.have {
			w.short = true
			return 0
		}
	}
	x := w.cache >> (64 - n)
	w.cache <<= n
	w.have -= n
	return x
}

// signed takes a two's complement number of n bits, 0 to 33.
func (w *window) signed(n uint) int64 {
	if n == 0 {
		return 0
	}
	return int64(w.bits(n)<<(64-n)) >> (64 - n)
}

// unary counts zeros up to the next one, which it takes too. What no coded
// block could hold ends it.
func (w *window) unary() uint64 {
	zeros := uint64(0)
	for {
		if w.have == 0 {
			if w.refill(); w.have == 0 {
				w.short = true
				return 0
			}
		}
		if z := uint(bits.LeadingZeros64(w.cache)); z < w.have {
			w.cache <<= z + 1
			w.have -= z + 1
			return zeros + uint64(z)
		}
		zeros += uint64(w.have)
		w.cache, w.have = 0, 0
	}
}

// align drops the bits up to the next byte.
func (w *window) align() {
	n := w.have % 8
	w.cache <<= n
	w.have -= n
}
