package meter

import (
	"fmt"
	"math"

	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// StereoReading is how the two channels of a stereo signal go together.
type StereoReading struct {
	Frames      int64
	Correlation unit.Maybe[float64] // −1 (opposite) … +1 (identical); undefined while either channel is silent
	MonoLoss    unit.Maybe[unit.DB] // level of (L+R)/2 re the mean power of L and R: 0 identical, −3.01 unrelated or one side only; undefined for silence, and where nothing is left in mono (Correlation tells)
	SideOverMid unit.Maybe[unit.DB] // power of (L−R)/2 re that of (L+R)/2; undefined where either is zero
	Balance     unit.Maybe[unit.DB] // power of L re that of R: positive leans left; undefined while either channel is silent
}

// stereoGroup is the grid on which sums are made, so that the cut into blocks
// cannot change them.
const stereoGroup = 64

// Stereo measures the correlation, mono compatibility and balance of two channels.
//
//	correlation = Σ l·r / √(Σ l² · Σ r²)
//	mono loss = 10·log10( ((Σl² + Σr² + 2·Σl·r)/4) / ((Σl² + Σr²)/2) )
//
// Both are over the whole recording, without a window or a gate. Frames in which
// either sample is NaN or infinite are left out. Memory does not grow.
type Stereo struct {
	frames     int64
	ll, rr, lr float64
	pending    [2][stereoGroup]float32
	pendingN   int
}

// NewStereo makes a meter for two channels. The rate does not matter to what
// it measures; it is asked for to make all meters alike. It panics for a rate below 1 Hz.
func NewStereo(rateHz int) *Stereo {
	if rateHz < 1 {
		panic("meter: stereo meter for a rate below 1 Hz")
	}
	return &Stereo{}
}

// Measure takes the next block. It panics if b has not two channels.
func (m *Stereo) Measure(b *sound.Block) {
	if len(b.Channels) != 2 {
		panic(fmt.Sprintf("meter: block of %d channels for a stereo meter", len(b.Channels)))
	}
	l, r := b.Channels[0], b.Channels[1]
	for len(l) > 0 {
		if m.pendingN == 0 && len(l) >= stereoGroup {
			m.addGroup(l[:stereoGroup], r[:stereoGroup])
			l, r = l[stereoGroup:], r[stereoGroup:]
			continue
		}
		n := copy(m.pending[0][m.pendingN:], l)
		copy(m.pending[1][m.pendingN:], r)
		l, r = l[n:], r[n:]
		if m.pendingN += n; m.pendingN == stereoGroup {
			m.pendingN = 0
			m.addGroup(m.pending[0][:], m.pending[1][:])
		}
	}
}

// addGroup adds a group of at most stereoGroup frames.
func (m *Stereo) addGroup(l, r []float32) {
	ll, rr, lr := stereoSums(l, r)
	if !(ll+rr <= math.MaxFloat64) {
		// A sample was no number; finite ones cannot overflow these sums.
		var cl, cr [stereoGroup]float32
		n := 0
		for i := range l {
			if finiteSample(l[i]) && finiteSample(r[i]) {
				cl[n], cr[n] = l[i], r[i]
				n++
			}
		}
		ll, rr, lr = stereoSums(cl[:n], cr[:n])
	}
	m.ll += ll
	m.rr += rr
	m.lr += lr
	m.frames += int64(len(l))
}

// stereoSums are Σl², Σr² and Σlr of a group, two sums each side by side.
func stereoSums(l, r []float32) (ll, rr, lr float64) {
	var ll1, rr1, lr1 float64
	r = r[:len(l)]
	i := 0
	for ; i+2 <= len(l); i += 2 {
		a, b := float64(l[i]), float64(r[i])
		c, d := float64(l[i+1]), float64(r[i+1])
		ll += a * a
		rr += b * b
		lr += a * b
		ll1 += c * c
		rr1 += d * d
		lr1 += c * d
	}
	if i < len(l) {
		a, b := float64(l[i]), float64(r[i])
		ll += a * a
		rr += b * b
		lr += a * b
	}
	return ll + ll1, rr + rr1, lr + lr1
}

// Reading is the state of the stereo picture so far.
func (m *Stereo) Reading() StereoReading {
	c := *m
	c.addGroup(c.pending[0][:c.pendingN], c.pending[1][:c.pendingN])
	r := StereoReading{Frames: c.frames}
	if c.ll > 0 && c.rr > 0 {
		// Rounding may lead a hair past ±1.
		r.Correlation = unit.Some(max(-1, min(1, c.lr/(math.Sqrt(c.ll)*math.Sqrt(c.rr)))))
		r.Balance = unit.Power[unit.DB](c.ll / c.rr)
	}
	if both := c.ll + c.rr; both > 0 {
		mid, side := both+2*c.lr, both-2*c.lr
		r.MonoLoss = unit.Power[unit.DB](mid / 4 / (both / 2))
		r.SideOverMid = unit.Power[unit.DB](side / mid)
	}
	return r
}
