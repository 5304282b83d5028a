package judge

import (
	"fmt"
	"strings"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// RingMarginDB is the margin that every line of a closed ring must have for the
// ring to be certain. It may be smaller than for a line by itself: all lines of
// a ring would have to be misread together. Common practice, no source.
const RingMarginDB = 2.0

// swapped finds rings of lines that carry each other's sound.
func swapped(e *Evidence) []model.Finding {
	var out []model.Finding
	for _, s := range e.Swaps {
		weight := model.Listen
		if s.Certain {
			weight = model.Stop
		}
		f := model.Finding{Kind: model.KindSwapped, Weight: weight, Files: []string{}, Count: len(s.Ring), StartS: s.StartS, EndS: s.StartS}
		if s.Pass >= 0 {
			f.Pass = e.Passes[s.Pass].Name
		}
		var hears []string
		for i, l := range s.Ring {
			name, other := e.Lines[l].Name(), e.Lines[s.Ring[(i+1)%len(s.Ring)]].Name()
			f.Lines = append(f.Lines, name)
			if !s.Open || i < len(s.Ring)-1 {
				hears = append(hears, name+" carries "+other)
			}
			for k := range e.Tracks {
				if t := &e.Tracks[k]; t.Line == l && (s.Pass < 0 || t.Pass == s.Pass) {
					f.Files = appendNew(f.Files, e.Recordings[t.Recording].Name)
					if !t.Match.Certain {
						f.Weight = model.Listen
					}
				}
			}
		}
		f.ID = strings.Join(append([]string{"swapped", f.Pass}, f.Lines...), "/")
		f.Value, f.Unit, f.LimitSource = unit.Some(round3(s.Margin)), s.Unit, common
		if s.Certain {
			f.Limit = unit.Some(RingMarginDB)
		}
		f.Evidence = strings.Join(hears, ", ")
		if len(s.Ring) == 2 && !s.Open {
			f.Evidence = fmt.Sprintf("%s and %s are swapped: each carries the other's sound", f.Lines[0], f.Lines[1])
		}
		if s.Text != "" {
			f.Evidence += " (" + s.Text + ")"
		}
		f.Advice = "look at the stage box, the patch and the recorder's input menu, in this order, and change the cables or the names: not both"
		if f.Weight == model.Listen {
			f.Advice = "tap or sing into each of them and watch which track moves; then change the cables or the names: not both"
		}
		out = append(out, f)
	}
	return out
}
