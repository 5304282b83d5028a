package web

import (
	"fmt"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// The tidemarks picture. Every line is a strip of the same scale, from the
// bottom of what a converter can hear to full scale. From below: the silt (up
// to the floor), the water (up to the usual range, darker inside it), the
// highest mark as a wave, the peak as a tick, and dry paper above: the room.
const (
	tideBottomDB = -100.0 // a dead line lies at or under it; common practice
	tideLeft     = 92.0
	tideTop      = 40.0
	tideHeight   = 300.0
	tideFoot     = 132.0
	tideWidth    = 1180.0 // what the strips share, so that 48 fit on a laptop
	tideRight    = 14.0
	tideMaxPitch = 58.0
	tideMinPitch = 17.0
)

type tides struct {
	Width, Height string
	Left, Right   string
	NameY         string // where the names end
	NominalX      string // lying
	NominalY      string // empty where no nominal level is known
	Nominal       string
	Marks         []tideMark
	Strips        []strip
	Top           string
}

type tideMark struct{ Y, TextY, Text string }

// strip is one line of the picture, standing (X, Y and heights in the picture's
// own units) and lying (percentages, for narrow screens).
type strip struct {
	Name, Short, Pass string
	Empty             bool
	Weight            model.Weight // heaviest finding on it
	X, W, Mid         string
	MarkX             string
	Silt, Water, Used block
	High              string // path of the wave
	PeakX1, PeakX2    string
	PeakY             string
	Room              string
	RoomFull          string
	// Lying.
	SiltTo, WaterW, UsedFrom, UsedW, HighAt, PeakAt string
}

type block struct{ Y, H string }

func (b block) Drawn() bool { return b.H != "" }

func tideY(db float64) float64 {
	db = min(max(db, tideBottomDB), 0)
	return tideTop + tideHeight*db/tideBottomDB
}

func tideX(db float64) string {
	return pc(1 - min(max(db, tideBottomDB), 0)/tideBottomDB)
}

// wave is a path over the width w at height y: the mark that water leaves.
func wave(x, y, w float64) string {
	return fmt.Sprintf("M%s %sq%s %s %s 0t%s 0", px(x), px(y), px(w/4), px(-w/7), px(w/2), px(w/2))
}

func (s *sheet) tides() tides {
	n := max(len(s.Page.Lines), 1)
	pitch := min(max(tideWidth/float64(n), tideMinPitch), tideMaxPitch)
	right := tideLeft + pitch*float64(n)
	t := tides{
		Width: px(right + tideRight), Height: px(tideTop + tideHeight + tideFoot),
		Left: px(tideLeft), Right: px(right),
		Top: px(tideTop), NameY: px(tideTop + tideHeight + 14),
	}
	for db := 0.0; db >= tideBottomDB; db -= 10 {
		m := tideMark{Y: px(tideY(db)), TextY: px(tideY(db) + 4)}
		if int(db)%20 == 0 {
			m.Text = number(db, 0)
		}
		t.Marks = append(t.Marks, m)
	}
	if v, ok := s.Page.NominalDBFS.Get(); ok {
		t.NominalY, t.NominalX, t.Nominal = px(tideY(v)), tideX(v), number(v, 0)
	}
	for i, l := range s.Page.Lines {
		t.Strips = append(t.Strips, s.strip(i, l, tideLeft+pitch*float64(i), pitch))
	}
	return t
}

func (s *sheet) strip(i int, l Line, x, pitch float64) strip {
	w := pitch * 0.72
	x += (pitch - w) / 2
	v := l.Levels
	st := strip{
		Name: l.Name(), Short: shorten(l.Name(), 20), Weight: s.heaviest(i),
		X: px(x), W: px(w), Mid: px(x + w/2), MarkX: px(x + w/2 - 7),
		Empty: l.File == "",
	}
	if len(s.Page.Passes) > 1 {
		st.Pass = l.Pass
	}
	bottom, floor := tideTop+tideHeight, tideBottomDB
	if f, ok := finite(v.FloorDBFS); ok {
		st.Silt = block{px(tideY(f)), px(bottom - tideY(f))}
		st.SiltTo, floor = tideX(f), f
	}
	low, okLow := finite(v.UsualLowDBFS)
	high, okHigh := finite(v.UsualHighDBFS)
	if okLow && okHigh {
		from := min(bottom, tideY(floor))
		st.Water = block{px(tideY(low)), px(max(from-tideY(low), 0))}
		st.Used = block{px(tideY(high)), px(max(tideY(low)-tideY(high), 1.5))}
		st.WaterW = pc(max(low-max(floor, tideBottomDB), 0) / -tideBottomDB)
		if st.SiltTo == "" {
			st.SiltTo = pc(0)
		}
		st.UsedFrom, st.UsedW = tideX(low), pc(max(min(high, 0)-max(low, tideBottomDB), 0.6)/-tideBottomDB)
	}
	if h, ok := finite(v.HighestDBFS); ok {
		st.High, st.HighAt = wave(x-w*0.1, tideY(h), w*1.2), tideX(h)
	}
	if p, ok := finite(v.PeakDBFS); ok {
		st.PeakX1, st.PeakX2, st.PeakY, st.PeakAt = px(x+w*0.22), px(x+w*0.78), px(tideY(p)), tideX(p)
	}
	decimals := 1
	if pitch < 27 {
		decimals = 0
	}
	st.Room, st.RoomFull = roomWord(v.HeadroomDB, decimals), roomWord(v.HeadroomDB, 1)
	return st
}

func roomWord(m unit.Maybe[float64], decimals int) string {
	if !m.Defined() {
		return ""
	}
	return maybe(m, decimals)
}

// shorten cuts a name for the picture; the table beside it has the whole.
func shorten(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
