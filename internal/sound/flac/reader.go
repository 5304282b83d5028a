package flac

import (
	"crypto/md5"
	"errors"
	"fmt"
	"hash"
	"io"

	"tidemark/internal/sound"
)

// Reader streams the sound of one FLAC file. It fulfils sound.Reader.
type Reader struct {
	header sound.Header
	damage []sound.Damage
	info   streamInfo
	w      window
	first  int64 // byte of the first coded block
	origin int64 // what the encoder counts the first sample as, 0 nearly always

	// What is decoded and not yet given: silence for what was lost, then the
	// rest of the block.
	samples [][]int64
	from    int // in samples
	to      int
	silence int64
	next    int64 // frame that Read gives next
	decoded int64 // frame behind everything decoded, silence included
	skip    int64 // frame that a seek asked for, where it lies ahead of next
	blocks  int64 // coded blocks decoded since the beginning or the last seek

	sum      hash.Hash // of the sound so far, nil once something was left out
	packed   []byte
	finished bool
	err      error
}

var _ sound.Reader = (*Reader)(nil)

// Open reads the metadata of a FLAC file of size bytes, and no sample.
// Header().Frames is −1 where the encoder did not know the length. Errors about
// the contents are *sound.FormatError.
func Open(r io.ReaderAt, size int64) (*Reader, error) {
	info, first, err := readMetadata(r, size)
	if err != nil {
		return nil, err
	}
	f := &Reader{info: info, first: first, w: window{r: r, size: size}}
	f.header = sound.Header{
		Format: sound.Format{
			Container: "FLAC", Encoding: sound.Integer,
			Bits: int(info.bits), RateHz: info.rateHz, Channels: info.channels,
		},
		Frames: info.samples,
	}
	if info.samples == 0 {
		f.header.Frames = -1
	}
	if first >= size && info.samples == 0 {
		f.header.Frames = 0
	}
	if info.minBlock < 16 || info.minBlock > info.maxBlock {
		f.note("odd", 0, 0, "metadata block at byte %d declares blocks of %d to %d samples, expected at least 16", behindID3(r)+4, info.minBlock, info.maxBlock)
	}
	f.w.seek(first)
	// A stream that was cut out of a longer one begins with a higher number.
	if h, err := f.w.readHeader(&f.info); err == nil && h.first > 0 {
		f.origin = h.first
		f.note("odd", 0, 0, "the first block at byte %d is numbered as sample %d; the file was cut out of a longer one", first, h.first)
	}
	if f.w.err != nil {
		return nil, &sound.FormatError{Text: "the first block could not be read", Err: f.w.err}
	}
	f.header.Damage = f.damage
	f.rewind()
	return f, nil
}

// Header is what the metadata tells.
func (r *Reader) Header() sound.Header { return r.header }

// Damage lists what was found wrong so far.
func (r *Reader) Damage() []sound.Damage { return r.damage }

// note adds damage once: a second reading finds the same again. A thousand
// places are more than anyone will listen to.
func (r *Reader) note(kind string, declared, held int64, text string, args ...any) {
	d := sound.Damage{Kind: kind, Text: fmt.Sprintf(text, args...), DeclaredFrames: declared, HeldFrames: held}
	for _, known := range r.damage {
		if known == d {
			return
		}
	}
	if len(r.damage) < 1000 {
		r.damage = append(r.damage[:len(r.damage):len(r.damage)], d)
	}
}

// rewind begins again, with a new sum.
func (r *Reader) rewind() {
	r.w.seek(r.first)
	r.from, r.to, r.silence = 0, 0, 0
	r.next, r.decoded, r.skip, r.blocks = 0, 0, 0, 0
	r.finished = false
	r.sum = nil
	if r.info.md5 != [md5.Size]byte{} { // all zero: not set, §8.2
		r.sum = md5.New()
	}
}

