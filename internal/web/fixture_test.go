package web

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

type opt = unit.Maybe[float64]

func is(v float64) opt { return unit.Some(v) }

// band is the invented session of these tests: 22 lines of a band in a room.
var band = []struct {
	source, mic            string
	floor, low, high, peak float64
}{
	{"Kick in", "Orlop D6", -71, -38, -16, -5.4}, {"Kick out", "Halyard C2", -69, -36, -15, -6.1},
	{"Snare top", "Orlop D3", -68, -34, -14, -0.1}, {"Snare bottom", "Orlop S1", -70, -39, -18, -7.7},
	{"Hi-hat", "Fathom 1", -74, -44, -26, -13.2}, {"Tom 1", "Orlop D4", -72, -46, -22, -8.4},
	{"Tom 2", "Orlop D4", -72, -47, -23, -9.9}, {"Floor tom", "Orlop D6", -71, -45, -21, -7.2},
	{"Overhead L", "Fathom 3", -73, -37, -20, -8.8}, {"Overhead R", "Fathom 3", -73, -37, -20, -8.1},
	{"Room L", "Binnacle R", -66, -36, -21, -10.4}, {"Room R", "Binnacle R", -66, -36, -21, -10.9},
	{"Bass DI", "DI Quay 2", -78, -29, -17, -6.6}, {"Bass amp", "Halyard C2", -57, -28, -16, -7.9},
	{"Guitar Dave", "Orlop S1", -54, -30, -16, -6.9}, {"Guitar Mia", "Binnacle R", -56, -31, -17, -8.3},
	{"Accordion low", "Fathom 1", -67, -33, -19, -9.5}, {"Accordion high", "Fathom 1", -67, -34, -19, -9.0},
	{"Piano low", "Fathom 3", -70, -38, -21, -10.6}, {"Piano high", "Fathom 3", -70, -39, -22, -11.3},
	{"Lead voice", "Halyard V1", -64, -33, -18, -4.1}, {"Talkback", "Orlop S1", -100, -60, -52, -44},
}

// fixture is a whole check of a pass with n lines and a finding of every kind.
func fixture(n int) *Page {
	r := rand.New(rand.NewPCG(7, uint64(n)))
	p := &Page{
		Folder: "Salt Lanterns/2026-03-14 Ferry Song", Job: "Salt Lanterns, second record", Version: "0.1",
		CheckedAt: time.Date(2026, 3, 14, 15, 42, 0, 0, time.UTC), TookS: 0.94,
		NominalDBFS: is(-18), MainsHz: is(50),
		Files:  Files{Sound: n, Read: n - 1, Other: 3, Refused: []Refused{{"Talkback_01.wav", "no data chunk in 44 bytes: copy the file again from the recorder"}}},
		Passes: []Pass{{Name: "pass 1", StartS: is(52920), DurationS: 75.2, Files: n}},
		List: List{File: "input list march.xlsx", Sheet: "Ferry Song", Rows: n, Skipped: 6,
			Columns:  []Column{{"Ch.", "number"}, {"What", "source"}, {"Mic/DI", "microphone"}, {"Snake", "tie line"}, {"Hmm", ""}},
			Problems: []string{"row 9: “Tom1/2” stands for two lines, read as Tom 1 and Tom 2", "row 17: number 14 is given twice"}},
		Doubtful: []Doubtful{{"Audio 7_4.wav", "7 Tom 2", "number", "6 Tom 1"}},
	}
	for i := range n {
		b := band[i%len(band)]
		l := Line{Number: i + 1, Source: b.source, Mic: b.mic, File: fmt.Sprintf("%s_01.wav", b.source), Channel: 1, Pass: "pass 1",
			Format: Format{RateHz: 48000, Bits: 24, Channels: 1, DurationS: 75.2, TimeReferenceS: is(52920)}}
		if i >= len(band) {
			l.Source = fmt.Sprintf("%s %d", b.source, i/len(band)+1)
		}
		l.Levels = Levels{PeakDBFS: is(b.peak), TruePeakDBTP: is(b.peak + 0.3), RMSDBFS: is((b.low+b.high)/2 + 2), CrestDB: is(b.peak - (b.low+b.high)/2),
			LoudnessLUFS: is(b.high - 5), LoudnessRangeLU: is(7.5), FloorDBFS: is(b.floor), UsualLowDBFS: is(b.low), UsualHighDBFS: is(b.high),
			HighestDBFS: is(b.high + 5), HeadroomDB: is(-b.peak), DC: is(0.00003)}
		for t := range 752 {
			s := float64(t) / 10
			play := 1.0
			if s < 3 || s > 70 {
				play = 0.001
			}
			swell := 0.55 + 0.45*math.Sin(s/9+float64(i))
			beat := math.Pow(math.Abs(math.Cos(s*(1.3+0.2*float64(i%5)))), 3)
			db := b.low + (b.high+3-b.low)*swell*(0.3+0.7*beat) + 2*r.NormFloat64()
			rms := math.Pow(10, db/20)*play + math.Pow(10, b.floor/20)
			l.Envelope = append(l.Envelope, Hop{Peak: float32(min(rms*(2.2+r.Float64()), 1)), RMS: float32(rms)})
		}
		p.Lines = append(p.Lines, l)
	}
	if n >= 20 { // a line armed late, one without a file, one that holds nothing
		p.Lines[15].OffsetS, p.Lines[15].Envelope = 12.4, p.Lines[15].Envelope[124:]
		p.Lines[21%n].File, p.Lines[21%n].Envelope, p.Lines[21%n].Levels, p.Lines[21%n].Format = "", nil, Levels{}, Format{}
	}
	p.Pairs = pairsOf(p)
	p.Findings = findingsOf(p)
	return p
}

