package fourier

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"
)

// Oracle: Real, in double precision.
func TestSinglePrecisionAgreesWithDouble(t *testing.T) {
	for n := 4; n <= 1<<15; n *= 2 {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			x := noise(n)
			x32 := make([]float32, n)
			for i, v := range x {
				x32[i] = float32(v)
				x[i] = float64(x32[i])
			}
			want, got := make([]complex128, n/2+1), make([]complex64, n/2+1)
			NewReal(n).Forward(want, x)
			f := NewReal32(n)
			f.Forward(got, x32)
			top := 0.0
			for _, v := range want {
				top = math.Max(top, cmplx.Abs(v))
			}
			for k := range want {
				if d := cmplx.Abs(complex128(got[k]) - want[k]); d > 2e-6*top {
					t.Fatalf("bin %d = %v, want %v", k, got[k], want[k])
				}
			}
			back := make([]float32, n)
			f.Inverse(back, got)
			for i, v := range x32 {
				if d := math.Abs(float64(back[i] - v)); d > 3e-6 {
					t.Fatalf("sample %d comes back as %g, want %g", i, back[i], v)
				}
			}
		})
	}
}

func TestSinglePrecisionAllocatesNothing(t *testing.T) {
	f := NewReal32(1024)
	x, X := make([]float32, 1024), make([]complex64, 513)
	x[3] = 1
	if a := testing.AllocsPerRun(10, func() { f.Forward(X, x); f.Inverse(x, X) }); a != 0 {
		t.Errorf("%g allocations, want none", a)
	}
}

func BenchmarkSinglePrecision(b *testing.B) {
	for _, n := range []int{4096, 8192, 16384} {
		x, X := make([]float32, n), make([]complex64, n/2+1)
		x64, X64 := noise(n), make([]complex128, n/2+1)
		for i, v := range x64 {
			x[i] = float32(v)
		}
		f, f64 := NewReal32(n), NewReal(n)
		b.Run(fmt.Sprintf("single/%d", n), func(b *testing.B) {
			for b.Loop() {
				f.Forward(X, x)
			}
		})
		b.Run(fmt.Sprintf("double/%d", n), func(b *testing.B) {
			for b.Loop() {
				f64.Forward(X64, x64)
			}
		})
	}
}
