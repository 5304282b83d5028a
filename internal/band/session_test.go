package band

import (
	"io"
	"math"
	"sort"
	"sync"
	"testing"

	"tidemark/internal/sound"
)

// heard is what the tests keep of a rendering: levels of every line, the sound
// of a few.
type heard struct {
	session *Session
	peak    []float64
	hops    [][]float64 // mean squares of 100 ms
	full    []int64     // frames at full scale
	fullIn  []int64     // of these, inside the clipped word
	zeros   []int       // longest run of exact zeros
	kept    map[int][]float32
}

func hear(o Options, keep ...int) *heard {
	s, err := NewSession(o)
	if err != nil {
		panic(err)
	}
	r, err := NewRenderer(&s.Scene)
	if err != nil {
		panic(err)
	}
	n := len(s.Scene.Mics)
	h := &heard{session: s, peak: make([]float64, n), hops: make([][]float64, n), full: make([]int64, n), fullIn: make([]int64, n), zeros: make([]int, n), kept: map[int][]float32{}}
	hop := s.Scene.RateHz / 10
	run := make([]int, n)
	var from, till float64
	for _, f := range s.Faults {
		if f.Kind == Clipped {
			from, till = f.StartS, f.EndS
		}
	}
	b := sound.NewBlock(n, hop)
	for r.Next(b) != io.EOF {
		for i, x := range b.Channels {
			sum := 0.0
			for k, v := range x {
				a := math.Abs(float64(v))
				sum += a * a
				h.peak[i] = max(h.peak[i], a)
				if v == 0 {
					run[i]++
					h.zeros[i] = max(h.zeros[i], run[i])
				} else {
					run[i] = 0
				}
				if a >= topSample {
					h.full[i]++
					if t := float64(b.Start+int64(k)) / float64(s.Scene.RateHz); t >= from && t <= till {
						h.fullIn[i]++
					}
				}
			}
			h.hops[i] = append(h.hops[i], sum/float64(len(x)))
		}
		for _, i := range keep {
			h.kept[i] = append(h.kept[i], b.Channels[i]...)
		}
	}
	return h
}

func dbfs(p float64) float64 { return 10*math.Log10(p) + 3.0103 }

// levels of the hops from the second from to till, AES17.
func (h *heard) level(line int, from, till float64) float64 {
	sum, n := 0.0, 0
	for i := int(from * 10); i < int(till*10) && i < len(h.hops[line]); i++ {
		sum += h.hops[line][i]
		n++
	}
	return dbfs(sum / float64(n))
}

var theSong = sync.OnceValue(func() *heard {
	return hear(Options{Faults: true}, lineGuitar)
})

var theCheck = sync.OnceValue(func() *heard {
	return hear(Options{Faults: true, LineCheck: true}, lineSnareTop, lineSnareLow, lineOverL, lineOverR, lineRack, lineFloor, lineBassDI, lineBassAmp, linePianoL, linePianoR)
})

var theCleanCheck = sync.OnceValue(func() *heard {
	return hear(Options{LineCheck: true, DurationS: 9.6}, lineKickIn, lineKickOut, lineSnareTop, lineSnareLow, lineOverL, lineOverR)
})

func fault(t *testing.T, s *Session, kind FaultKind) Fault {
	t.Helper()
	for _, f := range s.Faults {
		if f.Kind == kind {
			return f
		}
	}
	t.Fatalf("no fault %q", kind)
	return Fault{}
}

