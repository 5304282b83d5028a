package sf2

import (
	"bytes"
	"encoding/binary"
	"math"
	"strings"
	"testing"
)

// tiny builds a bank of one preset with two velocity zones on one instrument
// each, both on a looped sine of 100 frames a period at 44.1 kHz, root key 69.
func tiny(t testing.TB) []byte {
	t.Helper()
	le := binary.LittleEndian
	chunk := func(id string, body []byte) []byte {
		out := le.AppendUint32([]byte(id), uint32(len(body)))
		out = append(out, body...)
		if len(body)&1 == 1 {
			out = append(out, 0)
		}
		return out
	}
	list := func(kind string, chunks ...[]byte) []byte {
		return chunk("LIST", append([]byte(kind), bytes.Join(chunks, nil)...))
	}
	var smpl []byte
	for i := range 1000 {
		smpl = le.AppendUint16(smpl, uint16(int16(16384*math.Sin(2*math.Pi*float64(i)/100))))
	}
	name := func(s string) []byte { return append([]byte(s), make([]byte, 20-len(s))...) }
	gen := func(number int, amount int) []byte {
		return le.AppendUint16(le.AppendUint16(nil, uint16(number)), uint16(int16(amount)))
	}
	bag := func(g int) []byte { return le.AppendUint16(le.AppendUint16(nil, uint16(g)), 0) }
	span := func(lo, hi int) int { return hi<<8 | lo }

	phdr := func(s string, program, bags int) []byte {
		b := le.AppendUint16(le.AppendUint16(le.AppendUint16(name(s), uint16(program)), 0), uint16(bags))
		return append(b, make([]byte, 12)...)
	}
	inst := func(s string, bags int) []byte { return le.AppendUint16(name(s), uint16(bags)) }
	shdr := func(s string, start, end, l0, l1 uint32) []byte {
		b := name(s)
		for _, v := range []uint32{start, end, l0, l1, 44100} {
			b = le.AppendUint32(b, v)
		}
		b = append(b, 69, 0)
		return append(b, 0, 0, 1, 0)
	}
	pdta := list("pdta",
		chunk("phdr", append(phdr("Soft and loud", 5, 0), phdr("EOP", 0, 2)...)),
		chunk("pbag", bytes.Join([][]byte{bag(0), bag(2), bag(4)}, nil)),
		chunk("pmod", make([]byte, 10)),
		chunk("pgen", bytes.Join([][]byte{
			gen(genVelocities, span(0, 63)), gen(genInstrument, 0),
			gen(genVelocities, span(64, 127)), gen(genInstrument, 1), gen(0, 0)}, nil)),
		chunk("inst", bytes.Join([][]byte{inst("once", 0), inst("looped", 1), inst("EOI", 3)}, nil)),
		chunk("ibag", bytes.Join([][]byte{bag(0), bag(1), bag(3), bag(4)}, nil)),
		chunk("imod", make([]byte, 10)),
		chunk("igen", bytes.Join([][]byte{
			gen(genSample, 0),
			gen(genModes, 1), gen(genRelease, -12000), // the looped one's global zone
			gen(genSample, 0), gen(0, 0)}, nil)),
		chunk("shdr", append(shdr("sine", 0, 1000, 200, 700), shdr("EOS", 0, 0, 0, 0)...)),
	)
	body := append([]byte("sfbk"), list("INFO", chunk("ifil", []byte{2, 0, 4, 0}))...)
	body = append(body, list("sdta", chunk("smpl", smpl))...)
	return chunk("RIFF", append(body, pdta...))
}

func open(t testing.TB, b []byte) *Bank {
	t.Helper()
	bank, err := Open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	return bank
}

// crossings counts upward zero crossings.
func crossings(x []float32) int {
	n := 0
	for i := 1; i < len(x); i++ {
		if x[i-1] < 0 && x[i] >= 0 {
			n++
		}
	}
	return n
}

