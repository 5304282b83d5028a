package material

import (
	"math/rand/v2"
	"os"
	"sync"

	"tidemark/bench/faults/sf2"
)

// casting says which programs of a General MIDI bank play which role, and the
// compass to keep to. Program numbers count from 0 (General MIDI level 1 order,
// from memory).
var casting = []struct {
	role, name string
	program    int
	low, high  int
}{
	{"bass", "Bass", 32, 28, 50}, {"bass", "Bass", 33, 28, 50}, {"bass", "Bass", 34, 28, 50}, {"bass", "Bass", 35, 28, 50},
	{"electric", "Guitar", 26, 40, 76}, {"electric", "Guitar", 27, 40, 76}, {"electric", "Guitar", 28, 40, 70},
	{"electric", "Guitar", 29, 40, 76}, {"electric", "Guitar", 30, 40, 76},
	{"acoustic", "Acoustic", 24, 40, 76}, {"acoustic", "Acoustic", 25, 40, 76}, {"acoustic", "Banjo", 105, 48, 79},
	{"piano", "Piano", 0, 30, 92}, {"piano", "Piano", 1, 30, 92},
	{"epiano", "Electric piano", 4, 36, 84}, {"epiano", "Clavinet", 7, 40, 79},
	{"organ", "Organ", 16, 36, 84}, {"organ", "Organ", 18, 36, 84}, {"organ", "Church organ", 19, 36, 84}, {"organ", "Harmonium", 20, 40, 80},
	{"accordion", "Accordion", 21, 48, 84}, {"accordion", "Bandoneon", 23, 48, 84}, {"winds", "Harmonica", 22, 60, 86},
	{"strings", "Fiddle", 40, 55, 90}, {"strings", "Viola", 41, 48, 81}, {"strings", "Cello", 42, 36, 69},
	{"strings", "Strings", 48, 40, 86}, {"strings", "Fiddle", 110, 55, 88}, {"strings", "Violins pizz", 45, 50, 84},
	{"winds", "Trumpet", 56, 54, 82}, {"winds", "Trombone", 57, 40, 68}, {"winds", "Tuba", 58, 28, 53}, {"winds", "French horn", 60, 41, 74},
	{"winds", "Soprano sax", 64, 56, 84}, {"winds", "Alto sax", 65, 49, 80}, {"winds", "Tenor sax", 66, 44, 75}, {"winds", "Baritone sax", 67, 36, 68},
	{"winds", "Oboe", 68, 58, 86}, {"winds", "Clarinet", 71, 50, 86}, {"winds", "Flute", 73, 60, 93},
	{"choir", "Choir", 52, 48, 79}, {"choir", "Choir", 53, 48, 79},
	{"mallets", "Vibes", 11, 53, 89}, {"mallets", "Marimba", 12, 45, 89}, {"mallets", "Dulcimer", 15, 50, 84},
}

// banked is one preset of a bank; banks are not for several goroutines at once.
type banked struct {
	mu      *sync.Mutex
	bank    *sf2.Bank
	program int
}

func (p banked) Note(key, velocity int, held float64, rateHz int, _ *rand.Rand) []float32 {
	p.mu.Lock()
	defer p.mu.Unlock()
	x, err := p.bank.Note(0, p.program, key, velocity, held, rateHz)
	if err != nil {
		return nil
	}
	return x
}

// addBank opens the bank at path and casts its presets. The file stays open.
func (s *Store) addBank(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	st, err := f.Stat()
	if err != nil {
		return err
	}
	b, err := sf2.Open(f, st.Size())
	if err != nil {
		return err
	}
	mu := new(sync.Mutex)
	for _, c := range casting {
		if b.Has(0, c.program) {
			s.Tuned[c.role] = append(s.Tuned[c.role], Tuned{c.name, banked{mu, b, c.program}, c.low, c.high})
		}
	}
	return nil
}
