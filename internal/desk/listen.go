package desk

import (
	"fmt"
	"io"
	"math"

	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

// ListenMostS is the longest excerpt that Excerpt writes.
const ListenMostS = 20

// Excerpt writes the sound of a line in a pass from a time of the pass on; see
// the function of that name.
func (c Check) Excerpt(lib Library, pass, line string, startS, lengthS float64, w io.Writer) error {
	best := -1
	for i, l := range c.Lines {
		if l.Name != line || l.Pass != pass {
			continue
		}
		// A fix punched in lies over the take that it mends: what began last is heard.
		covers := startS >= l.OffsetS && startS < l.OffsetS+l.Format.DurationS
		if best < 0 || covers && l.OffsetS >= c.Lines[best].OffsetS {
			best = i
		}
	}
	if best < 0 {
		return fmt.Errorf("%s has no sound in %s", line, pass)
	}
	l := c.Lines[best]
	return Excerpt(lib, l.File, l.Channel, startS-l.OffsetS, lengthS, w)
}

// Excerpt writes a stretch of one channel of a recording as a 24-bit WAV file,
// for listening to the place of a finding. channel counts from 1; start and
// length are in seconds of the recording and are brought inside it.
func Excerpt(lib Library, file string, channel int, startS, lengthS float64, w io.Writer) error {
	if math.IsNaN(startS) || math.IsNaN(lengthS) {
		return fmt.Errorf("%s: a time of %g s for %g s was asked for, expected numbers", file, startS, lengthS)
	}
	r, closer, err := lib.Open(file)
	if err != nil {
		return err
	}
	defer closer.Close()
	h := r.Header()
	if channel < 1 || channel > h.Format.Channels {
		return fmt.Errorf("%s has %d channels, and channel %d was asked for", file, h.Format.Channels, channel)
	}
	rate := float64(h.Format.RateHz)
	first := int64(min(max(0, startS)*rate, 1<<53))
	frames := int64(min(max(lengthS, 0.1), ListenMostS) * rate)
	if h.Frames >= 0 {
		first = min(first, max(0, h.Frames-int64(rate/10)))
		frames = min(frames, h.Frames-first)
	}
	if err := r.SeekFrame(first); err != nil {
		return err
	}
	// At most twenty seconds, gathered before they are written: only the end
	// tells how long a recording is whose header does not.
	heard := make([]float32, 0, frames)
	b := sound.NewBlock(h.Format.Channels, sound.BlockFrames)
	for int64(len(heard)) < frames {
		if err := r.Read(b); err == io.EOF {
			break
		} else if err != nil {
			return err
		}
		n := min(int64(b.Frames()), frames-int64(len(heard)))
		heard = append(heard, b.Channels[channel-1][:n]...)
	}
	out, err := wav.NewWriter(w, wav.Spec{Format: sound.Format{Container: "WAV", Bits: 24, RateHz: h.Format.RateHz, Channels: 1}}, int64(len(heard)))
	if err != nil {
		return err
	}
	if err := out.Write(sound.Block{Channels: [][]float32{heard}}); err != nil {
		return err
	}
	return out.Close()
}