func pairsOf(p *Page) []Pair {
	pair := func(a, b, on int, rel string, ms, coh, corr, loss float64, pol string) Pair {
		return Pair{A: p.Lines[a].Name(), B: p.Lines[b].Name(), On: p.Lines[on].Name(), Pass: "pass 1", Relation: rel,
			DelayMS: is(ms), DelaySamples: is(ms * 48), DistanceCM: is(ms * 34.36), DistanceIn: is(ms * 13.53), Polarity: pol,
			Coherence: is(coh), Correlation: is(corr), MonoLossDB: is(loss), LossBands: []Band{{125, loss * 0.6}, {1000, loss * 1.8}, {4000, loss}}}
	}
	if len(p.Lines) < 20 {
		return nil
	}
	return []Pair{
		pair(0, 1, 0, "in and out", 1.21, 0.88, 0.41, -1.2, "same"),
		pair(2, 3, 2, "top and bottom", 0.18, 0.83, -0.62, -7.4, "opposite"),
		pair(8, 9, 2, "stereo pair", -0.31, 0.79, 0.48, -2.1, "same"),
		pair(10, 11, 2, "room pair", 0.02, 0.44, 0.21, -2.6, "unclear"),
		pair(12, 13, 12, "DI and amplifier", 2.85, 0.91, 0.12, -2.4, "same"),
		pair(16, 17, 16, "stereo pair", 0.015, 0.86, 0.71, -0.7, "same"),
		{A: p.Lines[18].Name(), B: p.Lines[19].Name(), On: p.Lines[18].Name(), Pass: "pass 1", Relation: "stereo pair"},
	}
}