func TestANoteIsPlayed(t *testing.T) {
	b := open(t, tiny(t))
	if !b.Has(0, 5) || b.Has(0, 6) || b.Name(0, 5) != "Soft and loud" {
		t.Fatalf("presets: %v %v %q", b.Has(0, 5), b.Has(0, 6), b.Name(0, 5))
	}
	for _, c := range []struct {
		name          string
		key, velocity int
		held          float64
		rate          int
		hz            float64
		seconds       float64
		within        float64
	}{
		{"a soft note plays its sample once", 69, 40, 1, 44100, 441, 1000.0 / 44100, 0.001},
		{"a loud note loops for as long as it is held", 69, 127, 0.5, 44100, 441, 0.5, 0.06},
		{"an octave up doubles the frequency", 81, 127, 0.5, 44100, 882, 0.5, 0.06},
		{"another rate keeps the pitch", 69, 127, 0.5, 48000, 441, 0.5, 0.06},
		{"a fifth is seven semitones", 76, 127, 0.5, 48000, 441 * math.Exp2(7.0/12), 0.5, 0.06},
	} {
		t.Run(c.name, func(t *testing.T) {
			x, err := b.Note(0, 5, c.key, c.velocity, c.held, c.rate)
			if err != nil {
				t.Fatal(err)
			}
			got := float64(len(x)) / float64(c.rate)
			if math.Abs(got-c.seconds) > c.within {
				t.Errorf("length: got %.4f s, want %.4f", got, c.seconds)
			}
			n := float64(crossings(x))
			if want := c.hz * got; math.Abs(n-want) > 0.02*want+2 {
				t.Errorf("periods: got %.0f, want %.1f", n, want)
			}
		})
	}
}

func TestSoftNotesAreSofter(t *testing.T) {
	b := open(t, tiny(t))
	peak := func(velocity int) float64 {
		x, err := b.Note(0, 5, 69, velocity, 0.2, 44100)
		if err != nil {
			t.Fatal(err)
		}
		var p float32
		for _, v := range x {
			p = max(p, v, -v)
		}
		return float64(p)
	}
	if got, want := peak(127), 0.5; math.Abs(got-want) > 0.02 {
		t.Errorf("full stroke: got peak %.3f, want %.3f", got, want)
	}
	// 40·log10(127/64) is 11.9 dB, and a little more for the darker tone.
	if got := 20 * math.Log10(peak(64)/peak(127)); got > -11.9 || got < -13.5 {
		t.Errorf("half stroke: got %.1f dB, want about -12", got)
	}
}

func TestDefectsAreTold(t *testing.T) {
	good := tiny(t)
	for _, c := range []struct {
		name, want string
		spoil      func([]byte) []byte
	}{
		{"not a bank", "wanted RIFF and sfbk", func(b []byte) []byte { b[8] = 'W'; return b }},
		{"cut in the tables", "are left", func(b []byte) []byte { return b[:len(b)-100] }},
		{"too short", "first 12 bytes", func(b []byte) []byte { return b[:7] }},
		{"a table of broken records", "records of 46", func(b []byte) []byte {
			at := bytes.LastIndex(b, []byte("shdr"))
			binary.LittleEndian.PutUint32(b[at+4:], 40)
			return b[:at+8+40]
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := c.spoil(bytes.Clone(good))
			_, err := Open(bytes.NewReader(b), int64(len(b)))
			if err == nil || !strings.Contains(err.Error(), c.want) && !strings.Contains(err.Error(), "declares") {
				t.Errorf("got %v, want something with %q", err, c.want)
			}
		})
	}
	if _, err := open(t, good).Note(0, 9, 60, 64, 1, 48000); err == nil {
		t.Error("an unknown preset was played")
	}
}

func FuzzOpen(f *testing.F) {
	f.Add(tiny(f))
	f.Fuzz(func(t *testing.T, b []byte) {
		bank, err := Open(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			return
		}
		for _, p := range bank.presets {
			_, _ = bank.Note(p.bank, p.program, 60, 100, 0.01, 8000)
		}
	})
}

func TestLoopsCloseWithoutAStep(t *testing.T) {
	b := &Bank{loops: map[[3]int][]float32{}}
	x := make([]float32, 1000)
	for i := range x {
		x[i] = float32(i) / 1000 // a ramp: the worst of seams
	}
	y := b.seamless(0, x, 300, 800)
	if d := y[799] - y[300]; d > 0.012 || d < -0.012 {
		t.Errorf("the seam steps by %g", d)
	}
	for i := 704; i < 800; i++ {
		if d := y[i] - y[i-1]; d > 0.012 || d < -0.012 {
			t.Fatalf("frame %d steps by %g", i, d)
		}
	}
}
