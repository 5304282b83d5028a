package meter

import (
	"fmt"
	"math"
	"slices"

	"tidemark/internal/kernel"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// LoudnessReading is the loudness of a programme or of a line by itself.
//
// All are undefined for digital silence and for sound shorter than their
// window (0.4 s; 3 s for MaxShortTerm and Range). Tech 3342 does not recommend
// Range for programmes of less than a minute; whether to show it is for the
// caller, who knows the length.
type LoudnessReading struct {
	Integrated   unit.Maybe[unit.LUFS] // BS.1770-5, gated
	MaxMomentary unit.Maybe[unit.LUFS] // 400 ms, looked at every 10 ms
	MaxShortTerm unit.Maybe[unit.LUFS] // 3 s, looked at every 100 ms
	Range        unit.Maybe[unit.LU]   // Tech 3342, from a short-term value each 100 ms
}

const (
	tickSeconds   = 100 // ticks in a second: a tick is 10 ms
	hopTicks      = 10  // a hop of 100 ms, the step of the gating blocks (BS.1770-5 Annex 1)
	momentaryTick = 40  // 400 ms, Tech 3341
	shortTermHops = 30  // 3 s, Tech 3341
	blockHops     = 4   // a gating block of 400 ms overlaps the next by 75 %

	// loudnessLeastRateHz is the lowest sample rate at which the shelf of the K
	// filter (1.7 kHz) still lies below half the rate.
	loudnessLeastRateHz = 4000

	// loudnessSpareHops is the room a new meter starts with: a minute.
	loudnessSpareHops = 600
)

// Loudness measures programme loudness: ITU-R BS.1770-5 Annex 1, EBU Tech 3341
// and 3342 (both 2023).
//
//	l = −0.691 + 10·log10(Σ G_c·z_c)   z_c mean square of the K-weighted channel c, G_c its weight
//
// Each channel is also measured by itself, as if it were a mono programme, so
// one meter serves a mix as well as a pass of 24 lines in one file.
//
// Time is cut into ticks of 10 ms: tick k starts at frame round(k·fs/100)
// (half up), so that windows keep true time at any rate, to half a frame.
//
// A tick is filtered whole: what a block leaves of one is kept until the rest comes.
//
// It keeps 8 bytes a channel for each 100 ms (288 kB an hour and channel).
// Room for a minute is there from the start, Reserve makes more. At rates under 4 kHz
// it measures nothing and reads undefined. Samples that are NaN or infinite count as 0.
type Loudness struct {
	rate     int
	filter   *kernel.KPlan // nil: the rate is too low
	weights  []float64
	channels []loudnessChannel
	ticks    int64   // complete ticks
	length   int     // frames of the current tick
	kept     int     // how many of them earlier blocks have brought
	highest  float64 // largest weighted power of 400 ms
}

// loudnessChannel is what is kept of a channel.
type loudnessChannel struct {
	state   kernel.KState
	part    []float32              // the beginning of the current tick
	energy  float64                // Σy² of the tick just filtered
	recent  [momentaryTick]float64 // Σy² of the latest ticks, tick k at k mod 40
	hops    []float64              // mean square of each complete 100 ms
	highest float64                // largest mean square of 400 ms
}

// DefaultWeights are the channel weights of BS.1770-5 Annex 1 Table 3 for
// the usual orders of channels:
//
//	1 mono · 2 L R · 3 L R C · 4 L R Ls Rs · 5 L R C Ls Rs · 6 L R C LFE Ls Rs
//
// L, R, C count 1, surrounds 1.41, the LFE not at all. More channels than six
// are taken for lines of a pass, each with weight 1.
func DefaultWeights(channels int) []float64 {
	const surround = 1.41
	switch channels {
	case 4:
		return []float64{1, 1, surround, surround}
	case 5:
		return []float64{1, 1, 1, surround, surround}
	case 6:
		return []float64{1, 1, 1, 0, surround, surround}
	}
	w := make([]float64, channels)
	for c := range w {
		w[c] = 1
	}
	return w
}

// DescribeWeights names the order of channels that DefaultWeights takes them in,
// as a report does; "" where all count alike.
func DescribeWeights(channels int) string {
	switch channels {
	case 4:
		return "L R Ls Rs"
	case 5:
		return "L R C Ls Rs"
	case 6:
		return "L R C LFE Ls Rs"
	}
	return ""
}

// NewLoudness makes a meter for so many channels; weights nil means
// DefaultWeights. It panics for a rate or channel count below 1, and when
// weights are not one a channel.
func NewLoudness(rateHz, channels int, weights []float64) *Loudness {
	if weights == nil && channels > 0 {
		weights = DefaultWeights(channels)
	}
	if rateHz < 1 || channels < 1 || len(weights) != channels {
		panic(fmt.Sprintf("meter: loudness of %d channels with %d weights at %d Hz", channels, len(weights), rateHz))
	}
	m := &Loudness{
		rate:     rateHz,
		weights:  slices.Clone(weights),
		channels: make([]loudnessChannel, channels),
	}
	if rateHz >= loudnessLeastRateHz {
		m.filter = kPlanOf(rateHz)
		m.length = int(m.tickStart(1))
		for c := range m.channels {
			m.channels[c].part = make([]float32, longestTick(rateHz))
			m.channels[c].hops = make([]float64, 0, loudnessSpareHops)
		}
	}
	return m
}

// Reserve makes room for the hops of so many frames, so that Measure will not
// allocate up to there.
func (m *Loudness) Reserve(frames int64) {
	need := int(frames*hopsPerSecond/int64(m.rate)) + 1
	for c := range m.channels {
		if ch := &m.channels[c]; need > cap(ch.hops) {
			ch.hops = append(make([]float64, 0, need), ch.hops...)
		}
	}
}

const hopsPerSecond = tickSeconds / hopTicks

// longestTick is the most frames that a tick has; others have one less, where the
// rate is not a multiple of 100 Hz.
func longestTick(rateHz int) int { return (rateHz + tickSeconds - 1) / tickSeconds }

// tickStart is the first frame of tick k.
func (m *Loudness) tickStart(k int64) int64 {
	return (k*int64(m.rate) + tickSeconds/2) / tickSeconds
}

// Measure takes the next block. It panics if b has another number of channels
// than the meter.
func (m *Loudness) Measure(b *sound.Block) {
	if len(b.Channels) != len(m.channels) {
		panic(fmt.Sprintf("meter: block of %d channels for a loudness meter of %d", len(b.Channels), len(m.channels)))
	}
	if m.filter == nil {
		return
	}
	for at, frames := 0, b.Frames(); at < frames; {
		n := min(m.length-m.kept, frames-at)
		for c, x := range b.Channels {
			m.channels[c].take(m.filter, x[at:at+n], m.kept, m.length)
		}
		at += n
		if m.kept += n; m.kept == m.length {
			m.kept = 0
			m.endTick()
		}
	}
}

// take filters a tick of so many frames, of which x brings those from kept on, or
// keeps x as well where there are more to come.
func (ch *loudnessChannel) take(filter *kernel.KPlan, x []float32, kept, length int) {
	if len(x) < length {
		copy(ch.part[kept:], x)
		if kept+len(x) < length {
			return
		}
		x = ch.part[:length]
	}
	before := ch.state
	ch.energy = filter.Energy(&ch.state, x)
	if math.IsNaN(ch.energy) || math.IsInf(ch.energy, 0) {
		// A sample was no number: filter the tick again, with 0 in its place.
		clean := ch.part[:copy(ch.part, x)]
		for i, v := range clean {
			if !finiteSample(v) {
				clean[i] = 0
			}
		}
		ch.state = before
		ch.energy = filter.Energy(&ch.state, clean)
	}
}

// endTick closes 10 ms on all channels.
func (m *Loudness) endTick() {
	k := m.ticks
	m.ticks++
	m.length = int(m.tickStart(k+2) - m.tickStart(k+1))
	var weighted float64
	for c := range m.channels {
		ch := &m.channels[c]
		ch.recent[k%momentaryTick] = ch.energy
		if m.ticks%hopTicks == 0 {
			ch.hops = append(ch.hops, m.recentPower(ch, hopTicks))
		}
		if m.ticks >= momentaryTick {
			p := m.recentPower(ch, momentaryTick)
			ch.highest = max(ch.highest, p)
			weighted += m.weights[c] * p
		}
	}
	m.highest = max(m.highest, weighted)
}

// recentPower is the mean square of a channel over the last ticks. It is added
// up anew each time: a running sum would carry every rounding along.
func (m *Loudness) recentPower(ch *loudnessChannel, ticks int64) float64 {
	var sum float64
	for k := m.ticks - ticks; k < m.ticks; k++ {
		sum += ch.recent[k%momentaryTick]
	}
	return sum / float64(m.tickStart(m.ticks)-m.tickStart(m.ticks-ticks))
}

// Reading is the loudness of the whole programme so far.
func (m *Loudness) Reading() LoudnessReading {
	return readLoudness(m.ProgrammeHops(), m.highest)
}

// ChannelReading is the loudness of one channel by itself, weight 1.
func (m *Loudness) ChannelReading(c int) LoudnessReading {
	return readLoudness(m.channels[c].hops, m.channels[c].highest)
}

func readLoudness(hops []float64, highest float64) LoudnessReading {
	r := LoudnessReading{
		Integrated:   PooledIntegrated(hops),
		MaxMomentary: loudnessOf(highest),
		Range:        PooledRange(hops),
	}
	var top float64
	for i := shortTermHops; i <= len(hops); i++ {
		top = max(top, levelMean(hops[i-shortTermHops:i]))
	}
	r.MaxShortTerm = loudnessOf(top)
	return r
}

// ProgrammeHops are the weighted powers Σ G_c·z_c of each complete 100 ms of
// the programme, what PooledIntegrated and PooledRange take.
func (m *Loudness) ProgrammeHops() []float64 {
	hops := make([]float64, len(m.channels[0].hops))
	for c := range m.channels {
		for i, p := range m.channels[c].hops {
			hops[i] += m.weights[c] * p
		}
	}
	return hops
}

// ChannelHops are the same powers of one channel with weight 1; shared, not to be changed.
func (m *Loudness) ChannelHops(c int) []float64 {
	h := m.channels[c].hops
	return h[:len(h):len(h)]
}

// Momentary is the programme loudness of the latest complete 400 ms, in steps of 10 ms.
func (m *Loudness) Momentary() unit.Maybe[unit.LUFS] {
	if m.ticks < momentaryTick {
		return unit.None[unit.LUFS]()
	}
	var p float64
	for c := range m.channels {
		p += m.weights[c] * m.recentPower(&m.channels[c], momentaryTick)
	}
	return loudnessOf(p)
}

// ShortTerm is the programme loudness of the latest complete 3 s, in steps of 100 ms.
func (m *Loudness) ShortTerm() unit.Maybe[unit.LUFS] {
	var p float64
	for c := range m.channels {
		h := m.channels[c].hops
		if len(h) < shortTermHops {
			return unit.None[unit.LUFS]()
		}
		p += m.weights[c] * levelMean(h[len(h)-shortTermHops:])
	}
	return loudnessOf(p)
}
