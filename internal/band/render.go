package band

import (
	"io"
	"math"
	"sync"

	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// The levels re a microphone's loudest direct sound under which a way through a
// screen and a reflection are left out.
const (
	faintWay  = 0.004 // −48 dB
	faintEcho = 0.006 // −44 dB
)

// neverHeard is the quiet of a source that has not sounded yet.
const neverHeard = math.MaxInt32 / 2

// Renderer turns a scene into sound. Memory does not grow with its length: each
// source keeps as much of its past as its longest path needs.
type Renderer struct {
	scene   *Scene
	at      int64
	block   int // longest block so far
	last    int // frames of the block before
	past    int // frames of the past that are kept
	sources []voiceOf
	mics    []ear
	tails   []*tail // by room; nil without reflections
	send    [][]float32
	orders  [][]int // sources by who feeds whom: each list for one worker
}

// voiceOf is a source while it sounds.
type voiceOf struct {
	raw, dulled []float32 // past frames, then the block
	dull        onePole
	quiet       int // frames since the last sample that was not zero
	beamPower   float64
}

// ear is a microphone while it listens.
type ear struct {
	paths  []path
	echoes []echo
	signs  [tailLines]float32
	gain   float32
	white  float64
	low    float64
	hiss   hiss
	rumble onePole
	high   *biquad
	work   []float32
}

// NewRenderer prepares a scene. It refuses one that contradicts itself.
func NewRenderer(s *Scene) (*Renderer, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	r := &Renderer{scene: s}
	fs := float64(s.RateHz)
	var power []float64
	for _, room := range s.Rooms {
		if room.DecayS <= 0 {
			r.tails, power = append(r.tails, nil), append(power, 0)
			continue
		}
		t := newTail(room, fs)
		r.tails = append(r.tails, t)
		// Statistical room: diffuse p² = p²(1 m)·16π/A (textbook, from memory).
		power = append(power, 16*math.Pi/room.absorptionArea()/t.power(room, fs))
	}
	r.send = make([][]float32, len(s.Rooms))
	for i := range s.Sources {
		src := &s.Sources[i]
		r.sources = append(r.sources, voiceOf{
			dull:  newOnePole(4500, fs),
			quiet: neverHeard,
			// Mean over all angles of the squared beam (1 − B + B·cos θ)².
			beamPower: math.Sqrt((1-src.Beam)*(1-src.Beam) + src.Beam*src.Beam/3),
		})
		if src.FedBy == 0 {
			r.orders = append(r.orders, []int{i})
			continue
		}
		for k := range r.orders {
			for _, j := range r.orders[k] {
				if j == src.FedBy-1 {
					r.orders[k] = append(r.orders[k], i)
					break
				}
			}
		}
	}
	for i := range s.Mics {
		m := &s.Mics[i]
		e := r.listen(m, fs)
		d := newDice(s.Seed, "mic", m.Name)
		e.hiss = d.hiss()
		p := float64(m.Pattern)
		if m.Aim.Length() == 0 {
			p = 1
		}
		diffuse := math.Sqrt(power[m.Room]*(p*p+(1-p)*(1-p)/3)) / math.Sqrt(tailLines)
		for k := range e.signs {
			e.signs[k] = float32(diffuse)
			if d.chance(0.5) {
				e.signs[k] = -e.signs[k]
			}
		}
		r.mics = append(r.mics, e)
	}
	return r, nil
}

func (r *Renderer) listen(m *Mic, fs float64) ear {
	s := r.scene
	e := ear{gain: float32(unit.Ratio(unit.DB(m.GainDB)))}
	if m.Flip {
		e.gain = -e.gain
	}
	// Part of the noise lies low, as that of rooms and amplifiers does. A
	// one-pole low-pass leaves k/(2 − k) of white noise's power and has k in
	// common with it; the whole has the RMS that was asked for.
	e.rumble = newOnePole(250, fs)
	k := e.rumble.k
	low := 0.5 * math.Sqrt((2-k)/k)
	rms := unit.Ratio(unit.DBFS(m.NoiseDBFS - unit.SineOffsetDB))
	e.white = rms / math.Sqrt(1+0.25+2*low*k)
	e.low = low * e.white
	if m.HighPassHz > 0 {
		e.high = highpass(m.HighPassHz, math.Sqrt2/2, fs)
	}
	if m.Direct > 0 {
		r.past = max(r.past, leadFrames)
		return e
	}
	c := SoundSpeed(s.Rooms[m.Room].TempC)
	loudest := 0.0
	for i := range s.Sources {
		if src := &s.Sources[i]; !src.Mute {
			if gain, _, reaches := s.between(src, m); reaches {
				loudest = max(loudest, math.Abs(gain*spread(src, m, src.Pos, src.Facing)))
			}
		}
	}
	for i := range s.Sources {
		src := &s.Sources[i]
		gain, corner, reaches := s.between(src, m)
		if src.Mute || !reaches {
			continue
		}
		g := gain * spread(src, m, src.Pos, src.Facing)
		if corner > 0 && math.Abs(g) < faintWay*loudest {
			continue
		}
		p := straight(src, m, DistanceM(src.Pos, m.Pos)/c*fs, g)
		p.source = i
		if corner > 0 {
			f := newOnePole(corner, fs)
			p.dull = &f
		}
		e.paths = append(e.paths, p)
		r.past = max(r.past, p.back)
	}
	room := s.Rooms[m.Room]
	if room.DecayS <= 0 {
		return e
	}
	for i := range s.Sources {
		src := &s.Sources[i]
		gain, _, reaches := s.between(src, m)
		if src.Mute || !reaches || src.Room != m.Room {
			continue
		}
		at, turned := mirrors(room, src.Pos, src.Facing)
		for k := range at {
			g := gain * room.reflection() * spread(src, m, at[k], turned[k])
			if math.Abs(g) < faintEcho*loudest {
				continue
			}
			back := int(math.Round(DistanceM(at[k], m.Pos)/c*fs)) + leadFrames
			e.echoes = append(e.echoes, echo{source: i, back: back, gain: float32(g)})
			r.past = max(r.past, back)
		}
	}
	return e
}

// between says what the way from a source to a microphone leaves: a factor, the
// corner of a low-pass (0: none), and whether anything gets through at all.
func (s *Scene) between(src *Source, m *Mic) (gain, cornerHz float64, reaches bool) {
	for _, w := range s.Screens {
		if w.A == src.Zone && w.B == m.Zone || w.B == src.Zone && w.A == m.Zone {
			return unit.Ratio(unit.DB(-w.LossDB)), w.LowpassHz, true
		}
	}
	return 1, 0, src.Room == m.Room
}

// Next fills b with up to b.Room() frames, one channel a microphone, and
// returns io.EOF with an empty block at the end. It panics if b has another
// number of channels than the scene has microphones.
func (r *Renderer) Next(b *sound.Block) error {
	if len(b.Channels) != len(r.mics) {
		panic("band: block with another number of channels than microphones")
	}
	n := int(min(int64(b.Room()), r.scene.Frames-r.at))
	b.Start = r.at
	b.Resize(n)
	if n == 0 {
		return io.EOF
	}
	r.grow(n)
	inTwo(len(r.orders), func(k int) {
		for _, i := range r.orders[k] {
			r.sound(i, n)
		}
	})
	inTwo(len(r.tails), func(room int) { r.diffuse(room, n) })
	inTwo(len(r.mics), func(i int) { r.hear(i, b.Channels[i]) })
	r.at += int64(n)
	r.last = n
	return nil
}

// diffuse runs a room's late field on what all its sources send into it.
func (r *Renderer) diffuse(room, n int) {
	t := r.tails[room]
	if t == nil {
		return
	}
	in := r.send[room][:n]
	clear(in)
	for i := range r.sources {
		if src, v := &r.scene.Sources[i], &r.sources[i]; src.Room == room && !src.Mute && v.quiet < n {
			addScaled(in, v.dulled[r.past:], float32(v.beamPower))
		}
	}
	t.run(in)
}

func (r *Renderer) grow(n int) {
	if n <= r.block {
		return
	}
	r.block = n
	for i := range r.sources {
		v := &r.sources[i]
		raw, dulled := make([]float32, r.past+n), make([]float32, r.past+n)
		copy(raw, v.raw)
		copy(dulled, v.dulled)
		v.raw, v.dulled = raw, dulled
	}
	for i := range r.mics {
		r.mics[i].work = make([]float32, n)
	}
	for i := range r.send {
		r.send[i] = make([]float32, n)
	}
}

// sound moves a source's past up by the block before and plays n frames behind it.
func (r *Renderer) sound(i, n int) {
	src, v := &r.scene.Sources[i], &r.sources[i]
	copy(v.raw, v.raw[r.last:r.last+r.past])
	copy(v.dulled, v.dulled[r.last:r.last+r.past])
	now := v.raw[r.past : r.past+n]
	if src.FedBy > 0 {
		copy(now, r.sources[src.FedBy-1].raw[r.past:r.past+n])
		src.Through.Filter(now)
	} else {
		src.Sound.Play(now)
	}
	v.quiet = min(v.quiet+n, neverHeard)
	for k := n - 1; k >= 0; k-- {
		if now[k] != 0 {
			v.quiet = n - 1 - k
			break
		}
	}
	dulled := v.dulled[r.past : r.past+n]
	copy(dulled, now)
	v.dull.Filter(dulled)
}

// hear renders one microphone from the sources' pasts and the block behind them.
func (r *Renderer) hear(i int, out []float32) {
	e, m := &r.mics[i], &r.scene.Mics[i]
	n := len(out)
	clear(out)
	if m.Direct > 0 {
		copy(out, r.sources[m.Direct-1].raw[r.past-leadFrames:])
	}
	for k := range e.paths {
		p := &e.paths[k]
		v := &r.sources[p.source]
		if v.quiet > r.past+n && (p.dull == nil || p.dull.y == 0) {
			continue
		}
		from := v.raw[r.past-p.back:]
		if p.dull == nil {
			addDelayed(out, from[:n+kernelTaps-1], &p.k)
			continue
		}
		w := e.work[:n]
		clear(w)
		addDelayed(w, from[:n+kernelTaps-1], &p.k)
		p.dull.Filter(w)
		addScaled(out, w, 1)
	}
	// The echoes of one source stand together; two go in one sweep.
	for k := 0; k < len(e.echoes); k++ {
		x := &e.echoes[k]
		v := &r.sources[x.source]
		if v.quiet > r.past+2*n {
			continue
		}
		if k+1 < len(e.echoes) && e.echoes[k+1].source == x.source {
			k++
			addTwo(out, v.dulled[r.past-x.back:], v.dulled[r.past-e.echoes[k].back:], x.gain, e.echoes[k].gain)
			continue
		}
		addScaled(out, v.dulled[r.past-x.back:], x.gain)
	}
	if t := r.tails[m.Room]; t != nil && m.Direct == 0 {
		for k := 0; k < tailLines; k += 2 {
			addTwo(out, t.out[k], t.out[k+1], e.signs[k], e.signs[k+1])
		}
	}
	r.line(e, m, out)
}

// line is what follows the capsule: gain, polarity, filter, noise, faults, and
// the converter, which holds nothing above full scale.
func (r *Renderer) line(e *ear, m *Mic, out []float32) {
	for k := range out {
		out[k] *= e.gain
	}
	if e.high != nil {
		e.high.Filter(out)
	}
	for k := range out {
		w := e.hiss.next()
		out[k] += float32(e.white*w + e.low*e.rumble.next(w))
	}
	for _, f := range m.After {
		f(out, r.at)
	}
	for k, x := range out {
		out[k] = max(-1, min(x, topSample))
	}
}

// topSample is the largest value of a 24-bit converter.
const topSample = 1 - 1.0/(1<<23)

// inTwo calls do for 0 … n − 1 from two goroutines: each index once.
func inTwo(n int, do func(int)) {
	var wait sync.WaitGroup
	wait.Add(1)
	go func() {
		defer wait.Done()
		for i := 1; i < n; i += 2 {
			do(i)
		}
	}()
	for i := 0; i < n; i += 2 {
		do(i)
	}
	wait.Wait()
}
