package desk

import (
	"fmt"
	"strings"

	"tidemark/internal/model"
)

// Heard is how many lines of the list have sound, each counted once in however
// many passes and fixes it is, and how many seconds the passes last together.
func (c Check) Heard() (lines int, seconds float64) {
	listed := map[string]bool{}
	for _, l := range c.Lines {
		if l.Name != "" {
			listed[l.Name] = true
		}
	}
	for _, p := range c.Passes {
		seconds += p.DurationS
	}
	return len(listed), seconds
}

// Verdict is the check in one sentence.
func (c Check) Verdict() string {
	var parts []string
	say := func(w model.Weight, one, many string) {
		switch n := c.Count(w); n {
		case 0:
		case 1:
			parts = append(parts, "1 "+one)
		default:
			parts = append(parts, fmt.Sprintf("%d %s", n, many))
		}
	}
	say(model.Stop, "thing to stop for", "things to stop for")
	say(model.Listen, "to listen to", "to listen to")
	say(model.Note, "to note", "to note")
	head := "nothing to stop for, nothing to listen to"
	if len(parts) > 0 {
		head = strings.Join(parts, ", ")
	}
	n, music := c.Heard()
	lines := "1 line"
	if n != 1 {
		lines = fmt.Sprintf("%d lines", n)
	}
	passes := ""
	if len(c.Passes) > 1 {
		passes = fmt.Sprintf(" in %d passes", len(c.Passes))
	}
	return fmt.Sprintf("%s (%s%s, %d:%02d, checked in %.1f s)", head, lines, passes, int(music)/60, int(music)%60, c.TookS)
}
