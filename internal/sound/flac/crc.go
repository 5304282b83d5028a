package flac

// The two checksums of a coded block, RFC 9639 §9.1.8 and §9.3: most
// significant bit first, starting from 0.
//
//	CRC-8:  x⁸ + x² + x + 1          over the header
//	CRC-16: x¹⁶ + x¹⁵ + x² + 1       over header and subframes

var (
	table8 = func() (t [256]byte) {
		for i := range t {
			c := byte(i)
			for range 8 {
				c = c<<1 ^ c>>7*0x07
			}
			t[i] = c
		}
		return t
	}()
	// table16[k] is a byte's share in the sum when k more bytes follow it, so
	// that eight bytes are taken at a time.
	table16 = func() (t [8][256]uint16) {
		for i := range t[0] {
			c := uint16(i) << 8
			for range 8 {
				c = c<<1 ^ c>>15*0x8005
			}
			t[0][i] = c
		}
		for k := 1; k < len(t); k++ {
			for i := range t[k] {
				c := t[k-1][i]
				t[k][i] = c<<8 ^ t[0][c>>8]
			}
		}
		return t
	}()
)

func crc8(p []byte) byte {
	c := byte(0)
	for _, b := range p {
		c = table8[c^b]
	}
	return c
}

func crc16(p []byte) uint16 {
	c := uint16(0)
	t := &table16
	for ; len(p) >= 8; p = p[8:] {
		c = t[7][p[0]^byte(c>>8)] ^ t[6][p[1]^byte(c)] ^ t[5][p[2]] ^ t[4][p[3]] ^
			t[3][p[4]] ^ t[2][p[5]] ^ t[1][p[6]] ^ t[0][p[7]]
	}
	for _, b := range p {
		c = c<<8 ^ t[0][byte(c>>8)^b]
	}
	return c
}
