package fourier

import (
	"fmt"
	"math"
	"math/bits"
)

// Real32 is Real in single precision: half the memory, so that transforms of
// some thousand samples stay in a processor's first cache. Against Real a bin is
// off by a few 1e-7 of the largest. It holds its twiddle factors and no signal, so
// goroutines may share it.
type Real32 struct {
	n      int
	swap   []uint32    // bit reversal of the half-size transform
	stages []stage32   // its passes of radix 4, smallest first
	odd    bool        // its size is an odd power of two: one pass of radix 2 comes first
	split  []complex64 // e^(−2πi·k/n), k ≤ n/4: untangles even and odd samples
}

// stage32 is a pass that joins four transforms of m points into one of 4m. Its
// turns lie in the order in which they are used: w[k] = e^(−2πi·k/4m), and its
// square and cube.
type stage32 struct {
	m int
	w [][3]complex64
}

// NewReal32 prepares transforms of n real samples; n is a power of two, at least
// 4, and NewReal32 panics on any other.
func NewReal32(n int) *Real32 {
	if n < 4 || n&(n-1) != 0 {
		panic(fmt.Sprintf("fourier: length %d is not a power of two of at least 4", n))
	}
	h := n / 2
	t := &Real32{n: n, swap: make([]uint32, h), split: make([]complex64, n/4+1), odd: bits.TrailingZeros(uint(h))%2 == 1}
	shift := 32 - bits.TrailingZeros(uint(h))
	for i := range t.swap {
		t.swap[i] = bits.Reverse32(uint32(i)) >> shift
	}
	m := 1
	if t.odd {
		m = 2
	}
	for ; 4*m <= h; m *= 4 {
		st := stage32{m: m, w: make([][3]complex64, m)}
		for k := range st.w {
			for j := range 3 {
				s, c := math.Sincos(-2 * math.Pi * float64((j+1)*k) / float64(4*m))
				st.w[k][j] = complex(float32(c), float32(s))
			}
		}
		t.stages = append(t.stages, st)
	}
	for k := range t.split {
		s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(n))
		t.split[k] = complex(float32(c), float32(s))
	}
	return t
}

// Len is the number of real samples of a transform.
func (t *Real32) Len() int { return t.n }

// Bins is the number of complex bins of a transform: n/2 + 1.
func (t *Real32) Bins() int { return t.n/2 + 1 }

// Forward writes the n/2+1 bins of the n samples of src to dst. Both belong to
// the caller; it panics on other lengths and allocates nothing.
func (t *Real32) Forward(dst []complex64, src []float32) {
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
		e, d := half32(a+bc), half32(a-bc)
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
func (t *Real32) Inverse(dst []float32, src []complex64) {
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
		e := half32(a + bc)
		w := t.split[k]
		o := half32(a-bc) * complex(real(w), -imag(w))
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
	s := 1 / float32(h)
	for i, v := range z {
		dst[2*i] = real(v) * s
		dst[2*i+1] = -imag(v) * s
	}
}

func half32(z complex64) complex64 { return complex(real(z)/2, imag(z)/2) }

// butterflies is the transform of z, whose samples are in bit-reversed order:
// passes of radix 4, each two passes of radix 2 with three turns instead of four.
// The first pass, of 4 or of 8 points, has no turns to look up.
func (t *Real32) butterflies(z []complex64) {
	stages, rest := t.stages, z
	switch {
	case !t.odd && len(stages) > 0:
		stages = stages[1:]
		for ; len(rest) >= 4; rest = rest[4:] {
			first4((*[4]complex64)(rest))
		}
	case t.odd && len(stages) > 0:
		stages = stages[1:]
		for ; len(rest) >= 8; rest = rest[8:] {
			first8((*[8]complex64)(rest))
		}
	case t.odd:
		a, b := z[0], z[1]
		z[0], z[1] = a+b, a-b
	}
	for _, st := range stages {
		m := st.m
		for at := 0; at < len(z); at += 4 * m {
			pass432(z[at:at+m], z[at+m:at+2*m], z[at+2*m:at+3*m], z[at+3*m:at+4*m], st.w)
		}
	}
}

// first4 is a transform of four points.
func first4(q *[4]complex64) {
	a, b, c, d := q[0], q[1], q[2], q[3]
	s, t, u, v := a+b, a-b, c+d, c-d
	q[0], q[2] = s+u, s-u
	q[1] = complex(real(t)+imag(v), imag(t)-real(v))
	q[3] = complex(real(t)-imag(v), imag(t)+real(v))
}

// first8 is a transform of eight points: of the even ones, which come first, and
// of the odd ones, whose bins 1 and 3 are turned by an eighth and by three.
func first8(q *[8]complex64) {
	const r = math.Sqrt2 / 2
	a, b, c, d := q[0]+q[1], q[0]-q[1], q[2]+q[3], q[2]-q[3]
	e0, e2 := a+c, a-c
	e1, e3 := complex(real(b)+imag(d), imag(b)-real(d)), complex(real(b)-imag(d), imag(b)+real(d))
	a, b, c, d = q[4]+q[5], q[4]-q[5], q[6]+q[7], q[6]-q[7]
	o0, o2 := a+c, a-c
	o1, o3 := complex(real(b)+imag(d), imag(b)-real(d)), complex(real(b)-imag(d), imag(b)+real(d))
	o1 = complex(r*(real(o1)+imag(o1)), r*(imag(o1)-real(o1)))
	o2 = complex(imag(o2), -real(o2))
	o3 = complex(r*(imag(o3)-real(o3)), -r*(imag(o3)+real(o3)))
	q[0], q[1], q[2], q[3] = e0+o0, e1+o1, e2+o2, e3+o3
	q[4], q[5], q[6], q[7] = e0-o0, e1-o1, e2-o2, e3-o3
}

// pass432 joins four transforms in place. In bit-reversed order the second holds
// the samples 2 mod 4 and the third those 1 mod 4.
func pass432(x0, x1, x2, x3 []complex64, w [][3]complex64) {
	x0, x1, x2, x3 = x0[:len(w)], x1[:len(w)], x2[:len(w)], x3[:len(w)]
	for k := range w {
		w1, w2, w3 := w[k][0], w[k][1], w[k][2]
		a, b, c, d := x0[k], x1[k], x2[k], x3[k]
		br, bi := real(b)*real(w2)-imag(b)*imag(w2), real(b)*imag(w2)+imag(b)*real(w2)
		cr, ci := real(c)*real(w1)-imag(c)*imag(w1), real(c)*imag(w1)+imag(c)*real(w1)
		dr, di := real(d)*real(w3)-imag(d)*imag(w3), real(d)*imag(w3)+imag(d)*real(w3)
		sr, si := real(a)+br, imag(a)+bi
		tr, ti := real(a)-br, imag(a)-bi
		ur, ui := cr+dr, ci+di
		vr, vi := cr-dr, ci-di
		x0[k] = complex(sr+ur, si+ui)
		x1[k] = complex(tr+vi, ti-vr)
		x2[k] = complex(sr-ur, si-ui)
		x3[k] = complex(tr-vi, ti+vr)
	}
}
