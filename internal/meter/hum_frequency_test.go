package meter

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
)

// Where the mains lie, against the frequency that was generated. Large grids are
// held within ±0.2 Hz (ENTSO-E, from memory); ±0.05 Hz is what the meter is to
// know them by: a quarter of that, and the grid's range in ordinary operation.
const (
	humGoalHz     = 0.05
	humGoalSource = "derived: the frequency generated; ±0.05 Hz is the program's goal"
	humLines      = "from memory: mains hum lies at 50·k or 60·k Hz and stands over the floor; ±0.05 Hz is the program's goal"
)

var humRates = []int{44100, 48000, 88200, 96000, 192000}

// humSeconds is the length of these recordings: one group of windows and a half.
const humSeconds = 16

// addFallingHum adds harmonics whose levels fall by 6 dB from each to the next.
func addFallingHum(x []float32, rate int, hz, db float64, harmonics int) {
	for k := 1; k <= harmonics; k++ {
		addHum(x, rate, hz*float64(k), db-6*float64(k-1), 1)
	}
}

// addWanderingHum adds a hum of equal harmonics whose fundamental moves.
func addWanderingHum(x []float32, rate int, db float64, hz func(second float64) float64, numbers ...int) {
	const step = 64 // frames of one frequency
	z := complex(1, 0)
	for at := 0; at < len(x); at += step {
		turn := cmplx.Rect(1, 2*math.Pi*hz(float64(at)/float64(rate))/float64(rate))
		for i := at; i < min(at+step, len(x)); i++ {
			z *= turn
			p := complex(1, 0)
			for k, j := 1, 0; j < len(numbers); k++ {
				if p *= z; k == numbers[j] {
					x[i] += float32(math.Pow(10, db/20) * imag(p))
					j++
				}
			}
		}
		z /= complex(cmplx.Abs(z), 0)
	}
}

// Both mains, up to 0.2 Hz to either side, with the harmonics of a transformer,
// in pink noise at three levels: the row holds the worst of them.
func TestHumFrequency(t *testing.T) {
	var errors []float64
	for _, rate := range humRates {
		noise := signal.Pink(uint64(rate), 1, humSeconds*rate)
		x := make([]float32, len(noise))
		for _, mains := range []float64{50, 60} {
			for tenth := -2; tenth <= 2; tenth++ {
				if rate > 48000 && tenth&1 != 0 {
					continue // the ends and the middle are enough for rates whose decimated sound is alike
				}
				hz := mains + float64(tenth)/10
				hum := make([]float32, len(noise))
				addFallingHum(hum, rate, hz, -60, 4)
				worst := hz
				for _, noiseDB := range []float64{-80, -60, -50} {
					g := float32(math.Pow(10, noiseDB/20))
					for i, v := range noise {
						x[i] = g*v + hum[i]
					}
					r := humOf(rate, MainsAuto, x)
					if !r.Known || r.FundamentalHz == 0 {
						t.Errorf("%d Hz: hum of %.1f Hz at −60 dBFS is not found in pink noise of %.0f dB", rate, hz, noiseDB)
					}
					errors = append(errors, math.Abs(r.FundamentalHz-hz))
					if math.Abs(r.FundamentalHz-hz) >= math.Abs(worst-hz) {
						worst = r.FundamentalHz
					}
				}
				conform.Check(t, conform.Row{
					Section: "Hum", Case: fmt.Sprintf("hum of %.1f Hz, −60 dBFS, in pink noise of −80, −60 and −50 dB RMS, %g kHz: the worst", hz, float64(rate)/1000),
					Source: humGoalSource, Unit: "Hz", Expected: hz, Under: humGoalHz, Over: humGoalHz, Digits: 3, Measured: worst,
				})
			}
		}
	}
	median, p95, most := spread(errors)
	t.Logf("error of the mains over %d recordings: median %.4f, 95 of 100 under %.4f, largest %.4f Hz", len(errors), median, p95, most)
}

// spread is the median, the 95th percentile (nearest rank) and the largest.
func spread(x []float64) (median, p95, most float64) {
	s := append([]float64(nil), x...)
	slices.Sort(s)
	rank := func(p float64) float64 { return s[max(0, int(math.Ceil(p*float64(len(s))))-1)] }
	return rank(0.5), rank(0.95), s[len(s)-1]
}

