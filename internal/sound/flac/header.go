package flac

import "fmt"

// header is that of a coded block, RFC 9639 §9.1.
type header struct {
	block    int   // samples per channel
	first    int64 // number of the first sample, as the encoder counts
	channels channelBits
}

// channelBits says how channels are coded, §9.1.3.
type channelBits uint8

// Beyond independent channels (their number less one) stand the three ways to
// code a pair.
const (
	leftSide channelBits = 8 + iota
	sideRight
	midSide
)

// broken is why a coded block cannot be decoded; damage words the place.
type broken string

func (b broken) Error() string { return string(b) }

// cut is a coded block that the file ends in.
const cut = broken("breaks off at the end of the file")

const (
	// sync is the sync code and the zero bit behind it.
	sync = 0x7FFC
	// leastCoded is the least that a coded block takes: six bytes of header,
	// one subframe with a constant in it, two bytes of CRC.
	leastCoded = 10
)

// rates of §9.1.2, by their code; 0 is that of STREAMINFO.
var rates = [12]int{0, 88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000}

// depths of §9.1.4, by their code; −1 is reserved.
var depths = [8]int{0, 8, 12, -1, 16, 20, 24, 32}

// readHeader reads the header at the window's place and holds it against
// STREAMINFO: no recorder changes rate, channels or depth within a file.
func (w *window) readHeader(info *streamInfo) (h header, err error) {
	if w.bits(15) != sync {
		if w.short {
			return h, cut
		}
		return h, broken("does not begin with the sync code")
	}
	variable := w.bits(1) == 1
	sizeCode, rateCode := w.bits(4), w.bits(4)
	h.channels = channelBits(w.bits(4))
	depth := depths[w.bits(3)]
	if w.bits(1) != 0 {
		return h, broken("has the reserved bit of its header set")
	}
	number, ok := w.number()
	switch { // §9.1.1, §9.1.6
	case sizeCode == 0:
		return h, broken("declares the reserved block size 0")
	case sizeCode == 1:
		h.block = 192
	case sizeCode <= 5:
		h.block = 144 << sizeCode
	case sizeCode == 6:
		h.block = int(w.bits(8)) + 1
	case sizeCode == 7:
		h.block = int(w.bits(16)) + 1
	default:
		h.block = 1 << sizeCode
	}
	rate := 0
	switch rateCode { // §9.1.2, §9.1.7
	case 12:
		rate = int(w.bits(8)) * 1000
	case 13:
		rate = int(w.bits(16))
	case 14:
		rate = int(w.bits(16)) * 10
	case 15:
		return h, broken("declares the forbidden rate 15")
	default:
		rate = rates[rateCode]
	}
	if w.short {
		return h, cut
	}
	sum := crc8(w.buf[w.start : w.pos-int(w.have/8)])
	if got := byte(w.bits(8)); w.short {
		return h, cut
	} else if got != sum || !ok {
		return h, broken("has a wrong checksum in its header")
	}
	channels := int(h.channels) + 1
	if h.channels > midSide {
		return h, broken(fmt.Sprintf("declares the reserved channel code %d", h.channels))
	} else if h.channels >= leftSide {
		channels = 2
	}
	switch {
	case channels != info.channels:
		return h, broken(fmt.Sprintf("declares %d channels, the file %d", channels, info.channels))
	case depth != 0 && depth != int(info.bits):
		return h, broken(fmt.Sprintf("declares %d bits a sample, the file %d", depth, info.bits))
	case rateCode != 0 && rate != info.rateHz:
		return h, broken(fmt.Sprintf("declares %d Hz, the file %d", rate, info.rateHz))
	case h.block > info.maxBlock:
		return h, broken(fmt.Sprintf("declares a block of %d samples, the file at most %d", h.block, info.maxBlock))
	}
	h.first = int64(number)
	if !variable {
		h.first *= int64(info.maxBlock)
	}
	return h, nil
}

// number is the coded number of §9.1.5: of the block, or of its first sample
// where blocks vary, written as UTF-8 would be, in up to seven bytes.
func (w *window) number() (n uint64, ok bool) {
	b := w.bits(8)
	if b < 0x80 {
		return b, true
	}
	more := 0
	for b&(0x40>>more) != 0 {
		more++
	}
	if more == 0 || more > 6 {
		return 0, false
	}
	n = b & (0x3F >> more)
	for range more {
		if b = w.bits(8); b&0xC0 != 0x80 {
			return 0, false
		}
		n = n<<6 | b&0x3F
	}
	return n, true
}
