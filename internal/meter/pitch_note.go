package meter

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ConcertA is the frequency of the A above middle C that notes are counted
// from where nobody says another: 440 Hz, ISO 16:1975.
const ConcertA = 440.0

// Note is a note of twelve-tone equal temperament by its MIDI number: 69 is the A
// above middle C, 60 middle C itself, and each semitone one more.
type Note int

const noteA4 Note = 69

// noteNames within an octave, from C.
var noteNames = [12]string{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"}

// String is the note's name and octave, middle C being C4: "F#2".
func (n Note) String() string {
	octave, in := int(n)/12, int(n)%12
	if in < 0 {
		octave, in = octave-1, in+12
	}
	return noteNames[in] + strconv.Itoa(octave-1)
}

// Hz is the note's frequency where the A above middle C has a Hz:
// a·2^((n − 69)/12). It panics where a is not positive.
func (n Note) Hz(a float64) float64 {
	checkHz(a)
	return a * math.Exp2(float64(n-noteA4)/12)
}

// Cents is how far hz lies above another frequency: 1200·log₂(hz/of), 100 to the
// semitone. It panics where one of them is not positive.
func Cents(hz, of float64) float64 {
	checkHz(hz)
	checkHz(of)
	return 1200 * math.Log2(hz/of)
}

// ShiftCents is the frequency that lies so many cents above hz.
func ShiftCents(hz, cents float64) float64 {
	checkHz(hz)
	return hz * math.Exp2(cents/1200)
}

// NearestNote is the note that hz lies next to, and how many cents above it,
// −50 to 50, where the A above middle C has a Hz. It panics where one of them is not
// positive.
func NearestNote(hz, a float64) (n Note, cents float64) {
	above := Cents(hz, a) / 100
	whole := math.Round(above)
	return noteA4 + Note(whole), 100 * (above - whole)
}

func checkHz(hz float64) {
	if !(hz > 0) || math.IsInf(hz, 1) {
		panic(fmt.Sprintf("meter: a frequency of %v Hz", hz))
	}
}

// ParseNote reads a note's letter, its sharps (# or ♯) or flats (b or ♭), and its
// octave: "F#2", "Bb3", "c4".
func ParseNote(s string) (Note, error) {
	bad := func() (Note, error) {
		return 0, fmt.Errorf("%q is no note, expected a letter from A to G, # or b, and an octave: F#2", s)
	}
	rest := strings.NewReplacer("♯", "#", "♭", "b").Replace(strings.TrimSpace(s))
	if rest == "" {
		return bad()
	}
	at := strings.IndexByte("C D EF G A B", rest[0]&^0x20)
	if at < 0 || rest[0] == ' ' || rest[0]&^0x20 < 'A' {
		return bad()
	}
	for rest = rest[1:]; rest != "" && (rest[0] == '#' || rest[0] == 'b'); rest = rest[1:] {
		if rest[0] == '#' {
			at++
		} else {
			at--
		}
	}
	octave, err := strconv.Atoi(rest)
	if err != nil || octave < -1 || octave > 10 || rest[0] == '+' {
		return bad()
	}
	return Note(12*(octave+1) + at), nil
}
