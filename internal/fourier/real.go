// Package fourier is the fast Fourier transform of real signals whose length is
// a power of two. It does half the work of a complex transform by packing even
// samples as real and odd samples as imaginary parts.
//
//	X[k] = Σ x[n]·e^(−2πi·k·n/N),  k = 0 … N/2     (no scaling forward)
//	x[n] = (1/N)·Σ X[k]·e^(+2πi·k·n/N)             (Inverse scales by 1/N)
package fourier

import (
	"fmt"
	"math"
	"math/bits"
)

// Real transforms real signals of one length. It holds its twiddle factors and
// no signal, so goroutines may share it.
type Real struct {
	n       int
	swap    []uint32     // bit reversal of the half-size transform
	twiddle []complex128 // e^(−2πi·k/(n/2)), k < n/4: of the half-size transform
	split   []complex128 // e^(−2πi·k/n), k ≤ n/4: untangles even and odd samples
}

// NewReal prepares transforms of n real samples; n is a power of two, at least
// 4, and NewReal panics on any other.
func NewReal(n int) *Real {
	if n < 4 || n&(n-1) != 0 {
		panic(fmt.Sprintf("fourier: length %d is not a power of two of at least 4", n))
	}
	h := n / 2
	t := &Real{n: n, swap: make([]uint32, h), twiddle: make([]complex128, h/2), split: make([]complex128, n/4+1)}
	shift := 32 - bits.TrailingZeros(uint(h))
	for i := range t.swap {
		t.swap[i] = bits.Reverse32(uint32(i)) >> shift
	}
	for k := range t.twiddle {
		s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(h))
		t.twiddle[k] = complex(c, s)
	}
	for k := range t.split {
		s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(n))
		t.split[k] = complex(c, s)
	}
	return t
}

// Len is the number of real samples of a transform.
func (t *Real) Len() int { return t.n }

// Bins is the number of complex bins of a transform: n/2 + 1.
func (t *Real) Bins() int { return t.n/2 + 1 }

// Forward writes the n/2+1 bins of the n samples of src to dst. Both belong to
// the caller; it panics on other lengths and allocates nothing.
func (t *Real) Forward(dst []complex128, src []float64) {
	if len(src) != t.n || len(dst) != t.n/2+1 {
		panic("fourier: Forward wants n samples and n/2+1 bins")
	}
	h := t.n / 2
	z := dst[:h]
	for i, r := range t.swap {
		z[r] = complex(src[2*i], src[2*i+1])
	}
	t.butterflies(z)
	// Untangle: with Z the transform of even + i·odd samples, E = (Z[k] + Z*[h−k])/2
	// and O = (Z[k] − Z*[h−k])/2i, X[k] = E + w·O and X[h−k] = (E − w·O)*.
	z0 := z[0]
	dst[h] = complex(real(z0)-imag(z0), 0)
	dst[0] = complex(real(z0)+imag(z0), 0)
	for k := 1; k <= h/2; k++ {
		a, b := dst[k], dst[h-k]
		bc := complex(real(b), -imag(b))
		e := (a + bc) / 2
		d := (a - bc) / 2
		o := complex(imag(d), -real(d)) // d / i
		wo := t.split[k] * o
		dst[k] = e + wo
		x := e - wo
		dst[h-k] = complex(real(x), -imag(x))
	}
}

// Inverse writes the n samples whose bins are src to dst, scaled by 1/n; it
// uses src as its work space. Both belong to the caller; it panics on other
// lengths and allocates nothing.
func (t *Real) Inverse(dst []float64, src []complex128) {
	if len(dst) != t.n || len(src) != t.n/2+1 {
		panic("fourier: Inverse wants n/2+1 bins and n samples")
	}
	h := t.n / 2
	x0, xh := real(src[0]), real(src[h])
	// Tangle: Z[k] = E + i·O, conjugated so that the forward butterflies invert.
	z := src[:h]
	for k := 1; k <= h/2; k++ {
		a, b := src[k], src[h-k]
		bc := complex(real(b), -imag(b))
		e := (a + bc) / 2
		w := t.split[k]
		o := (a - bc) / 2 * complex(real(w), -imag(w))
		io := complex(-imag(o), real(o))
		p, q := e+io, e-io
		z[k] = complex(real(p), -imag(p))
		z[h-k] = q // already the conjugate of Z[h−k]
	}
	e, o := (x0+xh)/2, (x0-xh)/2
	z[0] = complex(e, -o)
	for i, r := range t.swap {
		if j := int(r); i < j {
			z[i], z[j] = z[j], z[i]
		}
	}
	t.butterflies(z)
	s := 1 / float64(h)
	for i, v := range z {
		dst[2*i] = real(v) * s
		dst[2*i+1] = -imag(v) * s
	}
}

// butterflies is the radix-2 transform of z, whose samples are in bit-reversed order.
func (t *Real) butterflies(z []complex128) {
	n := len(z)
	for i := 0; i+1 < n; i += 2 {
		a, b := z[i], z[i+1]
		z[i], z[i+1] = a+b, a-b
	}
	for size := 4; size <= n; size *= 2 {
		half, step := size/2, n/size
		for start := 0; start < n; start += size {
			lo, hi := z[start:start+half:start+half], z[start+half:start+size:start+size]
			for k, tw := 0, 0; k < half; k, tw = k+1, tw+step {
				w := t.twiddle[tw]
				b := hi[k]
				wb := complex(real(w)*real(b)-imag(w)*imag(b), real(w)*imag(b)+imag(w)*real(b))
				a := lo[k]
				lo[k], hi[k] = a+wb, a-wb
			}
		}
	}
}
