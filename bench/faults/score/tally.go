package score

import (
	"fmt"
	"io"
	"sort"

	"tidemark/bench/faults/harm"
	"tidemark/internal/model"
)

// Bin is a range of strengths of one kind.
type Bin struct {
	Kind        model.Kind `json:"kind"`
	Strength    string     `json:"strength"`
	Tries       int        `json:"tries"`
	RightLine   int        `json:"right_line"`
	Hits        int        `json:"hits"`
	Stops       int        `json:"stops"`
	Severe      int        `json:"severe"`
	SevereStops int        `json:"severe_stops"`
	order       int
}

// Alarm is a kind of false alarm at one weight.
type Alarm struct {
	Kind   model.Kind   `json:"kind"`
	Weight model.Weight `json:"weight"`
	Count  int          `json:"count"`
	PerHr  float64      `json:"per_hour"`
}

// Place is a false alarm or a miss that somebody should look at.
type Place struct {
	Session string  `json:"session"`
	Kind    string  `json:"kind"`
	Weight  string  `json:"weight"`
	Lines   string  `json:"lines"`
	StartS  float64 `json:"start_s"`
	Text    string  `json:"text"`
}

// Table is the outcome of a run.
type Table struct {
	Seed         uint64             `json:"seed"`
	Material     []string           `json:"material"`
	Sessions     int                `json:"sessions"`
	SoundHours   float64            `json:"sound_hours"` // music checked without a fault
	LineHours    float64            `json:"line_hours"`  // the same times the lines
	WoundedHours float64            `json:"wounded_hours"`
	CheckSpeed   float64            `json:"check_line_hours_per_hour"`
	Bins         []*Bin             `json:"bins"`
	Alarms       []*Alarm           `json:"false_alarms"`
	Worst        []Place            `json:"false_stops"`
	Missed       []Place            `json:"missed_stops"`
	Unheard      []Place            `json:"not_found"`
	Listens      []Place            `json:"false_listens"`
	Strays       []Place            `json:"stray_stops"`
	Styles       map[string]float64 `json:"hours_by_style"`
}

// edges are the strength bins of each kind; kinds without edges go by variant.
var edges = map[model.Kind][]float64{
	model.KindNoisy:     {-70, -60, -50, -40},
	model.KindHum:       {-80, -70, -60, -50, -40},
	model.KindCrackle:   {12, 20, 28, 34},
	model.KindDropout:   {2, 5, 20, 100},
	model.KindClipped:   {1, 3, 6},
	model.KindHot:       {-3, -1},
	model.KindLow:       {-45, -36},
	model.KindDCOffset:  {-50, -40, -30},
	model.KindLate:      {0.1, 0.2, 0.5},
	model.KindShort:     {0.5, 1, 5},
	model.KindLateStart: {0.5, 2},
}

// Name says which bin a wound belongs to, and its order in the kind.
func Name(w harm.Wound) (string, int) {
	e := edges[w.Kind]
	if len(e) == 0 {
		return w.Variant, 0
	}
	variant := ""
	switch w.Kind {
	case model.KindDropout, model.KindClipped:
		variant = w.Variant + ", "
	}
	i := sort.SearchFloat64s(e, w.Strength)
	switch i {
	case 0:
		return fmt.Sprintf("%sunder %g %s", variant, e[0], w.Unit), i
	case len(e):
		return fmt.Sprintf("%sover %g %s", variant, e[i-1], w.Unit), i
	}
	return fmt.Sprintf("%s%g to %g %s", variant, e[i-1], e[i], w.Unit), i
}

// Add counts a verdict.
func (t *Table) Add(v Verdict) {
	name, order := Name(v.Wound)
	var b *Bin
	for _, x := range t.Bins {
		if x.Kind == v.Wound.Kind && x.Strength == name {
			b = x
		}
	}
	if b == nil {
		b = &Bin{Kind: v.Wound.Kind, Strength: name, order: order}
		t.Bins = append(t.Bins, b)
	}
	b.Tries++
	if v.Line {
		b.RightLine++
	}
	if v.Hit() {
		b.Hits++
	}
	stop := v.Hit() && v.Weight == model.Stop
	if stop {
		b.Stops++
	}
	if v.Wound.Severe {
		b.Severe++
		if stop {
			b.SevereStops++
		}
	}
}

// Alarmed counts a finding in a sound folder.
func (t *Table) Alarmed(f model.Finding) {
	for _, a := range t.Alarms {
		if a.Kind == f.Kind && a.Weight == f.Weight {
			a.Count++
			return
		}
	}
	t.Alarms = append(t.Alarms, &Alarm{Kind: f.Kind, Weight: f.Weight, Count: 1})
}

