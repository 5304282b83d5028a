package judge

import (
	"fmt"
	"math"
	"sort"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// dead finds lines that carry nothing, and lines that die on the way.
//
// Nothing at all is digital silence or a converter's floor. Next to nothing is
// a line that never leaves its own steady floor while others play. A line dies
// when its noise floor falls: an open microphone or amplifier is never quieter
// than its own noise, so from there on the line is not connected to it.
func dead(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 || t.M.Level.Frames == 0 || t.Punch { // a fix is short, and others may rest in it
			continue
		}
		if f, ok := deadThroughout(e, t); ok {
			out = append(out, f)
		} else if f, ok := died(e, t); ok {
			out = append(out, f)
		}
	}
	return out
}

func deadThroughout(e *Evidence, t *Track) (model.Finding, bool) {
	l := e.line(t)
	highest, sounded := t.M.Tidemark.Highest.Get()
	weight := model.Stop
	if MayBeSilent(l.Family) {
		weight = model.Note
	}
	whole := func(f *model.Finding) { at(f, t.OffsetS, t.OffsetS+t.DurationS()) }
	switch {
	case !sounded:
		f := e.finding(model.KindDead, weight, t)
		f.Unit, f.LimitSource = limitSilent.Unit, limitSilent.Source
		f.Limit = unit.Some(limitSilent.Value)
		f.Evidence = fmt.Sprintf("%s is digital silence from start to end (%s)", f.Lines[0], clock(t.DurationS()))
		f.Advice = adviceDead(l)
		whole(&f)
		return f, true
	case float64(highest) < limitSilent.Value:
		if electric(l) && weight == model.Stop {
			weight = model.Listen // a direct line that nobody played is as quiet as a dead one
		}
		f := e.finding(model.KindDead, weight, t)
		measured(&f, float64(highest), limitSilent)
		f.Evidence = fmt.Sprintf("%s never rises above %.0f dBFS: that is a converter's floor, not a line", f.Lines[0], float64(highest))
		f.Advice = adviceDead(l)
		whole(&f)
		return f, true
	}
	lift, ok := lift(t)
	if !ok || lift >= limitLifeless.Value || float64(highest) > limitLifelessBelow.Value || !othersPlay(e, t, 2) {
		return model.Finding{}, false
	}
	// Steady noise from start to end while the band plays: a microphone in the
	// same room would hear the band.
	if electric(l) || !hearsTheRoom(l.Family) {
		weight = model.Listen
	}
	if MayBeSilent(l.Family) {
		weight = model.Note
	}
	f := e.finding(model.KindDead, weight, t)
	measured(&f, lift, limitLifeless)
	what := "steady noise"
	if t.M.Hum.FundamentalHz > 0 {
		what = "hum and noise"
	}
	f.Evidence = fmt.Sprintf("%s holds only %s at %.0f dBFS while other lines play: its loudest moment is %.1f dB over its quietest",
		f.Lines[0], what, float64(highest), lift)
	f.Advice = adviceDead(l)
	whole(&f)
	return f, true
}

// lift is how far the loudest 100 ms stand over the floor.
func lift(t *Track) (float64, bool) {
	floor, ok1 := t.M.Tidemark.Floor.Get()
	high, ok2 := t.M.Tidemark.Highest.Get()
	return float64(high - unit.DBFS(floor)), ok1 && ok2
}

// hearsTheRoom says whether a microphone of this family hears the rest of the
// band anyway, so that its silence cannot be a rest in the music.
func hearsTheRoom(f model.Family) bool {
	return f.Kit() || f == model.Room || f == model.Percussion
}

// othersPlay says whether at least n other lines of the pass have music on them.
func othersPlay(e *Evidence, t *Track, n int) bool {
	for i := range e.Tracks {
		o := &e.Tracks[i]
		if o == t || o.Pass != t.Pass || o.Line < 0 {
			continue
		}
		if d, ok := lift(o); ok && d > 20 && float64(o.M.Tidemark.Highest.Or(-200)) > -45 {
			if n--; n == 0 {
				return true
			}
		}
	}
	return false
}

