package kernel

import "math"

// Bend measures how sharply sound bends: the second difference over d samples,
//
//	u[i] = |(x[i+2d] − 2·x[i+d]) + x[i]|
//
// For each cell of so many differences mean[k] is Σu/cell over i = k·cell …
// k·cell+cell−1, the sum in eight float32 lanes that meet as
// ((0+1)+(2+3))+((4+5)+(6+7)), and most[k] is the largest u (a NaN counts as
// larger than all). x holds len(mean)·cell + 2d samples. Bend panics when it holds
// fewer, on most of another length, on d below 1 and on a cell that is not a
// multiple of eight.
func Bend(x []float32, d, cell int, mean, most []float32) {
	if d < 1 || cell < 8 || cell%8 != 0 || len(most) != len(mean) {
		panic("kernel: Bend wants a distance of 1 or more, cells of whole eights and as many maxima as means")
	}
	x = x[: len(mean)*cell+2*d : len(x)]
	if vector() {
		bendAVX2(x, d, cell, mean, most)
		return
	}
	bend(x, d, cell, mean, most)
}

// two is not a constant, which the compiler would turn into a sum: of sums there are
// more already than of products, and processors make so many of each at a time.
var two = float32(2)

func bend(x []float32, d, cell int, mean, most []float32) {
	two := two
	for k := range mean {
		at := k * cell
		c := x[at : at+cell]
		b := x[at+d : at+d+cell]
		a := x[at+2*d : at+2*d+cell]
		b, c = b[:len(a)], c[:len(a)]
		var s [8]float32
		var top, also uint32
		for l := 0; l < 8; l += 4 { // four lanes after the other four: all are too many for the registers
			s0, s1, s2, s3 := float32(0), float32(0), float32(0), float32(0)
			for i := l; i < len(a)-3; i += 8 {
				u := magnitude(a[i] - float32(two*b[i]) + c[i])
				s0 += math.Float32frombits(u)
				top = max(top, u)
				u = magnitude(a[i+1] - float32(two*b[i+1]) + c[i+1])
				s1 += math.Float32frombits(u)
				also = max(also, u)
				u = magnitude(a[i+2] - float32(two*b[i+2]) + c[i+2])
				s2 += math.Float32frombits(u)
				top = max(top, u)
				u = magnitude(a[i+3] - float32(two*b[i+3]) + c[i+3])
				s3 += math.Float32frombits(u)
				also = max(also, u)
			}
			s[l], s[l+1], s[l+2], s[l+3] = s0, s1, s2, s3
		}
		mean[k] = meet8(&s) / float32(cell)
		most[k] = math.Float32frombits(max(top, also))
	}
}

// Tilted is the energy of sound whose high frequencies are lifted, hop by hop:
//
//	dst[k] = Σ (x[i+1] − tilt·x[i])²   over i = k·hop … k·hop+hop−1
//
// in eight float32 lanes that meet as ((0+1)+(2+3))+((4+5)+(6+7)). x begins with the
// sample before the first hop and holds len(dst)·hop + 1. Tilted panics when it
// holds fewer, and on a hop below 1.
func Tilted(dst, x []float32, hop int, tilt float32) {
	if hop < 1 {
		panic("kernel: Tilted wants hops of a sample or more")
	}
	x = x[: len(dst)*hop+1 : len(x)]
	if vector() {
		tiltedAVX2(dst, x, hop, tilt)
		return
	}
	tilted(dst, x, hop, tilt)
}

func tilted(dst, x []float32, hop int, tilt float32) {
	for k := range dst {
		h := x[k*hop : k*hop+hop+1]
		var s [8]float32
		whole := hop &^ 7
		for l := 0; l < 8; l += 4 { // four lanes after the other four, as in bend
			var s0, s1, s2, s3 float32
			for i := l; i < whole && i < len(h)-4; i += 8 {
				v0, v1, v2, v3, v4 := h[i], h[i+1], h[i+2], h[i+3], h[i+4]
				u0, u1 := v1-float32(tilt*v0), v2-float32(tilt*v1)
				u2, u3 := v3-float32(tilt*v2), v4-float32(tilt*v3)
				s0 += float32(u0 * u0)
				s1 += float32(u1 * u1)
				s2 += float32(u2 * u2)
				s3 += float32(u3 * u3)
			}
			s[l], s[l+1], s[l+2], s[l+3] = s0, s1, s2, s3
		}
		h = h[whole:]
		for j := 0; j+1 < len(h); j++ {
			u := h[j+1] - float32(tilt*h[j])
			s[j&7] += float32(u * u)
		}
		dst[k] = meet8(&s)
	}
}