// Read does what sound.Reader asks of it. What cannot be decoded is silence and
// noted in Damage.
func (r *Reader) Read(b *sound.Block) error {
	if len(b.Channels) != r.info.channels {
		panic(fmt.Sprintf("flac: block of %d channels for sound of %d", len(b.Channels), r.info.channels))
	}
	if b.Room() == 0 {
		panic("flac: block without room")
	}
	b.Start = r.next
	b.Resize(0)
	if r.skip > r.next {
		if err := r.skipTo(r.skip); err != nil {
			return err
		}
		b.Start = r.next
	}
	room := b.Room()
	b.Resize(room)
	done := 0
	for done < room {
		if r.silence == 0 && r.from == r.to {
			if !r.decode() {
				break
			}
			continue
		}
		n := room - done
		if r.silence > 0 {
			n = int(min(int64(n), r.silence))
			for _, c := range b.Channels {
				clear(c[done : done+n])
			}
			r.silence -= int64(n)
		} else {
			n = min(n, r.to-r.from)
			scale := 1 / float32(uint64(1)<<(r.info.bits-1))
			for c, out := range b.Channels {
				in, out := r.samples[c][r.from:r.from+n], out[done:done+n]
				for i, x := range in {
					out[i] = float32(x) * scale
				}
			}
			r.from += n
		}
		done += n
	}
	b.Resize(done)
	r.next += int64(done)
	if done > 0 {
		return nil
	}
	if r.err != nil {
		return r.err
	}
	return io.EOF
}

// decode gets the next block, after silence where something is missing, and
// says false at the end.
func (r *Reader) decode() bool {
	if r.finished || r.err != nil {
		return false
	}
	if r.info.samples > 0 && r.decoded >= r.info.samples {
		return r.finish()
	}
	if r.samples == nil {
		r.samples = make([][]int64, r.info.channels)
	}
	at := r.w.at()
	if at >= r.w.size && r.w.err == nil {
		return r.finish()
	}
	h, err := r.decodeBlock(at)
	if r.w.err != nil {
		r.err = &sound.FormatError{Chunk: fmt.Sprintf("block %d", r.blocks), Offset: at, Text: "could not be read", Err: r.w.err}
		return false
	}
	if err != nil {
		return r.resume(at, err)
	}
	start := h.first - r.origin
	if lost := start - r.decoded; lost > 0 && r.info.maxBlock > 0 {
		// Whole blocks are missing. How many can be only as many as the
		// encoder's own count says there are at all.
		if r.info.samples == 0 || start >= r.info.samples || lost > maxSilence(r.info.rateHz) {
			r.note("damaged", 0, 0, "block %d at byte %d is numbered as sample %d, expected %d; the number was not believed", r.blocks, at, h.first, r.decoded+r.origin)
		} else {
			r.note("damaged", 0, 0, "block %d at byte %d begins at sample %d, expected %d; silence was put in place of what is missing", r.blocks, at, start, r.decoded)
			r.lose(lost)
		}
	} else if lost < 0 {
		r.note("damaged", 0, 0, "block %d at byte %d is numbered as sample %d, expected %d; the number was not believed", r.blocks, at, h.first, r.decoded+r.origin)
	}
	r.take(h.block)
	return true
}

// maxSilence bounds what is put in place of blocks that left no bytes behind:
// ten minutes. More is no gap in a recording but a wrong number.
func maxSilence(rateHz int) int64 { return 600 * int64(rateHz) }

// decodeBlock decodes the block at byte at, with room made for it first.
func (r *Reader) decodeBlock(at int64) (header, error) {
	r.w.seek(at)
	h, err := r.w.readHeader(&r.info)
	if err != nil {
		return h, err
	}
	if len(r.samples[0]) < h.block {
		for c := range r.samples {
			r.samples[c] = make([]int64, h.block)
		}
	}
	r.w.seek(at)
	return r.w.decode(&r.info, r.samples)
}

// take makes a decoded block the next to be given.
func (r *Reader) take(n int) {
	if r.info.samples > 0 && r.decoded+int64(n) > r.info.samples {
		n = int(r.info.samples - r.decoded)
		r.note("odd", r.info.samples, r.info.samples, "the last block goes on past the %d frames that the file declares; the rest was left out", r.info.samples)
		r.sum = nil
	}
	r.from, r.to = 0, n
	r.decoded += int64(n)
	r.blocks++
	r.hash(n)
}

// lose puts silence in place of n frames.
func (r *Reader) lose(n int64) {
	r.silence += n
	r.decoded += n
	r.sum = nil
}

