package pcm

import (
	"errors"
	"fmt"
	"io"

	"tidemark/internal/sound"
)

// readBytes is the most that is asked of the disk at a time.
const readBytes = 256 << 10

// firstBytes is the least that is asked for after a jump. Whoever reads on gets
// twice as much each time, whoever jumps again has not read in vain.
const firstBytes = 32 << 10

// Stream reads the frames that lie in one stretch of a file. It asks for up to
// 256 KiB at a time, or for a whole block where that is more, and holds no more
// than that.
type Stream struct {
	r        io.ReaderAt
	layout   Layout
	channels int
	chunk    string // for errors: what the stretch is called in its container
	start    int64  // byte of the first frame
	frames   int64
	next     int64 // frame that Read gives next

	buf       []byte
	bufAt     int64 // frame at buf[0]
	bufFrames int64
	ask       int64 // bytes of the next fill, if it goes on where the last one ended

	damage []sound.Damage
	err    error
}

// NewStream streams frames frames of channels channels, the first at byte start
// of r. Chunk names the stretch in errors: "data chunk".
func NewStream(r io.ReaderAt, l Layout, channels int, chunk string, start, frames int64) *Stream {
	l.check()
	return &Stream{r: r, layout: l, channels: channels, chunk: chunk, start: start, frames: frames}
}

// FrameBytes is the size of a frame in the file.
func (s *Stream) FrameBytes() int64 { return int64(s.channels * s.layout.Bytes) }

// Read does what sound.Reader asks of it.
func (s *Stream) Read(b *sound.Block) error {
	if len(b.Channels) != s.channels {
		panic(fmt.Sprintf("%s: block of %d channels for sound of %d", s.chunk, len(b.Channels), s.channels))
	}
	if b.Room() == 0 {
		panic(s.chunk + ": block without room")
	}
	b.Start = s.next
	b.Resize(0)
	if s.err != nil {
		return s.err
	}
	want := min(int64(b.Room()), s.frames-s.next)
	if want <= 0 {
		return io.EOF
	}
	b.Resize(int(want))
	done := int64(0)
	for done < want {
		at := s.next + done
		if at < s.bufAt || at >= s.bufAt+s.bufFrames {
			if err := s.fill(at, want-done); err != nil {
				s.err = err
				break
			}
			if s.bufFrames == 0 {
				break // the file has become shorter; fill has said so
			}
		}
		n := min(want-done, s.bufAt+s.bufFrames-at)
		s.decode(b, int(done), int(n), at-s.bufAt)
		done += n
	}
	b.Resize(int(done))
	s.next += done
	if done > 0 {
		return nil // the error, if any, comes with the next call
	}
	if s.err != nil {
		return s.err
	}
	return io.EOF
}

// decode spreads n buffered frames over the block's channels from frame at on.
func (s *Stream) decode(b *sound.Block, at, n int, from int64) {
	var few [64][]float32
	dst := few[:0]
	for _, c := range b.Channels {
		dst = append(dst, c[at:at+n])
	}
	size := s.FrameBytes()
	s.layout.Decode(dst, s.buf[from*size:(from+int64(n))*size])
}

// fill reads from frame at: what is wanted, and ahead.
func (s *Stream) fill(at, want int64) error {
	size := s.FrameBytes()
	if at != s.bufAt+s.bufFrames || s.ask == 0 {
		s.ask = firstBytes
	}
	frames := min(s.frames-at, max(s.ask/size, want))
	s.ask = min(2*s.ask, readBytes)
	if int64(cap(s.buf)) < frames*size {
		s.buf = make([]byte, frames*size)
	}
	s.buf = s.buf[:frames*size]
	n, err := s.r.ReadAt(s.buf, s.start+at*size)
	if int64(n) == frames*size {
		err = nil // ReadAt may say io.EOF with the last bytes
	}
	s.bufAt, s.bufFrames = at, int64(n)/size
	if err == nil {
		return nil
	}
	if errors.Is(err, io.EOF) {
		held := at + s.bufFrames
		s.damage = append(s.damage, sound.Damage{
			Kind:           "truncated",
			Text:           fmt.Sprintf("%s at byte %d became shorter while it was read: %d of %d frames left", s.chunk, s.start, held, s.frames),
			DeclaredFrames: s.frames, HeldFrames: held,
		})
		s.frames = held
		return nil
	}
	s.bufFrames = 0
	return &sound.FormatError{Chunk: s.chunk, Offset: s.start, Text: fmt.Sprintf("could not be read at byte %d", s.start+at*size), Err: err}
}

// SeekFrame moves to a frame; past the end the next Read returns io.EOF. It
// clears no error of the disk.
func (s *Stream) SeekFrame(frame int64) error {
	if frame < 0 {
		return fmt.Errorf("frame %d asked for, the first is 0", frame)
	}
	s.next = min(frame, s.frames)
	return nil
}

// Damage is what reading found wrong.
func (s *Stream) Damage() []sound.Damage { return s.damage }