// Mains that wander read as their mean while they were recorded.
func TestHumOfWanderingMains(t *testing.T) {
	const rate, seconds = 48000, 60
	noise := signal.Pink(9, math.Pow(10, -60.0/20), seconds*rate)
	for _, c := range []struct {
		name string
		hz   func(s float64) float64
		mean float64
	}{
		{"rising by 40 mHz in a minute from 49.98 Hz", func(s float64) float64 { return 49.98 + 0.04*s/60 }, 50},
		{"falling by 40 mHz in a minute from 60.12 Hz", func(s float64) float64 { return 60.12 - 0.04*s/60 }, 60.10},
		{"swinging ±20 mHz each 20 s about 49.9 Hz", func(s float64) float64 { return 49.9 + 0.02*math.Sin(2*math.Pi*s/20) }, 49.9},
		{"swinging ±50 mHz each 60 s about 50 Hz", func(s float64) float64 { return 50 + 0.05*math.Sin(2*math.Pi*s/60) }, 50},
	} {
		x := signal.Copy(noise)
		addWanderingHum(x, rate, -60, c.hz, 1, 2, 3)
		r := humOf(rate, MainsAuto, x)
		conform.Check(t, conform.Row{
			Section: "Hum", Case: "mains " + c.name + ", 48 kHz, a minute: the mean",
			Source: humGoalSource, Unit: "Hz", Expected: c.mean, Under: humGoalHz, Over: humGoalHz, Digits: 3, Measured: r.FundamentalHz,
		})
	}
}

// The mains of one family searched for the other, and the notes that lie beside mains.
func TestHumIsToldFromOthers(t *testing.T) {
	for _, rate := range humRates {
		x := signal.Pink(uint64(rate)+1, math.Pow(10, -50.0/20), humSeconds*rate)
		addHum(x, rate, 50, -60, 1, 2, 3)
		k := float64(rate) / 1000
		r := humOf(rate, MainsAuto, x)
		conform.Check(t, conform.Row{
			Section: "Hum", Case: fmt.Sprintf("−60 dBFS at 50, 100 and 150 Hz in pink noise of −50 dB RMS, %g kHz: fundamental", k),
			Source: humLines, Unit: "Hz", Expected: 50, Under: humGoalHz, Over: humGoalHz, Digits: 3, Measured: r.FundamentalHz,
		})
		conform.Check(t, conform.Row{
			Section: "Hum", Case: fmt.Sprintf("−60 dBFS at 50, 100 and 150 Hz in pink noise of −50 dB RMS, searched for mains of 60 Hz, %g kHz: fundamental, 0 for none", k),
			Source: humLines, Unit: "Hz", Expected: 0, Digits: 3, Measured: humOf(rate, Mains60, x).FundamentalHz,
		})
		for i, h := range r.Harmonics {
			if h.Number != i+1 || i > 2 {
				t.Errorf("%d Hz: harmonic %d at %.2f Hz, want 50, 100, 150 Hz alone", rate, h.Number, h.Hz)
			}
		}
	}
}

// A bass note is not mains: held for the whole recording, and played with rests.
func TestBassNotesAreNoHum(t *testing.T) {
	for _, rate := range []int{44100, 96000} {
		for _, note := range []struct {
			name string
			hz   float64
		}{{"G1", 48.999}, {"B1", 61.735}} {
			held := signal.Pink(5, 1e-4, humSeconds*rate)
			addFallingHum(held, rate, note.hz, -12, 6)
			played := signal.Pink(6, 1e-4, 40*rate)
			var plucks [3][]float32 // of which the others are copies: making them takes time
			for i := range plucks {
				plucks[i] = make([]float32, rate)
				newFaultPlayer(rate, uint64(11+i)).bass(plucks[i], 0, note.hz, 0.35, 0.8)
			}
			for i := range 39 {
				signal.Add(played, plucks[i%3], i*rate)
			}
			for _, c := range []struct {
				how string
				x   []float32
			}{{"held for 16 s with six partials", held}, {"plucked each second for 40 s", played}} {
				r := humOf(rate, MainsAuto, c.x)
				if !r.Known {
					t.Errorf("%s %s at %d Hz: not known", note.name, c.how, rate)
				}
				conform.Check(t, conform.Row{
					Section: "Hum", Case: fmt.Sprintf("bass note %s, %.3f Hz, %s, %g kHz: fundamental, 0 for no hum", note.name, note.hz, c.how, float64(rate)/1000),
					Source: "from memory: a note more than 0.2 Hz off the mains is not hum; notes derived: 440·2^((m−69)/12) Hz, ISO 16:1975",
					Unit:   "Hz", Expected: 0, Digits: 3, Measured: r.FundamentalHz,
				})
			}
		}
	}
}
