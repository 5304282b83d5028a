package properties

import (
	"math"
	"math/rand/v2"
	"testing"

	"tidemark/internal/between"
	"tidemark/internal/signal"
)

// finite fails for each number of a reading that is none: JSON cannot carry it,
// and no engineer can use it.
func finite(t *testing.T, what string, reading any) {
	t.Helper()
	told := 0
	for _, l := range leaves(reading) {
		if x, ok := l.value.(float64); ok && (math.IsNaN(x) || math.IsInf(x, 0)) {
			t.Errorf("%s: %s is %v", what, l.path, x)
			if told++; told == 8 {
				return
			}
		}
	}
}

// nonsense makes a channel of what a float file may hold: numbers that are none,
// the largest and the smallest, and stretches of them in the midst of music.
func nonsense(r *rand.Rand, rateHz, frames int) []float32 {
	strange := []float32{
		float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), math.MaxFloat32, -math.MaxFloat32, 1e30, -1e25, 1e19, -3e18, 1e12, 4e6,
		math.SmallestNonzeroFloat32, -math.SmallestNonzeroFloat32, 1e-40, 1e-20, 0, float32(math.Copysign(0, -1)), 1, -1,
	}
	x := signal.Silence(frames)
	if r.IntN(3) > 0 {
		x = line(r, rateHz, frames)
	}
	for range 1 + r.IntN(6) {
		from := r.IntN(frames)
		to := min(frames, from+1+r.IntN(1+int(math.Pow(10, within(r, 0, 5)))))
		a, b := strange[r.IntN(len(strange))], strange[r.IntN(len(strange))]
		how := r.IntN(5)
		for i := from; i < to; i++ {
			switch how {
			case 0:
				x[i] = a
			case 1:
				x[i] = []float32{a, b}[i&1]
			case 2:
				x[i] = strange[r.IntN(len(strange))]
			case 3:
				x[i] = math.Float32frombits(r.Uint32())
			case 4:
				x[i] *= a
			}
		}
	}
	return x
}

// Nothing but numbers ever leaves a reading, whatever goes in, and what goes in
// is cut differently without changing them.
func TestNothingButNumbersLeavesAReading(t *testing.T) {
	each(t, 30, func(t *testing.T, r *rand.Rand) {
		rate := []int{2000, 8000, 44100, 48000, 96000}[r.IntN(5)]
		frames := 1 + r.IntN(int(within(r, 0.1, 8)*float64(rate)))
		x := make([][]float32, 1+r.IntN(2))
		for c := range x {
			x[c] = nonsense(r, rate, frames)
		}
		got := whole(rate, x...)
		finite(t, "readings", got)
		finite(t, "together", got.Together())
		same(t, "in other blocks", measure(float(rate, len(x)), x, cut(r)), got, nil)
	})
}

// The same for what compares two lines.
func TestNothingButNumbersLeavesAComparison(t *testing.T) {
	each(t, 40, func(t *testing.T, r *rand.Rand) {
		rate := []int{8000, 44100, 48000}[r.IntN(3)]
		pair := between.NewPair(rate, rate/100)
		twin, null := between.NewTwin(), between.NewNull([]float64{0, 3.3}[r.IntN(2)])
		for range 1 + r.IntN(4) {
			frames := 1 + r.IntN(rate/2)
			a, b := nonsense(r, rate, frames), nonsense(r, rate, frames)
			if r.IntN(3) == 0 {
				b = signal.Delay(a, r.IntN(rate/200))
			}
			pair.Add(a, b)
			twin.Add(a, b)
			null.Add(a, b)
			finite(t, "pair", pair.Reading())
			finite(t, "twin", twin.Reading())
			finite(t, "null", null.Reading())
		}
	})
}
