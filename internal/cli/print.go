package cli

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"tidemark/internal/desk"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// printCheck writes a check for reading on a terminal: the verdict, what to do,
// then the lines.
func printCheck(out io.Writer, c desk.Check, pairs bool) error {
	w := bufio.NewWriter(out)
	fmt.Fprintln(w, c.Verdict())
	if c.List != nil {
		fmt.Fprintf(w, "\n%s: %s\n", c.List.File, indent(c.List.Understood))
	} else {
		fmt.Fprintln(w, "\nno input list: the lines were named after their files, so nothing can be missing; give one with --lines")
	}
	for _, f := range c.Findings {
		fmt.Fprintf(w, "\n%-6s  %s\n", strings.ToUpper(string(f.Weight)), f.Evidence)
		fmt.Fprintf(w, "        -> %s\n", f.Advice)
	}
	fmt.Fprintln(w)
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(tw, "#\tpeak\ttrue\trms\tfloor\tusual\t\thead\tLUFS\t  line (file)")
	fmt.Fprintln(tw, "\tdBFS\tdBTP\tdBFS\tdBFS\tdBFS\t\troom\t\t")
	for _, l := range c.Lines {
		name := l.Source
		if name == "" {
			name = "(not on the list)"
		}
		if len(c.Passes) > 1 {
			name += ", " + l.Pass
		}
		n := l.Levels
		number := ""
		if l.Number > 0 {
			number = fmt.Sprint(l.Number)
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t  %s (%s)\n", number, one(n.PeakDBFS), one(n.TruePeakDBTP), one(n.RMSDBFS), one(n.FloorDBFS),
			one(n.UsualLowDBFS), one(n.UsualHighDBFS), one(n.HeadroomDB), one(n.LoudnessLUFS), name, l.File)
	}
	tw.Flush()
	if pairs && len(c.Pairs) > 0 {
		fmt.Fprintln(w)
		tw = tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(tw, "lines\tmeasured on\tlater by\t\t\tpolarity\tcoherence\tmono loss")
		for _, p := range c.Pairs {
			fmt.Fprintf(tw, "%s / %s\t%s\t%s ms\t%s samples\t%s cm\t%s\t%s\t%s dB\n", p.A, p.B, p.On, two(p.DelayMS), one(p.DelaySamples), one(p.DistanceCM), p.Polarity, two(p.Coherence), one(p.MonoLossDB))
		}
		tw.Flush()
	}
	if c.Count(model.Stop) == 0 {
		fmt.Fprintln(w, "\nnothing to stop for")
	}
	return w.Flush()
}

func indent(s string) string { return strings.ReplaceAll(strings.TrimSpace(s), "\n", "\n  ") }

func one(m unit.Maybe[float64]) string { return places(m, 1) }
func two(m unit.Maybe[float64]) string { return places(m, 2) }

func places(m unit.Maybe[float64], n int) string {
	v, ok := m.Get()
	if !ok {
		return "–"
	}
	return fmt.Sprintf("%.*f", n, v)
}
