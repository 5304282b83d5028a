package main

import (
	"fmt"
	"strings"
)

// goal is a limit for a figure: "<= 1.2", ">= 3"; the zero value is none.
type goal struct {
	least bool // at least, not at most
	limit float64
}

func atMost(v float64) goal  { return goal{false, v} }
func atLeast(v float64) goal { return goal{true, v} }

// judge is the cell beside a figure.
func (g goal) judge(v float64) string {
	switch {
	case g.limit == 0:
		return ""
	case g.least && v >= g.limit:
		return fmt.Sprintf("≥ %g: met", g.limit)
	case g.least:
		return fmt.Sprintf("≥ %g: **missed**", g.limit)
	case v <= g.limit:
		return fmt.Sprintf("≤ %g: met", g.limit)
	}
	return fmt.Sprintf("≤ %g: **missed**", g.limit)
}

// figure is a row: one value for each build, with the goals of portable and vector.
type figure struct {
	what   string
	values []spread
	goals  [2]goal
}

// figures prints rows with their goals, builds side by side.
func (b *bench) figures(rows []figure) {
	head, rule := "| figure |", "|---|"
	for _, p := range b.builds {
		head += fmt.Sprintf(" %s | goal |", p.name)
		rule += "---|---|"
	}
	b.say("%s\n%s", head, rule)
	for _, r := range rows {
		line := "| " + r.what + " |"
		for i, v := range r.values {
			line += fmt.Sprintf(" %v | %s |", v, r.goals[i].judge(v.median))
		}
		b.say("%s", line)
	}
	b.say("")
}

// times prints what every contestant took; seconds is the length of the sound
// (of all tracks together).
func (b *bench) times(all []contestant, costs [][]cost, seconds float64) {
	b.say("| run | wall s | processor s | × real time | memory MiB |\n|---|---|---|---|---|")
	for i, c := range all {
		w := spreadOf(each(costs[i], wall))
		m := spreadOf(each(costs[i], func(c cost) float64 { return float64(c.rss) / (1 << 20) }))
		b.say("| %s | %v | %v | %.0f | %.0f |", c.name, w, spreadOf(each(costs[i], cpu)), seconds/w.median, m.most)
	}
	b.say("")
}

// title prints a heading.
func (b *bench) title(s string) { b.say("## %s\n", strings.TrimSpace(s)) }
