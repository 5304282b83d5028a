package judge

import (
	"strings"
	"testing"

	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// only is the one finding of a kind.
func only(t *testing.T, e *Evidence, kind model.Kind) model.Finding {
	t.Helper()
	var found []model.Finding
	for _, f := range Judge(e) {
		if f.Kind == kind {
			found = append(found, f)
		}
	}
	if len(found) != 1 {
		t.Fatalf("%d findings of kind %s, want 1: %+v", len(found), kind, found)
	}
	return found[0]
}

// A fix punched in is a second track of its line; both may hum.
func TestATakeAndItsFixHaveIDsOfTheirOwn(t *testing.T) {
	e := take()
	fix := e.Tracks[voice]
	fix.Punch, fix.OffsetS = true, 20
	e.Tracks = append(e.Tracks, fix)
	humAt(&e.Tracks[voice].M, -55)
	humAt(&e.Tracks[len(e.Tracks)-1].M, -55)
	got := Judge(e)
	if len(got) != 2 || got[0].ID != "hum/pass 1/6 Lead voice" || got[1].ID != "hum/pass 1/6 Lead voice/2" {
		t.Errorf("findings %+v, want two with ids of their own", got)
	}
}

// The first channel of a file of many may be a spare one.
func TestAFileOfManyChannelsIsShortThoughItsFirstIsOnNoLine(t *testing.T) {
	e := take()
	e.Tracks[kick].Line = -1
	e.Recordings[top].Channels = 2
	e.Tracks[top].M = music(40, -70, -20)
	spare := e.Tracks[top]
	spare.Line = -1
	e.Tracks[top].Channel = 1
	e.Tracks = append([]Track{spare}, e.Tracks...)
	f := only(t, e, model.KindShort)
	if f.Weight != model.Stop || f.Lines[0] != "2 Snare top" {
		t.Errorf("%s about %q, want a stop about the snare", f.Weight, f.Lines[0])
	}
}

func TestALineOpenedLateMayStillDie(t *testing.T) {
	e := take()
	silence := func(h *meter.Hop) { *h = hop(-110) }
	from(&e.Tracks[voice].M, 50, silence)
	for i := range 150 {
		silence(&e.Tracks[voice].M.Level.Hops[i])
	}
	retell(&e.Tracks[voice].M)
	e.Tracks[voice].M.Dropout.Holes = []meter.Hole{{Run: meter.Run{Frame: 50 * rate, Frames: 10 * rate}, TornIn: true, ToEnd: true}}
	f := only(t, e, model.KindDead)
	if f.StartS.Or(0) != 50 || f.Weight != model.Stop {
		t.Errorf("%s at %v s, want a stop at 50 s: %s", f.Weight, f.StartS, f.Evidence)
	}
}

func TestAnAdviceToMatchNamesTheChannel(t *testing.T) {
	e := take()
	e.Recordings[voice].Channels = 8
	e.Tracks[voice].Line, e.Tracks[voice].Channel = -1, 4
	if f := only(t, e, model.KindUnlisted); !strings.Contains(f.Advice, `"Lead voice.wav:5=NUMBER"`) {
		t.Errorf("advice %q, want the file's channel in it", f.Advice)
	}
	e.Tracks[voice].Line, e.Tracks[voice].Match.Certain = voice, false
	if f := only(t, e, model.KindDoubtfulMatch); !strings.Contains(f.Advice, `"Lead voice.wav:5=6"`) {
		t.Errorf("advice %q, want the file's channel in it", f.Advice)
	}
}

func TestATwinTurnedOverIsSaidToBe(t *testing.T) {
	e := take()
	e.Twins = []Twin{{A: kick, B: voice, GainDB: -6, Flipped: true}}
	want := "6 Lead voice is 1 Kick with its polarity turned, -6.0 dB of gain and nothing else"
	if f := only(t, e, model.KindDuplicate); f.Evidence != want {
		t.Errorf("evidence %q, want %q", f.Evidence, want)
	}
}

func TestHolesThatWereNotKeptCountInWhatIsLost(t *testing.T) {
	e := take()
	c := &e.Tracks[voice].M
	c.Dropout.Dropouts = events(4, 480)
	c.Dropout.Dropouts.Count = 8
	for _, r := range c.Dropout.Dropouts.Kept {
		c.Dropout.Holes = append(c.Dropout.Holes, meter.Hole{Run: r, TornIn: true, TornOut: true})
	}
	if f := only(t, e, model.KindDropout); f.Count != 8 || !strings.Contains(f.Evidence, "8 holes") || !strings.Contains(f.Evidence, "80 ms in all") {
		t.Errorf("%d holes: %q, want 8 and 80 ms", f.Count, f.Evidence)
	}
}

func TestALikelyRingSharesNoLine(t *testing.T) {
	e := take()
	spectrum := func(hz float64) meter.SpectrumReading {
		return meter.SpectrumReading{Bands: []meter.Band{{NominalHz: hz, CenterHz: hz, Level: unit.Some(unit.DBFS(-20))}}}
	}
	e.Lines[ohL].Family, e.Lines[ohR].Family = model.HiHat, model.Cymbal
	e.Tracks[kick].M.Spectrum = spectrum(6000)
	e.Tracks[ohL].M.Spectrum = spectrum(100)
	e.Tracks[ohR].M.Spectrum = spectrum(110)
	got := Likely(e)
	if len(got) != 1 || got[0].Ring[0] != kick || got[0].Ring[1] != ohL {
		t.Errorf("rings %+v, want one of kick and hi-hat, which fits best", got)
	}
}