func TestEveryLineHasARealLevelAndFloor(t *testing.T) {
	h := theSong()
	for i, m := range h.session.Scene.Mics {
		sorted := append([]float64(nil), h.hops[i]...)
		sort.Float64s(sorted)
		floor, loudest := dbfs(sorted[len(sorted)/20]), dbfs(sorted[len(sorted)-1])
		peak := 20 * math.Log10(h.peak[i])
		whole := 0.0
		for _, p := range sorted {
			whole += p
		}
		t.Logf("%2d %-14s peak %6.1f dBFS, RMS %6.1f, loudest 100 ms %6.1f, floor %6.1f", i+1, m.Name, peak, dbfs(whole/float64(len(sorted))), loudest, floor)
		if h.zeros[i] > 3 {
			t.Errorf("line %d %s: %d exact zeros in a row, want at most 3", i+1, m.Name, h.zeros[i])
		}
		if i == lineAcoustic {
			continue // dying
		}
		if want := m.NoiseDBFS; i != lineGuitar && math.Abs(floor-want) > 1.5 {
			t.Errorf("line %d %s: floor %.1f dBFS, want %.1f", i+1, m.Name, floor, want)
		}
		if i != lineLead && (peak > -3 || peak < -17) {
			t.Errorf("line %d %s: peak %.1f dBFS, want -17 to -3", i+1, m.Name, peak)
		}
	}
}

func TestOnlyTheWordClips(t *testing.T) {
	h := theSong()
	for i := range h.full {
		want := i == lineLead
		if got := h.full[i] > 0; got != want {
			t.Errorf("line %d: %d frames at full scale", i+1, h.full[i])
		}
	}
	if h.full[lineLead] != h.fullIn[lineLead] || h.full[lineLead] < 50 {
		t.Errorf("lead voice: %d frames at full scale, %d of them in the word; want 50 and more, all in it", h.full[lineLead], h.fullIn[lineLead])
	}
	t.Logf("%d frames at full scale", h.full[lineLead])
}

func TestTheDyingMicrophoneDies(t *testing.T) {
	h := theSong()
	f := fault(t, h.session, Dying)
	if f.Line != lineAcoustic {
		t.Fatalf("line %d dies, want %d", f.Line, lineAcoustic)
	}
	if before := h.level(f.Line, 20, f.StartS); before < -35 {
		t.Errorf("level before %.1f dBFS, want a guitar", before)
	}
	if after := h.level(f.Line, f.Amount+0.2, f.EndS); math.Abs(after-converterFloorDBFS) > 1 {
		t.Errorf("level after %.1f dBFS, want %d", after, converterFloorDBFS)
	}
}

// goertzel is the level of the sine of hz in x, AES17.
func goertzel(x []float32, hz, fs float64) float64 {
	re, im, norm := 0.0, 0.0, 0.0
	for i, v := range x {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(x)))
		s, c := math.Sincos(2 * math.Pi * hz * float64(i) / fs)
		re += w * float64(v) * c
		im += w * float64(v) * s
		norm += w
	}
	return 20 * math.Log10(2*math.Hypot(re, im)/norm)
}

func TestTheHumIsThereAndNowhereElse(t *testing.T) {
	h := theSong()
	f := fault(t, h.session, Hum)
	if got := h.level(f.Line, 0.2, 2.2); math.Abs(got-humDBFS) > 1 {
		t.Errorf("floor with hum %.1f dBFS, want about %.0f", got, humDBFS)
	}
	x := h.kept[lineGuitar][4800 : 4800+96000]
	sum := 0.0
	for k := 1; k <= 11; k++ {
		sum += math.Pow(10, goertzel(x, humHz*float64(k), 48000)/10)
	}
	if got := 10 * math.Log10(sum); math.Abs(got-humDBFS) > 0.5 {
		t.Errorf("harmonics together %.2f dBFS, want %.0f", got, humDBFS)
	}
}

// turn cuts a source's turn out of a line.
func (h *heard) turn(line int, source string) []float32 {
	for _, s := range h.session.Solos {
		if s.Source == source {
			fs := float64(h.session.Scene.RateHz)
			return h.kept[line][int(s.StartS*fs):int(s.EndS*fs)]
		}
	}
	panic("no source " + source)
}

// lag finds the delay of b behind a in frames, by the largest cross-correlation
// up to most frames, and the sign of it. Both are filtered alike first.
func lag(a, b []float32, most int, filters func() Filter) (frames int, sign float64) {
	a, b = append([]float32(nil), a...), append([]float32(nil), b...)
	filters().Filter(a)
	filters().Filter(b)
	best := 0.0
	for d := -most; d <= most; d++ {
		sum := 0.0
		for i := most; i < len(a)-most; i++ {
			sum += float64(a[i]) * float64(b[i+d])
		}
		if math.Abs(sum) > math.Abs(best) {
			best, frames = sum, d
		}
	}
	return frames, best
}

