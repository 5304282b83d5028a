package kernel

import (
	"fmt"
	"math"
	"math/bits"
)

// Lanes are eight complex numbers side by side, in two rows: what one AVX2
// instruction takes at a time.
type Lanes struct {
	Re, Im [8]float32
}

// PowerPlan is the Fourier transform of windows of one length, for spectra of
// power. It holds tables and no signal, so goroutines may share it.
//
//	z[t] = window[t]·(a[t] + i·b[t])
//	Z[k] = Σ z[t]·e^(−2πi·k·t/n),  k = 0 … n−1     (no scaling)
//
// Two real windows a and b are the real and the imaginary part of one transform.
// With A and B their own transforms, |Z[k]|² + |Z[n−k]|² = 2·(|A[k]|² + |B[k]|²): a
// sum of powers needs no untangling, and no bins in order until it is read.
//
// How it goes. Sample t is in lane t mod 8, so that eight samples in a row are one
// load. All lanes go through a transform of n/8 points at once, by passes of radix
// 4 in place, decimated in frequency, whose turns are the same for all lanes. They
// leave lane l of row p at the bin k(p) of its transform, in an order that is never
// undone. Then row by row lane l is turned by e^(−2πi·l·k(p)/n), and eight points
// are transformed across the lanes: element q of that is bin k(p) + q·n/8.
//
// Arithmetic is float32 and powers are added in float64, or nothing would be left
// of a soft window after hours of loud ones. Against a transform in float64 the
// error of a power is under 1e-6 of the largest bin's.
//
// Both paths do the same operations in the same order. Unlike other kernels, the
// portable code lets the compiler fuse products and sums on processors where it
// does so (not on amd64), which differs in the last bits.
type PowerPlan struct {
	n      int
	passes []turnPass
	paired bool    // after the passes, neighbouring rows are still sums and differences short: n/8 is not a power of 4
	twist  []Lanes // seven for eight rows: e^(−2πi·l·k(p)/n) for lanes l = 1 … 7
	bins   []int32 // bin of each place of a sum
	places []int32 // place of each bin
	zeros  []float32
}

// turnPass is a pass of radix 4 over blocks of 4·quarter rows.
type turnPass struct {
	quarter int
	turns   [][6]float32 // w, w², w³ with w = e^(−2πi·j/(4·quarter)), j < quarter
}

const (
	powerLeast = 64      // eight rows of eight lanes
	powerMost  = 1 << 24 // beyond it float32 would not hold the promised error

	// powerTop bounds the power that one window adds to a bin, so that a sum stays
	// finite whatever the samples. Full scale in the longest window is under 1e15.
	powerTop = 1e30

	// laneTop bounds the sum of a lane's samples: a window past it holds samples
	// that are no numbers, or garbage.
	laneTop = 1e12
)

// NewPowerPlan prepares transforms of n samples, a power of two from 64 to 2^24.
// It panics on any other.
func NewPowerPlan(n int) *PowerPlan {
	if n < powerLeast || n > powerMost || n&(n-1) != 0 {
		panic(fmt.Sprintf("kernel: power plan of %d samples, want a power of two from %d to %d", n, powerLeast, powerMost))
	}
	rows := n / 8
	p := &PowerPlan{n: n, paired: bits.TrailingZeros(uint(rows))%2 == 1, bins: make([]int32, n), places: make([]int32, n), zeros: make([]float32, n)}
	for block := rows; block >= 4; block /= 4 {
		pass := turnPass{quarter: block / 4, turns: make([][6]float32, block/4)}
		for j := range pass.turns {
			for i := range 3 {
				pass.turns[j][2*i], pass.turns[j][2*i+1] = turn((i+1)*j, block)
			}
		}
		p.passes = append(p.passes, pass)
	}
	p.twist = make([]Lanes, 7*rows/8)
	for row := range rows {
		k := rowBin(row, rows)
		for lane := 1; lane < 8; lane++ {
			t := &p.twist[row/8*7+lane-1]
			t.Re[row%8], t.Im[row%8] = turn(lane*k, n)
		}
		for q := range 8 {
			i, bin := row/8*64+8*q+row%8, k+q*rows
			p.bins[i], p.places[bin] = int32(bin), int32(i)
		}
	}
	return p
}

// turn is e^(−2πi·k/n).
func turn(k, n int) (re, im float32) {
	s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(n))
	return float32(c), float32(s)
}

