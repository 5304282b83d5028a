package cli

import (
	"bufio"
	"fmt"
	"io"
	"path"
	"strings"
	"text/tabwriter"

	"tidemark/internal/desk"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// printCheck writes a check for reading on a terminal: the verdict, what was
// understood, what to do, then the lines.
func printCheck(out io.Writer, c desk.Check, pairs bool) error {
	w := bufio.NewWriter(out)
	width := lineWidth()
	fmt.Fprintln(w, c.Verdict())
	printSources(w, c, width)
	for _, f := range c.Findings {
		fmt.Fprintf(w, "\n%s\n", wrap(fmt.Sprintf("%-8s", strings.ToUpper(string(f.Weight))), f.Evidence, width))
		fmt.Fprintln(w, wrap("     -> ", f.Advice, width))
	}
	fmt.Fprintln(w)
	printLines(w, c, width)
	if pairs && len(c.Pairs) > 0 {
		fmt.Fprintln(w)
		printPairs(w, c.Pairs)
	}
	if c.Count(model.Stop) == 0 {
		fmt.Fprintln(w, "\nnothing to stop for")
	}
	return w.Flush()
}

// printSources writes what the check was made from besides the tracks: the input
// list and the line check. A column taken for the wrong thing shows here.
func printSources(w io.Writer, c desk.Check, width int) {
	fmt.Fprintln(w)
	if c.List == nil {
		fmt.Fprintln(w, wrap("", "no input list: the lines were named after their files, so nothing can be missing; give one with --lines", width))
	} else {
		for i, line := range strings.Split(strings.TrimSpace(c.List.Understood), "\n") {
			if i == 0 {
				fmt.Fprintln(w, wrap("", c.List.File+": "+line, width))
				continue
			}
			fmt.Fprintln(w, wrap("  ", line, width))
		}
	}
	if l := c.LineCheck; l != nil {
		said := fmt.Sprintf("%s, %d sources heard", l.Form, len(l.Sources))
		if !l.Understood {
			said = "not understood: " + l.Why
		}
		fmt.Fprintln(w, wrap("", fmt.Sprintf("line check in %q: %s", path.Base(l.Folder), said), width))
	}
}

// printLines writes the levels of every line, pass by pass.
func printLines(w io.Writer, c desk.Check, width int) {
	dir := sameFolder(c.Lines)
	what := "line (file)"
	if dir != "" {
		what = fmt.Sprintf("line (file in %s)", dir)
	}
	const row = "%4s  %6s  %6s  %6s  %6s  %15s  %6s  "
	fmt.Fprintf(w, row+"%s\n", "#", "peak", "true", "RMS", "floor", "usual range", "loud", what)
	fmt.Fprintln(w, strings.TrimRight(fmt.Sprintf(row, "", "dBFS", "dBTP", "dBFS", "dBFS", "dBFS", "LUFS"), " "))
	pass := ""
	for _, l := range c.Lines {
		if len(c.Passes) > 1 && l.Pass != pass {
			pass = l.Pass
			fmt.Fprintln(w, "      "+pass+passTime(c.Passes, pass))
		}
		number := ""
		if l.Number > 0 {
			number = fmt.Sprint(l.Number)
		}
		file := strings.TrimPrefix(l.File, dir+"/")
		if l.Format.Channels > 1 {
			file += fmt.Sprintf(", channel %d", l.Channel)
		}
		name := fmt.Sprintf("%s (%s)", l.Source, file)
		if l.Source == "" {
			name = file // a copy, where there is no list to be on
			if c.List != nil {
				name = fmt.Sprintf("(not on the list) (%s)", file)
			}
		}
		n := l.Levels
		usual := "–"
		if low, ok := n.UsualLowDBFS.Get(); ok {
			usual = fmt.Sprintf("%.1f to %s", low, one(n.UsualHighDBFS))
		}
		start := fmt.Sprintf(row, number, one(n.PeakDBFS), one(n.TruePeakDBTP), one(n.RMSDBFS), one(n.FloorDBFS), usual, one(n.LoudnessLUFS))
		fmt.Fprintln(w, wrap(start, name, width))
	}
}

// sameFolder is the folder below the checked one that all files lie in: "" where
// they lie in it or in several.
func sameFolder(lines []desk.LineReport) string {
	dir := ""
	for i, l := range lines {
		d := path.Dir(l.File)
		if d == "." || i > 0 && d != dir {
			return ""
		}
		dir = d
	}
	return dir
}

// passTime is when a pass began, where the recorder wrote it down, and its length.
func passTime(passes []desk.PassReport, name string) string {
	for _, p := range passes {
		if p.Name != name {
			continue
		}
		said := ""
		if s, ok := p.StartS.Get(); ok {
			said = fmt.Sprintf(" from %d:%02d:%02d", int(s)/3600, int(s)/60%60, int(s)%60)
		}
		return said + fmt.Sprintf(", %d:%02d long", int(p.DurationS)/60, int(p.DurationS)%60)
	}
	return ""
}

func printPairs(w io.Writer, pairs []desk.PairReport) {
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tw, "lines\tmeasured on\tsecond later by\t\t\tpolarity\tcoherence\tmono loss")
	for _, p := range pairs {
		fmt.Fprintf(tw, "%s / %s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", p.A, p.B, p.On, with(two(p.DelayMS), "ms"), with(one(p.DelaySamples), "samples"), with(one(p.DistanceCM), "cm"), p.Polarity, two(p.Coherence), with(one(p.MonoLossDB), "dB"))
	}
	tw.Flush()
}

func one(m unit.Maybe[float64]) string { return places(m, 1) }
func two(m unit.Maybe[float64]) string { return places(m, 2) }

// with puts a unit behind a number, and nothing behind the dash of an undefined one.
func with(number, unit string) string {
	if number == "–" {
		return number
	}
	return number + " " + unit
}

func places(m unit.Maybe[float64], n int) string {
	v, ok := m.Get()
	if !ok {
		return "–"
	}
	s := fmt.Sprintf("%.*f", n, v)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-") // nothing is minus zero
	}
	return s
}
