package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
)

// equalTable is equal temperament with the A above middle C at 440 Hz.
var equalTable = []struct {
	name string
	hz   float64
}{
	{"A0", 27.500}, {"B0", 30.868},
	{"E1", 41.203}, {"F1", 43.654}, {"F#1", 46.249}, {"G1", 48.999}, {"G#1", 51.913}, {"A1", 55.000}, {"A#1", 58.270}, {"B1", 61.735},
	{"C2", 65.406}, {"C#2", 69.296}, {"D2", 73.416}, {"D#2", 77.782}, {"E2", 82.407}, {"F2", 87.307},
	{"F#2", 92.499}, {"G2", 97.999}, {"G#2", 103.826}, {"A2", 110.000}, {"A#2", 116.541}, {"B2", 123.471},
	{"C3", 130.813}, {"C#3", 138.591}, {"D3", 146.832}, {"D#3", 155.563}, {"E3", 164.814}, {"F3", 174.614}, {"F#3", 184.997}, {"G3", 195.998},
	{"G#3", 207.652}, {"A3", 220.000}, {"A#3", 233.082}, {"B3", 246.942},
	{"C4", 261.626}, {"C#4", 277.183}, {"D4", 293.665}, {"D#4", 311.127}, {"E4", 329.628}, {"F4", 349.228}, {"F#4", 369.994}, {"G4", 391.995},
	{"G#4", 415.305}, {"A4", 440.000}, {"C5", 523.251}, {"A5", 880}, {"E6", 1318.510},
}

const equalSource = "derived: 440·2^((m−69)/12) Hz, ISO 16:1975"

// Each note by name, by formula, and as a tone that is measured.
func TestTableOfNotes(t *testing.T) {
	if len(equalTable) != 47 {
		t.Fatalf("%d notes, the table has 47", len(equalTable))
	}
	const rate = 48000
	for _, c := range equalTable {
		n, err := ParseNote(c.name)
		if err != nil || n.String() != c.name {
			t.Fatalf("%s reads as %v, %v", c.name, n, err)
		}
		conform.Check(t, conform.Row{Section: "Pitch", Case: c.name + ": frequency of the note", Source: equalSource, Unit: "Hz",
			Expected: c.hz, Under: 0.0005, Over: 0.0005, Digits: 3, Measured: n.Hz(ConcertA)})
		m, ok := pitchOf(rate, voiced(rate, rate/3, steady(c.hz), sawLike)).Median.Get()
		if !ok {
			t.Errorf("%s: no pitch", c.name)
			continue
		}
		near, cents := NearestNote(float64(m), ConcertA)
		if near != n {
			t.Errorf("%s: heard as %v", c.name, near)
		}
		conform.Check(t, conform.Row{Section: "Pitch", Case: fmt.Sprintf("%s, %.3f Hz, as a tone with harmonics, 48 kHz: measured off the note", c.name, c.hz), Source: equalSource + "; the tolerance is the program's goal",
			Unit: "cents", Under: 0.3, Over: 0.3, Digits: 2, Measured: cents})
	}
}

func TestTableOfCents(t *testing.T) {
	for _, c := range []struct {
		name     string
		hz, of   float64
		subtract float64
		want     float64
	}{
		{"441/440", 441, 440, 0, 3.930}, {"442/440", 442, 440, 0, 7.851}, {"443/440", 443, 440, 0, 11.764}, {"432/440", 432, 440, 0, -31.767},
		{"48000/44100", 48000, 44100, 0, 146.707}, {"44100/48000", 44100, 48000, 0, -146.707}, {"96000/88200", 96000, 88200, 0, 146.707},
		{"1.001", 1.001, 1, 0, 1.730}, {"25/24", 25, 24, 0, 70.672},
		{"pure fifth over 700", 3, 2, 700, 1.955}, {"pure third over 400", 5, 4, 400, -13.686},
		{"tension of a drum 1 % higher", math.Sqrt(1.01), 1, 0, 8.6},
	} {
		within := 0.0005
		if c.want == 8.6 { // printed with one place
			within = 0.05
		}
		conform.Check(t, conform.Row{Section: "Pitch", Case: "ratio " + c.name + ": cents", Source: "derived: 1200·log₂", Unit: "cents",
			Expected: c.want, Under: within, Over: within, Digits: 3, Measured: Cents(c.hz, c.of) - c.subtract})
	}
	conform.Check(t, conform.Row{Section: "Pitch", Case: "1 cent as a ratio", Source: "derived: 2^(1/1200)", Expected: 1.000577790, Under: 5e-10, Over: 5e-10, Digits: 9, Measured: ShiftCents(1, 1)})
	conform.Check(t, conform.Row{Section: "Pitch", Case: "1 cent at E1", Source: "derived: 41.203·(2^(1/1200) − 1)", Unit: "Hz", Expected: 0.0238, Under: 0.00005, Over: 0.00005, Digits: 4,
		Measured: ShiftCents(41.203, 1) - 41.203})
}

func TestNotesByName(t *testing.T) {
	for _, c := range []struct {
		s    string
		want Note
	}{{"A4", 69}, {"c4", 60}, {"C-1", 0}, {"Bb3", 58}, {"A#3", 58}, {"B♭3", 58}, {"F♯2", 42}, {"Cb4", 59}, {"B#3", 60}, {"Abb4", 67}, {" e1 ", 28}, {"bb2", 46}, {"G9", 127}} {
		if got, err := ParseNote(c.s); err != nil || got != c.want {
			t.Errorf("%q: got %d, %v, want %d", c.s, got, err, c.want)
		}
	}
	for _, s := range []string{"", "A", "H4", "4", "A#", "A4x", "A+4", "#4", "A 4", "A99", "♯", "ä4", "\x03" + "4"} {
		if got, err := ParseNote(s); err == nil {
			t.Errorf("%q reads as %v, want an error", s, got)
		}
	}
	for n := Note(-30); n < 140; n++ {
		for _, a := range []float64{415, 440, 443} {
			if got, cents := NearestNote(n.Hz(a), a); got != n || math.Abs(cents) > 1e-9 {
				t.Errorf("%d at %v Hz: nearest note %d %+v", n, a, got, cents)
			}
			if got, cents := NearestNote(ShiftCents(n.Hz(a), -49), a); got != n || math.Abs(cents+49) > 1e-9 {
				t.Errorf("%d at %v Hz, 49 cents flat: nearest note %d %+v", n, a, got, cents)
			}
		}
		if got, err := ParseNote(n.String()); n >= 0 && n <= 131 && (err != nil || got != n) {
			t.Errorf("%d prints as %v, which reads as %v, %v", n, n.String(), got, err)
		}
	}
}

func TestFrequenciesThatAreNonePanic(t *testing.T) {
	for _, hz := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v Hz: no panic", hz)
				}
			}()
			NearestNote(hz, ConcertA)
		}()
	}
}

// What reads as a note is printed as one of the same number.
func FuzzParseNote(f *testing.F) {
	for _, s := range []string{"A4", "c#-1", "Bbb3", "F♯2", "B#10", "Cb0", " e1 ", "", "H4", "A+4"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, err := ParseNote(s)
		if err != nil {
			if n != 0 {
				t.Errorf("%q: note %d and an error", s, n)
			}
			return
		}
		// Sharps and flats may lead out of the octaves that are read.
		if n < 0 || n > 131 {
			return
		}
		if again, err := ParseNote(n.String()); err != nil || again != n {
			t.Errorf("%q reads as %d, which prints as %q and reads as %d, %v", s, n, n.String(), again, err)
		}
	})
}
