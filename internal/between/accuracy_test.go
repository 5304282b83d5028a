package between

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/fourier"
	"tidemark/internal/signal"
)

// trials is how many pairs of each condition are built: `go test -run Accuracy
// -v -trials 200` prints the distribution of errors to two figures.
var trials = flag.Int("trials", 8, "pairs of each condition of the accuracy of delays to build")

// condition is a way for two lines to hear one source: everything about it is
// known but what is drawn, the delay (within 5 ms, any fraction of a sample),
// the polarity, the level and the noise.
type condition struct {
	name     string
	play     func(r *rand.Rand, rateHz, frames int) []float64 // a hit, from its first frame
	rateHz   int
	snrDB    float64 // each line's own noise under the source; +Inf: none
	bleedDB  float64 // a second source under the first, heard at another delay; −Inf: none
	directDB float64 // direct sound over each line's own reverberation; +Inf: none
	skirtHz  float64 // B is low-passed, second order; 0: it is not
	later    float64 // samples that the source is later for that
	// median and p90 are the errors in samples that are allowed; where it is known
	// that the delay cannot be told, both are 0, and the errors are only printed.
	median, p90 float64
}

// struck is a drum of a few modes, hit: 0.35 s.
func struck(r *rand.Rand, rateHz, frames int) []float64 {
	x := make([]float64, frames)
	base := uniform(r, 90, 220)
	for i, ratio := range []float64{1, 1.59, 2.14, 2.3, 2.65} {
		phase := uniform(r, 0, 2)
		for k := range x {
			t := float64(k) / float64(rateHz)
			x[k] += 0.5 / float64(i+1) * math.Exp(-t*float64(i+2)/0.2) * math.Sin(2*math.Pi*base*ratio*t+phase)
		}
	}
	addHiss(r, x, rateHz, 1, 0.006, 300, 9000)
	addHiss(r, x, rateHz, 0.25, 0.08, 2000, 12000)
	return x
}

// sung is a voiced sound with a little breath.
func sung(r *rand.Rand, rateHz, frames int) []float64 {
	x := make([]float64, frames)
	f, wobble := uniform(r, 110, 320), uniform(r, 0, 6)
	phase := 0.0
	for i := range x {
		t := float64(i) / float64(rateHz)
		phase += 2 * math.Pi * f * (1 + 0.01*math.Sin(2*math.Pi*5*t+wobble)) / float64(rateHz)
		s, c := math.Sincos(phase)
		// Σ sin(k·phase)·0.8^k in closed form: harmonics that fall 2 dB each.
		x[i] = 0.3 * min(1, t/0.02) * 0.8 * s / (1 - 1.6*c + 0.64)
	}
	addHiss(r, x, rateHz, 0.1, 0.3, 2000, 9000)
	return x
}

// plucked is a note of a bass.
func plucked(r *rand.Rand, rateHz, frames int) []float64 {
	x := make([]float64, frames)
	f, at := 41.2*math.Pow(2, float64(r.IntN(20))/12), uniform(r, 0.12, 0.3)
	for k := 1; k <= 24; k++ {
		hz := float64(k) * f * (1 + 0.00005*float64(k*k))
		amp, decay := math.Sin(math.Pi*float64(k)*at)/math.Pow(float64(k), 1.4), 0.8/(1+0.12*float64(k))
		// A decaying sine by its recursion.
		g := math.Exp(-1 / (decay * float64(rateHz)))
		w := 2 * math.Pi * hz / float64(rateHz)
		y1, y2 := 0.0, -amp*math.Sin(w)/g
		c1, c2 := 2*g*math.Cos(w), g*g
		for i := range x {
			x[i] += y1
			y1, y2 = c1*y1-c2*y2, y1
		}
	}
	addHiss(r, x, rateHz, 0.08, 0.006, 300, 4000)
	return x
}

// hiss is noise all through the window.
func hiss(r *rand.Rand, _, frames int) []float64 {
	x := make([]float64, frames)
	for i, v := range signal.White(r.Uint64(), 0.2, frames) {
		x[i] = float64(v)
	}
	return x
}

// addHiss adds decaying noise between two frequencies.
func addHiss(r *rand.Rand, x []float64, rateHz int, amp, decayS, loHz, hiHz float64) {
	var lp, hp float64
	fs := float64(rateHz)
	a, b := 1-math.Exp(-2*math.Pi*hiHz/fs), 1-math.Exp(-2*math.Pi*loHz/fs)
	for i := range x {
		lp += a * (r.NormFloat64() - lp)
		hp += b * (lp - hp)
		x[i] += amp * math.Exp(-float64(i)/fs/decayS) * (lp - hp)
	}
}

