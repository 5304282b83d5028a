package sf2

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Bank is an opened file of instruments. It is safe for one goroutine at a time.
type Bank struct {
	from    io.ReaderAt
	smplAt  int64 // byte offset of the first 16-bit sample
	samples int64 // how many there are
	presets []preset
	insts   []layer
	heads   []sampleHead
	cache   map[int][]float32
	loops   map[[3]int][]float32 // samples with their loop closed
}

type preset struct {
	name          string
	program, bank int
	layer         layer
}

// layer is a preset's or an instrument's zones, the global one merged in.
type layer []zone

// zone holds generators by number; has tells which were given.
type zone struct {
	gen [61]int16
	has [61]bool
}

type sampleHead struct {
	name               string
	start, end         uint32
	loopStart, loopEnd uint32
	rate               uint32
	key                uint8
	correction         int8
	kind               uint16
}

// recordSizes are the lengths of the records of each chunk in bytes.
var recordSizes = map[string]int{
	"phdr": 38, "pbag": 4, "pgen": 4, "inst": 22, "ibag": 4, "igen": 4, "shdr": 46,
}

// Open reads a bank's tables; the samples stay where they are.
func Open(from io.ReaderAt, size int64) (*Bank, error) {
	var head [12]byte
	if _, err := from.ReadAt(head[:], 0); err != nil {
		return nil, fmt.Errorf("sf2: the first 12 bytes: %w", err)
	}
	if string(head[0:4]) != "RIFF" || string(head[8:12]) != "sfbk" {
		return nil, fmt.Errorf("sf2: begins with %q and %q, wanted RIFF and sfbk", head[0:4], head[8:12])
	}
	b := &Bank{from: from, cache: map[int][]float32{}, loops: map[[3]int][]float32{}}
	tables := map[string][]byte{}
	if err := b.walk(12, size, tables); err != nil {
		return nil, err
	}
	for name, record := range recordSizes {
		t := tables[name]
		if len(t) < record || len(t)%record != 0 {
			return nil, fmt.Errorf("sf2: chunk %s holds %d bytes, wanted records of %d", name, len(t), record)
		}
	}
	if b.smplAt == 0 {
		return nil, errors.New("sf2: no chunk smpl, the bank has no sound")
	}
	return b, b.build(tables)
}

// walk goes through the chunks from at to end and into lists.
func (b *Bank) walk(at, end int64, tables map[string][]byte) error {
	for at+8 <= end {
		var h [8]byte
		if _, err := b.from.ReadAt(h[:], at); err != nil {
			return fmt.Errorf("sf2: chunk header at byte %d: %w", at, err)
		}
		id, n := string(h[0:4]), int64(binary.LittleEndian.Uint32(h[4:8]))
		body := at + 8
		if n > end-body {
			return fmt.Errorf("sf2: chunk %q at byte %d declares %d bytes, %d are left", id, at, n, end-body)
		}
		switch {
		case id == "LIST" && n >= 4:
			if err := b.walk(body+4, body+n, tables); err != nil {
				return err
			}
		case id == "smpl":
			b.smplAt, b.samples = body, n/2
		case recordSizes[id] != 0:
			t := make([]byte, n)
			if _, err := b.from.ReadAt(t, body); err != nil {
				return fmt.Errorf("sf2: chunk %s at byte %d: %w", id, at, err)
			}
			tables[id] = t
		}
		at = body + n + n&1
	}
	return nil
}

// build turns the tables into layers. Each table ends with one record that only
// says where the last real one stops.
func (b *Bank) build(t map[string][]byte) error {
	le := binary.LittleEndian
	shdr := t["shdr"]
	for i := 0; i+92 <= len(shdr); i += 46 {
		r := shdr[i:]
		b.heads = append(b.heads, sampleHead{
			name: text(r[:20]), start: le.Uint32(r[20:]), end: le.Uint32(r[24:]),
			loopStart: le.Uint32(r[28:]), loopEnd: le.Uint32(r[32:]), rate: le.Uint32(r[36:]),
			key: r[40], correction: int8(r[41]), kind: le.Uint16(r[44:]),
		})
	}
	inst := t["inst"]
	for i := 0; i+44 <= len(inst); i += 22 {
		l, err := zones("inst", t["ibag"], t["igen"], le.Uint16(inst[i+20:]), le.Uint16(inst[i+42:]), genSample)
		if err != nil {
			return err
		}
		b.insts = append(b.insts, l)
	}
	phdr := t["phdr"]
	for i := 0; i+76 <= len(phdr); i += 38 {
		l, err := zones("phdr", t["pbag"], t["pgen"], le.Uint16(phdr[i+24:]), le.Uint16(phdr[i+62:]), genInstrument)
		if err != nil {
			return err
		}
		b.presets = append(b.presets, preset{
			name: text(phdr[i : i+20]), program: int(le.Uint16(phdr[i+20:])),
			bank: int(le.Uint16(phdr[i+22:])), layer: l,
		})
	}
	return nil
}

// zones reads bags from to before until and merges the global one into the rest.
func zones(what string, bags, gens []byte, from, until uint16, last int) (layer, error) {
	le := binary.LittleEndian
	var l layer
	var global zone
	for z := int(from); z < int(until); z++ {
		if (z+2)*4 > len(bags) {
			return nil, fmt.Errorf("sf2: %s names bag %d, there are %d", what, z, len(bags)/4)
		}
		g0, g1 := int(le.Uint16(bags[z*4:])), int(le.Uint16(bags[z*4+4:]))
		own := global
		if g1 < g0 || g1*4 > len(gens) {
			return nil, fmt.Errorf("sf2: bag %d of %s names generators %d to %d, there are %d", z, what, g0, g1, len(gens)/4)
		}
		for g := g0; g < g1; g++ {
			n := int(le.Uint16(gens[g*4:]))
			if n < len(own.gen) {
				own.gen[n], own.has[n] = int16(le.Uint16(gens[g*4+2:])), true
			}
		}
		switch {
		case own.has[last]:
			l = append(l, own)
		case z == int(from):
			global = own
		}
	}
	return l, nil
}

func text(b []byte) string {
	s, _, _ := strings.Cut(string(b), "\x00")
	return strings.TrimSpace(s)
}

// Has says whether the bank has the preset.
func (b *Bank) Has(bank, program int) bool {
	_, ok := b.find(bank, program)
	return ok
}

// Name is the preset's name, empty where there is none.
func (b *Bank) Name(bank, program int) string {
	p, _ := b.find(bank, program)
	return p.name
}

func (b *Bank) find(bank, program int) (preset, bool) {
	for _, p := range b.presets {
		if p.bank == bank && p.program == program {
			return p, true
		}
	}
	return preset{}, false
}

// sound returns a sample as floats, full scale ±1.
func (b *Bank) sound(i int) ([]float32, error) {
	if x, ok := b.cache[i]; ok {
		return x, nil
	}
	h := b.heads[i]
	if h.end < h.start || int64(h.end) > b.samples {
		return nil, fmt.Errorf("sf2: sample %q lies from %d to %d, the bank holds %d", h.name, h.start, h.end, b.samples)
	}
	raw := make([]byte, 2*int(h.end-h.start))
	if _, err := b.from.ReadAt(raw, b.smplAt+2*int64(h.start)); err != nil {
		return nil, fmt.Errorf("sf2: sample %q: %w", h.name, err)
	}
	x := make([]float32, len(raw)/2)
	for n := range x {
		x[n] = float32(int16(binary.LittleEndian.Uint16(raw[2*n:]))) / 32768
	}
	b.cache[i] = x
	return x, nil
}
