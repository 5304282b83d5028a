package curve

import (
	"math"
	"math/rand/v2"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// converterFloor is what a converter with nothing at its input leaves, dBFS.
const converterFloor = -105

var deadLadders = []*Ladder{
	{
		Kind: model.KindDead, Name: "nothing but noise", Unit: "dBFS", Stops: true,
		What:  "A microphone of the kit or a percussionist gives white noise of a level and nothing else. The weakest steps are louder: those are noisy lines, not dead ones.",
		Steps: []float64{-35, -43, -44.5, -45.5, -47, -60, -84, -86, -110, -200},
		Fits:  hearsBand,
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			clear(s.X)
			if x > -200 {
				harm.Hiss(s.X, x, 0, r)
			}
			return harm.Wound{}, true
		},
	},
	{
		Kind: model.KindDead, Name: "music barely over the noise", Unit: "dB", Stops: true,
		What:  "A microphone of the kit or a percussionist hears the take so weakly that its loudest 100 ms stand only so far over white noise of -70 dBFS: a broken lead that still couples.",
		Steps: []float64{24, 12, 8, 7, 6.5, 5.5, 5, 3, 0},
		Fits:  hearsBand,
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			noise := ratio(-70 - sineDB)
			most := loudest(s)
			if most == 0 {
				return harm.Wound{}, false
			}
			scale(s.X, noise*math.Sqrt(math.Pow(10, x/10)-1)/most)
			harm.Hiss(s.X, -70, 0, r)
			return harm.Wound{}, true
		},
	},
	{
		Kind: model.KindDead, Name: "dies before its music ends", Unit: "s", Log: true, Stops: true,
		What:  "A microphone is cut off to a converter's floor of -105 dBFS so long before its last sound, without a crackle, and stays dead. At the first step nothing that matters is lost, and the cut is still there to be told.",
		Steps: []float64{0.05, 0.2, 0.5, 0.8, 1.2, 2, 3, 5, 8},
		Fits:  openAndPlays,
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			end, ok := lastSounding(s)
			at := end - int(x*float64(s.RateHz))
			if !ok || at < 4*s.RateHz {
				return harm.Wound{}, false
			}
			clear(s.X[at:])
			harm.Hiss(s.X[at:], converterFloor, 0, r)
			return harm.Wound{Timed: true, Starts: []float64{seconds(s, at)}}, true
		},
	},
	{
		Kind: model.KindDead, Name: "dead for a moment", Unit: "s", Log: true, Stops: true,
		What:  "A microphone falls to a converter's floor of -105 dBFS in the midst of sound and comes back after so long.",
		Steps: []float64{0.1, 0.3, 0.8, 1, 1.1, 1.5, 3, 5},
		Fits:  openAndPlays,
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			at, ok := s.Sounding(r, -55, 15)
			n := int(x * float64(s.RateHz))
			if !ok || at+5*s.RateHz > len(s.X) {
				return harm.Wound{}, false
			}
			clear(s.X[at : at+n])
			harm.Hiss(s.X[at:at+n], converterFloor, 0, r)
			return harm.Wound{Timed: true, Starts: []float64{seconds(s, at)}}, true
		},
	},
	{
		Kind: model.KindDead, Name: "dies, and noise is left", Unit: "dB under its own floor", Stops: true,
		What:  "In the midst of its music a microphone falls to white noise so far under its own floor and stays there.",
		Steps: []float64{-6, 0, 6, 8, 10, 12, 15, 20, 32},
		Fits:  openAndPlays,
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			end, ok := lastSounding(s)
			at := end / 4 * 3
			if !ok || at < 4*s.RateHz {
				return harm.Wound{}, false
			}
			floor := 20*math.Log10(s.Floor()) + sineDB
			clear(s.X[at:])
			harm.Hiss(s.X[at:], floor-x, 0, r)
			return harm.Wound{Timed: true, Starts: []float64{seconds(s, at)}}, true
		},
	},
	{
		Kind: model.KindDead, Name: "not dead, gain too low", Unit: "dB",
		What:  "No fault of this kind: a microphone is turned down with its own noise, so that its floor comes near a converter's. All that is found is a false alarm.",
		Steps: []float64{0, -10, -20, -30, -40},
		Fits:  openAndPlays,
		Line: func(s *harm.Sound, _ stage.Line, x float64, _ *rand.Rand) (harm.Wound, bool) {
			scale(s.X, ratio(x))
			return harm.Wound{}, true
		},
	},
}

func seconds(s *harm.Sound, frame int) float64 { return float64(frame) / float64(s.RateHz) }

