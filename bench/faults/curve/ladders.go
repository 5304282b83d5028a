package curve

import (
	"math"
	"slices"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/stage"
)

// Ladders are all ladders, kind by kind in the order of the bench's report. A
// kind that has no strength, a file that is missing, has one step.
var Ladders = slices.Concat(deadLadders, levelLadders, eventLadders, clippedLadders, pairLadders, fileLadders)

// The lines that a ladder can be tried on.

func open(l stage.Line) bool { return l.Feed == stage.Air && l.Role != "talkback" }

func openAndPlays(l stage.Line) bool { return open(l) && l.Plays }

// analogue lines have noise of their own; machines do not.
func analogue(l stage.Line) bool { return l.Feed != stage.Digital && l.Role != "talkback" }

func plays(l stage.Line) bool { return l.Plays && l.Role != "talkback" }

func analogueAndPlays(l stage.Line) bool { return analogue(l) && l.Plays }

// hearsBand says whether a microphone hears the rest of the band whatever its
// own player does.
func hearsBand(l stage.Line) bool {
	switch l.Role {
	case "kick", "snare", "hat", "tom", "cymbals", "percussion":
		return openAndPlays(l)
	}
	return false
}

// amplifier says whether the line's own noise may be an amplifier's.
func amplifier(l stage.Line) bool {
	return open(l) && (l.Role == "electric" || l.Role == "organ" || l.Role == "bass")
}

func notAmplifier(l stage.Line) bool { return open(l) && !amplifier(l) }

// Levels.

func ratio(db float64) float64 { return math.Pow(10, db/20) }

// sineDB is how far a sine's AES17 level lies over its rms in decibels of full scale.
const sineDB = 3.0103

func scale(x []float32, g float64) {
	for i := range x {
		x[i] *= float32(g)
	}
}

func shift(x []float32, d float64) {
	for i := range x {
		x[i] += float32(d)
	}
}

// loudest is the largest rms of the sound's hops of 100 ms.
func loudest(s *harm.Sound) float64 {
	var most float64
	for at := 0; at < len(s.X); at += s.RateHz / 10 {
		most = math.Max(most, s.At(at))
	}
	return most
}

// lastSounding is the end of the last hop in which the line stands 15 dB over
// its floor and over −55 dBFS.
func lastSounding(s *harm.Sound) (frame int, ok bool) {
	limit := math.Max(ratio(-55), s.Floor()*ratio(15))
	hop := s.RateHz / 10
	for at := len(s.X)/hop*hop - hop; at > 0; at -= hop {
		if s.At(at) > limit {
			return at + hop, true
		}
	}
	return 0, false
}
