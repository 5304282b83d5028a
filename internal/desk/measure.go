package desk

import (
	"context"
	"fmt"
	"io"

	"tidemark/internal/meter"
	"tidemark/internal/sound"
)

// Measured is a recording and all that was measured on it.
type Measured struct {
	File     File
	Header   sound.Header
	Damage   []sound.Damage
	Readings meter.Readings
}

// Measure decodes a recording once and feeds every block to all meters.
// progress, if not nil, is called now and then with the share of the frames read.
func Measure(ctx context.Context, lib Library, f File, opt meter.Options, progress func(done float64)) (Measured, error) {
	r, closer, err := lib.Open(f.Name)
	if err != nil {
		return Measured{}, err
	}
	defer closer.Close()
	h := r.Header()
	set := meter.NewSet(h.Format, opt)
	if err := stream(ctx, r, set.Measure, progress); err != nil {
		return Measured{}, fmt.Errorf("%s: %w", f.Name, err)
	}
	m := Measured{File: f, Header: h, Damage: r.Damage(), Readings: set.Reading()}
	if m.Header.Frames < 0 {
		m.Header.Frames = m.Readings.Frames
	}
	return m, nil
}

// stream reads to the end and hands every block to each.
func stream(ctx context.Context, r sound.Reader, each func(*sound.Block), progress func(float64)) error {
	h := r.Header()
	b := sound.NewBlock(h.Format.Channels, sound.BlockFrames)
	var read, told int64
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		switch err := r.Read(b); err {
		case nil:
		case io.EOF:
			if progress != nil {
				progress(1)
			}
			return nil
		default:
			return err
		}
		each(b)
		read += int64(b.Frames())
		if progress != nil && h.Frames > 0 && read-told > h.Frames/50 {
			told = read
			progress(float64(read) / float64(h.Frames))
		}
	}
}
