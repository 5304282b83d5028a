package between

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// scenes is how many of each kind are built: `go test -run Scenes -v -scenes 40`
// prints the distribution that the limits are taken from.
var scenes = flag.Int("scenes", 2, "scenes of each kind of pair to build")

// tally is the error distribution of one kind of scene.
type tally struct {
	errors                       []float64
	wrong, unclear, undefined, n int
	over2                        int
}

func runScenes(kind, count, hits int) tally {
	k := sceneKinds[kind]
	var t tally
	for i := range count {
		r := rand.New(rand.NewPCG(uint64(kind+1), uint64(i)))
		s := k.make(r)
		p := NewPair(sceneRate, k.maxLag)
		s.windows(r, hits, p.Add)
		got := p.Reading()
		t.n++
		d, ok := got.DelaySamples.Get()
		if !ok {
			t.undefined++
			continue
		}
		e := math.Abs(d - s.delay)
		t.errors = append(t.errors, e)
		if e > 2 {
			t.over2++
		}
		switch got.Polarity {
		case Unclear:
			t.unclear++
		case s.polarity:
		default:
			t.wrong++
		}
	}
	slices.Sort(t.errors)
	return t
}

func (t tally) percentile(q float64) float64 {
	if len(t.errors) == 0 {
		return math.NaN()
	}
	return t.errors[min(len(t.errors)-1, int(q*float64(len(t.errors))))]
}

func TestScenes(t *testing.T) {
	for i, k := range sceneKinds {
		t.Run(k.name, func(t *testing.T) {
			got := runScenes(i, *scenes, 6)
			t.Logf("n %d: samples off p50 %.2f p90 %.2f most %.2f, over 2: %d, wrong polarity %d, unclear %d, undefined %d",
				got.n, got.percentile(0.5), got.percentile(0.9), got.percentile(1), got.over2, got.wrong, got.unclear, got.undefined)
			if got.wrong > 0 {
				t.Errorf("%d wrong polarities of %d, want none", got.wrong, got.n)
			}
			if got.unclear+got.undefined > (got.n+9)/10 {
				t.Errorf("%d unclear and %d undefined of %d, want at most a tenth", got.unclear, got.undefined, got.n)
			}
			over := 0
			for _, e := range got.errors {
				if e > k.within {
					over++
				}
			}
			if over > (got.n+9)/10 {
				t.Errorf("%d of %d are more than %g samples off, want at most a tenth (most %.2f)", over, got.n, k.within, got.percentile(1))
			}
		})
	}
}

// Half of the hits say one thing, half the other: nobody can say which way up B hears it.
func TestHitsThatContradictEachOtherAreUnclear(t *testing.T) {
	p := NewPair(48000, 240)
	r := rand.New(rand.NewPCG(1, 1))
	for i := range 8 {
		x := noise32(r, 17000, 0.1)
		a, b := x[100:16900], make([]float32, 16800)
		for j := range b {
			b[j] = x[100+j-20]
			if i%2 == 1 {
				b[j] = -b[j]
			}
		}
		p.Add(a, b)
	}
	if got := p.Reading(); got.Polarity != Unclear {
		t.Errorf("polarity %q with confidence %.2f, want unclear", got.Polarity, got.PolarityConfidence)
	}
}

// The direct sound is preferred to a reflection: one that is 2 dB down, and one
// of the other sign.
func TestDirectSoundComesFirst(t *testing.T) {
	for _, g := range []float32{0.8, -0.8} {
		p := NewPair(48000, 240)
		r := rand.New(rand.NewPCG(1, 2))
		for range 8 {
			x := noise32(r, 17000, 0.1)
			a, b := x[100:16900], make([]float32, 16800)
			for i := range b {
				b[i] = x[100+i-20] + g*x[100+i-75]
			}
			p.Add(a, b)
		}
		got := p.Reading()
		near(t, "delay", defined(t, "delay", got.DelaySamples), 20, 0.5)
		if got.Polarity == Opposite {
			t.Errorf("reflection of %g: polarity %q, want same", g, got.Polarity)
		}
	}
}