func treble() Filter { return highpass(2500, 0.7, 48000) }
func bass() Filter   { return chain{highpass(100, 0.7, 48000), lowpass(320, 0.7, 48000)} }

func TestOverheadsAgreeUnlessOneIsTooFar(t *testing.T) {
	clean, late := theCleanCheck(), theCheck()
	if got, _ := lag(clean.turn(lineOverL, "snare")[:96000], clean.turn(lineOverR, "snare")[:96000], 60, treble); got < -1 || got > 1 {
		t.Errorf("right behind left by %d frames, want 0", got)
	}
	f := fault(t, late.session, Late)
	got, _ := lag(late.turn(lineOverL, "snare")[:96000], late.turn(lineOverR, "snare")[:96000], 60, treble)
	if math.Abs(float64(got)-f.Amount) > 1 {
		t.Errorf("right behind left by %d frames, want %.1f", got, f.Amount)
	}
}

func TestTheBottomSnareIsFlippedByItsSwitch(t *testing.T) {
	clean, forgotten := theCleanCheck(), theCheck()
	if _, sign := lag(clean.turn(lineSnareTop, "snare")[:96000], clean.turn(lineSnareLow, "snare")[:96000], 60, bass); sign < 0 {
		t.Error("with the switch the bottom opposes the top, want agreement")
	}
	if _, sign := lag(forgotten.turn(lineSnareTop, "snare")[:96000], forgotten.turn(lineSnareLow, "snare")[:96000], 60, bass); sign > 0 {
		t.Error("without the switch the bottom agrees with the top, want opposition")
	}
}

func TestInAndOutOfTheKickAgreeInTheLowEnd(t *testing.T) {
	h := theCleanCheck()
	d, sign := lag(h.turn(lineKickIn, "kick")[:96000], h.turn(lineKickOut, "kick")[:96000], 240, func() Filter { return chain{highpass(35, 0.7, 48000), lowpass(110, 0.7, 48000)} })
	if sign < 0 || d < 0 || d > 150 {
		t.Errorf("out behind in by %d frames, sign %.2g; want later and the same way up", d, sign)
	}
}

func TestTheBassAmpIsLateByItsDistance(t *testing.T) {
	h := theCheck()
	s := &h.session.Scene
	m := DistanceM(s.Mics[lineBassAmp].Pos, s.Sources[srcBassAmp].Pos)
	want := m / SoundSpeed(s.Rooms[roomBass].TempC) * 48000
	got, _ := lag(h.turn(lineBassDI, "bass")[:96000], h.turn(lineBassAmp, "bass")[:96000], 200, func() Filter { return highpass(700, 0.7, 48000) })
	t.Logf("amplifier %d frames behind the direct line, %.1f by distance", got, want)
	if _, sign := lag(h.turn(lineBassDI, "bass")[:96000], h.turn(lineBassAmp, "bass")[:96000], 200, bass); sign < 0 {
		t.Error("the amplifier opposes the direct line, want agreement")
	}
	// The cabinet's filters add their own delay, under half a millisecond.
	if float64(got) < want-2 || float64(got) > want+24 {
		t.Errorf("amplifier %d frames behind, want %.1f and a little", got, want)
	}
}

func TestPianoMicrophonesAgree(t *testing.T) {
	h := theCheck()
	if d, sign := lag(h.turn(linePianoL, "piano")[:96000], h.turn(linePianoR, "piano")[:96000], 60, func() Filter { return highpass(400, 0.7, 48000) }); sign < 0 || d < -12 || d > 12 {
		t.Errorf("right behind left by %d frames, sign %.2g, want within 12 and the same way up", d, sign)
	}
}

