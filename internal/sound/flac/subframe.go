package flac

import "fmt"

// decode reads the coded block at the window's place into samples, one slice a
// channel with room for the longest block. An error is of type broken, and
// nothing of the block is to be trusted then.
func (w *window) decode(info *streamInfo, samples [][]int64) (header, error) {
	h, err := w.readHeader(info)
	if err != nil {
		return h, err
	}
	for c := range samples {
		bits := info.bits
		if h.channels == sideRight && c == 0 || (h.channels == leftSide || h.channels == midSide) && c == 1 {
			bits++ // a difference takes one bit more, §9.2.3
		}
		if err := w.subframe(samples[c][:h.block], bits); err != nil {
			return h, err
		}
	}
	w.align()
	sum := crc16(w.buf[w.start : w.pos-int(w.have/8)])
	if got := uint16(w.bits(16)); w.short {
		return h, w.ranOut()
	} else if got != sum {
		return h, broken("has a wrong checksum") // §9.3
	}
	if h.channels >= leftSide {
		h.channels.pair(samples[0][:h.block], samples[1][:h.block])
	}
	return h, nil
}

// ranOut tells the end of the file from a coded block without end.
func (w *window) ranOut() error {
	if w.base+int64(len(w.buf)) < w.size {
		return broken(fmt.Sprintf("goes on for more than %d bytes", maxCoded))
	}
	return cut
}

// pair makes left and right of the coded pair, §4.2.
func (c channelBits) pair(a, b []int64) {
	b = b[:len(a)]
	switch c {
	case leftSide:
		for i := range a {
			b[i] = a[i] - b[i]
		}
	case sideRight:
		for i := range a {
			a[i] += b[i]
		}
	case midSide:
		for i := range a {
			// The sum lost its lowest bit, which is that of the difference.
			sum := a[i]<<1 | b[i]&1
			a[i], b[i] = (sum+b[i])>>1, (sum-b[i])>>1
		}
	}
}

// subframe reads one channel of bits bits a sample, §9.2.
func (w *window) subframe(s []int64, bits uint) error {
	if w.bits(1) != 0 {
		return broken("has the zero bit of a subframe set")
	}
	kind := int(w.bits(6))
	wasted := uint64(0)
	if w.bits(1) == 1 { // §9.2.2
		if wasted = w.unary() + 1; wasted >= uint64(bits) {
			return broken(fmt.Sprintf("declares %d wasted bits of %d", wasted, bits))
		}
		bits -= uint(wasted)
	}
	var err error
	switch { // §9.2.1
	case kind == 0: // constant, §9.2.3
		x := w.signed(bits)
		for i := range s {
			s[i] = x
		}
	case kind == 1: // verbatim, §9.2.4
		for i := range s {
			s[i] = w.signed(bits)
		}
	case kind >= 8 && kind <= 12:
		err = w.fixed(s, kind-8, bits)
	case kind >= 32:
		err = w.linear(s, kind-31, bits)
	default:
		err = broken(fmt.Sprintf("has a subframe of the reserved kind %d", kind))
	}
	if err != nil {
		return err
	}
	if w.short {
		return w.ranOut()
	}
	if wasted > 0 {
		for i := range s {
			s[i] <<= wasted
		}
	}
	return nil
}

// warmUp reads the samples that prediction starts from.
func (w *window) warmUp(s []int64, order int, bits uint) error {
	if order > len(s) {
		return broken(fmt.Sprintf("predicts from %d samples in a block of %d", order, len(s)))
	}
	for i := range s[:order] {
		s[i] = w.signed(bits)
	}
	return nil
}

// fixed undoes a fixed predictor, §9.2.5: differences of the given order.
func (w *window) fixed(s []int64, order int, bits uint) error {
	if err := w.warmUp(s, order, bits); err != nil {
		return err
	}
	if err := w.residual(s, order); err != nil {
		return err
	}
	switch order {
	case 1:
		for i := 1; i < len(s); i++ {
			s[i] += s[i-1]
		}
	case 2:
		for i := 2; i < len(s); i++ {
			s[i] += 2*s[i-1] - s[i-2]
		}
	case 3:
		for i := 3; i < len(s); i++ {
			s[i] += 3*(s[i-1]-s[i-2]) + s[i-3]
		}
	case 4:
		for i := 4; i < len(s); i++ {
			s[i] += 4*(s[i-1]+s[i-3]) - 6*s[i-2] - s[i-4]
		}
	}
	return nil
}

// linear undoes a linear predictor, §9.2.6.
func (w *window) linear(s []int64, order int, bits uint) error {
	if err := w.warmUp(s, order, bits); err != nil {
		return err
	}
	precision := uint(w.bits(4)) + 1
	shift := w.signed(5)
	if precision == 16 {
		return broken("has a predictor of the forbidden precision 16")
	}
	if shift < 0 {
		return broken(fmt.Sprintf("has a predictor with the forbidden shift %d", shift))
	}
	// The last coefficient first, as the samples lie.
	var all [32]int64
	coefficients := all[:order]
	for i := range coefficients {
		coefficients[order-1-i] = w.signed(precision)
	}
	if err := w.residual(s, order); err != nil {
		return err
	}
	for i := order; i < len(s); i++ {
		before := s[i-order : i]
		before = before[:len(coefficients)]
		sum, k := int64(0), 0
		for ; k+4 <= len(coefficients); k += 4 {
			c, b := coefficients[k:k+4:k+4], before[k:k+4:k+4]
			sum += c[0]*b[0] + c[1]*b[1] + c[2]*b[2] + c[3]*b[3]
		}
		for ; k < len(coefficients); k++ {
			sum += coefficients[k] * before[k]
		}
		s[i] += sum >> uint(shift)
	}
	return nil
}
