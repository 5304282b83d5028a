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
	a, b  []float32 // what waits for its other half, or for its group to fill
	moved []float64 // work space: B in its place
	total nullSums
}

// nullGroup is the grid, from the first compared frame on, on which sums are
// made: the cut into stretches cannot change a bit of the result.
const nullGroup = 1024

// nullSums are a stretch of A against B in its place, with the gain for B that
// fits the stretch best.
type nullSums struct {
	count  int64
	aa, bb float64
	gain   float64 // Σab/Σb²
	left   float64 // Σ(a − gain·b)²
	as     float64 // Σ(a − b)², not from the other sums, where it would drown in rounding
}

// add joins a stretch. What is left with the gain that fits both is a sum of
// squares, in which nothing cancels however badly one stretch's gain fits the other.
func (n *nullSums) add(o nullSums) {
	if both := n.bb + o.bb; both > 0 {
		d := n.gain - o.gain
		n.left += o.left + d*d*(n.bb/both)*o.bb
		n.gain += (o.gain - n.gain) * (o.bb / both)
		n.bb = both
	} else {
		n.left += o.left
	}
	n.count += o.count
	n.aa += o.aa
	n.as += o.as
}

// NewNull makes a Null for B later than A by delaySamples (negative: earlier).
// It panics on a delay that is not a number or not within a million samples.
func NewNull(delaySamples float64) *Null {
	if !(math.Abs(delaySamples) < 1e6) {
		panic(fmt.Sprintf("between: NewNull wants a delay within a million samples, got %g", delaySamples))
	}
	n := &Null{moved: make([]float64, nullGroup)}
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
	at := 0
	for ; min(len(n.a), len(n.b)-len(n.taps)+1)-at >= nullGroup; at += nullGroup {
		n.total.add(n.compare(n.moved, n.a[at:at+nullGroup], n.b[at:]))
	}
	n.a, n.b = skip(n.a, at), skip(n.b, at)
}

// compare is the sums of a group: a[i] beside b[i … i + taps − 1]. moved is work space.
func (n *Null) compare(moved []float64, a, b []float32) nullSums {
	s := nullSums{count: int64(len(a))}
	var ab float64
	for i, v := range a {
		y := 0.0
		for j, w := range n.taps {
			y += w * float64(b[i+j])
		}
		x := float64(v)
		moved[i] = y
		s.aa += x * x
		s.bb += y * y
		ab += x * y
		s.as += (x - y) * (x - y)
	}
	if s.bb > 0 {
		s.gain = ab / s.bb
	}
	for i, v := range a {
		d := float64(v) - s.gain*moved[i]
		s.left += d * d
	}
	return s
}

// Reading returns what was left so far; it changes nothing.
func (n *Null) Reading() NullReading {
	t := n.total
	if n.whole == 0 {
		if rest := min(len(n.a), len(n.b)-len(n.taps)+1); rest > 0 {
			t.add(n.compare(make([]float64, rest), n.a[:rest], n.b))
		}
	}
	r := NullReading{Frames: t.count}
	if !(t.aa > 0) {
		return r
	}
	if t.bb > 0 && t.gain != 0 {
		r.GainDB, r.Flipped = unit.Amplitude[unit.DB](math.Abs(t.gain)), t.gain < 0
		if t.left > 1e-28*t.aa {
			r.ResidualDB = unit.Power[unit.DB](t.left / t.aa)
			r.ResidualDBFS = unit.MeanSquare(t.left / float64(t.count))
		}
	}
	r.ResidualAsIsDB = unit.Power[unit.DB](t.as / t.aa)
	return r
}
