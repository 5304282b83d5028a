package kernel

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// fftPaths runs f on the portable path and, where there is one, on the other.
func fftPaths(t testing.TB, f func(path string)) {
	t.Helper()
	was := Portable(true)
	defer Portable(was)
	f(Path())
	if Portable(false); Path() != "portable" {
		f(Path())
	}
}

func fftNoise(seed uint64, n int, amplitude float64) []float32 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(amplitude * r.NormFloat64())
	}
	return x
}

func fftHann(n int) []float32 {
	w := make([]float32, n)
	for i := range w {
		w[i] = float32(0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)))
	}
	return w
}

var fftLengths = []int{64, 128, 256, 512, 1024, 2048, 4096, 8192, 16384, 32768}

// fftReference is |X[k]|², k = 0 … n/2, of windowed samples, by halves in float64.
func fftReference(x, window []float32) []float64 {
	z := make([]complex128, len(x))
	for i := range z {
		z[i] = complex(float64(x[i])*float64(window[i]), 0)
	}
	p := make([]float64, len(x)/2+1)
	for k, b := range fftHalves(z)[:len(p)] {
		p[k] = real(b)*real(b) + imag(b)*imag(b)
	}
	return p
}

func fftHalves(z []complex128) []complex128 {
	n := len(z)
	if n == 1 {
		return z
	}
	even, odd := make([]complex128, n/2), make([]complex128, n/2)
	for i := range even {
		even[i], odd[i] = z[2*i], z[2*i+1]
	}
	even, odd = fftHalves(even), fftHalves(odd)
	x := make([]complex128, n)
	for k := range even {
		s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(n))
		t := complex(c, s) * odd[k]
		x[k], x[k+n/2] = even[k]+t, even[k]-t
	}
	return x
}

func TestPowerPlanAgreesWithTheTransformInFloat64(t *testing.T) {
	for _, n := range fftLengths {
		p := NewPowerPlan(n)
		window := fftHann(n)
		tone := make([]float32, n)
		for i := range tone {
			tone[i] = float32(0.9 * math.Sin(2*math.Pi*float64(i)*(float64(n)/9.7)/float64(n)))
		}
		impulse := make([]float32, n)
		impulse[n/3] = 1
		for _, c := range []struct {
			name string
			a, b []float32
		}{
			{"noise", fftNoise(1, n, 0.1), fftNoise(2, n, 0.1)},
			{"a loud tone and soft noise", tone, fftNoise(3, n, 1e-4)},
			{"an impulse and silence", impulse, nil},
		} {
			wantA, wantB := fftReference(c.a, window), make([]float64, n/2+1)
			if c.b != nil {
				wantB = fftReference(c.b, window)
			}
			fftPaths(t, func(path string) {
				power, work := make([]float64, n), p.NewWork()
				if !p.Add(power, c.a, c.b, window, work) {
					t.Fatalf("%d samples, %s, %s: left out", n, c.name, path)
				}
				folded := make([]float64, n/2+1)
				p.Fold(folded, power)
				a, b := make([]float32, n/2+1), make([]float32, n/2+1)
				p.Powers(a, b, c.a, c.b, window, work)
				most := slices.Max(wantA) + slices.Max(wantB)
				for k := range folded {
					if d := math.Abs(folded[k]-wantA[k]-wantB[k]) / most; d > 1e-6 {
						t.Fatalf("%d samples, %s, %s: bin %d of the sum off by %.2g of the largest", n, c.name, path, k, d)
					}
					if d := max(math.Abs(float64(a[k])-wantA[k]), math.Abs(float64(b[k])-wantB[k])) / most; d > 1e-6 {
						t.Fatalf("%d samples, %s, %s: bin %d by itself off by %.2g of the largest", n, c.name, path, k, d)
					}
				}
			})
		}
	}
}

func TestPowerPlanPathsAgreeBitForBit(t *testing.T) {
	if Path() == "portable" {
		t.Skip("one path only")
	}
	for _, n := range fftLengths {
		p := NewPowerPlan(n)
		window := fftHann(n)
		for _, amplitude := range []float64{0.3, 1e-38, 1e-42, 1e8, 3e9} {
			a, b := fftNoise(uint64(n), n, amplitude), fftNoise(uint64(n)+1, n, amplitude/3)
			for _, b := range [][]float32{b, nil} {
				type result struct {
					power []float64
					a, b  []float32
				}
				var got []result
				fftPaths(t, func(string) {
					r := result{make([]float64, n), make([]float32, n/2), make([]float32, n/4)}
					work := p.NewWork()
					for range 3 {
						p.Add(r.power, a, b, window, work)
					}
					p.Powers(r.a, r.b, a, b, window, work)
					got = append(got, r)
				})
				for k := range got[0].power {
					if got[0].power[k] != got[1].power[k] {
						t.Fatalf("%d samples of %g: place %d is %v on the portable path, %v on the other", n, amplitude, k, got[0].power[k], got[1].power[k])
					}
				}
				if !slices.Equal(got[0].a, got[1].a) || !slices.Equal(got[0].b, got[1].b) {
					t.Fatalf("%d samples of %g: single powers differ between the paths", n, amplitude)
				}
			}
		}
	}
}

