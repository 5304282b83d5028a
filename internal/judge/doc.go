// Package judge turns measurements and the plan into findings.
//
// A rule is a pure function from the Evidence to findings, one file a kind, in
// fixed order. Every limit stands in limits.go with its source. "Not measured"
// is its own answer and never counts as a pass; a rule that cannot be sure says
// listen, never stop, and a doubtful match never makes a stop.
//
// Start reading at Judge.
package judge

import (
	"fmt"
	"sort"

	"tidemark/internal/model"
)

// Judge runs all rules and returns their findings, heaviest first, then in the
// order of the list, then in that of the rules. No two have the same id.
func Judge(e *Evidence) []model.Finding {
	var all []model.Finding
	for _, rule := range Rules {
		all = append(all, rule.Find(e)...)
	}
	for i := range all {
		if all[i].Places == nil {
			all[i].Places = []model.Place{} // an empty list in JSON, not null
		}
	}
	tellApart(all)
	order := map[string]int{}
	for i, l := range e.Lines {
		order[l.Name()] = i
	}
	place := func(f model.Finding) int {
		if len(f.Lines) == 0 {
			return len(e.Lines)
		}
		if i, ok := order[f.Lines[0]]; ok {
			return i
		}
		return len(e.Lines)
	}
	sort.SliceStable(all, func(i, j int) bool {
		a, b := all[i], all[j]
		if a.Weight.Rank() != b.Weight.Rank() {
			return a.Weight.Rank() < b.Weight.Rank()
		}
		return place(a) < place(b)
	})
	return all
}

// tellApart numbers findings that would have one id: a take and the fix punched
// into it are one line, and a list may call two lines the same.
func tellApart(all []model.Finding) {
	used := map[string]int{}
	for i := range all {
		id := all[i].ID
		if used[id]++; used[id] > 1 {
			all[i].ID = fmt.Sprintf("%s/%d", id, used[id])
		}
	}
}

// Rule finds one kind of finding.
type Rule struct {
	Kind model.Kind
	Find func(*Evidence) []model.Finding
}

// Rules are all rules in the order in which they speak.
var Rules = []Rule{
	{model.KindMissing, missing},
	{model.KindDead, dead},
	{model.KindTruncated, truncated},
	{model.KindDropout, dropout},
	{model.KindClipped, clipped},
	{model.KindCrackle, crackle},
	{model.KindSwapped, swapped},
	{model.KindFlipped, flipped},
	{model.KindDuplicate, duplicate},
	{model.KindWrongRate, wrongRate},
	{model.KindShort, short},
	{model.KindLateStart, lateStart},
	{model.KindHum, hum},
	{model.KindNoisy, noisy},
	{model.KindHot, hot},
	{model.KindLow, low},
	{model.KindLate, late},
	{model.KindMonoLoss, monoLoss},
	{model.KindWrongDepth, wrongDepth},
	{model.KindDCOffset, dcOffset},
	{model.KindDoubtfulMatch, doubtfulMatch},
	{model.KindUnlisted, unlisted},
}