func findingsOf(p *Page) []model.Finding {
	name := func(i int) string { return p.Lines[i%len(p.Lines)].Name() }
	f := func(k model.Kind, w model.Weight, line int, start, end opt, v opt, u string, limit opt, evidence, advice string) model.Finding {
		x := model.Finding{ID: string(k) + "/pass 1/" + name(line), Kind: k, Weight: w, Pass: "pass 1", Lines: []string{name(line)}, Files: []string{"a.wav"},
			StartS: start, EndS: end, Value: v, Unit: u, Limit: limit, LimitSource: "common practice, no published source", Count: 1,
			Evidence: name(line) + " " + evidence, Advice: advice}
		if s, ok := start.Get(); ok {
			x.Places = []model.Place{{Line: name(line), StartS: s, EndS: end.Or(s)}}
		}
		return x
	}
	no := unit.None[float64]()
	fs := []model.Finding{
		f(model.KindMissing, model.Stop, 21, no, no, no, "", no, "is on the list (row 28), and no file of pass 1 is it", "see whether its track was armed and named as on the list"),
		f(model.KindClipped, model.Stop, 2, is(12.34), is(61.9), is(31), "runs", is(0), "is flat at full scale in 31 places, first at 0:12.3, 41.2 ms in all", "turn the preamp down by 6 dB or more (or put the pad in) before the next take; these hits cannot be mended, plan to do them again"),
		f(model.KindDead, model.Stop, 18, is(48.2), is(75.2), is(-91), "dBFS", is(-72), "goes dead at 0:48.2 and stays dead: its floor falls from −70 dBFS to −91 dBFS", "swap the cable first, then the microphone, and write down which one it was; the take is not complete on this line"),
		f(model.KindTruncated, model.Stop, 13, no, no, no, "", no, "ends inside its data: 1:02.4 could be read", "copy the file as it is before anything opens it, and do not trust the take until somebody has listened to its end"),
		f(model.KindDropout, model.Stop, 14, is(33.1), is(33.14), is(2), "holes", is(0), "has 2 holes in its sound, first at 0:33.1, 44 ms in all", "look at the clock, the buffer and the drive, then do it again"),
		f(model.KindSwapped, model.Stop, 5, no, no, is(14.2), "dB", is(6), "carries the sound of "+name(6)+", and the other way round", "change the two at the box or rename the tracks, then play both drums again"),
		f(model.KindFlipped, model.Listen, 2, no, no, is(-0.62), "", is(0), "and "+name(3)+" hear the drum with opposite polarity", "flip one of them at the preamp and listen to the low end with both up"),
		f(model.KindCrackle, model.Listen, 20, is(22.8), is(58.4), is(9), "clicks", is(6), "crackles: 9 clicks that no other line hears, from 0:22.8 to 0:58.4", "swap the cable first, then the microphone, and write down which one it was"),
		f(model.KindHum, model.Listen, 14, no, no, is(-58.3), "dBFS", is(-72), "hums at 50.02 Hz, −58 dBFS in all, nine harmonics", "move the cable away from mains leads, dimmers and transformers"),
		f(model.KindNoisy, model.Listen, 15, no, no, is(-44.1), "dBFS", is(-46), "has a steady noise of −44 dBFS under it", "ask whether the amplifier is meant to hiss like this"),
		f(model.KindHot, model.Listen, 20, is(41.7), is(41.7), is(-2.1), "dBFS", is(-3), "peaks at −2.1 dBFS at 0:41.7", "turn the preamp down by 7 dB: a band playing together is 2 to 8 dB louder than a player alone"),
		f(model.KindLate, model.Listen, 8, no, no, is(0.31), "ms", is(0.1), "hears the snare 0.31 ms later than "+name(9)+", as far as 10.7 cm", "measure both to the centre of the snare and move the nearer one out"),
		f(model.KindMonoLoss, model.Listen, 2, no, no, is(-7.4), "dB", is(-4), "and "+name(3)+" lose 7.4 dB when they are added", "flip one of them, or move one"),
		f(model.KindShort, model.Listen, 13, is(62.4), is(75.2), is(12.8), "s", is(0.5), "ends at 1:02.4, 12.8 s before the rest of pass 1", "see why recording stopped on this track before the next take"),
		f(model.KindLateStart, model.Note, 15, is(0), is(12.4), is(12.4), "s", is(0.05), "begins 12.40 s after pass 1", "the track was armed late: listen whether the line had already begun to play"),
		f(model.KindWrongRate, model.Listen, 16, no, no, is(44100), "Hz", is(48000), "says 44.1 kHz, the rest of pass 1 48 kHz", "check the clock source and the recorder's session rate"),
		f(model.KindDuplicate, model.Listen, 10, no, no, no, "", no, "and "+name(11)+" hold the same sound, sample for sample", "one of the two is not recorded: look at the recorder's input menu"),
		f(model.KindDoubtfulMatch, model.Listen, 6, no, no, is(0.58), "", is(0.7), "was taken for Audio 7_4.wav, by its number", "settle it with --match \"Audio 7_4.wav=7\" (or the other number)"),
		f(model.KindLow, model.Note, 4, no, no, is(-21), "dB", is(-18), "never rises above −39 dBFS, 21 dB under the nominal −18", "turn the preamp up if it is played in this take"),
		f(model.KindDCOffset, model.Note, 12, no, no, is(-46), "dBFS", is(-50), "stands off zero by +0.50 % of full scale (−46 dBFS)", "tell the house technician and filter it before any cut"),
		f(model.KindUnlisted, model.Note, 1, no, no, no, "", no, "is not on the input list", "add it to the list"),
	}
	for _, i := range []int{5, 6, 7, 11} {
		fs = append(fs, f(model.KindWrongDepth, model.Note, i, no, no, is(16), "bits", is(24), "has 24 bits a sample and uses 16: the rest are always zero", "some link before the recorder carries 16 bits: find it if you need the low levels"))
	}
	for i := range fs {
		x := &fs[i]
		switch x.Kind {
		case model.KindClipped:
			x.Count, x.Places[0].EndS = 31, 12.342
			for j := range 23 {
				at := 14.2 + 2.1*float64(j)
				x.Places = append(x.Places, model.Place{Line: x.Lines[0], StartS: at, EndS: at + 0.002})
			}
		case model.KindCrackle:
			x.Count, x.Places[0].EndS = 9, 22.81
			for j := range 8 {
				at := 24.1 + 4.3*float64(j)
				x.Places = append(x.Places, model.Place{Line: x.Lines[0], StartS: at, EndS: at + 0.01})
			}
		case model.KindFlipped, model.KindMonoLoss:
			x.Lines = append(x.Lines, name(3))
		case model.KindLate:
			x.Lines = append(x.Lines, name(9))
		case model.KindDuplicate:
			x.Lines = append(x.Lines, name(11))
		case model.KindSwapped:
			x.Lines = append(x.Lines, name(6))
		}
	}
	return fs
}