// playsAfter says whether another line of the pass has music after the time.
func playsAfter(e *Evidence, t *Track, fromS float64) bool {
	for i := range e.Tracks {
		o := &e.Tracks[i]
		if o == t || o.Pass != t.Pass || o.Line < 0 {
			continue
		}
		usual, ok := o.M.Tidemark.UsualLow.Get()
		if !ok {
			continue
		}
		loud := 0
		for k := int((fromS - o.OffsetS) / o.HopS()); k < len(o.M.Level.Hops); k++ {
			if k >= 0 && hopDB(o.M.Level.Hops[k]) >= float64(usual) {
				if loud++; loud >= 5 {
					return true
				}
			}
		}
	}
	return false
}

// died looks for the place where the floor falls.
func died(e *Evidence, t *Track) (model.Finding, bool) {
	from, to, beforeDB, afterDB, ok := floorFall(t, long)
	if !ok {
		if from, to, beforeDB, afterDB, ok = floorFall(t, moment); !ok || afterDB <= digitalSilenceDB { // zeros are dropout's
			return model.Finding{}, false
		}
	}
	l := e.line(t)
	if electric(l) && !crackledBefore(t, from) {
		return model.Finding{}, false // a muted string or a keyboard at rest is as quiet as a dead box
	}
	if afterDB <= digitalSilenceDB && !tornAt(t, from) {
		return model.Finding{}, false // a machine at rest or an edit fades out; a pulled plug does not
	}
	startS, endS := t.OffsetS+float64(from)*t.HopS(), t.OffsetS+float64(to)*t.HopS()
	toEnd := to >= len(t.M.Level.Hops)-1
	weight := model.Stop
	if MayBeSilent(l.Family) {
		weight = model.Note
	}
	if toEnd && !playsAfter(e, t, startS) {
		weight = lighter(weight, model.Listen)
	}
	aMoment := to-from < long && !toEnd
	if aMoment {
		weight = lighter(weight, model.Listen) // a gate or a switch does the same
	}
	f := e.finding(model.KindDead, weight, t)
	measured(&f, beforeDB-afterDB, limitFloorFall)
	at(&f, startS, endS)
	if toEnd {
		f.Evidence = fmt.Sprintf("%s goes dead at %s and stays dead: its floor falls from %s to %s", f.Lines[0], clock(startS), dbfs(beforeDB), dbfs(afterDB))
	} else {
		f.Evidence = fmt.Sprintf("%s is dead from %s to %s: its floor falls from %s to %s", f.Lines[0], clock(startS), clock(endS), dbfs(beforeDB), dbfs(afterDB))
	}
	if aMoment {
		f.Advice = "listen to it: if no gate is in the line, no switch was thrown and no radio link faded, swap the cable first, then the microphone, and do this place again"
		return f, true
	}
	f.Advice = "swap the cable first, then the microphone, and write down which one it was; the take is not complete on this line"
	return f, true
}

// digitalSilenceDB lies above what hopDB and floorFall give for exact zeros, −200,
// and under all sound of 24 bits.
const digitalSilenceDB = -180

// tornAt says whether sound was cut off into digital silence about a hop.
func tornAt(t *Track, hop int) bool {
	at := int64(hop) * int64(t.M.Level.HopFrames)
	for _, h := range t.M.Dropout.Holes {
		if d := h.Frame - at; h.TornIn && d > -3*int64(t.M.Level.HopFrames) && d < 2*int64(t.M.Level.HopFrames) {
			return true
		}
	}
	return false
}

// crackledBefore says whether clicks announce the end: three and more in the ten
// seconds before a hop.
func crackledBefore(t *Track, hop int) bool {
	end := int64(hop+1) * int64(t.M.Level.HopFrames)
	n := 0
	for _, c := range t.M.Clicks.Clicks {
		if c.Frame <= end && c.Frame > end-10*int64(t.Header.Format.RateHz) {
			n++
		}
	}
	return n >= 3
}

