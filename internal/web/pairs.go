package web

import (
	"math"

	"tidemark/internal/model"
)

// pairRow is one pair in the table and one rung of the ladder.
type pairRow struct {
	A, B, On, Relation, Pass         string
	Delay, Samples, CM, Inches       string
	Polarity                         string
	Coherence, Correlation, MonoLoss string
	Worst                            string // the band that loses most
	Judgement                        string
	Weight                           model.Weight // of the finding that judges it, empty without
	Anchor                           string
	First, Second                    string // in order of arrival
	At                               string // where the second arrives on the ladder, empty when unknown
	Later                            string // by how much, without a sign
	Together                         bool
	Upside                           bool // opposite polarity
	Unsure                           bool // polarity not known
}

type ladder struct {
	Marks []tick
	Rows  []pairRow
}

// ladderTop are the ends the ladder's scale may have, in milliseconds.
var ladderTop = []float64{0.5, 1, 2, 5, 10, 20, 50, 100}

// ladderX places a delay: a square-root scale, so that a centimetre between
// overheads and five metres to the room fit on one picture. A tenth is kept
// free on the right.
func ladderX(ms, top float64) float64 { return 0.02 + 0.93*math.Sqrt(min(math.Abs(ms)/top, 1)) }

func (s *sheet) ladder() ladder {
	top := ladderTop[0]
	for _, p := range s.Page.Pairs {
		d := math.Abs(p.DelayMS.Or(0))
		for _, t := range ladderTop {
			if top < d && t > top {
				top = t
			}
		}
	}
	var l ladder
	for _, t := range []float64{0, 0.1, 0.5, 1, 2, 5, 10, 20, 50, 100} {
		crowded := t > 0 && (t < top/60 || (top >= 10 && t == 1))
		if t <= top && !crowded {
			decimals := 0
			if t != math.Trunc(t) {
				decimals = 1
			}
			l.Marks = append(l.Marks, tick{X: pc(ladderX(t, top)), Text: number(t, decimals)})
		}
	}
	for _, p := range s.Page.Pairs {
		l.Rows = append(l.Rows, s.pair(p, top))
	}
	return l
}

// togetherMS is the difference below which two arrivals are called one: a
// sample at 44.1 kHz, under a centimetre.
const togetherMS = 0.0227

func (s *sheet) pair(p Pair, top float64) pairRow {
	r := pairRow{
		A: p.A, B: p.B, Relation: p.Relation,
		Delay: signed(p.DelayMS, 2), Samples: signed(p.DelaySamples, 1),
		CM: signed(p.DistanceCM, 1), Inches: signed(p.DistanceIn, 1),
		Coherence: maybe(p.Coherence, 2), Correlation: signed(p.Correlation, 2),
		MonoLoss: maybe(p.MonoLossDB, 1), Polarity: p.Polarity,
		Judgement: p.Judgement, First: p.A, Second: p.B,
	}
	if p.On != p.A && p.On != p.B {
		r.On = p.On
	}
	if len(s.Page.Passes) > 1 {
		r.Pass = p.Pass
	}
	if r.Polarity == "" || r.Polarity == "unclear" {
		r.Polarity, r.Unsure = "not sure", true
	}
	r.Upside = p.Polarity == "opposite"
	worst := 0.0
	for _, b := range p.LossBands {
		if b.DB < worst {
			worst = b.DB
			r.Worst = number(b.DB, 1) + " at " + hertz(b.CenterHz)
		}
	}
	if d, ok := finite(p.DelayMS); ok {
		r.At = pc(ladderX(d, top))
		r.Later = number(math.Abs(d), 2) + "\u00a0ms"
		if c, ok := p.DistanceCM.Get(); ok {
			r.Later += ", " + number(math.Abs(c), 1) + "\u00a0cm"
		}
		r.Together = math.Abs(d) < togetherMS
		if d < 0 {
			r.First, r.Second = p.B, p.A
		}
	}
	s.judge(&r, p)
	return r
}

// judge takes the pair's judgement from the heaviest finding that names both
// lines, when the caller gave none.
func (s *sheet) judge(r *pairRow, p Pair) {
	for i, x := range s.Page.Findings {
		if (x.Pass != "" && p.Pass != "" && x.Pass != p.Pass) || !names(x, p.A) || !names(x, p.B) {
			continue
		}
		if r.Weight == "" || x.Weight.Rank() < r.Weight.Rank() {
			r.Weight, r.Anchor = x.Weight, anchor(i)
			if p.Judgement == "" {
				r.Judgement = heading(x.Kind)
			}
		}
	}
	if r.Judgement != "" {
		return
	}
	if !p.DelayMS.Defined() {
		r.Judgement = "not measured"
		return
	}
	r.Judgement = "nothing to do"
}

func names(x model.Finding, line string) bool {
	for _, l := range x.Lines {
		if l == line {
			return true
		}
	}
	return false
}

func hertz(f float64) string {
	if f >= 1000 {
		return number(f/1000, 1) + "\u00a0kHz"
	}
	return number(f, 0) + "\u00a0Hz"
}
