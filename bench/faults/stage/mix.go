package stage

import (
	"math"
	"math/rand/v2"
)

// roomOutputs is how many unlike versions of the room's tail are kept; each
// line hears its own signed sum of them.
const roomOutputs = 4

const soundSpeed = 343.0 // m/s, air of 20 °C

// tailDB is how far below its own source another one is not worth adding.
const tailDB = 66

// fillRoom plays every source into a room of eight delay lines that feed each
// other (a Householder reflection keeps the energy), damped at the top.
func (s *Session) fillRoom(sources []source, r *rand.Rand) [roomOutputs][]float32 {
	var out [roomOutputs][]float32
	n := len(sources[0].x)
	for i := range out {
		out[i] = make([]float32, n)
	}
	fs := float64(s.RateHz)
	var lines [8][]float32
	var pos [8]int
	var damp [8]float32
	var loss [8]float32
	rt := 0.25 + 0.6*r.Float64()
	for i := range lines {
		d := int(fs * (0.013 + 0.0057*float64(i) + 0.003*r.Float64()))
		lines[i] = make([]float32, d)
		loss[i] = float32(math.Pow(10, -3*float64(d)/fs/rt))
	}
	in := make([]float32, n)
	for _, src := range sources {
		if src.space > 2 {
			continue // booths keep their sound
		}
		g := float32(0.25 * src.loud)
		for i, v := range src.x {
			in[i] += g * v
		}
	}
	for t := range n {
		var y [8]float32
		var sum float32
		for i := range lines {
			damp[i] += 0.55 * (lines[i][pos[i]]*loss[i] - damp[i])
			y[i] = damp[i]
			sum += y[i]
		}
		sum *= 0.25
		for i := range lines {
			x := in[t]
			if i&1 == 1 {
				x = -x
			}
			lines[i][pos[i]] = y[i] - sum + x
			if pos[i]++; pos[i] == len(lines[i]) {
				pos[i] = 0
			}
		}
		for i := range out {
			out[i][t] = y[i] - y[i+4]
		}
	}
	return out
}

func distance(a, b place) float64 {
	return math.Max(0.03, math.Sqrt((a.x-b.x)*(a.x-b.x)+(a.y-b.y)*(a.y-b.y)+(a.z-b.z)*(a.z-b.z)))
}

// path is one source's way to one microphone.
type path struct {
	src   int
	gain  float64
	delay float64 // frames
	dull  float64 // pole of a low-pass, 1: none
}

func (s *Session) paths(l *Line, sources []source) []path {
	own := sources[l.own]
	d0 := distance(own.at, l.at)
	axis := place{own.at.x - l.at.x, own.at.y - l.at.y, own.at.z - l.at.z}
	ref := own.loud / d0
	var out []path
	for i, src := range sources {
		d := distance(src.at, l.at)
		g := src.loud / d
		to := place{src.at.x - l.at.x, src.at.y - l.at.y, src.at.z - l.at.z}
		cos := (axis.x*to.x + axis.y*to.y + axis.z*to.z) / (d0 * d)
		kitPair := l.Pair == "stereo" && own.role == "cymbals" || l.Pair == "room"
		dull := 1.0
		if i != l.own && !kitPair {
			g *= 0.55 + 0.45*math.Max(cos, -1)
			dull = 0.55
		}
		if src.space != own.space {
			g *= 0.02 // a door and a wall
			dull = 0.15
		}
		if l.Feed != Air && i != l.own {
			continue
		}
		if g > ref*math.Pow(10, -tailDB/20) {
			out = append(out, path{i, g / ref, d / soundSpeed * float64(s.RateHz), dull})
		}
	}
	if l.Feed != Air && len(out) == 1 {
		out[0].delay = 0
	}
	return out
}

// Render records one line. The gain is the one that brings the take's peak to
// the line's level; in the line check it stays what it was.
func (s *Session) render(i int, sources []source, room [roomOutputs][]float32, setGain bool) []float32 {
	l := &s.Lines[i]
	n := len(sources[0].x)
	out := make([]float32, n)
	for _, p := range s.paths(l, sources) {
		addPath(out, sources[p.src].x, p)
	}
	own := sources[l.own]
	if l.Feed == Air && l.reverb > 0 && own.space <= 2 {
		d0 := distance(own.at, l.at)
		ref := own.loud / d0
		for k := range room {
			g := float32(l.reverb * 0.12 / ref)
			if l.signs>>k&1 == 1 {
				g = -g
			}
			for j, v := range room[k] {
				out[j] += g * v
			}
		}
	}
	fs := float64(s.RateHz)
	if l.wires > 0 {
		rattle(out, l.wires, fs, rand.New(rand.NewPCG(s.Seed, uint64(i)+77)))
	}
	if l.drive > 0 {
		saturate(out, l.drive)
	}
	if l.Feed != Digital {
		lowPass(out, l.cut, fs)
		highPass(out, l.low, fs)
	}
	if setGain {
		var peak float64
		for _, v := range out {
			peak = math.Max(peak, math.Abs(float64(v)))
		}
		g := math.Pow(10, l.peakDBFS/20)
		if l.Plays && peak > 0 {
			g /= peak
		} else if peak*g > 0.5 {
			g = 0.5 / peak
		}
		s.gains[i] = g
	}
	g := float32(s.gains[i])
	for j := range out {
		out[j] *= g
	}
	s.addNoise(out, l, rand.New(rand.NewPCG(s.Seed, uint64(i)+1)))
	if setGain {
		s.addLife(out, l, rand.New(rand.NewPCG(s.Seed, uint64(i)+501)))
	}
	return out
}