// hash adds the block to the sum: interleaved, little-endian, in the least
// whole number of bytes, §8.2.
func (r *Reader) hash(n int) {
	if r.sum == nil {
		return
	}
	bytes := int(r.info.bits+7) / 8
	stride := bytes * r.info.channels
	if len(r.packed) < n*stride {
		r.packed = make([]byte, n*stride)
	}
	for c, s := range r.samples {
		p := r.packed[c*bytes:]
		switch bytes {
		case 1:
			for i, x := range s[:n] {
				p[i*stride] = byte(x)
			}
		case 2:
			for i, x := range s[:n] {
				q := p[i*stride : i*stride+2 : i*stride+2]
				q[0], q[1] = byte(x), byte(x>>8)
			}
		case 3:
			for i, x := range s[:n] {
				q := p[i*stride : i*stride+3 : i*stride+3]
				q[0], q[1], q[2] = byte(x), byte(x>>8), byte(x>>16)
			}
		default:
			for i, x := range s[:n] {
				q := p[i*stride : i*stride+4 : i*stride+4]
				q[0], q[1], q[2], q[3] = byte(x), byte(x>>8), byte(x>>16), byte(x>>24)
			}
		}
	}
	r.sum.Write(r.packed[:n*stride])
}

// resume looks for the next whole block behind the broken one at byte at, puts
// silence in place of what lies between, and says false where none follows.
func (r *Reader) resume(at int64, why error) bool {
	number := r.blocks
	found, h, ok := r.find(at+1, r.w.size, func(h header, found int64) bool {
		// What was lost took at least so many bytes.
		most := ((found-at)/leastCoded + 1) * int64(r.info.maxBlock)
		lost := h.first - r.origin - r.decoded
		return lost > 0 && lost <= most && (r.info.samples == 0 || h.first-r.origin < r.info.samples)
	})
	if r.w.err != nil {
		r.err = &sound.FormatError{Chunk: fmt.Sprintf("block %d", number), Offset: at, Text: "could not be read", Err: r.w.err}
		return false
	}
	if ok {
		lost := h.first - r.origin - r.decoded
		r.note("damaged", 0, 0, "block %d at byte %d %v; %d frames from %d on are silence", number, at, why, lost, r.decoded)
		r.w.seek(found)
		r.blocks++
		r.lose(lost)
		return true
	}
	left := r.info.samples - r.decoded
	var b broken
	if errors.As(why, &b) && b != cut && left > 0 && left <= int64(r.info.maxBlock) {
		r.note("damaged", 0, 0, "block %d at byte %d %v; the last %d frames are silence", number, at, why, left)
		r.w.seek(r.w.size)
		r.lose(left)
		return true
	}
	if r.info.samples > 0 {
		r.note("truncated", r.info.samples, r.decoded, "block %d at byte %d %v; the file declares %d frames and holds %d", number, at, why, r.info.samples, r.decoded)
	} else {
		r.note("truncated", 0, r.decoded, "block %d at byte %d %v; the file holds %d frames", number, at, why, r.decoded)
	}
	r.finished, r.sum = true, nil
	return false
}

// find gives the first header from byte from on, below byte end, that wants
// accepts.
func (r *Reader) find(from, end int64, wants func(h header, at int64) bool) (int64, header, bool) {
	at := from
	for at < end {
		r.w.seek(at)
		if len(r.w.buf)-r.w.start < 32 { // more than any header
			r.w.more()
		}
		p := r.w.buf[r.w.start:]
		i := 0
		for i+1 < len(p) && (p[i] != 0xFF || p[i+1]&0xFE != 0xF8) {
			i++
		}
		if i+1 >= len(p) {
			if at+int64(len(p)) >= r.w.size || len(p) < 2 {
				return 0, header{}, false
			}
			at += int64(i)
			continue
		}
		at += int64(i)
		if at >= end {
			break
		}
		r.w.seek(at)
		if h, err := r.w.readHeader(&r.info); err == nil && wants(h, at) {
			return at, h, true
		}
		at++
	}
	return 0, header{}, false
}

// finish ends the sound and holds it against what STREAMINFO says; it is false.
func (r *Reader) finish() bool {
	r.finished = true
	if r.decoded < r.info.samples {
		r.note("truncated", r.info.samples, r.decoded, "the file ends after %d whole blocks: it declares %d frames and holds %d", r.blocks, r.info.samples, r.decoded)
		r.sum = nil
	}
	if behind := r.w.size - r.w.at(); behind > 0 {
		r.note("odd", 0, 0, "%d bytes at byte %d stand behind the sound; they were skipped", behind, r.w.at())
	}
	if r.sum == nil {
		return false
	}
	if got := r.sum.Sum(nil); string(got) != string(r.info.md5[:]) {
		r.note("damaged", r.info.samples, r.decoded, "the sound has the MD5 sum %x, the encoder left %x; the file changed since, or was encoded wrongly", got, r.info.md5)
	}
	r.sum = nil
	return false
}