// rowBin is the bin in which a row ends up: each pass parts a block by k mod 4.
func rowBin(row, block int) int {
	radix := min(4, block)
	if block == 1 {
		return 0
	}
	sub := block / radix
	return radix*rowBin(row%sub, sub) + row/sub
}

// Len is the number of samples of a window, and of places of a sum.
func (p *PowerPlan) Len() int { return p.n }

// NewWork makes the work space of one caller: 8·n bytes and a little.
func (p *PowerPlan) NewWork() []Lanes { return make([]Lanes, p.n/8+8) }

// Bin is the bin k, 0 … n−1, whose power stands at place i of a sum.
func (p *PowerPlan) Bin(i int) int { return int(p.bins[i]) }

// Place is where the power of bin k stands in a sum.
func (p *PowerPlan) Place(k int) int { return int(p.places[k]) }

// Fold writes Σ (|A[k]|² + |B[k]|²) of a sum of powers to dst, in the order of
// bins k = 0, 1 … len(dst)−1, at most n/2+1 of them.
func (p *PowerPlan) Fold(dst, power []float64) {
	if len(power) != p.n || len(dst) > p.n/2+1 {
		panic("kernel: Fold wants a sum of n powers and at most n/2+1 bins")
	}
	for k := range dst {
		dst[k] = (power[p.places[k]] + power[p.places[(p.n-k)&(p.n-1)]]) / 2
	}
}

// Add adds |Z[k]|² of the windows a and b to power, in the plan's own order: see
// Bin and Fold. b nil is silence. All have n elements; work is from NewWork, and
// its contents do not matter before or after. Nothing is allocated.
//
// Windows with samples that are not finite, or with sums past 1e12, are left out
// both: then Add reports false, and the caller may try each by itself. One call
// adds at most 1e30 to a bin.
func (p *PowerPlan) Add(power []float64, a, b, window []float32, work []Lanes) bool {
	if len(power) != p.n {
		panic("kernel: Add wants n powers")
	}
	if !p.transform(a, b, window, work) {
		return false
	}
	p.addPowers(power, work)
	return true
}

// Powers writes the powers |A[k]|² and |B[k]|² of two windows, each by itself, in
// the order of bins k = 0, 1 …, as many as da and db hold, at most n/2+1. b and db
// may be nil. Windows that Add would leave out leave da and db as they are, and
// Powers reports false.
func (p *PowerPlan) Powers(da, db []float32, a, b, window []float32, work []Lanes) bool {
	if len(da) > p.n/2+1 || len(db) > p.n/2+1 {
		panic("kernel: Powers wants at most n/2+1 bins")
	}
	if !p.transform(a, b, window, work) {
		return false
	}
	p.finish(work)
	// A[k] = (Z[k] + Z*[n−k])/2 and B[k] = (Z[k] − Z*[n−k])/2i.
	for k := range max(len(da), len(db)) {
		i, j := p.places[k], p.places[(p.n-k)&(p.n-1)]
		u, v := &work[i>>3], &work[j>>3]
		ur, ui, vr, vi := u.Re[i&7], u.Im[i&7], v.Re[j&7], v.Im[j&7]
		if k < len(da) {
			r, im := ur+vr, ui-vi
			da[k] = capped(0.25 * (r*r + im*im))
		}
		if k < len(db) {
			r, im := ui+vi, vr-ur
			db[k] = capped(0.25 * (r*r + im*im))
		}
	}
	return true
}

// capped is a power of at most powerTop; a NaN is powerTop too.
func capped(v float32) float32 {
	if !(v < powerTop) {
		return powerTop
	}
	return v
}

// transform leaves the transforms of the lanes in work, and reports whether they
// are numbers.
func (p *PowerPlan) transform(a, b, window []float32, work []Lanes) bool {
	if b == nil {
		b = p.zeros
	}
	if len(a) != p.n || len(b) != p.n || len(window) != p.n || len(work) < p.n/8+8 {
		panic("kernel: a window of another length than the plan's, or work space of another plan")
	}
	p.passAll(a, b, window, work)
	// Row 0 is bin 0 of each lane, its sum; where the last halves are still due it
	// is that of every second sample, and row 1 that of the others.
	for row := range work[:2] {
		for l := range 8 {
			if re, im := work[row].Re[l], work[row].Im[l]; !(re < laneTop && re > -laneTop && im < laneTop && im > -laneTop) {
				return false
			}
		}
	}
	return true
}
