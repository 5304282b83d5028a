package judge

import (
	"math"

	"tidemark/internal/between"
	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

type ruleCase struct {
	name string
	kind model.Kind
	make func(*Evidence)
	want []model.Weight // of the findings of that kind, in order
}

// Each kind has a case that passes (a), one that fails (b), one on the limit (c)
// and one that is undefined (d); TestEveryKindHasItsFourCases demands all four.
var ruleCases = []ruleCase{
	{"a all lines play", model.KindDead, func(*Evidence) {}, nil},
	{"b a silent voice", model.KindDead, func(e *Evidence) { from(&e.Tracks[voice].M, 0, func(h *meter.Hop) { *h = hop(-110) }) }, stop},
	{"b a snare dies at 40 s", model.KindDead, func(e *Evidence) { from(&e.Tracks[top].M, 40, func(h *meter.Hop) { *h = hop(-110) }) }, stop},
	{"b overheads that hear nothing but their noise while the band plays", model.KindDead, func(e *Evidence) { from(&e.Tracks[ohL].M, 0, func(h *meter.Hop) { *h = hop(-68) }) }, stop},
	{"b a voice booth nobody sang in", model.KindDead, func(e *Evidence) { from(&e.Tracks[voice].M, 0, func(h *meter.Hop) { *h = hop(-68) }) }, listen},
	{"b talkback that nobody used", model.KindDead, func(e *Evidence) {
		e.Lines[voice].Family = model.Talkback
		from(&e.Tracks[voice].M, 0, func(h *meter.Hop) { *h = hop(-110) })
	}, note},
	{"b a doubtful match never stops a band", model.KindDead, func(e *Evidence) {
		e.Tracks[top].Match.Certain = false
		from(&e.Tracks[top].M, 40, func(h *meter.Hop) { *h = hop(-110) })
	}, listen},
	{"a a gate that closes in every rest", model.KindDead, func(e *Evidence) {
		for i := range e.Tracks[top].M.Level.Hops {
			if i%40 < 12 {
				e.Tracks[top].M.Level.Hops[i] = hop(-110)
			}
		}
		retell(&e.Tracks[top].M)
	}, nil},
	{"a a rest at the floor until the end", model.KindDead, func(e *Evidence) { from(&e.Tracks[voice].M, 40, func(h *meter.Hop) { *h = hop(-70) }) }, nil},
	{"a the end of the music in a loud room", model.KindDead, func(e *Evidence) {
		e.Tracks[top].M = music(60, -50, -20)
		from(&e.Tracks[top].M, 40, func(h *meter.Hop) { *h = hop(-76) })
	}, nil},
	{"a a low line that plays to the end and was as quiet before it began", model.KindDead, func(e *Evidence) {
		for i := range e.Tracks[voice].M.Level.Hops {
			db := -45.0 - float64(i%7)
			switch {
			case i < 25 || i >= 452:
				db = -95
			case i >= 450:
				db = -65 - 15*float64(i-450) // the last note dies away
			}
			e.Tracks[voice].M.Level.Hops[i] = hop(db)
		}
		retell(&e.Tracks[voice].M)
	}, nil},
	{"b a low line that began as quiet and is cut off in its music", model.KindDead, func(e *Evidence) {
		for i := range e.Tracks[voice].M.Level.Hops {
			db := -45.0 - float64(i%7)
			if i < 25 || i >= 450 {
				db = -95
			}
			e.Tracks[voice].M.Level.Hops[i] = hop(db)
		}
		retell(&e.Tracks[voice].M)
	}, stop},
	{"b a low line that plays from the start and falls to a converter's floor", model.KindDead, func(e *Evidence) {
		for i := range e.Tracks[voice].M.Level.Hops {
			db := -45.0 - float64(i%7)
			if i >= 450 {
				db = -95
			}
			e.Tracks[voice].M.Level.Hops[i] = hop(db)
		}
		retell(&e.Tracks[voice].M)
	}, stop},
	{"b a line that is gone for three tenths of a second in its music", model.KindDead, func(e *Evidence) { gone(e, voice, -110, 300) }, listen},
	{"a a line that is gone five times is gated", model.KindDead, func(e *Evidence) { gone(e, voice, -110, 100, 200, 300, 400, 500) }, nil},
	{"a a note that dies away in a quiet booth", model.KindDead, func(e *Evidence) {
		gone(e, voice, -110, 300)
		for i, db := range []float64{-45, -60, -75, -90} {
			e.Tracks[voice].M.Level.Hops[296+i] = hop(db)
		}
		retell(&e.Tracks[voice].M)
	}, nil},
	{"a a pickup muted between two notes", model.KindDead, func(e *Evidence) {
		e.Lines[voice].Part, e.Lines[voice].Family = model.DI, model.Bass
		gone(e, voice, -110, 300)
	}, nil},
	{"c gone, but not to a converter's floor", model.KindDead, func(e *Evidence) { gone(e, voice, limitDeadFloor.Value+0.5, 300) }, nil},
	{"a a machine that rests in digital silence", model.KindDead, func(e *Evidence) { from(&e.Tracks[voice].M, 40, func(h *meter.Hop) { *h = meter.Hop{} }) }, nil},
	{"b a line torn off into digital silence", model.KindDead, func(e *Evidence) {
		from(&e.Tracks[voice].M, 40, func(h *meter.Hop) { *h = meter.Hop{} })
		e.Tracks[voice].M.Dropout.Holes = []meter.Hole{{Run: meter.Run{Frame: 40 * rate, Frames: 20 * rate}, TornIn: true, ToEnd: true}}
	}, stop},
	{"a a direct line that is muted", model.KindDead, func(e *Evidence) {
		e.Lines[top].Part = model.DI
		from(&e.Tracks[top].M, 40, func(h *meter.Hop) { *h = hop(-110) })
	}, nil},
	{"b a direct line that crackles and dies", model.KindDead, func(e *Evidence) {
		e.Lines[top].Part = model.DI
		from(&e.Tracks[top].M, 25, func(h *meter.Hop) { *h = hop(-110) })
		clicks(&e.Tracks[top], 20)
	}, stop},
	{"c a floor that falls by less than the margin", model.KindDead, func(e *Evidence) {
		e.Tracks[top].M = music(60, -80, -20)
		from(&e.Tracks[top].M, 40, func(h *meter.Hop) { *h = hop(-85.1) })
	}, nil},
	{"c just above a converter's floor", model.KindDead, func(e *Evidence) {
		e.Tracks = e.Tracks[voice:]
		from(&e.Tracks[0].M, 0, func(h *meter.Hop) { *h = hop(limitSilent.Value + 0.1) })
	}, nil},
	{"d digital silence", model.KindDead, func(e *Evidence) { from(&e.Tracks[voice].M, 0, func(h *meter.Hop) { *h = meter.Hop{} }) }, stop},

	{"a a quiet floor", model.KindNoisy, func(e *Evidence) {}, nil},
	{"b hiss under the voice", model.KindNoisy, func(e *Evidence) { hiss(&e.Tracks[voice].M, -50) }, listen},
	{"a the same hiss from an amplifier", model.KindNoisy, func(e *Evidence) {
		e.Lines[voice].Family, e.Lines[voice].Part = model.Guitar, model.Amp
		hiss(&e.Tracks[voice].M, -50)
	}, nil},
	{"c hiss on the limit", model.KindNoisy, func(e *Evidence) { hiss(&e.Tracks[voice].M, limitNoiseMic.Value-0.01) }, nil},
	{"d too short to have a floor", model.KindNoisy, func(e *Evidence) { e.Tracks[voice].M = music(2, -40, -20) }, nil},

	{"a no hum", model.KindHum, func(*Evidence) {}, nil},
	{"b 50 Hz at -55", model.KindHum, func(e *Evidence) { humAt(&e.Tracks[voice].M, -55) }, listen},
	{"b faint hum is a note", model.KindHum, func(e *Evidence) { humAt(&e.Tracks[voice].M, -78) }, note},
	{"c hum on the limit of notes", model.KindHum, func(e *Evidence) { humAt(&e.Tracks[voice].M, limitHumNote.Value-0.01) }, nil},
	{"d too short to tell", model.KindHum, func(e *Evidence) { humAt(&e.Tracks[voice].M, -55); e.Tracks[voice].M.Hum.Known = false }, nil},

	{"a no clicks", model.KindCrackle, func(*Evidence) {}, nil},
	{"b a burst of clicks while others play", model.KindCrackle, func(e *Evidence) { hits(&e.Tracks[kick], 0.5, 0); clicks(&e.Tracks[voice], 30) }, stop},
	{"b strokes of percussion may be clicks themselves", model.KindCrackle, func(e *Evidence) {
		e.Lines[voice].Family = model.Percussion
		hits(&e.Tracks[kick], 0.5, 0)
		clicks(&e.Tracks[voice], 30)
	}, listen},
	{"b and overheads hear them", model.KindCrackle, func(e *Evidence) {
		e.Lines[voice].Family = model.Percussion
		hits(&e.Tracks[kick], 0.5, 0)
		clicks(&e.Tracks[ohL], 30)
	}, listen},
	{"b a burst of clicks on a line by itself", model.KindCrackle, func(e *Evidence) { clicks(&e.Tracks[voice], 30) }, listen},
	{"a clicks that keep time with a drum", model.KindCrackle, func(e *Evidence) { hits(&e.Tracks[kick], 0.2, 0.004); clicks(&e.Tracks[voice], 30) }, nil},
	{"b a few clicks together", model.KindCrackle, func(e *Evidence) { clicks(&e.Tracks[voice], 3) }, listen},
	{"b ticks on every line at the same instant", model.KindCrackle, func(e *Evidence) {
		for i := range e.Tracks {
			clicks(&e.Tracks[i], 30)
		}
	}, stop},
	{"a a stroke that reaches one line after the other", model.KindCrackle, func(e *Evidence) {
		for i := range e.Tracks {
			clicks(&e.Tracks[i], 30)
			e.Tracks[i].OffsetS = 0.002 * float64(i)
		}
	}, nil},
	{"c two ticks on every line", model.KindCrackle, func(e *Evidence) {
		for i := range e.Tracks {
			clicks(&e.Tracks[i], 2)
		}
	}, nil},
	{"c two clicks", model.KindCrackle, func(e *Evidence) { clicks(&e.Tracks[voice], 2) }, nil},
	{"d nothing measured", model.KindCrackle, func(e *Evidence) { e.Tracks[voice].M = meter.Channel{} }, nil},

	{"a no holes", model.KindDropout, func(*Evidence) {}, nil},
	{"b a hole that an organ's microphone comes out of softly", model.KindDropout, func(e *Evidence) {
		e.Lines[voice].Family = model.Organ
		hole(&e.Tracks[voice].M, meter.Hole{TornIn: true})
	}, stop},
	{"b one hole", model.KindDropout, func(e *Evidence) { hole(&e.Tracks[voice].M, meter.Hole{TornIn: true, TornOut: true}) }, stop},
	{"b one held value", model.KindDropout, func(e *Evidence) { hole(&e.Tracks[voice].M, meter.Hole{TornIn: true, Held: true}) }, stop},
	{"b sound cut off that comes back softly on a direct line", model.KindDropout, func(e *Evidence) { e.Lines[voice].Part = model.DI; hole(&e.Tracks[voice].M, meter.Hole{TornIn: true}) }, listen},
	{"b a keyboard may make its own silence", model.KindDropout, func(e *Evidence) {
		e.Lines[voice].Family = model.Keys
		hole(&e.Tracks[voice].M, meter.Hole{TornIn: true, TornOut: true})
	}, listen},
	{"b a buffer written twice", model.KindDropout, func(e *Evidence) { e.Tracks[voice].M.Dropout.Repeats = events(1, 256) }, listen},
	{"c exact zeros, but none torn", model.KindDropout, func(e *Evidence) { e.Tracks[voice].M.Dropout.ZeroFrames = 48000 }, nil},
	{"d nothing measured", model.KindDropout, func(e *Evidence) { e.Tracks[voice].M = meter.Channel{} }, nil},

	{"a no flat tops", model.KindClipped, func(*Evidence) {}, nil},
	{"b a clipped word", model.KindClipped, func(e *Evidence) { e.Tracks[voice].M.Clipping.FullScale = events(9, 8) }, stop},
	{"b full scale touched by a shaker, a sample at a time", model.KindClipped, func(e *Evidence) { e.Tracks[voice].M.Clipping.AtFull = 9 }, stop},
	{"c full scale touched eight times", model.KindClipped, func(e *Evidence) { e.Tracks[voice].M.Clipping.AtFull = 8 }, nil},
	{"b flat tops below full scale", model.KindClipped, func(e *Evidence) {
		e.Tracks[voice].M.Clipping.FlatTop = events(9, 8)
		e.Tracks[voice].M.Clipping.FlatLevel = 0.5
	}, listen},
	{"b a single run of three", model.KindClipped, func(e *Evidence) { e.Tracks[voice].M.Clipping.FullScale = events(1, 3) }, listen},
	{"c two flat tops below full scale", model.KindClipped, func(e *Evidence) { e.Tracks[voice].M.Clipping.FlatTop = events(2, 8) }, nil},
	{"d nothing measured", model.KindClipped, func(e *Evidence) { e.Tracks[voice].M = meter.Channel{} }, nil},

	{"a peaks at -8", model.KindHot, func(e *Evidence) { peakAt(&e.Tracks[voice].M, -8) }, nil},
	{"b peaks at -1", model.KindHot, func(e *Evidence) { peakAt(&e.Tracks[voice].M, -1) }, listen},
	{"c peaks on the limit", model.KindHot, func(e *Evidence) { peakAt(&e.Tracks[voice].M, limitHot.Value) }, nil},
	{"d silence", model.KindHot, func(e *Evidence) { e.Tracks[voice].M = meter.Channel{} }, nil},

	{"a peaks at -8", model.KindLow, func(e *Evidence) { peakAt(&e.Tracks[voice].M, -8) }, nil},
	{"b peaks at -45", model.KindLow, func(e *Evidence) { peakAt(&e.Tracks[voice].M, -45) }, note},
	{"c peaks on the limit", model.KindLow, func(e *Evidence) { peakAt(&e.Tracks[voice].M, -18+limitLow.Value) }, nil},
	{"d silence", model.KindLow, func(e *Evidence) { e.Tracks[voice].M = meter.Channel{} }, nil},

	{"a no offset", model.KindDCOffset, func(*Evidence) {}, nil},
	{"b one per cent", model.KindDCOffset, func(e *Evidence) { e.Tracks[voice].M.Level.DC = -0.01 }, note},
	{"c on the limit", model.KindDCOffset, func(e *Evidence) { e.Tracks[voice].M.Level.DC = math.Pow(10, limitDC.Value/20) * 0.9999 }, nil},
	{"d nothing measured", model.KindDCOffset, func(e *Evidence) { e.Tracks[voice].M = meter.Channel{} }, nil},

	{"a the right way up", model.KindFlipped, func(e *Evidence) { pair(e, model.TopBottom, top, bottom, top, reading(0.1, between.Same, 0.8)) }, nil},
	{"b a bottom snare upside down", model.KindFlipped, func(e *Evidence) { pair(e, model.TopBottom, top, bottom, top, reading(0.1, between.Opposite, 0.8)) }, stop},
	{"b kick in and out may oppose", model.KindFlipped, func(e *Evidence) { pair(e, model.InOut, top, bottom, top, reading(0.1, between.Opposite, 0.8)) }, listen},
	{"c too little in common", model.KindFlipped, func(e *Evidence) {
		pair(e, model.TopBottom, top, bottom, top, reading(0.1, between.Opposite, limitCoherence.Value-0.001))
	}, nil},
	{"b overheads that tell nothing of each other and hear the kick in opposite ways", model.KindFlipped, func(e *Evidence) {
		pair(e, model.StereoPair, ohL, ohR, top, reading(1.7, between.Opposite, 0.2))
		pair(e, model.KitPair, kick, ohL, kick, reading(2.4, between.Same, 0.8))
		pair(e, model.KitPair, kick, ohR, kick, reading(2.5, between.Opposite, 0.7))
	}, stop},
	{"a overheads that tell nothing of each other and hear the kick alike", model.KindFlipped, func(e *Evidence) {
		pair(e, model.StereoPair, ohL, ohR, top, reading(1.7, between.Opposite, 0.2))
		pair(e, model.KitPair, kick, ohL, kick, reading(2.4, between.Opposite, 0.8))
		pair(e, model.KitPair, kick, ohR, kick, reading(2.5, between.Opposite, 0.7))
	}, nil},
	{"a overheads that hear the kick in opposite ways and far apart", model.KindFlipped, func(e *Evidence) {
		pair(e, model.StereoPair, ohL, ohR, top, reading(1.7, between.Opposite, 0.2))
		pair(e, model.KitPair, kick, ohL, kick, reading(2.4, between.Same, 0.8))
		pair(e, model.KitPair, kick, ohR, kick, reading(5.5, between.Opposite, 0.7))
	}, nil},
	{"c overheads of which one hears the kick no more than in part", model.KindFlipped, func(e *Evidence) {
		pair(e, model.StereoPair, ohL, ohR, top, reading(1.7, between.Opposite, 0.2))
		pair(e, model.KitPair, kick, ohL, kick, reading(2.4, between.Same, 0.8))
		pair(e, model.KitPair, kick, ohR, kick, reading(2.5, between.Opposite, 0.59))
	}, nil},
	{"d no hits", model.KindFlipped, func(e *Evidence) {
		pair(e, model.TopBottom, top, bottom, top, between.PairReading{Polarity: between.Unclear})
	}, nil},

	{"a overheads agree", model.KindLate, func(e *Evidence) { pair(e, model.StereoPair, ohL, ohR, top, reading(0.03, between.Same, 0.8)) }, nil},
	{"b the right one 0.5 ms late", model.KindLate, func(e *Evidence) { pair(e, model.StereoPair, ohL, ohR, top, reading(0.5, between.Same, 0.8)) }, listen},
	{"a a room pair is late by nature", model.KindLate, func(e *Evidence) { pair(e, model.RoomPair, ohL, ohR, top, reading(0.5, between.Same, 0.8)) }, nil},
	{"c on the limit", model.KindLate, func(e *Evidence) {
		pair(e, model.StereoPair, ohL, ohR, top, reading(limitLate.Value, between.Same, 0.8))
	}, nil},
	{"d no delay found", model.KindLate, func(e *Evidence) { pair(e, model.StereoPair, ohL, ohR, top, between.PairReading{Hits: 20}) }, nil},

	{"a little loss", model.KindMonoLoss, func(e *Evidence) { pair(e, model.StereoPair, ohL, ohR, top, reading(0, between.Same, 0.8)) }, nil},
	{"b six decibels lost", model.KindMonoLoss, func(e *Evidence) { pair(e, model.StereoPair, ohL, ohR, top, loss(-6)) }, listen},
	{"b upside down, too little in common for flipped to say so", model.KindMonoLoss, func(e *Evidence) {
		r := loss(-6)
		r.Polarity, r.Coherence = between.Opposite, unit.Some(0.2)
		pair(e, model.StereoPair, ohL, ohR, top, r)
	}, listen},
	{"a upside down is told by flipped", model.KindMonoLoss, func(e *Evidence) {
		r := loss(-6)
		r.Polarity = between.Opposite
		pair(e, model.StereoPair, ohL, ohR, top, r)
	}, nil},
	{"c on the limit", model.KindMonoLoss, func(e *Evidence) { pair(e, model.StereoPair, ohL, ohR, top, loss(limitMonoLoss.Value)) }, nil},
	{"d no hits", model.KindMonoLoss, func(e *Evidence) { pair(e, model.StereoPair, ohL, ohR, top, between.PairReading{}) }, nil},

	{"a nothing swapped", model.KindSwapped, func(*Evidence) {}, nil},
	{"b a ring of two, proven by the line check", model.KindSwapped, func(e *Evidence) { e.Swaps = []Swap{{Ring: []int{kick, voice}, Unit: "dB", Certain: true, Pass: -1}} }, stop},
	{"c a ring that only the sound suggests", model.KindSwapped, func(e *Evidence) { e.Swaps = []Swap{{Ring: []int{kick, voice}, Unit: "dB", Pass: 0}} }, listen},
	{"d a ring through a doubtful match", model.KindSwapped, func(e *Evidence) {
		e.Tracks[kick].Match.Certain = false
		e.Swaps = []Swap{{Ring: []int{kick, voice}, Unit: "dB", Certain: true, Pass: -1}}
	}, listen},

	{"a all there", model.KindMissing, func(*Evidence) {}, nil},
	{"b no file for the voice", model.KindMissing, func(e *Evidence) { e.Tracks = e.Tracks[:voice] }, stop},
	{"b no file for two lines, and two files on none", model.KindMissing, func(e *Evidence) {
		e.Lines = append(e.Lines, model.Line{Number: 7, Source: "Caja", Partner: -1}, model.Line{Number: 8, Source: "Bombo", Partner: -1})
		for range 2 {
			t := e.Tracks[voice]
			t.Line, t.Match.RunnerUp = -1, -1
			e.Tracks = append(e.Tracks, t)
		}
	}, []model.Weight{model.Listen, model.Listen}},
	{"b no file for the voice, and one on no line that is called nearly like it", model.KindMissing, func(e *Evidence) {
		e.Recordings[voice].Name = "Lxad voice_T01.wav"
		e.Tracks[voice].Line, e.Tracks[voice].Match.RunnerUp = -1, -1
	}, listen},
	{"b no file for the voice, and one on no line that is called otherwise", model.KindMissing, func(e *Evidence) {
		e.Recordings[voice].Name = "Kazoo_T01.wav"
		e.Tracks[voice].Line, e.Tracks[voice].Match.RunnerUp = -1, -1
	}, stop},
	{"b an overdub has few lines", model.KindMissing, func(e *Evidence) { e.Tracks = e.Tracks[voice:] }, note},
	{"c half of the lines", model.KindMissing, func(e *Evidence) { e.Tracks = e.Tracks[:3] }, []model.Weight{model.Stop, model.Stop, model.Stop}},
	{"d no list", model.KindMissing, func(e *Evidence) { e.Tracks, e.Listed = e.Tracks[:voice], false }, nil},

	{"a all listed", model.KindUnlisted, func(*Evidence) {}, nil},
	{"b a file on no line", model.KindUnlisted, func(e *Evidence) { e.Tracks[voice].Line = -1 }, note},
	{"a a copy is told by duplicate alone", model.KindUnlisted, func(e *Evidence) { e.Tracks[voice].Line, e.Tracks[voice].Copy = -1, true }, nil},
	{"c a file on a line by a doubtful match", model.KindUnlisted, func(e *Evidence) { e.Tracks[voice].Match.Certain = false }, nil},
	{"d no list", model.KindUnlisted, func(e *Evidence) { e.Tracks[voice].Line, e.Listed = -1, false }, nil},

	{"a a sure match", model.KindDoubtfulMatch, func(*Evidence) {}, nil},
	{"b a doubtful one", model.KindDoubtfulMatch, func(e *Evidence) { e.Tracks[voice].Match.Certain = false }, listen},
	{"c doubtful without a runner-up", model.KindDoubtfulMatch, func(e *Evidence) { e.Tracks[voice].Match = model.Match{RunnerUp: -1} }, listen},
	{"d unlisted", model.KindDoubtfulMatch, func(e *Evidence) { e.Tracks[voice].Line, e.Tracks[voice].Match = -1, model.Match{} }, nil},

	{"a no twins", model.KindDuplicate, func(*Evidence) {}, nil},
	{"b one sound under two lines", model.KindDuplicate, func(e *Evidence) { e.Twins = []Twin{{A: kick, B: voice, Identical: true}} }, stop},
	{"b one sound on both sides of a pair", model.KindDuplicate, func(e *Evidence) { e.Twins = []Twin{{A: ohL, B: ohR, Identical: true}} }, listen},
	{"b a copy beside the original", model.KindDuplicate, func(e *Evidence) { e.Tracks[voice].Line = -1; e.Twins = []Twin{{A: kick, B: voice, Identical: true}} }, note},
	{"c the same but for a gain", model.KindDuplicate, func(e *Evidence) { e.Twins = []Twin{{A: kick, B: voice, GainDB: -6}} }, listen},
	{"d both silent: no twins", model.KindDuplicate, func(e *Evidence) { e.Tracks[kick].M, e.Tracks[voice].M = meter.Channel{}, meter.Channel{} }, nil},

	{"a whole files", model.KindTruncated, func(*Evidence) {}, nil},
	{"b an unfinished header", model.KindTruncated, func(e *Evidence) {
		e.Tracks[voice].Damage = []sound.Damage{{Kind: "unfinished", Text: "data chunk at byte 36 was never closed", HeldFrames: 60 * rate}}
	}, stop},
	{"b a file that is no sound", model.KindTruncated, func(e *Evidence) { e.Refused = []Refused{{"x.wav", "it is text"}} }, stop},
	{"c an odd but harmless pad", model.KindTruncated, func(e *Evidence) { e.Tracks[voice].Damage = []sound.Damage{{Kind: "odd", Text: "no pad byte"}} }, nil},
	{"d nothing declared", model.KindTruncated, func(e *Evidence) { e.Tracks[voice].Damage = nil }, nil},

	{"a same length", model.KindShort, func(*Evidence) {}, nil},
	{"b ends 10 s early", model.KindShort, func(e *Evidence) { e.Tracks[voice].M = music(50, -70, -20) }, stop},
	{"b talkback ends early", model.KindShort, func(e *Evidence) { e.Lines[voice].Family = model.Talkback; e.Tracks[voice].M = music(50, -70, -20) }, note},
	{"a a punched-in fix is short by nature", model.KindShort, func(e *Evidence) { e.Tracks[voice].M = music(5, -70, -20); e.Tracks[voice].Punch = true }, nil},
	{"c ends on the limit", model.KindShort, func(e *Evidence) { e.Tracks[voice].M.Level.Frames -= int64(limitShort.Value * rate) }, nil},
	{"d the only file", model.KindShort, func(e *Evidence) { e.Tracks = e.Tracks[voice:] }, nil},

	{"a same start", model.KindLateStart, func(*Evidence) {}, nil},
	{"b armed 3 s late", model.KindLateStart, func(e *Evidence) { e.Tracks[voice].OffsetS = 3 }, listen},
	{"c on the limit", model.KindLateStart, func(e *Evidence) { e.Tracks[voice].OffsetS = limitLateStart.Value }, nil},
	{"d a punched-in fix", model.KindLateStart, func(e *Evidence) { e.Tracks[voice].OffsetS, e.Tracks[voice].Punch = 3, true }, nil},

	{"a one rate", model.KindWrongRate, func(*Evidence) {}, nil},
	{"b one file at 44.1 kHz", model.KindWrongRate, func(e *Evidence) { e.Tracks[voice].Header.Format.RateHz = 44100 }, stop},
	{"c half and half: nobody knows which is right", model.KindWrongRate, func(e *Evidence) {
		for i := range 3 {
			e.Tracks[i].Header.Format.RateHz = 44100
		}
	}, nil},
	{"d the only file", model.KindWrongRate, func(e *Evidence) { e.Tracks = e.Tracks[voice:] }, nil},

	{"a 24 of 24 bits", model.KindWrongDepth, func(*Evidence) {}, nil},
	{"b a 16-bit file among 24", model.KindWrongDepth, func(e *Evidence) { e.Tracks[voice].Header.Format.Bits, e.Tracks[voice].M.Bits.Used = 16, 16 }, listen},
	{"b 24 bits that use 16", model.KindWrongDepth, func(e *Evidence) { e.Tracks[voice].M.Bits.Used = 16 }, note},
	{"c 24 bits that use 17", model.KindWrongDepth, func(e *Evidence) { e.Tracks[voice].M.Bits.Used = 17 }, nil},
	{"d silence uses none", model.KindWrongDepth, func(e *Evidence) { e.Tracks[voice].M.Bits.Used = 0 }, nil},
}
