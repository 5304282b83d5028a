package fourier

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

func noise(n int) []float64 {
	r := rand.New(rand.NewPCG(1, uint64(n)))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.Float64()*2 - 1
	}
	return x
}

// Oracle: gonum v0.17.0 dsp/fourier, which transforms any length.
func TestForwardAgreesWithGonum(t *testing.T) {
	for n := 4; n <= 1<<14; n *= 2 {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			x := noise(n)
			got := make([]complex128, n/2+1)
			NewReal(n).Forward(got, x)
			want := fourier.NewFFT(n).Coefficients(nil, x)
			for k := range want {
				if cmplx.Abs(got[k]-want[k]) > 1e-12*float64(n) {
					t.Fatalf("bin %d = %v, want %v", k, got[k], want[k])
				}
			}
		})
	}
}

func TestInverseUndoesForward(t *testing.T) {
	for n := 4; n <= 1<<14; n *= 2 {
		x := noise(n)
		X := make([]complex128, n/2+1)
		f := NewReal(n)
		f.Forward(X, x)
		back := make([]float64, n)
		f.Inverse(back, X)
		for i := range x {
			if math.Abs(back[i]-x[i]) > 1e-13*float64(n) {
				t.Fatalf("n %d: sample %d = %g, want %g", n, i, back[i], x[i])
			}
		}
	}
}

func TestForwardAllocatesNothing(t *testing.T) {
	f := NewReal(1024)
	x, X := noise(1024), make([]complex128, 513)
	if a := testing.AllocsPerRun(10, func() { f.Forward(X, x); f.Inverse(x, X) }); a != 0 {
		t.Errorf("%g allocations, want none", a)
	}
}

func BenchmarkForward(b *testing.B) {
	for _, n := range []int{4096, 65536} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			f := NewReal(n)
			x, X := noise(n), make([]complex128, n/2+1)
			b.ReportAllocs()
			for b.Loop() {
				f.Forward(X, x)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/sample")
		})
	}
}
