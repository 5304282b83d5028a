package between

import "fmt"

// DecodeMidSide writes left = mid + side and right = mid − side. The exact
// inverse of EncodeMidSide; both keep mono, left + right, free of the side. It
// panics on slices of different lengths; dst may be src (left over mid, right
// over side). No scaling: full-scale mid and side together exceed full scale.
func DecodeMidSide(left, right, mid, side []float32) {
	n := sameLength("DecodeMidSide", left, right, mid, side)
	for i := range n {
		m, s := mid[i], side[i]
		left[i], right[i] = m+s, m-s
	}
}

// EncodeMidSide writes mid = (left + right)/2 and side = (left − right)/2: a
// source in the middle has no side, one of opposite polarity no mid. It panics
// on slices of different lengths; dst may be src.
func EncodeMidSide(mid, side, left, right []float32) {
	n := sameLength("EncodeMidSide", mid, side, left, right)
	for i := range n {
		l, r := left[i], right[i]
		mid[i], side[i] = (l+r)/2, (l-r)/2
	}
}

func sameLength(what string, first []float32, rest ...[]float32) int {
	for _, x := range rest {
		if len(x) != len(first) {
			panic(fmt.Sprintf("between: %s wants slices of one length, got %d and %d frames", what, len(first), len(x)))
		}
	}
	return len(first)
}
