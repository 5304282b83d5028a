package match

import (
	"cmp"
	"slices"
	"strings"

	"tidemark/internal/model"
)

// byOrder gives the channels of polyphonic files without names to lines by
// their order. A file that is named for a family or a group of the list with
// exactly as many free lines as it has channels goes there. The others are
// laid end to end in the order of their names: if they have as many channels
// as the list has lines, and nothing else was matched, they are the list.
// Otherwise channel 1 is offered to line number 1 and so on, in doubt.
func (m *matcher) byOrder(poly []int) {
	slices.SortFunc(poly, func(a, b int) int { return cmp.Compare(m.recs[a].Name, m.recs[b].Name) })
	poly = slices.DeleteFunc(poly, func(i int) bool { return m.saidOf(i) == m.recs[i].Channels })
	var rest []int
	contradicted := false
	for _, i := range poly {
		name := parseName(m.recs[i].Name)
		lines := m.linesNamed(name)
		if len(lines) == m.recs[i].Channels && m.saidOf(i) == 0 {
			for c, l := range lines {
				m.order(i, c, l, true)
			}
			continue
		}
		if read(name.text).words.Family != model.Unknown {
			contradicted = true // it says it is something, and there are not as many of that
		}
		rest = append(rest, i)
	}
	total, anySaid := 0, false
	for _, i := range rest {
		total += m.recs[i].Channels
		anySaid = anySaid || m.saidOf(i) > 0
	}
	var free []int
	for l, h := range m.holder {
		if h == -1 {
			free = append(free, l)
		}
	}
	fits := total == len(m.lines) && len(free) == total && !contradicted
	at := 0
	for _, i := range rest {
		for c := range m.recs[i].Channels {
			at++
			if _, said := m.found[[2]int{i, c}]; said {
				continue
			}
			switch {
			case fits || total == len(free) && !anySaid:
				m.order(i, c, free[at-1], fits)
			default:
				l := slices.IndexFunc(m.lines, func(l model.Line) bool { return l.Number == at })
				if l < 0 || m.holder[l] != -1 {
					m.found[[2]int{i, c}] = m.unlisted(i, c, bid{target: -1})
					continue
				}
				m.order(i, c, l, false)
			}
		}
	}
}

// saidOf counts the channels of a recording that the person has placed.
func (m *matcher) saidOf(i int) int {
	n := 0
	for c := range m.recs[i].Channels {
		if _, said := m.found[[2]int{i, c}]; said {
			n++
		}
	}
	return n
}

// linesNamed are the free lines that a polyphonic file's name means: a group
// of the list ("Drums.wav"), else a family and stem ("Toms.wav").
func (m *matcher) linesNamed(f fileName) []int {
	group := strings.Join(model.Tokens(f.text), " ")
	r := read(f.text)
	var inGroup, inFamily []int
	for l, line := range m.lines {
		if m.holder[l] != -1 {
			continue
		}
		if group != "" && strings.Join(model.Tokens(line.Group), " ") == group {
			inGroup = append(inGroup, l)
		}
		if r.words.Family != model.Unknown && line.Family == r.words.Family && overlap(r.stem, strings.Fields(line.Stem)) >= 0.5 {
			inFamily = append(inFamily, l)
		}
	}
	if len(inGroup) > 0 {
		return inGroup
	}
	return inFamily
}

// order writes a match by the order of channels.
func (m *matcher) order(rec, channel, line int, certain bool) {
	score := orderDoubt
	if certain {
		score = orderScore
	}
	m.holder[line] = -2
	m.found[[2]int{rec, channel}] = model.Match{Recording: rec, Channel: channel, Line: line, Certain: certain, By: byOrder, Score: score, RunnerUp: -1}
}
