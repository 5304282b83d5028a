package between

import (
	"fmt"
	"math"

	"tidemark/internal/unit"
)

// nullHalf is half the length of the sinc that moves B by a fraction of a
// sample; nullBeta shapes its Kaiser window (about −90 dB beside the pass band,
// which ends near 0.9 of half the rate).
const (
	nullHalf = 32
	nullBeta = 9.0
)

// NullReading is what is left of A after B was taken from it.
type NullReading struct {
	Frames int64 `json:"frames"` // compared
	// GainDB is the gain for B that leaves least; Flipped says that B had to be turned over.
	GainDB  unit.Maybe[unit.DB] `json:"gain_db"`
	Flipped bool                `json:"flipped"`
	// ResidualDB is the power of a − g·b(t+τ) re that of a with the gain fitted;
	// undefined where nothing is left, or A is silent.
	ResidualDB unit.Maybe[unit.DB] `json:"residual_db"`
	// ResidualAsIsDB is the same with g = 1: a gain error of e dB leaves
	// 20·log10(10^(e/20) − 1).
	ResidualAsIsDB unit.Maybe[unit.DB] `json:"residual_as_is_db"`
	// ResidualDBFS is the level of what is left with the gain fitted.
	ResidualDBFS unit.Maybe[unit.DBFS] `json:"residual_dbfs"`
}

// Null subtracts B from A as they stream by, after moving B earlier by a given
// delay (PairReading.DelaySamples), and tells what is left: −∞ for two prints of
// the same mix, a level for anything that changed. The gain is fitted by least
// squares over everything heard. Samples near the ends that the delay moves
// out of the common stretch are not compared.
type Null struct {
	whole int       // frames B is ahead of its place
	taps  []float64 // of the fractional move; one tap for whole samples
	a, b  []float32 // what waits for its other half
	moved []float64 // work space: B in its place
	sum   powers
	as    float64 // Σ (a − b)², not from the other sums, where it would drown in rounding
	fit   float64 // Σ (a − g·b)² for the g guessed in the first block
	guess float64
	count int64
}

// NewNull makes a Null for B later than A by delaySamples (negative: earlier).
// It panics on a delay that is not a number or not within a million samples.
func NewNull(delaySamples float64) *Null {
	if !(math.Abs(delaySamples) < 1e6) {
		panic(fmt.Sprintf("between: NewNull wants a delay within a million samples, got %g", delaySamples))
	}
	n := &Null{}
	whole := math.Round(delaySamples)
	frac := delaySamples - whole
	if math.Abs(frac) < 1e-6 {
		n.whole, n.taps = int(whole), []float64{1}
		return n
	}
	n.whole = int(whole) - nullHalf
	n.taps = make([]float64, 2*nullHalf+1)
	sum := 0.0
	for i := range n.taps {
		t := float64(i-nullHalf) - frac
		s := math.Sin(math.Pi*t) / (math.Pi * t)
		u := t / (nullHalf + 1)
		n.taps[i] = s * bessel0(nullBeta*math.Sqrt(max(0, 1-u*u))) / bessel0(nullBeta)
		sum += n.taps[i]
	}
	for i := range n.taps {
		n.taps[i] /= sum
	}
	return n
}

// bessel0 is the modified Bessel function I0, by its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}

// Add takes the next stretch of both lines, of any one length; it panics on
// different lengths. It keeps what the delay makes wait.
func (n *Null) Add(a, b []float32) {
	sameLength("Null.Add", a, b)
	n.a = append(n.a, a...)
	n.b = append(n.b, b...)
	skip := func(x []float32, k int) []float32 { return x[:copy(x, x[min(k, len(x)):])] }
	// a[i] stands beside b[i + whole … i + whole + taps − 1].
	if n.whole > 0 {
		k := min(n.whole, len(n.b))
		n.b = skip(n.b, k)
		n.whole -= k
	} else if n.whole < 0 {
		k := min(-n.whole, len(n.a))
		n.a = skip(n.a, k)
		n.whole += k
	}
	if n.whole != 0 {
		return
	}
	count := min(len(n.a), len(n.b)-len(n.taps)+1)
	if count <= 0 {
		return
	}
	var p powers
	if cap(n.moved) < count {
		n.moved = make([]float64, count)
	}
	moved := n.moved[:count]
	for i := range moved {
		y := 0.0
		for j, w := range n.taps {
			y += w * float64(n.b[i+j])
		}
		x := float64(n.a[i])
		moved[i] = y
		p.add(powers{x * x, y * y, x * y})
		n.as += (x - y) * (x - y)
	}
	if n.guess == 0 && p.bb > 0 {
		n.guess = p.ab / p.bb
	}
	for i, y := range moved {
		d := float64(n.a[i]) - n.guess*y
		n.fit += d * d
	}
	n.sum.add(p)
	n.count += int64(count)
	n.a, n.b = skip(n.a, count), skip(n.b, count)
}

// Reading returns what was left so far; it changes nothing.
func (n *Null) Reading() NullReading {
	r := NullReading{Frames: n.count}
	if !(n.sum.aa > 0) {
		return r
	}
	if n.sum.bb > 0 && n.sum.ab != 0 {
		g := n.sum.ab / n.sum.bb
		r.GainDB, r.Flipped = unit.Amplitude[unit.DB](math.Abs(g)), g < 0
		// Σ(a − g·b)² from the sum at the guessed gain: going from guess to the
		// least squares takes (g − guess)²·Σb² away, which no rounding spoils.
		left := max(0, n.fit-(g-n.guess)*(g-n.guess)*n.sum.bb)
		if left > 1e-28*n.sum.aa {
			r.ResidualDB = unit.Power[unit.DB](left / n.sum.aa)
			r.ResidualDBFS = unit.MeanSquare(left / float64(n.count))
		}
	}
	r.ResidualAsIsDB = unit.Power[unit.DB](n.as / n.sum.aa)
	return r
}