// Finish sorts the table and works out its rates.
func (t *Table) Finish() {
	rank := map[model.Kind]int{}
	for i, k := range harm.Kinds {
		rank[k] = i
	}
	sort.SliceStable(t.Bins, func(i, j int) bool {
		a, b := t.Bins[i], t.Bins[j]
		if a.Kind != b.Kind {
			return rank[a.Kind] < rank[b.Kind]
		}
		if a.order != b.order {
			return a.order < b.order
		}
		return a.Strength < b.Strength
	})
	for _, a := range t.Alarms {
		if t.SoundHours > 0 {
			a.PerHr = float64(a.Count) / t.SoundHours
		}
	}
	sort.SliceStable(t.Alarms, func(i, j int) bool {
		a, b := t.Alarms[i], t.Alarms[j]
		if a.Weight != b.Weight {
			return a.Weight.Rank() < b.Weight.Rank()
		}
		if a.Count != b.Count {
			return a.Count > b.Count
		}
		return a.Kind < b.Kind
	})
}

// FalseStopsPerHour is the first of the two figures that matter.
func (t *Table) FalseStopsPerHour() float64 {
	n := 0
	for _, a := range t.Alarms {
		if a.Weight == model.Stop {
			n += a.Count
		}
	}
	if t.SoundHours == 0 {
		return 0
	}
	return float64(n) / t.SoundHours
}

// SevereFound is the second: severe faults found with the weight stop, of all.
func (t *Table) SevereFound() (found, of int) {
	for _, b := range t.Bins {
		found, of = found+b.SevereStops, of+b.Severe
	}
	return found, of
}

// mostPlaces is how many places of a kind are printed; JSON has them all.
const mostPlaces = 40

// Print writes the table as Markdown.
func (t *Table) Print(w io.Writer) {
	found, of := t.SevereFound()
	fmt.Fprintf(w, "Seed %d, %d sessions. Music without a fault: %.2f h (%.1f line-hours); with faults: %.2f h.\n", t.Seed, t.Sessions, t.SoundHours, t.LineHours, t.WoundedHours)
	fmt.Fprintf(w, "Material: ")
	for i, m := range t.Material {
		if i > 0 {
			fmt.Fprint(w, ", ")
		}
		fmt.Fprint(w, m)
	}
	fmt.Fprintf(w, ".\nHours by style:")
	var styles []string
	for s := range t.Styles {
		styles = append(styles, s)
	}
	sort.Strings(styles)
	for _, s := range styles {
		fmt.Fprintf(w, " %s %.2f", s, t.Styles[s])
	}
	fmt.Fprintf(w, ".\n\nSevere faults found as stop, on the right line, within %.1f s: %d of %d. False stops: %.2f an hour of music.\n", NearS, found, of, t.FalseStopsPerHour())
	fmt.Fprint(w, "\n| kind | strength | tries | right line | and place | as stop | severe | severe as stop |\n|---|---|--:|--:|--:|--:|--:|--:|\n")
	for _, b := range t.Bins {
		fmt.Fprintf(w, "| %s | %s | %d | %d | %d | %d | %d | %d |\n", b.Kind, b.Strength, b.Tries, b.RightLine, b.Hits, b.Stops, b.Severe, b.SevereStops)
	}
	fmt.Fprint(w, "\n| false alarm | weight | count | an hour |\n|---|---|--:|--:|\n")
	for _, a := range t.Alarms {
		fmt.Fprintf(w, "| %s | %s | %d | %.2f |\n", a.Kind, a.Weight, a.Count, a.PerHr)
	}
	places := func(title string, ps []Place) {
		more := max(len(ps)-mostPlaces, 0)
		ps = ps[:len(ps)-more]
		if len(ps) == 0 {
			return
		}
		fmt.Fprintf(w, "\n%s:\n\n", title)
		for _, p := range ps {
			fmt.Fprintf(w, "- %s, %s, %s %s at %.2f s: %s\n", p.Session, p.Lines, p.Weight, p.Kind, p.StartS, p.Text)
		}
		if more > 0 {
			fmt.Fprintf(w, "- and %d more\n", more)
		}
	}
	places("False stops", t.Worst)
	places("Stops on lines that nothing was done to, beside wounded ones", t.Strays)
	places("Severe faults not found as stop", t.Missed)
	places("Other faults not found at all", t.Unheard)
	places("False listens", t.Listens)
}
