package match

import (
	"slices"

	"tidemark/internal/model"
)

// judge finds each match's runner-up and decides whether it is certain.
func (m *matcher) judge(bids []bid, done []bool) {
	wonBy := make([]int, len(m.units)) // unit → index in won
	for i := range wonBy {
		wonBy[i] = -1
	}
	for i, w := range m.won {
		wonBy[w.unit] = i
	}
	runner := make([]bid, len(m.units))
	rival := make([]float64, len(m.won))
	for i := range runner {
		runner[i].target = -1
	}
	for _, b := range bids {
		t := m.targets[b.target]
		h := m.holder[t.line]
		own := wonBy[b.unit]
		if own >= 0 && m.targets[m.won[own].target].touches(t) {
			continue // the same line, or half of the same pair
		}
		if h >= 0 {
			w := m.won[h]
			if own < 0 || m.won[own].score < b.score {
				rival[h] = max(rival[h], b.score)
			}
			if w.score >= settledScore && w.score-b.score >= settledMargin {
				continue
			}
		}
		if b.score > runner[b.unit].score {
			runner[b.unit] = b
		}
	}
	agree, differ := m.numbersAgree()
	bareListed := m.bareListed()
	for i, w := range m.won {
		u, r := m.units[w.unit], runner[w.unit]
		certain := w.score >= certainScore && w.score-r.score >= certainMargin && w.score-rival[i] >= certainMargin
		if w.by == byNumber {
			certain = certain && u.bare && bareListed
		} else if u.number > 0 && !w.numbered && agree >= 3 && agree >= 3*differ {
			certain = false
		}
		m.put(w, r, certain)
	}
	for i, u := range m.units {
		if !done[i] {
			for c := range m.recs[u.rec].Channels {
				if u.stereo || c == u.channel {
					m.found[[2]int{u.rec, c}] = m.unlisted(u.rec, c, runner[i])
				}
			}
		}
	}
}

// touches says whether two targets share a line.
func (t target) touches(o target) bool {
	return t.line == o.line || t.other >= 0 && t.other == o.line || o.other >= 0 && (o.other == t.line || o.other == t.other)
}

// numbersAgree counts the names whose leading number is their line's, and
// those whose is not.
func (m *matcher) numbersAgree() (agree, differ int) {
	for _, w := range m.won {
		u := m.units[w.unit]
		switch {
		case u.number == 0 || u.bare || w.by == byNumber:
		case w.numbered:
			agree++
		default:
			differ++
		}
	}
	return agree, differ
}

// bareListed says whether every file that is nothing but a number has its
// number on the list.
func (m *matcher) bareListed() bool {
	for _, u := range m.units {
		if u.bare && !slices.ContainsFunc(m.targets, func(t target) bool {
			return t.trackNumber == u.number || t.trackNumber == 0 && slices.Contains(t.numbers, u.number)
		}) {
			return false
		}
	}
	return true
}

// put writes the matches of a bid that won.
func (m *matcher) put(w, runner bid, certain bool) {
	u, t := m.units[w.unit], m.targets[w.target]
	match := model.Match{Recording: u.rec, Channel: u.channel, Line: t.line, Certain: certain, By: w.by, Score: min(w.score, 1), RunnerUp: -1}
	if runner.target >= 0 {
		match.RunnerUp, match.RunnerUpScore = m.targets[runner.target].line, min(runner.score, 1)
	}
	m.found[[2]int{u.rec, u.channel}] = match
	if !u.stereo {
		return
	}
	second := match
	second.Channel = 1
	if second.Line = t.other; t.other < 0 {
		second = m.unlisted(u.rec, 1, bid{target: -1})
	} else if runner.target >= 0 {
		if o := m.targets[runner.target].other; o >= 0 {
			second.RunnerUp = o
		}
	}
	m.found[[2]int{u.rec, 1}] = second
}

func (m *matcher) unlisted(rec, channel int, runner bid) model.Match {
	out := model.Match{Recording: rec, Channel: channel, Line: -1, RunnerUp: -1}
	if runner.target >= 0 {
		out.RunnerUp, out.RunnerUpScore = m.targets[runner.target].line, min(runner.score, 1)
	}
	return out
}
