package curve

import (
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"tidemark/internal/model"
)

// counts are the numbers found, or found as stop, and tried, step by step.
func (r Result) counts(stop bool) (k, n []int) {
	for _, c := range r.Steps {
		if stop {
			k = append(k, c.Stop)
		} else {
			k = append(k, c.Found())
		}
		n = append(n, c.Tries)
	}
	return k, n
}

// At is the strength at which a share is found, or found as stop, in words.
func (r Result) At(share float64, stop bool) string {
	if len(r.Steps) < 2 {
		return "–"
	}
	k, n := r.counts(stop)
	x, side := Crossing(r.Ladder.Steps, r.Ladder.Log, k, n, share)
	switch side {
	case -1:
		return "from " + figure(x)
	case 1:
		return "not by " + figure(x)
	}
	return figure(x)
}

// figure writes a strength with as many digits as anybody needs.
func figure(x float64) string {
	switch a := math.Abs(x); {
	case x <= -200:
		return "nothing"
	case a == math.Trunc(a):
		return fmt.Sprintf("%.0f", x)
	case a >= 20:
		return fmt.Sprintf("%.1f", x)
	}
	return fmt.Sprintf("%.3g", x)
}

// Print writes the results as Markdown: all ladders in one table, then one each.
func Print(w io.Writer, results []Result) {
	fmt.Fprint(w, "| kind | ladder | strength in | 50 % found | 90 % found | 50 % as stop | 90 % as stop | without the fault: found, of them stops |\n|---|---|---|--:|--:|--:|--:|--:|\n")
	for _, r := range results {
		if tries(r) == 0 {
			continue
		}
		half, most := r.At(0.5, true), r.At(0.9, true)
		if !r.Ladder.Stops {
			half, most = "", ""
		}
		fmt.Fprintf(w, "| %s | %s | %s | %s | %s | %s | %s | %d of %d (under %s), %d |\n", r.Ladder.Kind, r.Ladder.Name, r.Ladder.Unit,
			r.At(0.5, false), r.At(0.9, false), half, most, r.Zero.Found(), r.Zero.Tries, percent(Interval(r.Zero.Found(), r.Zero.Tries).High), r.Zero.Stop)
	}
	kind := model.Kind("")
	for _, r := range results {
		if r.Ladder.Kind != kind {
			kind = r.Ladder.Kind
			fmt.Fprintf(w, "\n## %s\n", kind)
		}
		r.print(w)
	}
}

func tries(r Result) int {
	n := 0
	for _, c := range r.Steps {
		n += c.Tries
	}
	return n
}

func (r Result) print(w io.Writer) {
	l := r.Ladder
	fmt.Fprintf(w, "\n### %s: %s\n\n%s\n\n", l.Kind, l.Name, l.What)
	if tries(r) == 0 {
		fmt.Fprint(w, "No take of this run had lines for it.\n")
		return
	}
	fmt.Fprintf(w, "| %s | tries | stop | listen or note | not found | found, 95 %% | as stop, 95 %% | |\n|--:|--:|--:|--:|--:|--:|--:|---|\n", l.Unit)
	row := func(name string, c Count) {
		if c.Tries == 0 {
			return
		}
		n := float64(c.Tries)
		fmt.Fprintf(w, "| %s | %d | %s | %s | %s | %s | %s | `%s` |\n", name, c.Tries, percent(float64(c.Stop)/n), percent(float64(c.Heard)/n),
			percent(1-float64(c.Found())/n), interval(c.Found(), c.Tries), interval(c.Stop, c.Tries), bar(c))
	}
	row("without", r.Zero)
	for s, c := range r.Steps {
		row(figure(l.Steps[s]), c)
	}
	var others []string
	for s, c := range r.Steps {
		for _, k := range slices.Sorted(maps.Keys(c.Others)) {
			others = append(others, fmt.Sprintf("%s at %s: %d", k, figure(l.Steps[s]), c.Others[k]))
		}
	}
	if len(others) > 0 {
		fmt.Fprintf(w, "\nThe line was newly stopped by another kind: %s.\n", strings.Join(others, "; "))
	}
	if !r.Monotone() {
		fmt.Fprint(w, "\nThis curve falls somewhere by more than chance.\n")
	}
}

func percent(x float64) string {
	if x > 0 && x < 0.095 {
		return fmt.Sprintf("%.1f %%", 100*x)
	}
	return fmt.Sprintf("%.0f %%", 100*x)
}

func interval(k, n int) string {
	i := Interval(k, n)
	return fmt.Sprintf("%.0f–%.0f %%", 100*i.Low, 100*i.High)
}

// barCells is how many characters a bar has.
const barCells = 20

// bar draws the shares: # stop, + listen or note, · not found.
func bar(c Count) string {
	cells := func(n int) int { return int(math.Round(barCells * float64(n) / float64(c.Tries))) }
	stop, found := cells(c.Stop), cells(c.Found())
	return strings.Repeat("#", stop) + strings.Repeat("+", found-stop) + strings.Repeat("·", barCells-found)
}
