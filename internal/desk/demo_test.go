package desk_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tidemark/internal/band"
	"tidemark/internal/desk"
	"tidemark/internal/model"
)

// withinS is how far a finding may lie from the place where a fault was put in.
const withinS = 0.5

// wanted is what a check must say of a planted fault.
type wanted struct {
	kind   model.Kind
	weight model.Weight
	// from and to bound the place; NaN where the kind has none in the take.
	fromS, toS float64
	other      bool // the second line is named too
}

// expected says how each kind of planted fault is to be found.
func expected(t *testing.T, f band.Fault) []wanted {
	none := math.NaN()
	switch f.Kind {
	case band.Flipped:
		return []wanted{{model.KindFlipped, model.Stop, f.StartS, f.EndS, true}}
	case band.Late:
		return []wanted{{model.KindLate, model.Listen, f.StartS, f.EndS, true}}
	case band.Hum:
		return []wanted{{model.KindHum, model.Listen, f.StartS, f.EndS, false}}
	case band.Crossed:
		return []wanted{{model.KindSwapped, model.Stop, none, none, true}}
	case band.Clipped:
		return []wanted{{model.KindClipped, model.Stop, f.StartS, f.EndS, false}}
	case band.Dying:
		// A worn contact crackles in bursts up to a second apart, so that the
		// first crackle lies up to a second after the fault's beginning.
		return []wanted{
			{model.KindCrackle, model.Stop, f.StartS, f.Amount, false},
			{model.KindDead, model.Stop, f.Amount, f.EndS, false},
		}
	}
	t.Fatalf("no finding is known for the planted fault %q", f.Kind)
	return nil
}

func TestTheDemosFaultsAreFoundAndNothingElseStops(t *testing.T) {
	skipSlow(t, "renders a whole session")
	t.Parallel()
	d, err := faultyDemo()
	if err != nil {
		t.Fatal(err)
	}
	c := checkFolder(t, d.dir)
	name := func(line int) string {
		l := d.session.Lines[line]
		return fmt.Sprintf("%d %s", l.Number, l.Source)
	}
	if len(d.session.Faults) != 6 {
		t.Fatalf("the demo has %d faults, want six", len(d.session.Faults))
	}
	planted := map[string]bool{} // ids of findings that answer to a fault
	for _, fault := range d.session.Faults {
		for _, want := range expected(t, fault) {
			i := slices.IndexFunc(c.Findings, func(f model.Finding) bool {
				return f.Kind == want.kind && slices.Contains(f.Lines, name(fault.Line)) && (!want.other || slices.Contains(f.Lines, name(fault.Other)))
			})
			if i < 0 {
				t.Errorf("%s on %s: no finding of kind %s", fault.Kind, name(fault.Line), want.kind)
				continue
			}
			f := c.Findings[i]
			planted[f.ID] = true
			if f.Weight != want.weight {
				t.Errorf("%s on %s: weight %s, want %s", fault.Kind, name(fault.Line), f.Weight, want.weight)
			}
			if fault.Kind != band.Crossed && f.Lines[0] != name(fault.Line) {
				t.Errorf("%s: found on %s, want %s", fault.Kind, f.Lines[0], name(fault.Line))
			}
			if math.IsNaN(want.fromS) {
				continue
			}
			start, ok1 := f.StartS.Get()
			end, ok2 := f.EndS.Get()
			late, early := withinS, withinS
			if want.kind == model.KindHum {
				early = 1 // hum is told window by window, and the last may be short
			}
			if want.kind == model.KindCrackle {
				late = 1.5
			}
			switch {
			case !ok1 || !ok2:
				t.Errorf("%s on %s: no place in time", fault.Kind, name(fault.Line))
			case fault.Kind == band.Clipped:
				// The word is the bounds; flat tops stand somewhere in it.
				if start < want.fromS-withinS || end > want.toS+withinS {
					t.Errorf("clipped from %.2f to %.2f s, want within the word, %.2f to %.2f s", start, end, want.fromS, want.toS)
				}
			case start < want.fromS-withinS || start > want.fromS+late:
				t.Errorf("%s on %s (%s) begins at %.2f s, want %.2f s", fault.Kind, name(fault.Line), want.kind, start, want.fromS)
			case end < want.toS-max(late, early) || end > want.toS+withinS:
				t.Errorf("%s on %s (%s) ends at %.2f s, want %.2f s", fault.Kind, name(fault.Line), want.kind, end, want.toS)
			}
		}
	}
	for _, f := range c.Findings {
		if !planted[f.ID] {
			t.Logf("not planted: %s %s %v: %s", f.Weight, f.Kind, f.Lines, f.Evidence)
		}
		if f.Weight == model.Stop && !planted[f.ID] {
			t.Errorf("a stop that nobody planted: %s %v: %s", f.Kind, f.Lines, f.Evidence)
		}
	}
	crossedTomsAreToldByTheLineCheck(t, c)
}

