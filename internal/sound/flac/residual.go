package flac

import (
	"fmt"
	"math/bits"
)

// residual reads the coded residual of s[order:], §9.2.7: partitions of one
// length, of which the first leaves the warm-up samples out.
func (w *window) residual(s []int64, order int) error {
	method := w.bits(2)
	if method > 1 {
		return broken(fmt.Sprintf("has a residual of the reserved method %d", method))
	}
	parameterBits := uint(4 + method)
	escape := uint64(1)<<parameterBits - 1
	partitions := 1 << w.bits(4)
	length := len(s) / partitions
	if length*partitions != len(s) || length < order {
		return broken(fmt.Sprintf("divides %d samples into %d partitions", len(s), partitions))
	}
	for p := range partitions {
		from := p * length
		if p == 0 {
			from = order
		}
		part := s[from : (p+1)*length]
		k := w.bits(parameterBits)
		if k == escape { // §9.2.7.1: plain numbers
			n := uint(w.bits(5))
			for i := range part {
				part[i] = w.signed(n)
			}
		} else if !w.rice(part, uint(k)) {
			return broken("has a residual of more than 32 bits")
		}
		if w.short {
			return w.ranOut()
		}
	}
	return nil
}

// rice reads Rice codes of parameter k, §9.2.7.2: the part above k bits in
// unary, the rest plain; then even numbers stand for 0, 1, 2 … and odd ones for
// −1, −2 …. It says false to what 32 bits cannot hold.
func (w *window) rice(part []int64, k uint) bool {
	// The cache is kept in registers; codes that do not lie in it whole take
	// the slow way.
	cache, have := w.cache, w.have
	for i := range part {
		z := uint(bits.LeadingZeros64(cache))
		if z+1+k > have {
			w.cache, w.have = cache, have
			w.refill()
			cache, have = w.cache, w.have
			z = uint(bits.LeadingZeros64(cache))
		}
		var x uint64
		if z+1+k <= have {
			cache <<= z + 1
			x = uint64(z)<<k | cache>>(64-k)
			cache <<= k
			have -= z + 1 + k
		} else {
			high := w.unary()
			if high > 1<<32 {
				return false
			}
			x = high<<k | w.bits(k)
			cache, have = w.cache, w.have
			if w.short {
				return true // the caller sees it
			}
			if x > 1<<32-1 {
				return false
			}
		}
		part[i] = int64(x>>1) ^ -int64(x&1)
	}
	w.cache, w.have = cache, have
	return true
}
