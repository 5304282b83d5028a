package judge

import (
	"fmt"
	"math"
	"sort"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// likenesses is where a family's sound lies on a close microphone: the middle
// of its spectrum in octaves over 1 kHz. All common practice, no published
// source; one octave is the spread.
var likenesses = map[model.Family]float64{
	model.Kick:       -3.2,
	model.Tom:        -2.2,
	model.Snare:      0,
	model.HiHat:      2.6,
	model.Cymbal:     2.2,
	model.Percussion: 2,
	model.Bass:       -3.2,
	model.Guitar:     -0.6,
	model.Acoustic:   -0.4,
	model.Piano:      -1.2,
	model.Keys:       -1.2,
	model.Organ:      -0.8,
	model.Accordion:  -0.4,
	model.Strings:    -0.4,
	model.Winds:      -0.4,
	model.Voice:      -0.4,
	model.Backing:    -0.4,
}

const (
	// otherwiseBetter is by how much (in squared spreads) a swap must explain two
	// lines better than the list does, and alsoEach by how much each of them.
	otherwiseBetter = 10
	alsoEach        = 3.5
	// differentOctaves is how far apart two families must lie for their sound to tell them apart.
	differentOctaves = 2.2
)

// Likely finds pairs of lines of one pass whose sound fits each other's source
// and not their own: a kick that sounds like a hi-hat and the other way round.
// It can only tell families apart that live in different octaves, so its rings
// are never certain.
func Likely(e *Evidence) []Swap {
	var all []Swap
	for i := range e.Tracks {
		for j := i + 1; j < len(e.Tracks); j++ {
			a, b := &e.Tracks[i], &e.Tracks[j]
			if a.Pass != b.Pass || a.Line < 0 || b.Line < 0 || a.Punch || b.Punch {
				continue
			}
			fa, okA := likenesses[e.line(a).Family]
			fb, okB := likenesses[e.line(b).Family]
			if !okA || !okB || math.Abs(fa-fb) < differentOctaves {
				continue
			}
			ca, okA := octaveOf(a)
			cb, okB := octaveOf(b)
			if !okA || !okB {
				continue
			}
			gainA := square(ca-fa) - square(ca-fb)
			gainB := square(cb-fb) - square(cb-fa)
			if gainA < alsoEach || gainB < alsoEach || gainA+gainB < otherwiseBetter {
				continue
			}
			all = append(all, Swap{Ring: []int{a.Line, b.Line}, By: "sound in the take", Pass: a.Pass, Margin: gainA + gainB, Unit: "squared octaves", StartS: unit.None[float64](),
				Text: fmt.Sprintf("by their sound in the take: the middle of their spectra lies at %.0f and %.0f Hz", 1000*math.Exp2(ca), 1000*math.Exp2(cb))})
		}
	}
	// A line is in one ring at most: the one that explains most.
	sort.SliceStable(all, func(i, j int) bool { return all[i].Margin > all[j].Margin })
	type place struct{ pass, line int }
	taken := map[place]bool{}
	var out []Swap
	for _, s := range all {
		a, b := place{s.Pass, s.Ring[0]}, place{s.Pass, s.Ring[1]}
		if !taken[a] && !taken[b] {
			taken[a], taken[b] = true, true
			out = append(out, s)
		}
	}
	return out
}

func square(x float64) float64 { return x * x }

// octaveOf is the middle of a track's third-octave spectrum, in octaves over
// 1 kHz, each band weighted by its amplitude; ok only where something was played.
func octaveOf(t *Track) (octave float64, ok bool) {
	if d, ok := lift(t); !ok || d < 20 {
		return 0, false
	}
	var sum, weight float64
	for _, b := range t.M.Spectrum.Bands {
		if l, ok := b.Level.Get(); ok {
			w := math.Pow(10, float64(l)/20)
			sum += w * math.Log2(b.CenterHz/1000)
			weight += w
		}
	}
	if weight == 0 {
		return 0, false
	}
	return sum / weight, true
}
