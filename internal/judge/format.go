package judge

import (
	"fmt"
	"sort"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// firstChannels calls each with the first track of every recording of a pass.
func (e *Evidence) firstChannels(pass int, each func(*Track)) {
	seen := map[int]bool{}
	for i := range e.Tracks {
		if t := &e.Tracks[i]; t.Pass == pass && !seen[t.Recording] {
			seen[t.Recording] = true
			each(t)
		}
	}
}

// usual is the value most recordings of the pass have; ok only when more than
// half of at least two agree.
func (e *Evidence) usual(pass int, of func(*Track) int) (value int, ok bool) {
	n, counts := 0, map[int]int{}
	e.firstChannels(pass, func(t *Track) { n++; counts[of(t)]++ })
	best := 0
	for v, c := range counts {
		if c > best || c == best && v > value {
			value, best = v, c
		}
	}
	return value, n >= 2 && 2*best > n
}

func rateOf(t *Track) int { return t.Header.Format.RateHz }
func bitsOf(t *Track) int { return t.Header.Format.Bits }

// wrongRate finds files with another sample rate than the rest of their pass.
func wrongRate(e *Evidence) []model.Finding {
	var out []model.Finding
	for p := range e.Passes {
		usual, ok := e.usual(p, rateOf)
		if !ok {
			continue
		}
		e.firstChannels(p, func(t *Track) {
			if rateOf(t) == usual {
				return
			}
			f := e.finding(model.KindWrongRate, model.Stop, t)
			f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(float64(rateOf(t))), "Hz", unit.Some(float64(usual)), "the rest of the pass"
			at(&f, t.OffsetS, t.OffsetS+t.DurationS())
			f.Evidence = fmt.Sprintf("%s says %s, the rest of %s %s", f.Files[0], kHz(rateOf(t)), e.Passes[p].Name, kHz(usual))
			f.Advice = "check the clock source and the recorder's session rate; if only the header is wrong it plays at the wrong pitch and drifts from the others"
			out = append(out, f)
		})
	}
	return out
}

func kHz(hz int) string { return fmt.Sprintf("%g kHz", float64(hz)/1000) }

// wrongDepth finds files with another depth than the rest, and files that use
// fewer bits than they have.
func wrongDepth(e *Evidence) []model.Finding {
	var out []model.Finding
	for p := range e.Passes {
		usual, ok := e.usual(p, bitsOf)
		e.firstChannels(p, func(t *Track) {
			if ok && bitsOf(t) != usual {
				f := e.finding(model.KindWrongDepth, model.Listen, t)
				f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(float64(bitsOf(t))), "bits", unit.Some(float64(usual)), "the rest of the pass"
				f.Evidence = fmt.Sprintf("%s has %d bits a sample, the rest of %s %d", f.Files[0], bitsOf(t), e.Passes[p].Name, usual)
				f.Advice = "set the track to the session's depth before the next take; a file of fewer bits cannot be mended by converting it"
				out = append(out, f)
			}
		})
	}
	for i := range e.Tracks {
		t := &e.Tracks[i]
		used := t.M.Bits.Used
		if t.Line < 0 || t.M.Bits.Float || used == 0 || bitsOf(t) < 24 || used > 16 || t.DurationS() < 1 {
			continue
		}
		f := e.finding(model.KindWrongDepth, model.Note, t)
		f.ID += "/used"
		f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(float64(used)), "bits", unit.Some(float64(bitsOf(t))), "the file's own header"
		f.Evidence = fmt.Sprintf("%s has %d bits a sample and uses %d: the rest are always zero", f.Lines[0], bitsOf(t), used)
		f.Advice = "some link before the recorder carries 16 bits (a converter's switch, a digital cable, a bounced file): find it if you need the low levels"
		out = append(out, f)
	}
	return out
}

// passEnd is where the recordings of the pass end, in seconds from its start:
// where most of them do within half a second, or else where the last one does.
// Files at another rate say nothing about time.
func (e *Evidence) passEnd(pass int) float64 {
	usual, agreed := e.usual(pass, rateOf)
	var ends []float64
	e.firstChannels(pass, func(t *Track) {
		if !t.Punch && (!agreed || rateOf(t) == usual) {
			ends = append(ends, t.OffsetS+t.DurationS())
		}
	})
	sort.Float64s(ends)
	for i, j := 0, 0; j < len(ends); j++ {
		for ends[j]-ends[i] > limitShort.Value {
			i++
		}
		if 2*(j-i+1) > len(ends) {
			for j+1 < len(ends) && ends[j+1]-ends[i] <= limitShort.Value {
				j++
			}
			return ends[j]
		}
	}
	if len(ends) == 0 {
		return 0
	}
	return ends[len(ends)-1]
}

// short finds files that end before the others of their pass.
func short(e *Evidence) []model.Finding {
	var out []model.Finding
	for p := range e.Passes {
		end := e.passEnd(p)
		usual, agreed := e.usual(p, rateOf)
		e.firstChannels(p, func(t *Track) {
			own := t.OffsetS + t.DurationS()
			if agreed && rateOf(t) != usual {
				return // told by wrong_rate
			}
			if t.Punch || end-own <= limitShort.Value || t.Line < 0 {
				return
			}
			// A file that stops while its line still sounds lost music.
			f := e.finding(model.KindShort, model.Stop, t)
			measured(&f, end-own, limitShort)
			at(&f, own, end)
			f.Evidence = fmt.Sprintf("%s ends at %s, %.1f s before the rest of %s", f.Files[0], clock(own), end-own, e.Passes[p].Name)
			f.Advice = "see why recording stopped on this track (drive full or too slow, track disarmed) before the next take; what came after is not recorded"
			out = append(out, f)
		})
	}
	return out
}

// lateStart finds files that begin after the others of their pass.
func lateStart(e *Evidence) []model.Finding {
	var out []model.Finding
	for p := range e.Passes {
		e.firstChannels(p, func(t *Track) {
			if t.Punch || t.OffsetS <= limitLateStart.Value || t.Line < 0 {
				return
			}
			f := e.finding(model.KindLateStart, model.Listen, t)
			measured(&f, t.OffsetS, limitLateStart)
			at(&f, 0, t.OffsetS)
			f.Evidence = fmt.Sprintf("%s begins %.2f s after %s", f.Files[0], t.OffsetS, e.Passes[p].Name)
			f.Advice = "the track was armed late: listen whether the line had already begun to play, and keep the file's time stamp when it is moved"
			out = append(out, f)
		})
	}
	return out
}