// conditions are what the page about accuracy tells of.
func conditions() []condition {
	inf := math.Inf(1)
	plain := condition{rateHz: 48000, snrDB: inf, bleedDB: -inf, directDB: inf}
	var all []condition
	add := func(name string, play func(*rand.Rand, int, int) []float64, median, p90 float64, change func(*condition)) {
		c := plain
		c.name, c.play, c.median, c.p90 = name, play, median, p90
		change(&c)
		all = append(all, c)
	}
	sources := []struct {
		name string
		play func(*rand.Rand, int, int) []float64
	}{{"noise", hiss}, {"drum", struck}, {"voice", sung}, {"bass", plucked}}
	// A bass is a narrow band, and noise hides most of it; noise as loud as a
	// voice hides that.
	noisy := map[string][3][2]float64{ // noise 20, 10 and 0 dB under the source: median and p90
		"noise": {{0.05, 0.1}, {0.05, 0.1}, {0.1, 0.15}}, "drum": {{0.05, 0.1}, {0.05, 0.1}, {0.1, 0.15}},
		"voice": {{0.05, 0.1}, {0.1, 0.25}, {}}, "bass": {{0.75, 1.5}, {1.5, 5}, {}}}
	for _, s := range sources {
		add(s.name+", clean", s.play, 0.02, 0.05, func(c *condition) {})
		for i, snr := range []float64{20, 10, 0} {
			limit := noisy[s.name][i]
			add(fmt.Sprintf("%s, noise %g dB under it", s.name, snr), s.play, limit[0], limit[1], func(c *condition) { c.snrDB = snr })
		}
	}
	for _, rate := range []int{44100, 96000, 192000} {
		for _, s := range sources[:2] {
			add(fmt.Sprintf("%s, noise 20 dB under it, %g kHz", s.name, float64(rate)/1000), s.play, 0.05, 0.1, func(c *condition) { c.rateHz, c.snrDB = rate, 20 })
		}
	}
	// Two sources that both lines hear have two delays, and each octave has one
	// voice: the wider wins, a drum against a bass even 20 dB under it.
	bled := map[string][2][2]float64{"drum": {{0.05, 0.1}, {0.05, 0.1}}, "voice": {{0.05, 0.1}, {}}}
	for _, s := range sources[1:] {
		for i, db := range []float64{-20, -10} {
			limit := bled[s.name][i]
			add(fmt.Sprintf("%s, another source %g dB under it", s.name, -db), s.play, limit[0], limit[1], func(c *condition) { c.bleedDB, c.snrDB = db, 40 })
		}
	}
	for _, s := range sources[1:3] {
		for _, db := range []float64{10, 5, 0} {
			add(fmt.Sprintf("%s, direct %g dB over the room", s.name, db), s.play, 0.25, 0.75, func(c *condition) { c.directDB, c.snrDB = db, 40 })
		}
	}
	for i, s := range sources {
		if i == 2 {
			continue
		}
		add(s.name+", second line low-passed at 4 kHz", s.play, 0.1, 0.2, func(c *condition) {
			c.skirtHz, c.snrDB = 4000, 40
			if s.name == "bass" { // all of it lies where the filter is nothing but a delay of √2/(2π·fc)
				c.later = math.Sqrt2 / (2 * math.Pi * 4000) * float64(c.rateHz)
			}
		})
	}
	return all
}

// builder makes the two lines of a condition.
type builder struct {
	c      condition
	frames int
	fft    *fourier.Real
	x      []float64
	s, h   []complex128
}

func newBuilder(c condition) *builder {
	b := &builder{c: c, frames: int(0.34 * float64(c.rateHz))}
	n := 64
	for n < b.frames+c.rateHz/10 {
		n *= 2
	}
	b.fft = fourier.NewReal(n)
	b.x, b.s, b.h = make([]float64, n), make([]complex128, n/2+1), make([]complex128, n/2+1)
	return b
}

// room is the spectrum of a direct sound of power 1 with a tail under it.
func (b *builder) room(r *rand.Rand) []complex128 {
	clear(b.x)
	if !math.IsInf(b.c.directDB, 1) {
		from, n, sum := int(0.003*float64(b.c.rateHz)), len(b.x)/2, 0.0
		for i := from; i < n; i++ {
			b.x[i] = r.NormFloat64() * math.Pow(10, -3*float64(i)/(0.4*float64(b.c.rateHz)))
			sum += b.x[i] * b.x[i]
		}
		g := math.Pow(10, -b.c.directDB/20) / math.Sqrt(sum)
		for i := range b.x {
			b.x[i] *= g
		}
	}
	b.x[0] = 1
	out := make([]complex128, len(b.h))
	b.fft.Forward(out, b.x)
	return out
}

// line is a source heard through a room, late by a delay.
func (b *builder) line(hit []float64, room []complex128, delay, skirtHz float64) []float64 {
	clear(b.x)
	if len(hit) == b.frames { // it begins 20 ms into the window
		copy(b.x[int(0.02*float64(b.c.rateHz)):], hit)
	} else {
		copy(b.x, hit)
	}
	b.fft.Forward(b.s, b.x)
	n := float64(len(b.x))
	for k := range b.s {
		sin, cos := math.Sincos(-2 * math.Pi * float64(k) * delay / n)
		b.s[k] *= complex(cos, sin) * room[k]
		if skirtHz > 0 {
			b.s[k] *= lowPass(skirtHz)(float64(k) * float64(b.c.rateHz) / n)
		}
	}
	b.s[len(b.s)-1] = 0
	b.fft.Inverse(b.x, b.s)
	return slices.Clone(b.x[:b.frames])
}

