package web

import (
	"math"
	"strconv"
	"strings"

	"tidemark/internal/model"
)

// The time bars. Each line is drawn as a shore: height is level, from the
// bottom at −60 dBFS to full scale, water up to the RMS, a thin line at the
// peak. Findings stand above the shore at their time, as shapes.
const (
	barBottomDB = -60.0 // common practice: below it nothing can be seen at this height
	barColumns  = 480   // steps drawn at most; longer recordings are gathered
	barHeight   = 100   // of the drawing, in its own units
)

type barPass struct {
	Name, Began, Length string
	Ticks               []tick
	Rows                []barRow
}

type tick struct {
	X, Text string
	Last    bool // near the right edge: its text stands to the left
}

type barRow struct {
	Anchor, Name, Mic string
	Note              string // why there is no shore
	X, W              string // of the file inside the pass
	ViewBox           string
	Water, Peak       string
	Marks             []barMark
	Whole             []barMark // findings without a place in time
	Ticks             []tick
}

type barMark struct {
	Weight model.Weight
	Anchor string
	Label  string
	Spots  []spot
}

// spot is one place of a finding; At is empty where the shape would hide the
// one before it and only the band is drawn.
type spot struct{ At, From, W string }

func barAnchor(line int) string { return "line" + strconv.Itoa(line+1) }

// bars draws one group of rows a pass, in the order of the passes; lines whose
// pass is not among them make a last group without an axis.
func (s *sheet) bars() []barPass {
	var out []barPass
	done := make([]bool, len(s.Page.Lines))
	for _, p := range s.Page.Passes {
		bp := barPass{Name: p.Name, Length: length(p.DurationS), Ticks: ticks(p.DurationS)}
		if v, ok := p.StartS.Get(); ok {
			bp.Began = ofDay(v)
		}
		for i, l := range s.Page.Lines {
			if l.Pass == p.Name {
				done[i] = true
				bp.Rows = append(bp.Rows, s.bar(i, l, p.DurationS, bp.Ticks))
			}
		}
		if len(bp.Rows) > 0 {
			out = append(out, bp)
		}
	}
	rest := barPass{Name: "not in any pass"}
	for i, l := range s.Page.Lines {
		if !done[i] {
			rest.Rows = append(rest.Rows, s.bar(i, l, 0, nil))
		}
	}
	if len(rest.Rows) > 0 {
		out = append(out, rest)
	}
	return out
}

func (s *sheet) bar(i int, l Line, passS float64, ticks []tick) barRow {
	r := barRow{Anchor: barAnchor(i), Name: l.Name(), Mic: l.Mic, Ticks: ticks}
	switch {
	case l.File == "":
		r.Note = "no file"
	case len(l.Envelope) == 0 || passS <= 0:
		r.Note = "not drawn: no envelope was measured"
	default:
		r.X, r.W = pc(l.OffsetS/passS), pc(float64(len(l.Envelope))*l.hopS()/passS)
		var cols int
		r.Water, r.Peak, cols = shore(l.Envelope)
		r.ViewBox = "0 0 " + strconv.Itoa(cols) + " " + strconv.Itoa(barHeight)
	}
	for j, x := range s.Page.Findings {
		at, whole := spans(x, l.Pass, l.Name())
		m := barMark{Weight: x.Weight, Anchor: anchor(j), Label: string(x.Weight) + ": " + heading(x.Kind) + ", " + l.Name()}
		if whole || (len(at) > 0 && passS <= 0) {
			r.Whole = append(r.Whole, m)
			continue
		}
		if len(at) == 0 {
			continue
		}
		m.Label += ", " + clock(at[0].StartS)
		if x.Count > 1 {
			m.Label += " and " + count(x.Count-1, "more place", "more places")
		}
		last := -1.0
		for _, p := range at {
			from := min(max(p.StartS/passS, 0), 1)
			sp := spot{From: pc(from), W: pc(max(min(p.EndS/passS, 1)-from, 0.0015))}
			if last < 0 || from-last > 0.03 {
				sp.At, last = pc(from), from
			}
			m.Spots = append(m.Spots, sp)
		}
		r.Marks = append(r.Marks, m)
	}
	return r
}

// shore draws the envelope: the closed path of the RMS, the open path of the
// peak, and the width of both in steps. Steps are gathered to barColumns: the
// largest peak, the mean power.
func shore(e []Hop) (water, peak string, cols int) {
	cols = min(len(e), barColumns)
	var w, p strings.Builder
	p.Grow(cols * 4)
	w.Grow(cols * 4)
	w.WriteString("M0 " + strconv.Itoa(barHeight))
	lastW, lastP := barHeight, 0
	for c := range cols {
		from, to := c*len(e)/cols, (c+1)*len(e)/cols
		var top, power float64
		for _, h := range e[from:to] {
			top = max(top, float64(h.Peak))
			power += float64(h.RMS) * float64(h.RMS)
		}
		yw, yp := barY(math.Sqrt(power/float64(to-from))), barY(top)
		if c == 0 {
			p.WriteString("M0 " + strconv.Itoa(yp))
			w.WriteString("v" + strconv.Itoa(yw-lastW))
			lastW, lastP = yw, yp
		}
		step(&w, yw-lastW)
		step(&p, yp-lastP)
		lastW, lastP = yw, yp
	}
	w.WriteString("V" + strconv.Itoa(barHeight) + "z")
	return w.String(), p.String(), cols
}

// step writes one step to the right, in as few characters as SVG allows.
func step(b *strings.Builder, dy int) {
	if dy == 0 {
		b.WriteString("h1")
		return
	}
	b.WriteString("l1")
	if dy > 0 {
		b.WriteByte(' ')
	}
	b.WriteString(strconv.Itoa(dy))
}

func barY(a float64) int {
	if !(a > 0) {
		return barHeight
	}
	db := min(max(20*math.Log10(a), barBottomDB), 0)
	return int(math.Round(barHeight * db / barBottomDB))
}

// ticks places up to eight round times along a pass, six where hours make them long.
func ticks(d float64) []tick {
	if !(d > 0) {
		return nil
	}
	step, most := 7200.0, 8.0
	if d >= 3600 {
		most = 6
	}
	for _, s := range []float64{1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600} {
		if d/s <= most {
			step = s
			break
		}
	}
	var out []tick
	for i := 0; i < 64; i++ {
		t := float64(i) * step
		if t > d {
			break
		}
		k := tick{X: pc(t / d)}
		k.Text, k.Last = length(t), t/d > 0.9
		out = append(out, k)
	}
	return out
}
