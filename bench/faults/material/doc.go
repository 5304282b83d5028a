// Package material is what the bench's invented bands play on: recorded
// instruments, drum hits and voices where they were fetched, plain synthesis
// where they were not.
//
// Recorded sound comes from packages of a public distribution whose licences
// allow it; Fetch brings them into a cache folder, says which version under
// which licence, and installs nothing. No sound is part of this repository.
package material

import "math/rand/v2"

// Player sounds one note or hit.
type Player interface {
	// Note returns mono sound at rateHz. key is 0 to 127 (60 is middle C; drums
	// ignore it), velocity 1 to 127, held in seconds. Nothing to play is nil.
	Note(key, velocity int, held float64, rateHz int, r *rand.Rand) []float32
}

// Speaker says or sings phrases.
type Speaker interface {
	// Phrase returns the next phrase, mono at rateHz, peak about 1.
	Phrase(rateHz int, r *rand.Rand) []float32
}

// Tuned is an instrument with a compass.
type Tuned struct {
	Name      string
	Player    Player
	Low, High int // keys
}

// Kit is a set of drums by part: "kick", "snare", "rim", "hat", "hat open",
// "tom 1", "tom 2", "tom 3", "crash", "ride".
type Kit map[string]Player

// Hit is a percussion instrument.
type Hit struct {
	Name   string
	Player Player
}

// Store is everything a session can be cast from.
type Store struct {
	Kits       []Kit
	Percussion []Hit
	Tuned      map[string][]Tuned // by role: "bass", "electric", "acoustic", "piano", "epiano", "organ", "accordion", "winds", "strings", "choir", "mallets"
	Voices     []Speaker
	From       []string // where it came from, for the report
}