// crossedTomsAreToldByTheLineCheck looks at what the line check of the demo said.
func crossedTomsAreToldByTheLineCheck(t *testing.T, c desk.Check) {
	r := c.LineCheck
	if r == nil || !r.Understood || r.Form != "one pass" {
		t.Fatalf("the line check was not understood: %+v", r)
	}
	// The band's sixteen sources, but for the cymbals: only the overheads are
	// for them, and their turn may be taken for another's tail.
	heard := map[string]string{}
	for _, s := range r.Sources {
		heard[s.Named] = s.Heard
		start, ok1 := s.StartS.Get()
		end, ok2 := s.EndS.Get()
		if !ok1 || !ok2 || end <= start {
			t.Errorf("%s has no stretch of time: %v to %v", s.Named, s.StartS, s.EndS)
		}
	}
	for _, name := range []string{"1 Kick in", "3 Snr top", "5 HH", "10 Tamb / shaker", "13 Bass DI", "15 EG amp", "16 Acoustic gtr", "17 Accordion",
		"18 Pno L", "20 Ld vox", "21 BV low", "22 BV high", "23 TB"} {
		if heard[name] == "" {
			t.Errorf("%s had its turn, and nothing answered", name)
		}
	}
	if heard["6 Rack tom"] != "7 Floor tom" || heard["7 Floor tom"] != "6 Rack tom" {
		t.Errorf("for the rack tom answered %q, for the floor tom %q; want them crossed", heard["6 Rack tom"], heard["7 Floor tom"])
	}
	f := one(t, c, model.KindSwapped)
	if !slices.Equal(f.Lines, []string{"6 Rack tom", "7 Floor tom"}) || f.Count != 2 {
		t.Errorf("swapped lines %v (%d), want the two toms", f.Lines, f.Count)
	}
}

// listensMost bounds the false listens on a session in which nothing is wrong.
const listensMost = 2

// cleanS is how much of the song is played without faults: intro, a verse, the
// first chorus. TIDEMARK_WHOLE_SONG asks for all of it.
const cleanS = 30

func TestTheSameSessionWithoutFaultsHasNoStop(t *testing.T) {
	skipSlow(t, "renders half a minute of the band")
	t.Parallel()
	o := band.Options{DurationS: cleanS}
	if os.Getenv("TIDEMARK_WHOLE_SONG") != "" {
		o.DurationS = 0
	}
	s, err := render(o)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, f := range s.session.Files(2) {
		var channels [][]float32
		for _, l := range f.Lines {
			channels = append(channels, s.lines[l])
		}
		put(t, dir, "", file{name: f.Name, channels: channels, rateHz: s.rateHz, startS: 15 * 3600})
	}
	// The list and the line check of the demo, its crossed toms uncrossed.
	d, err := faultyDemo()
	if err != nil {
		t.Fatal(err)
	}
	link(t, filepath.Join(d.dir, band.SheetName), filepath.Join(dir, band.SheetName))
	for i, f := range s.session.Files(1) {
		from := d.session.Files(1)[i].Name
		for k, line := range f.Lines {
			if other := d.session.Patch[line]; k == 0 && other != line {
				from = strings.Replace(from, d.session.Lines[line].File, d.session.Lines[other].File, 1)
			}
		}
		link(t, filepath.Join(d.dir, band.LineCheckFolder, from), filepath.Join(dir, band.LineCheckFolder, f.Name))
	}
	c := checkFolder(t, dir)
	stopsOnlyFor(t, c)
	listens := 0
	for _, f := range c.Findings {
		t.Logf("%s %s %v: %s", f.Weight, f.Kind, f.Lines, f.Evidence)
		if f.Weight == model.Listen {
			listens++
		}
	}
	t.Logf("%d listens on %.0f s of a clean session", listens, c.Passes[0].DurationS)
	if listens > listensMost {
		t.Errorf("%d listens on a clean session, want at most %d", listens, listensMost)
	}
	if r := c.LineCheck; r == nil || !r.Understood {
		t.Errorf("the line check was not understood: %+v", r)
	}
	if len(c.Lines) != 23 || len(c.Passes) != 1 {
		t.Errorf("%d lines in %d passes, want 23 in one", len(c.Lines), len(c.Passes))
	}
	for _, l := range c.Lines {
		if !l.Certain || l.Number == 0 {
			t.Errorf("%s was matched to %q, certain %v", l.File, l.Name, l.Certain)
		}
	}
}
