package desk

import (
	"context"
	"io"
	"math"

	"tidemark/internal/between"
	"tidemark/internal/judge"
	"tidemark/internal/sound"
)

// findTwins finds tracks of one pass, or files of one folder, that hold the
// same sound. Only tracks whose level pictures agree are compared sample for
// sample, so that nothing is read twice for nothing.
func findTwins(ctx context.Context, lib Library, e *judge.Evidence) error {
	claimed := map[int]bool{}
	for i := range e.Tracks {
		for j := i + 1; j < len(e.Tracks); j++ {
			a, b := &e.Tracks[i], &e.Tracks[j]
			if claimed[j] || !alike(a, b) {
				continue
			}
			r, err := compare(ctx, lib, e, a, b)
			if err != nil {
				return err
			}
			if gain, ok := r.SameUpToGainDB.Get(); r.Identical || ok {
				claimed[j] = true
				e.Twins = append(e.Twins, judge.Twin{A: i, B: j, Identical: r.Identical, GainDB: -float64(gain), Flipped: r.Flipped})
			}
		}
	}
	return nil
}

// alike says whether two tracks may be the same sound but for a gain: the same
// length, and the same ratio of levels in every hop.
func alike(a, b *judge.Track) bool {
	x, y := a.M.Level, b.M.Level
	if x.Frames != y.Frames || x.Frames == 0 || x.MeanSquare == 0 || y.MeanSquare == 0 || a.Header.Format.RateHz != b.Header.Format.RateHz {
		return false
	}
	if x.PeakFrame != y.PeakFrame {
		return false
	}
	ratio := y.MeanSquare / x.MeanSquare
	for i := range x.Hops {
		want, got := float64(x.Hops[i].MeanSquare)*ratio, float64(y.Hops[i].MeanSquare)
		if math.Abs(want-got) > 1e-3*want+1e-10 {
			return false
		}
	}
	return true
}

func compare(ctx context.Context, lib Library, e *judge.Evidence, a, b *judge.Track) (between.TwinReading, error) {
	ra, ca, err := lib.Open(e.Recordings[a.Recording].Name)
	if err != nil {
		return between.TwinReading{}, err
	}
	defer ca.Close()
	rb, cb, err := lib.Open(e.Recordings[b.Recording].Name)
	if err != nil {
		return between.TwinReading{}, err
	}
	defer cb.Close()
	twin := between.NewTwin()
	xa := sound.NewBlock(a.Header.Format.Channels, sound.BlockFrames)
	xb := sound.NewBlock(b.Header.Format.Channels, sound.BlockFrames)
	var posA, posB int // frames used of each block
	for {
		if err := ctx.Err(); err != nil {
			return between.TwinReading{}, err
		}
		if posA == xa.Frames() {
			if err := ra.Read(xa); err == io.EOF {
				break
			} else if err != nil {
				return between.TwinReading{}, err
			}
			posA = 0
		}
		if posB == xb.Frames() {
			if err := rb.Read(xb); err == io.EOF {
				break
			} else if err != nil {
				return between.TwinReading{}, err
			}
			posB = 0
		}
		n := min(xa.Frames()-posA, xb.Frames()-posB)
		twin.Add(xa.Channels[a.Channel][posA:posA+n], xb.Channels[b.Channel][posB:posB+n])
		posA, posB = posA+n, posB+n
	}
	return twin.Reading(), nil
}
