package score

import (
	"strings"
	"testing"

	"tidemark/bench/faults/harm"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

func finding(kind model.Kind, weight model.Weight, at float64, lines ...string) model.Finding {
	return model.Finding{Kind: kind, Weight: weight, Lines: lines, StartS: unit.Some(at), EndS: unit.Some(at + 1)}
}

func TestVerdicts(t *testing.T) {
	hole := harm.Wound{Kind: model.KindDropout, Lines: []string{"3 Snare"}, Severe: true, Timed: true, Starts: []float64{10, 50}}
	swap := harm.Wound{Kind: model.KindSwapped, Lines: []string{"1 Kick", "2 Tom"}, All: true}
	extra := harm.Wound{Kind: model.KindUnlisted, Files: []string{"Spare_01.wav"}}
	for _, c := range []struct {
		name      string
		wound     harm.Wound
		findings  []model.Finding
		line, hit bool
		weight    model.Weight
	}{
		{"nothing said is a miss", hole, nil, false, false, ""},
		{"right line, right time", hole, []model.Finding{finding(model.KindDropout, model.Stop, 10.4, "3 Snare")}, true, true, model.Stop},
		{"the second place counts as well", hole, []model.Finding{finding(model.KindDropout, model.Stop, 49.6, "3 Snare")}, true, true, model.Stop},
		{"six tenths of a second off is not there", hole, []model.Finding{finding(model.KindDropout, model.Stop, 10.6, "3 Snare")}, true, false, ""},
		{"another line is a miss", hole, []model.Finding{finding(model.KindDropout, model.Stop, 10, "4 Hat")}, false, false, ""},
		{"another kind is a miss", hole, []model.Finding{finding(model.KindCrackle, model.Stop, 10, "3 Snare")}, false, false, ""},
		{"the heaviest right finding counts", hole, []model.Finding{
			finding(model.KindDropout, model.Listen, 10, "3 Snare"), finding(model.KindDropout, model.Stop, 50, "3 Snare")}, true, true, model.Stop},
		{"a swap must name both", swap, []model.Finding{finding(model.KindSwapped, model.Stop, 0, "1 Kick")}, false, false, ""},
		{"a swap that names both", swap, []model.Finding{finding(model.KindSwapped, model.Listen, 0, "2 Tom", "1 Kick")}, true, true, model.Listen},
		{"a late file is found by either of its lines", harm.Wound{Kind: model.KindLateStart, Lines: []string{"2 Overhead R"}, Files: []string{"Overheads.wav"}},
			[]model.Finding{{Kind: model.KindLateStart, Weight: model.Listen, Lines: []string{"1 Overhead L"}, Files: []string{"Overheads.wav"}}}, true, true, model.Listen},
		{"a file that is no line is found by its name", extra, []model.Finding{{Kind: model.KindUnlisted, Weight: model.Note, Files: []string{"Spare_01.wav"}}}, true, true, model.Note},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := Judge(c.wound, c.findings)
			if v.Line != c.line || v.Hit() != c.hit || v.Weight != c.weight {
				t.Errorf("got line %v, hit %v, weight %q; want %v, %v, %q", v.Line, v.Hit(), v.Weight, c.line, c.hit, c.weight)
			}
		})
	}
}

func TestStraysAreStopsOnLinesLeftAlone(t *testing.T) {
	wounds := []harm.Wound{{Kind: model.KindDead, Lines: []string{"1 Kick"}}}
	clean := []model.Finding{finding(model.KindCrackle, model.Stop, 3, "5 Vox")}
	got := Strays([]model.Finding{
		finding(model.KindDead, model.Stop, 0, "1 Kick"),
		finding(model.KindCrackle, model.Stop, 3, "5 Vox"),
		finding(model.KindHum, model.Listen, 0, "4 Bass"),
		finding(model.KindDead, model.Stop, 0, "2 Snare"),
	}, wounds, clean)
	if len(got) != 1 || got[0].Lines[0] != "2 Snare" {
		t.Errorf("got %v, want the snare alone", got)
	}
}

func TestTheTableAddsUp(t *testing.T) {
	var tb Table
	tb.SoundHours = 2
	w := harm.Wound{Kind: model.KindHum, Strength: -45, Unit: "dBFS"}
	tb.Add(Verdict{Wound: w, Line: true, Time: true, Weight: model.Listen})
	tb.Add(Verdict{Wound: w})
	w.Kind, w.Variant, w.Severe = model.KindDead, "digital zero", true
	tb.Add(Verdict{Wound: w, Line: true, Time: true, Weight: model.Stop})
	tb.Add(Verdict{Wound: w, Line: true, Time: true, Weight: model.Listen})
	for range 3 {
		tb.Alarmed(finding(model.KindCrackle, model.Stop, 0, "1 Kick"))
	}
	tb.Finish()
	if found, of := tb.SevereFound(); found != 1 || of != 2 {
		t.Errorf("severe: got %d of %d, want 1 of 2", found, of)
	}
	if got, want := tb.FalseStopsPerHour(), 1.5; got != want {
		t.Errorf("false stops an hour: got %g, want %g", got, want)
	}
	var b strings.Builder
	tb.Print(&b)
	for _, want := range []string{
		"| dead | digital zero | 2 | 2 | 2 | 1 | 2 | 1 |",
		"| hum | -50 to -40 dBFS | 2 | 1 | 1 | 0 | 0 | 0 |",
		"| crackle | stop | 3 | 1.50 |",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no row %q in\n%s", want, b.String())
		}
	}
}
