package wav

import (
	"fmt"

	"tidemark/internal/sound"
)

// foundData decides how far the sound reaches, and says whether the data chunk
// is the last one that can be trusted.
func (f *file) foundData(c *chunk) (last bool, err error) {
	rest := f.size - c.body
	f.data = c
	switch {
	case c.declared == 0 && rest > 0:
		// Nothing recorded, or never told: only bytes that are chunks to the
		// very end are taken for chunks.
		ok, err := f.chain(c.body)
		if err != nil || ok {
			return false, err
		}
		f.kind = "unfinished"
	case c.declared > rest && placeholder(c.declared):
		f.kind = "unfinished"
	case c.declared > rest:
		f.kind = "truncated"
	case f.container == "RIFF" && f.size > unknown32:
		// Sizes of 32 bits have turned over: a recorder without RF64 went on
		// past 4 GiB.
		ok, err := f.chain(c.body + c.declared + c.declared%2)
		if err != nil || ok {
			return false, err
		}
		f.kind = "unfinished"
	default:
		return false, nil
	}
	c.held = rest
	return true, nil
}

// placeholder says whether a size is one that writers leave while they do not
// know it yet: all ones, or the most a signed reader takes, less a header
// (common practice, no source).
func placeholder(size int64) bool {
	return size >= unknown32-0xFF && size <= unknown32 ||
		size >= 0x7FFFF000 && size <= 0x7FFFFFFF || size == 1<<62
}

// noteData adds the data chunk's damage, now that the frame size is known.
func (f *file) noteData(frameBytes, frames int64) {
	c := f.data
	if f.kind == "" {
		if spare := c.declared % frameBytes; spare != 0 {
			f.odd("data chunk at byte %d declares %d bytes, which is no whole number of frames of %d bytes; %d bytes at its end were left out", c.at, c.declared, frameBytes, spare)
		}
		return
	}
	d := sound.Damage{Kind: f.kind, HeldFrames: frames}
	switch {
	case f.kind == "truncated":
		d.DeclaredFrames = c.declared / frameBytes
		d.Text = fmt.Sprintf("data chunk at byte %d declares %d bytes, the file holds %d; the end is missing", c.at, c.declared, c.held)
	case c.declared == 0 || c.declared > c.held:
		d.Text = fmt.Sprintf("data chunk at byte %d declares %d bytes, the file holds %d; the recorder never wrote the length", c.at, c.declared, c.held)
	default:
		d.Text = fmt.Sprintf("data chunk at byte %d declares %d bytes, the file holds %d; its size has no room for sound past 4 GiB", c.at, c.declared, c.held)
	}
	f.damage = append(f.damage, d)
}