// hostile is a page whose every text tries to become markup, with names longer
// than any column, values that do not exist, and places outside the pass.
func hostile() *Page {
	const evil = `<script>alert(1)</script>"'><img src=x onerror=alert(2)>`
	long := "Third violin of the second desk, close, behind the gobo, spare microphone on the short stand"
	no := unit.None[float64]()
	p := &Page{
		Folder: evil + "/*" + `\00002A` + "\n} body{display:none}", Job: evil, Version: evil, TookS: 0.1,
		Passes: []Pass{{Name: evil, DurationS: 3725.4, Files: 2}, {Name: "pass 2", DurationS: 0}},
		Files:  Files{Sound: 2, Refused: []Refused{{evil, evil}}},
		List:   List{File: evil, Sheet: evil, Columns: []Column{{evil, evil}}, Problems: []string{evil}},
		Lines: []Line{
			{Source: evil, Mic: evil, File: evil, Pass: evil, Envelope: []Hop{{float32(math.NaN()), float32(math.NaN())}, {1, 1}, {0, 0}}},
			{Number: 2, Source: long, Mic: long, File: "a/very/deep/folder/with_a_name_that_has_no_blank_anywhere_and_goes_on_and_on_and_on.wav", Pass: "pass 2"},
			{Number: 3, Source: "", Pass: "a pass that does not exist", Levels: Levels{PeakDBFS: is(math.Inf(-1)), FloorDBFS: is(math.NaN()), UsualLowDBFS: is(40), UsualHighDBFS: is(-300)}},
		},
		Pairs:    []Pair{{A: evil, B: long, On: evil, Relation: evil, DelayMS: is(4000), Polarity: evil, Judgement: evil}},
		Doubtful: []Doubtful{{evil, evil, evil, evil}},
	}
	for i, w := range []model.Weight{model.Stop, model.Listen, model.Note, "a weight of its own"} {
		p.Findings = append(p.Findings, model.Finding{Kind: model.Kind(evil), Weight: w, Pass: evil, Lines: []string{evil, "2 " + long}, Files: []string{evil},
			StartS: is(-3), EndS: is(99999), Value: no, Unit: evil, Limit: is(1), LimitSource: evil, Count: i, Evidence: evil, Advice: evil,
			Places: []model.Place{{Line: evil, StartS: -9, EndS: 1e9}, {Line: "nobody", StartS: 1, EndS: 0}}})
	}
	return p
}
