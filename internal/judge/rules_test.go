package judge

import (
	"math"
	"strings"
	"testing"

	"tidemark/internal/between"
	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

const rate = 48000

// take is a made-up pass for rules to look at: a kick, a snare from both sides,
// two overheads and a voice, 60 s, all well.
func take() *Evidence {
	e := &Evidence{Listed: true, NominalDBFS: -18, Passes: []model.Pass{{Name: "pass 1"}}}
	for i, s := range []string{"Kick", "Snare top", "Snare bottom", "OH L", "OH R", "Lead voice"} {
		w := model.ParseSource(s)
		e.Lines = append(e.Lines, model.Line{Number: i + 1, Source: s, Family: w.Family, Part: w.Part, Side: w.Side, Stem: w.Stem, Partner: -1, Row: i + 2})
		e.Recordings = append(e.Recordings, model.Recording{Name: s + ".wav", Channels: 1, RateHz: rate, Bits: 24, Frames: 60 * rate})
		e.Tracks = append(e.Tracks, Track{Line: i, Recording: i, Match: model.Match{Recording: i, Line: i, Certain: true, By: "track name", Score: 1, RunnerUp: -1},
			Header: sound.Header{Format: sound.Format{Container: "WAV", Bits: 24, RateHz: rate, Channels: 1}, Frames: 60 * rate},
			M:      music(60, -70, -20)})
	}
	return e
}

// music is a channel whose level goes up and down between a floor and a loud
// level, in dBFS (AES17), for some seconds.
func music(seconds int, floorDB, loudDB float64) meter.Channel {
	var c meter.Channel
	for i := range seconds * 10 {
		db := floorDB
		if i%20 >= 6 { // 0.6 s of rest in 2 s
			db = loudDB - float64(i%7)
		}
		c.Level.Hops = append(c.Level.Hops, hop(db))
	}
	c.Level.Frames, c.Level.HopFrames = int64(seconds*rate), rate/10
	c.Bits.Used = 24
	retell(&c)
	return c
}

func hop(db float64) meter.Hop {
	ms := math.Pow(10, (db-unit.SineOffsetDB)/10)
	return meter.Hop{MeanSquare: float32(ms), Peak: float32(math.Sqrt(ms) * 3), Bright: float32(ms / 20)}
}

// retell works out the level reading from the hops again.
func retell(c *meter.Channel) {
	c.Level.Peak, c.Level.MeanSquare = 0, 0
	for i, h := range c.Level.Hops {
		if float64(h.Peak) > c.Level.Peak {
			c.Level.Peak, c.Level.PeakFrame = float64(h.Peak), int64(i*c.Level.HopFrames)
		}
		c.Level.MeanSquare += float64(h.MeanSquare) / float64(len(c.Level.Hops))
	}
	c.Tidemark = meter.Tidemark(c.Level)
}

// gone lets a line that sounds all the time be at a level for 0.3 s from each of
// the hops on.
func gone(e *Evidence, track int, db float64, hops ...int) {
	h := e.Tracks[track].M.Level.Hops
	for i := range h {
		h[i] = hop(-30 - float64(i%7))
	}
	for _, at := range hops {
		for i := range 3 {
			h[at+i] = hop(db)
		}
	}
	retell(&e.Tracks[track].M)
}

// from changes the hops from a second on.
func from(c *meter.Channel, second int, f func(*meter.Hop)) {
	for i := second * 10; i < len(c.Level.Hops); i++ {
		f(&c.Level.Hops[i])
	}
	retell(c)
}

func events(n int, framesEach int64) meter.Events {
	var e meter.Events
	for i := range n {
		r := meter.Run{Frame: int64(i+1) * rate, Frames: framesEach, Amplitude: 1}
		e.Count++
		e.Frames += framesEach
		e.Kept = append(e.Kept, r)
		e.Last = r
	}
	return e
}

func pair(e *Evidence, kind model.RelationKind, a, b, on int, r between.PairReading) {
	e.Pairs = append(e.Pairs, Pair{Relation: model.Relation{A: a, B: b, On: on, Kind: kind}, A: a, B: b, On: on, Reading: r})
}

func reading(delayMS float64, polarity between.Polarity, coherence float64) between.PairReading {
	return between.PairReading{Hits: 20, DelaySamples: unit.Some(delayMS * rate / 1000), DelaySpread: unit.Some(0.3), Polarity: polarity,
		PolarityConfidence: 0.9, Coherence: unit.Some(coherence), MonoLossMatchedDB: unit.Some(unit.DB(-1)), MonoLossDB: unit.Some(unit.DB(-1))}
}

// peakAt sets the sample peak of a channel.
func peakAt(c *meter.Channel, dbfs float64) {
	c.Level.Peak = math.Pow(10, dbfs/20)
	c.Tidemark.Peak = unit.Some(unit.DBFS(dbfs))
	c.Tidemark.Headroom = unit.Some(unit.DB(-dbfs))
}

func clicks(t *Track, n int) {
	for i := range n {
		c := meter.Click{Frame: int64(20*rate + i*rate/5), Frames: 20, Amplitude: 0.2, OverDB: 30}
		t.M.Clicks.Clicks = append(t.M.Clicks.Clicks, c)
		t.M.Clicks.Count++
	}
}

// hits gives a track onsets, one every everyS, each lateS late.
func hits(t *Track, everyS, lateS float64) {
	for s := lateS; s < 60; s += everyS {
		t.M.Onsets.Onsets = append(t.M.Onsets.Onsets, meter.Onset{Frame: int64(s * rate), RiseDB: 20, Peak: 0.3})
	}
}

const (
	kick = iota
	top
	bottom
	ohL
	ohR
	voice
)

var stop, listen, note = []model.Weight{model.Stop}, []model.Weight{model.Listen}, []model.Weight{model.Note}

// hiss lifts the quietest hops of a channel to white noise of a level.
func hiss(c *meter.Channel, dbfs float64) {
	white := math.Pow(10, (dbfs-unit.SineOffsetDB)/10)
	for i := range c.Level.Hops {
		h := &c.Level.Hops[i]
		h.MeanSquare += float32(white)
		h.Bright = max(h.Bright, float32(2*white))
	}
	retell(c)
}

// hole puts one hole of 10 ms at 1 s.
func hole(c *meter.Channel, h meter.Hole) {
	c.Dropout.Dropouts = events(1, 480)
	h.Run = c.Dropout.Dropouts.Kept[0]
	c.Dropout.Holes = []meter.Hole{h}
}

func humAt(c *meter.Channel, dbfs float64) {
	c.Hum = meter.HumReading{Known: true, FundamentalHz: 50.01, Level: unit.Some(unit.DBFS(dbfs)), OverFloorDB: 25,
		Harmonics: []meter.Harmonic{{Number: 1, Hz: 50.01, LevelDBFS: dbfs}, {Number: 3, Hz: 150.03, LevelDBFS: dbfs - 10}}}
}

func loss(db float64) between.PairReading {
	r := reading(0, between.Same, 0.8)
	r.MonoLossMatchedDB = unit.Some(unit.DB(db))
	return r
}

func TestRules(t *testing.T) {
	for _, c := range ruleCases {
		t.Run(string(c.kind)+" "+c.name, func(t *testing.T) {
			e := take()
			c.make(e)
			var got []model.Weight
			for _, f := range Judge(e) {
				if f.Kind != c.kind {
					continue
				}
				got = append(got, f.Weight)
				checkWhole(t, f)
			}
			if len(got) != len(c.want) {
				t.Fatalf("weights %v, want %v", got, c.want)
			}
			for i := range got {
				if got[i] != c.want[i] {
					t.Fatalf("weights %v, want %v", got, c.want)
				}
			}
		})
	}
}

// checkWhole demands of a finding what every finding must carry.
func checkWhole(t *testing.T, f model.Finding) {
	t.Helper()
	switch {
	case f.ID == "", f.Unit == "", f.LimitSource == "", f.Evidence == "", f.Advice == "", f.Count < 1:
		t.Errorf("incomplete finding: %+v", f)
	case f.Lines == nil, f.Files == nil:
		t.Errorf("lists must be empty, not absent: %+v", f)
	case strings.HasSuffix(f.Evidence, ".") || strings.HasSuffix(f.Advice, "."):
		t.Errorf("sentences end without a full stop: %q, %q", f.Evidence, f.Advice)
	}
}

func TestEveryKindHasItsFourCases(t *testing.T) {
	have := map[model.Kind]map[byte]bool{}
	for _, c := range ruleCases {
		if have[c.kind] == nil {
			have[c.kind] = map[byte]bool{}
		}
		have[c.kind][c.name[0]] = true
	}
	for _, r := range Rules {
		for _, need := range []byte("abcd") {
			if !have[r.Kind][need] {
				t.Errorf("%s has no case %q (a passes, b fails, c on the limit, d undefined)", r.Kind, need)
			}
		}
	}
	if len(Rules) != 22 {
		t.Errorf("%d rules, want one for each of the 22 kinds", len(Rules))
	}
}

func TestACleanTakeHasNoFindings(t *testing.T) {
	if got := Judge(take()); len(got) != 0 {
		t.Errorf("findings in a clean take: %+v", got)
	}
}

func TestFindingsComeHeaviestFirstAndHaveStableIDs(t *testing.T) {
	make := func() *Evidence {
		e := take()
		humAt(&e.Tracks[kick].M, -55)
		hole(&e.Tracks[voice].M, meter.Hole{TornIn: true, TornOut: true})
		e.Tracks[top].M.Level.DC = 0.01
		return e
	}
	a, b := Judge(make()), Judge(make())
	if len(a) != 3 || a[0].Kind != model.KindDropout || a[1].Kind != model.KindHum || a[2].Kind != model.KindDCOffset {
		t.Fatalf("order: %+v", a)
	}
	seen := map[string]bool{}
	for i := range a {
		if a[i].ID != b[i].ID || seen[a[i].ID] {
			t.Errorf("id %q: not stable or not unique", a[i].ID)
		}
		seen[a[i].ID] = true
	}
}

func TestNamesThatAreNearlyASource(t *testing.T) {
	for _, c := range []struct {
		file, source string
		want         bool
	}{
		{"Kick in_03.wav", "Kick in", true},
		{"01-KXCK IN-0004.wav", "Kick in", true},
		{"Kikc in_03.wav", "Kick in", false}, // two of six letters
		{"Snaer top.03.wav", "Snare top", true},
		{"Lead vcal_T02.wav", "Lead vocal", true},
		{"Spare_01.wav", "Snare top", false},
		{"Track 31.wav", "Overhead L", false},
		{"Vox.wav", "LV", false}, // too short to tell
		{"", "Bass", false},
	} {
		if got := nearly(c.file, c.source); got != c.want {
			t.Errorf("%q for %q: got %v, want %v", c.file, c.source, got, c.want)
		}
	}
}