// addPath adds a source, late, dull and scaled. A third-order Lagrange
// interpolator carries the fraction of a frame. Stretches in which the source is
// silent cost nothing.
func addPath(out, x []float32, p path) {
	whole := int(p.delay)
	f := p.delay - float64(whole)
	c0, c1 := float32(-f*(f-1)*(f-2)/6*p.gain), float32((f+1)*(f-1)*(f-2)/2*p.gain)
	c2, c3 := float32(-(f+1)*f*(f-2)/2*p.gain), float32((f+1)*f*(f-1)/6*p.gain)
	pole, y := float32(p.dull), float32(0)
	const piece = 2048
	for from := 2; from+whole < len(out) && from < len(x)-1; from += piece {
		to := min(from+piece, len(x)-1, len(out)-whole)
		in := x[from-2 : to+1]
		silent := true
		for _, v := range in {
			if v != 0 {
				silent = false
				break
			}
		}
		if silent && (y < 1e-8 && y > -1e-8) {
			y = 0
			continue
		}
		dst := out[from+whole : to+whole]
		in = in[:len(dst)+3]
		for t := range dst {
			v := c0*in[t+3] + c1*in[t+2] + c2*in[t+1] + c3*in[t]
			y += pole * (v - y)
			dst[t] += y
		}
	}
}

// rattle adds the wires of a snare: noise that follows the sound.
func rattle(x []float32, share, fs float64, r *rand.Rand) {
	fall := float32(math.Exp(-1 / (0.06 * fs)))
	var env, last float32
	seed := r.Uint64() | 1
	for i, v := range x {
		if a := max(v, -v); a > env {
			env = a
		} else {
			env *= fall
		}
		w := white(&seed)
		x[i] = v*float32(1-share) + env*float32(share)*0.7*(w-last)
		last = w
	}
}

// white is uniform noise of ±1.
func white(state *uint64) float32 {
	*state ^= *state << 13
	*state ^= *state >> 7
	*state ^= *state << 17
	return float32(int32(*state>>32)) / (1 << 31)
}

func saturate(x []float32, drive float64) {
	var peak float32
	for _, v := range x {
		peak = max(peak, v, -v)
	}
	if peak == 0 {
		return
	}
	g := float32(drive) / peak
	for i, v := range x {
		x[i] = float32(math.Tanh(float64(v * g)))
	}
}

func lowPass(x []float32, hz, fs float64) {
	a := float32(1 - math.Exp(-2*math.Pi*hz/fs))
	var y float32
	for i, v := range x {
		y += a * (v - y)
		x[i] = y
	}
}

func highPass(x []float32, hz, fs float64) {
	a := float32(1 - math.Exp(-2*math.Pi*hz/fs))
	var y float32
	for i, v := range x {
		y += a * (v - y)
		x[i] = v - y
	}
}

// addNoise adds the microphone's hiss, the room's rumble and a trace of mains,
// levels in dBFS rms (AES17).
func (s *Session) addNoise(x []float32, l *Line, r *rand.Rand) {
	seed := r.Uint64() | 1
	if l.noiseDBFS < 0 {
		g := float32(math.Pow(10, (l.noiseDBFS-3.01)/20) * math.Sqrt(3))
		for i := range x {
			x[i] += g * white(&seed)
		}
	}
	if l.roomNoise < 0 && l.Feed == Air {
		// White through a pole at 200 Hz: what ventilation leaves. The pole's
		// power gain is a/(2−a).
		a := 1 - math.Exp(-2*math.Pi*200/float64(s.RateHz))
		g := float32(math.Pow(10, (l.roomNoise-3.01)/20) * math.Sqrt(3*(2-a)/a))
		var y float32
		for i := range x {
			y += float32(a) * (white(&seed) - y)
			x[i] += g * y
		}
	}
	if l.humDBFS < 0 {
		AddHum(x, 50, l.humDBFS, 4, float64(s.RateHz), r)
	}
}

// AddHum adds mains of a level in dBFS (AES17 rms of all of it) with the first
// harmonics, the odd ones stronger, and the mains' slow wander.
func AddHum(x []float32, hz, levelDBFS float64, harmonics int, fs float64, r *rand.Rand) {
	amp := make([]float64, harmonics)
	var power float64
	for k := range amp {
		amp[k] = 1 / float64(k+1) * (0.5 + r.Float64())
		if k%2 == 1 {
			amp[k] *= 0.4
		}
		power += amp[k] * amp[k]
	}
	g := math.Pow(10, levelDBFS/20) / math.Sqrt(power)
	hz += 0.02 * r.NormFloat64()
	// One period in a table: the harmonics keep their phase to each other.
	const points = 4096
	var table [points + 1]float32
	for k := range amp {
		offset := 2 * math.Pi * r.Float64()
		for i := range table {
			table[i] += float32(g * amp[k] * math.Sin(2*math.Pi*float64(i*(k+1))/points+offset))
		}
	}
	phase := points * r.Float64()
	for i := range x {
		if phase += points * hz / fs; phase >= points {
			phase -= points
		}
		k := int(phase)
		f := float32(phase - float64(k))
		x[i] += table[k] + f*(table[k+1]-table[k])
	}
}