// hiss lays noise of a level under a line.
func hiss(tilt float64) OnLine {
	return func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
		harm.Hiss(s.X, x, tilt, r)
		return harm.Wound{}, true
	}
}

// mains lays hum of some harmonics under a line; the strength is its level in
// dBFS, or under the line's own loud level.
func mains(harmonics int, relative bool) OnLine {
	return func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
		level := x
		if relative {
			level += 20*math.Log10(math.Max(s.Loud(), 1e-9)) + sineDB
		}
		stage.AddHum(s.X, []float64{50, 60}[r.IntN(2)], level, harmonics, float64(s.RateHz), r)
		return harm.Wound{}, true
	}
}

// peaks turns the gain so that the peak is the strength.
func peaks(s *harm.Sound, _ stage.Line, x float64, _ *rand.Rand) (harm.Wound, bool) {
	p := s.Peak()
	if p == 0 {
		return harm.Wound{}, false
	}
	scale(s.X, ratio(x)/p)
	return harm.Wound{}, true
}

var levelLadders = []*Ladder{
	{
		Kind: model.KindNoisy, Name: "white, microphones", Unit: "dBFS", Fits: notAmplifier, Line: hiss(0),
		What:  "White noise from start to end on a microphone that is not at an amplifier (own floors lie at -86 to -68 dBFS).",
		Steps: []float64{-85, -75, -70, -66, -64, -62, -60, -58, -55, -50, -40},
	},
	{
		Kind: model.KindNoisy, Name: "pink, microphones", Unit: "dBFS", Fits: notAmplifier, Line: hiss(1),
		What:  "The same with pink noise: as loud in all, and less of it where hiss is heard.",
		Steps: []float64{-85, -65, -60, -55, -52, -50, -45, -35},
	},
	{
		Kind: model.KindNoisy, Name: "white, amplifiers", Unit: "dBFS", Fits: amplifier, Line: hiss(0), PerTake: 4,
		What:  "White noise on the microphone of a guitar, bass or organ amplifier, which may hiss (own floors lie at -74 to -56 dBFS).",
		Steps: []float64{-80, -60, -48, -46, -44, -40, -30},
	},
	{
		Kind: model.KindHum, Name: "four harmonics", Unit: "dBFS", Fits: analogue, Line: mains(4, false),
		What:  "Mains of 50 or 60 Hz with four harmonics, the odd ones stronger; the strength is the level of all of it.",
		Steps: []float64{-100, -90, -86, -83, -80, -75, -70, -65, -60, -50, -40, -30},
	},
	{
		Kind: model.KindHum, Name: "one partial", Unit: "dBFS", Fits: analogue, Line: mains(1, false),
		What:  "The mains frequency alone.",
		Steps: []float64{-100, -80, -70, -60, -50, -40, -30},
	},
	{
		Kind: model.KindHum, Name: "four harmonics, against the music", Unit: "dB re the line's loud level", Fits: analogueAndPlays, Line: mains(4, true),
		What:  "The same as the first, by how far it lies under the level that a twentieth of the line's 100 ms exceed.",
		Steps: []float64{-80, -70, -60, -50, -45, -40, -30, -20, -10},
	},
	{
		Kind: model.KindHot, Name: "gain", Unit: "dBFS", Fits: plays, Line: peaks,
		What:  "The whole line is turned up until its sample peak is the strength.",
		Steps: []float64{-8, -4, -3.1, -2.9, -2, -1, -0.1},
	},
	{
		Kind: model.KindLow, Name: "gain", Unit: "dBFS", Fits: plays, Line: peaks,
		What:  "The whole line is turned down until its sample peak is the strength; the nominal level is -18 dBFS.",
		Steps: []float64{-20, -28, -35.5, -36.5, -38, -50, -60},
	},
	{
		Kind: model.KindDCOffset, Name: "constant", Unit: "dBFS", Fits: plays,
		What:  "A constant is added from start to end.",
		Steps: []float64{-90, -60, -52, -51, -49, -48, -40, -20},
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			d := ratio(x)
			if r.IntN(2) == 0 {
				d = -d
			}
			shift(s.X, d)
			return harm.Wound{}, true
		},
	},
	{
		Kind: model.KindWrongDepth, Name: "bits in use", Unit: "bits", Fits: plays,
		What:  "The samples of a 24-bit file are rounded to so many bits, as a link of fewer bits before the recorder does.",
		Steps: []float64{24, 23, 20, 18, 17, 16, 14, 12, 8},
		Line: func(s *harm.Sound, _ stage.Line, x float64, _ *rand.Rand) (harm.Wound, bool) {
			stage.Quantise(s.X, int(x))
			return harm.Wound{}, true
		},
	},
}
