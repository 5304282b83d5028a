package wav

import (
	"io"

	"tidemark/internal/sound"
	"tidemark/internal/sound/chunk"
	"tidemark/internal/sound/pcm"
)

// Reader streams the sound of one WAV file. It fulfils sound.Reader.
type Reader struct {
	header sound.Header
	sound  *pcm.Stream
}

var _ sound.Reader = (*Reader)(nil)

// Open reads the chunks of a WAV, RF64 or BW64 file of size bytes, and no
// sample. What is wrong but can be read around is in Header().Damage; any other
// error about the contents is a *sound.FormatError. It holds no more memory
// than a few times the metadata, whatever the chunks claim.
func Open(r io.ReaderAt, size int64) (*Reader, error) {
	f := &file{File: chunk.File{R: r, Size: size}}
	if err := f.walk(); err != nil {
		return nil, err
	}
	return f.reader()
}

// Header is what the chunks tell.
func (r *Reader) Header() sound.Header { return r.header }

// Read fills b, see sound.Reader.
func (r *Reader) Read(b *sound.Block) error { return r.sound.Read(b) }

// SeekFrame moves to a frame, see sound.Reader.
func (r *Reader) SeekFrame(frame int64) error { return r.sound.SeekFrame(frame) }

// Damage lists what was found wrong so far.
func (r *Reader) Damage() []sound.Damage {
	late := r.sound.Damage()
	if len(late) == 0 {
		return r.header.Damage
	}
	return append(r.header.Damage[:len(r.header.Damage):len(r.header.Damage)], late...)
}