func power(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return sum / float64(len(x))
}

// errorsOf builds the pairs of a condition and returns by how many samples each
// delay is off, in order, how many have none, and how many are the wrong way up.
func errorsOf(c condition, seed uint64, count, hits int) (off []float64, none, wrong int) {
	b := newBuilder(c)
	fs := float64(c.rateHz)
	p := NewPair(c.rateHz, int(0.03*fs))
	for i := range count {
		r := rand.New(rand.NewPCG(seed, uint64(i)))
		if i > 0 {
			p = NewPair(c.rateHz, int(0.03*fs))
		}
		d, g := uniform(r, -0.005, 0.005)*fs, randomSign(r)*uniform(r, 0.2, 2)
		other := uniform(r, -0.005, 0.005) * fs
		roomA, roomB := b.room(r), b.room(r)
		bleedA, bleedB := b.room(r), b.room(r)
		for range hits {
			x := c.play(r, c.rateHz, b.frames)
			one, two := b.line(x, roomA, 0, 0), b.line(x, roomB, d, c.skirtHz)
			level := power(one)
			if !math.IsInf(c.bleedDB, -1) {
				y := sung(r, c.rateHz, b.frames)
				if i%2 == 1 {
					y = struck(r, c.rateHz, b.frames)
				}
				u, v := b.line(y, bleedA, 0, 0), b.line(y, bleedB, other, c.skirtHz)
				h := math.Sqrt(level/power(u)) * math.Pow(10, c.bleedDB/20)
				for k := range one {
					one[k] += h * u[k]
					two[k] += h * v[k]
				}
			}
			n := 0.0
			if !math.IsInf(c.snrDB, 1) {
				n = math.Sqrt(level) * math.Pow(10, -c.snrDB/20)
			}
			fa, fb := make([]float32, b.frames), make([]float32, b.frames)
			na, nb := signal.White(r.Uint64(), n, b.frames), signal.White(r.Uint64(), n, b.frames)
			for k := range fa {
				fa[k] = float32(one[k]) + na[k]
				fb[k] = float32(g * (two[k] + float64(nb[k])))
			}
			p.Add(fa, fb)
		}
		got := p.Reading()
		delay, ok := got.DelaySamples.Get()
		if !ok {
			none++
			continue
		}
		off = append(off, math.Abs(delay-d-c.later))
		if got.Polarity != Unclear && got.Polarity != polarityOf(g) {
			wrong++
		}
	}
	slices.Sort(off)
	return off, none, wrong
}

// quantile of sorted errors; those that have no value come last.
func quantile(off []float64, none int, q float64) float64 {
	n := len(off) + none
	if i := min(n-1, int(q*float64(n))); i < len(off) {
		return off[i]
	}
	return math.Inf(1)
}

func share(off []float64, over float64) float64 {
	n := 0
	for _, v := range off {
		if v > over {
			n++
		}
	}
	return float64(n) / float64(max(1, len(off)))
}

// The delay of pairs that are made up, so that it is known.
func TestAccuracyOfDelays(t *testing.T) {
	const hits = 4
	all, allWrong := 0, 0
	var table strings.Builder
	fmt.Fprintf(&table, "%-48s %7s %7s %7s %7s %6s %6s %6s %5s %5s\n", "condition, samples off", "median", "p90", "p95", "most", ">0.5", ">1", ">2", "none", "wrong")
	for i, c := range conditions() {
		off, none, wrong := errorsOf(c, uint64(i+1), *trials, hits)
		median, p90 := quantile(off, none, 0.5), quantile(off, none, 0.9)
		fmt.Fprintf(&table, "%-48s %7.3f %7.3f %7.3f %7.3f %5.0f%% %5.0f%% %5.0f%% %5d %5d\n", c.name, median, p90, quantile(off, none, 0.95), quantile(off, none, 1),
			100*share(off, 0.5), 100*share(off, 1), 100*share(off, 2), none, wrong)
		all, allWrong = all+*trials, allWrong+wrong
		if c.median == 0 {
			continue
		}
		const derived = "derived: known delay of the made-up pair; the tolerance is the program's goal"
		name := fmt.Sprintf("%s, %d pairs of %d hits, %g kHz", strings.TrimSuffix(c.name, fmt.Sprintf(", %g kHz", float64(c.rateHz)/1000)), *trials, hits, float64(c.rateHz)/1000)
		conform.Check(t, conform.Row{Section: "Delay and polarity", Case: name + ": median error of the delay", Source: derived, Unit: "samples", Over: c.median, Digits: 2, Measured: median})
		conform.Check(t, conform.Row{Section: "Delay and polarity", Case: name + ": error that nine in ten stay under", Source: derived, Unit: "samples", Over: c.p90, Digits: 2, Measured: p90})
	}
	conform.Check(t, conform.Row{Section: "Delay and polarity", Case: fmt.Sprintf("wrong polarities of %d pairs", all), Source: "derived: known polarity of the made-up pairs", Measured: float64(allWrong)})
	t.Logf("%d pairs of %d hits each\n%s", *trials, hits, table.String())
}