func dbfs(x float64) string {
	if x <= -180 {
		return "digital silence"
	}
	return fmt.Sprintf("%.0f dBFS", x)
}

// lighter is the lighter of two weights.
func lighter(a, b model.Weight) model.Weight {
	if a.Rank() > b.Rank() {
		return a
	}
	return b
}

// The shortest stretches that floorFall looks for, in hops of 100 ms.
const (
	moment = 1
	long   = 10
)

// floorFall finds the longest stretch of so many hops and more that lies below
// the floor of all the rest, but for one at the start. It returns hop indexes and
// the two floors in dBFS. A line that falls again and again is gated, not dead.
// One that began as quiet may be an open line of low gain back at its own floor:
// then only a fall faster than sound dies away in a room is a death. So must be
// both edges of a fall for a moment, in the midst of sound.
func floorFall(t *Track, shortest int) (from, to int, beforeDB, afterDB float64, ok bool) {
	hops := t.M.Level.Hops
	const second, most = 10, 3
	if len(hops) < 4*second {
		return
	}
	db := make([]float64, len(hops))
	for i, h := range hops {
		db[i] = hopDB(h)
	}
	lowest := math.Inf(1)
	for i := 0; i+shortest <= len(db); i++ {
		m := math.Inf(-1)
		for _, x := range db[i : i+shortest] {
			m = math.Max(m, x)
		}
		lowest = math.Min(lowest, m)
	}
	if lowest > limitDeadFloor.Value {
		return
	}
	limit := lowest + 3
	type stretch struct{ from, to int }
	var low []stretch
	for i := 0; i < len(db); {
		if db[i] > limit {
			i++
			continue
		}
		j := i
		for j < len(db) && db[j] <= limit {
			j++
		}
		if j-i >= shortest {
			low = append(low, stretch{i, j})
		}
		i = j
	}
	if len(low) == 0 || len(low) > most {
		return
	}
	// The floor of the rest, two hops clear of the edges.
	var rest []float64
	k := 0
	for i, x := range db {
		for k < len(low) && i >= low[k].to+2 {
			k++
		}
		if k < len(low) && i >= low[k].from-2 {
			continue
		}
		rest = append(rest, x)
	}
	if len(rest) < 2*second {
		return
	}
	sort.Float64s(rest)
	floor := rest[len(rest)/50]
	if floor-limit < limitFloorFall.Value-3 {
		return
	}
	var best stretch
	for _, s := range low {
		// A line that comes alive was switched on late, or had not been played yet.
		if s.from == 0 || s.to-s.from <= best.to-best.from {
			continue
		}
		if shortest < long && (s.from < 2 || s.to+1 >= len(db) ||
			max(db[s.from-1], db[s.from-2])-limit < atOnceDB || max(db[s.to], db[s.to+1])-limit < atOnceDB) {
			continue // no moment in the midst of sound
		}
		best = s
	}
	if best.to == 0 || low[0].from == 0 && (best.from < 2 || db[best.from-2]-limit < atOnceDB) {
		return
	}
	var power float64
	for _, h := range hops[best.from:best.to] {
		power += float64(h.MeanSquare)
	}
	after := -200.0
	if power > 0 {
		after = 10*math.Log10(power/float64(best.to-best.from)) + unit.SineOffsetDB
	}
	return best.from, best.to, floor, after, true
}

// atOnceDB is what no sound loses within two hops, 0.2 s, in a room with any
// echo: 60 dB in 0.3 s. Common practice, no source.
const atOnceDB = 40.0

func adviceDead(l model.Line) string {
	s := "check box and number, then the patch, then a muted insert"
	switch {
	case l.Part == model.DI:
		s += ", then the DI box and its power"
	case l.Mic != "":
		s += ", then phantom power if the microphone needs it (mute first, and never on a passive ribbon), then the cable, then the microphone"
	}
	return s
}
