package kernel

import "math"

// Sums adds up samples in float64: sum = Σx[i], square = Σx[i]², diff =
// Σ(x[i]−x[i−1])² with x[−1] = before. Each has four lanes, which meet as
// (0+1)+(2+3). Nothing gives zeros.
func Sums(x []float32, before float32) (sum, square, diff float64) {
	if vector() {
		return sumsAVX2(x, before)
	}
	return sums(x, before)
}

// sums leaves the lanes of the differences in memory: twelve lanes are too many for
// the registers of most processors.
func sums(x []float32, before float32) (sum, square, diff float64) {
	s0, s1, s2, s3 := 0., 0., 0., 0.
	q0, q1, q2, q3 := 0., 0., 0., 0.
	var d [4]float64
	last := float64(before)
	for ; len(x) >= 8; x = x[8:] { // in an order that needs few registers
		v := (*[8]float32)(x)
		a := float64(v[0])
		last = a - last
		d0 := d[0] + float64(last*last)
		s0 += a
		q0 += float64(a * a)
		b := float64(v[1])
		a = b - a
		d1 := d[1] + float64(a*a)
		s1 += b
		q1 += float64(b * b)
		a = float64(v[2])
		b = a - b
		d[2] += float64(b * b)
		s2 += a
		q2 += float64(a * a)
		b = float64(v[3])
		a = b - a
		d[3] += float64(a * a)
		s3 += b
		q3 += float64(b * b)
		a = float64(v[4])
		b = a - b
		d[0] = d0 + float64(b*b)
		s0 += a
		q0 += float64(a * a)
		b = float64(v[5])
		a = b - a
		d[1] = d1 + float64(a*a)
		s1 += b
		q1 += float64(b * b)
		a = float64(v[6])
		b = a - b
		d[2] += float64(b * b)
		s2 += a
		q2 += float64(a * a)
		last = float64(v[7])
		a = last - a
		d[3] += float64(a * a)
		s3 += last
		q3 += float64(last * last)
	}
	s, q := [4]float64{s0, s1, s2, s3}, [4]float64{q0, q1, q2, q3}
	for j, v := range x {
		j &= 3
		a := float64(v)
		s[j] += a
		q[j] += float64(a * a)
		last = a - last
		d[j] += float64(last * last)
		last = a
	}
	return (s[0] + s[1]) + (s[2] + s[3]), (q[0] + q[1]) + (q[2] + q[3]), (d[0] + d[1]) + (d[2] + d[3])
}

// Held says whether any sample is zero, of either sign, or has the bits of the one
// before it, x[−1] = prev: whether there may be a stretch that does not move.
func Held(x []float32, prev float32) bool {
	if vector() {
		return heldAVX2(x, prev)
	}
	return held(x, prev)
}

func held(x []float32, prev float32) bool {
	before := math.Float32bits(prev)
	u := bitsOf(x)
	for ; len(u) >= 8; u = u[8:] {
		v := (*[8]uint32)(u)
		a, b, c, d := v[0], v[1], v[2], v[3]
		if a == before || b == a || c == b || d == c || a<<1 == 0 || b<<1 == 0 || c<<1 == 0 || d<<1 == 0 {
			return true
		}
		a, b, c, before = v[4], v[5], v[6], v[7]
		if a == d || b == a || c == b || before == c || a<<1 == 0 || b<<1 == 0 || c<<1 == 0 || before<<1 == 0 {
			return true
		}
	}
	for _, a := range u {
		if a == before || a<<1 == 0 {
			return true
		}
		before = a
	}
	return false
}

// meet8 is the sum of eight lanes.
func meet8(p *[8]float32) float32 {
	return ((p[0] + p[1]) + (p[2] + p[3])) + ((p[4] + p[5]) + (p[6] + p[7]))
}

// steps24 is how many steps of 24-bit sound make 1.
const steps24 = 1 << 23

// BitsUsed looks at samples as numbers of steps of 24-bit sound, x·2²³. whole
// says whether all of them are whole numbers of −2²³ to 2²³−1, and set is then
// every bit that is set in any, two's complement; otherwise set is 0.
func BitsUsed(x []float32) (set uint32, whole bool) {
	if !vector() {
		return bitsUsed(x)
	}
	set, size, whole := bitsUsedAVX2(x)
	if !whole || size >= steps24 {
		return 0, false
	}
	return set, true
}

func bitsUsed(x []float32) (set uint32, whole bool) {
	var size int32
	for _, v := range x {
		scaled := v * steps24 // exact: a power of two
		n := int32(scaled)
		if float32(n) != scaled { // finer than a step, far past full scale, or NaN
			return 0, false
		}
		set |= uint32(n)
		size |= n ^ n>>31 // n, or −n−1 below 0
	}
	if size >= steps24 {
		return 0, false
	}
	return set, true
}