func TestTomsAreCrossed(t *testing.T) {
	h := theCheck()
	for _, c := range []struct {
		line   int
		source string
		want   bool // the loudest of the two on its own line
	}{{lineRack, "rack tom", false}, {lineFloor, "floor tom", false}} {
		own := power(h.turn(c.line, c.source))
		other := power(h.turn(lineRack+lineFloor-c.line, c.source))
		if got := own > other; got != c.want {
			t.Errorf("%s loudest on its own line: %v, want %v", c.source, got, c.want)
		}
	}
	// And by pitch: the floor tom's note stands on the rack tom's line.
	x := h.turn(lineRack, "floor tom")
	if low, high := goertzel(x, floorHz, 48000), goertzel(x, rackHz, 48000); low < high+6 {
		t.Errorf("%d Hz at %.1f dBFS and %d Hz at %.1f, want the floor tom's", floorHz, low, rackHz, high)
	}
}

func TestEachSeedIsAnotherPerformance(t *testing.T) {
	a, b := newSong(newParts(1, 48000), 1, 0, 1), newSong(newParts(2, 48000), 2, 0, 1)
	if a.at(60) == b.at(60) || len(a.p.snareTop.notes) == len(b.p.snareTop.notes) && len(a.p.hats.notes) == len(b.p.hats.notes) {
		t.Error("seeds 1 and 2 play the same")
	}
	x, err := NewSession(Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	y, err := NewSession(Options{Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	if x.Scene.Mics[lineSnareTop].Pos == y.Scene.Mics[lineSnareTop].Pos {
		t.Error("seeds 1 and 2 have the snare's microphone at one place")
	}
	for _, s := range []*Session{x, y} {
		l, r := DistanceM(s.Scene.Mics[lineOverL].Pos, snareTopAt), DistanceM(s.Scene.Mics[lineOverR].Pos, snareTopAt)
		if d := l - r; d > 1e-9 || d < -1e-9 || len(s.Faults) != 0 {
			t.Errorf("overheads %.4f m and %.4f m from the snare, want equal; %d faults, want none", l, r, len(s.Faults))
		}
	}
}

func power(x []float32) float64 {
	sum := 0.0
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	return sum / float64(len(x))
}

func TestEachSourceIsLoudestOnItsOwnLine(t *testing.T) {
	h := theCheck()
	for _, solo := range h.session.Solos {
		for _, own := range solo.Lines {
			at := h.session.Patch[own]
			over := h.level(at, solo.StartS+0.2, solo.EndS) - h.session.Scene.Mics[at].NoiseDBFS
			for i, m := range h.session.Scene.Mics {
				if contains(solo.Lines, h.session.Patch[i]) || i == lineOverL || i == lineOverR || i == lineRoomL || i == lineRoomR || solo.Source == "cymbals" {
					continue
				}
				if other := h.level(i, solo.StartS+0.2, solo.EndS) - m.NoiseDBFS; other > over-1 {
					t.Errorf("%s: %.1f dB over the floor on %s, %.1f dB on %s", solo.Source, over, h.session.Scene.Mics[at].Name, other, m.Name)
				}
			}
		}
	}
}

func contains(list []int, n int) bool {
	for _, x := range list {
		if x == n {
			return true
		}
	}
	return false
}

func TestTheBandKeepsTime(t *testing.T) {
	for seed := range uint64(20) {
		p := newParts(seed, 48000)
		bpm := 0.0
		if seed == 0 {
			bpm = 112
		}
		s := newSong(p, seed, bpm, 1)
		fastest, slowest := 0.0, 999.0
		for b := 4; b+8 < int(s.end); b += 4 {
			got := 60 * 8 / s.span(float64(b), float64(b+8))
			fastest, slowest = max(fastest, got), min(slowest, got)
		}
		if slowest < 106 || fastest > 119 || fastest/slowest > 1.06 {
			t.Errorf("seed %d: %.1f to %.1f beats a minute over two bars", seed, slowest, fastest)
		}
		first := s.span(8, 8.25) / s.span(8, 8.5)
		if first < 0.54 || first > 0.59 {
			t.Errorf("seed %d: the first sixteenth takes %.3f of its eighth", seed, first)
		}
		if end := s.fade(); end < 68 || end > 73.6 {
			t.Errorf("seed %d: the last chord is gone at %.1f s, want pauses of the length of a breath in 75 s", seed, end)
		}
	}
}