func TestPowerPlanLeavesOutWhatIsNoSound(t *testing.T) {
	inf := float32(math.Inf(1))
	for _, n := range []int{64, 128, 1024} {
		p := NewPowerPlan(n)
		window := fftHann(n)
		for _, bad := range []float32{float32(math.NaN()), inf, -inf, 1e14} {
			for i := 0; i < n; i += 1 + n/100 {
				for _, inB := range []bool{false, true} {
					a, b := fftNoise(4, n, 0.1), fftNoise(5, n, 0.1)
					if inB {
						b[i] = bad
					} else {
						a[i] = bad
					}
					fftPaths(t, func(path string) {
						power, single := make([]float64, n), make([]float32, 1)
						if p.Add(power, a, b, window, p.NewWork()) || slices.Max(power) > 0 || p.Powers(single, nil, a, b, window, p.NewWork()) || single[0] != 0 {
							if w := float64(window[i]) * float64(bad); math.Abs(w) > 1.1e12 || w != w {
								t.Fatalf("%d samples, %s: %g at %d was taken in", n, path, bad, i)
							}
						}
					})
				}
			}
		}
	}
}

func TestPowersStayFiniteWhateverTheSamples(t *testing.T) {
	// Two samples of one lane that cancel in its sum and nowhere else.
	const n = 512
	p := NewPowerPlan(n)
	window := make([]float32, n)
	for i := range window {
		window[i] = 1
	}
	a := make([]float32, n)
	a[3*8+1], a[4*8+1] = 3e38, -3e38
	fftPaths(t, func(path string) {
		power, work := make([]float64, n), p.NewWork()
		for range 2 {
			p.Add(power, a, a, window, work)
		}
		single := make([]float32, n/2)
		p.Powers(single, single, a, a, window, work)
		for k, v := range power {
			if !(v >= 0 && v <= 2*powerTop) || !(single[k/2] >= 0 && single[k/2] <= powerTop) {
				t.Fatalf("%s: place %d is %g", path, k, v)
			}
		}
	})
}

func TestBinsAndPlacesAreOneOrder(t *testing.T) {
	for _, n := range fftLengths {
		p := NewPowerPlan(n)
		for k := range n {
			if got := p.Bin(p.Place(k)); got != k {
				t.Fatalf("%d samples: place of bin %d holds bin %d", n, k, got)
			}
		}
	}
}

func TestPowerPlanAllocatesNothing(t *testing.T) {
	const n = 1024
	p := NewPowerPlan(n)
	a, window, power, work, single := fftNoise(1, n, 1), fftHann(n), make([]float64, n), p.NewWork(), make([]float32, n/2)
	fftPaths(t, func(path string) {
		if got := testing.AllocsPerRun(10, func() {
			p.Add(power, a, nil, window, work)
			p.Powers(single, nil, a, nil, window, work)
			p.Fold(power[:n/2], power)
		}); got != 0 {
			t.Errorf("%s: %g allocations, want none", path, got)
		}
	})
}

func BenchmarkPowerPlan(b *testing.B) {
	for _, n := range []int{512, 1024, 2048, 4096, 8192, 16384} {
		p := NewPowerPlan(n)
		x, y, window, power, work := fftNoise(1, n, 0.1), fftNoise(2, n, 0.1), fftHann(n), make([]float64, n), p.NewWork()
		fftPaths(b, func(path string) {
			b.Run(fmt.Sprintf("%d/%s", n, path), func(b *testing.B) {
				for b.Loop() {
					p.Add(power, x, y, window, work)
				}
				perFrame := float64(b.Elapsed().Nanoseconds()) / float64(2*b.N)
				b.ReportMetric(perFrame/1000, "µs/frame")
				b.ReportMetric(perFrame/float64(n), "ns/sample")
			})
		})
	}
}

func BenchmarkPowers(b *testing.B) {
	const n = 8192
	p := NewPowerPlan(n)
	x, y, window, work := fftNoise(1, n, 0.1), fftNoise(2, n, 0.1), fftHann(n), p.NewWork()
	da, db := make([]float32, 1800), make([]float32, 1800)
	fftPaths(b, func(path string) {
		b.Run(path, func(b *testing.B) {
			for b.Loop() {
				p.Powers(da, db, x, y, window, work)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(2*b.N)/1000, "µs/frame")
		})
	})
}
