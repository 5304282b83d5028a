package flac

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// damaged is music in 25 blocks of 1000 samples, with the byte at which each
// block begins.
func damaged(t testing.TB) (p []byte, at []int64, want [][]float32) {
	t.Helper()
	want = music(2, 24500, 16)
	p = encode(t, integers(want, 16), 16, 48000, 1000)
	r := open(t, p)
	r.samples = make([][]int64, 2)
	for int64(len(at)) < 25 {
		at = append(at, r.w.at())
		if _, err := r.decodeBlock(r.w.at()); err != nil {
			t.Fatal(err)
		}
	}
	if r.w.at() != int64(len(p)) {
		t.Fatalf("blocks end at byte %d of %d", r.w.at(), len(p))
	}
	return p, at, want
}

// silenced is want with frames from up to to taken away.
func silenced(want [][]float32, from, to int) [][]float32 {
	out := make([][]float32, len(want))
	for c := range want {
		out[c] = append([]float32(nil), want[c]...)
		clear(out[c][from:to])
	}
	return out
}

func cutTo(want [][]float32, n int) [][]float32 {
	out := make([][]float32, len(want))
	for c := range want {
		out[c] = want[c][:n]
	}
	return out
}

func TestWhatIsWholeIsReadAroundDamage(t *testing.T) {
	whole, at, want := damaged(t)
	without := func(from, to int64) []byte {
		return append(append([]byte(nil), whole[:from]...), whole[to:]...)
	}
	flipped := func(bytes ...int64) []byte {
		p := append([]byte(nil), whole...)
		for _, b := range bytes {
			p[b] ^= 0x10
		}
		return p
	}
	streamInfo := func(from, to int, value byte) []byte {
		p := append([]byte(nil), whole...)
		for i := from; i < to; i++ {
			p[i] = value
		}
		return p
	}
	cases := []struct {
		name string
		file []byte
		want [][]float32
		kind string
		text string
	}{
		{"a bit flipped in the middle of a block", flipped(at[7] + 300), silenced(want, 7000, 8000), "damaged", "block 7 at byte"},
		{"a bit flipped in the header of a block", flipped(at[7] + 2), silenced(want, 7000, 8000), "damaged", "1000 frames from 7000 on are silence"},
		{"a bit flipped in the checksum of a block", flipped(at[8] - 1), silenced(want, 7000, 8000), "damaged", "has a wrong checksum"},
		{"two neighbouring blocks damaged", flipped(at[7]+300, at[8]+300), silenced(want, 7000, 9000), "damaged", "1000 frames from 7000 on are silence"},
		{"the first block damaged", flipped(at[0] + 300), silenced(want, 0, 1000), "damaged", "block 0 at byte"},
		{"the last block damaged", flipped(at[24] + 300), silenced(want, 24000, 24500), "damaged", "the last 500 frames are silence"},
		{"two blocks left out", without(at[7], at[9]), silenced(want, 7000, 9000), "damaged", "begins at sample 9000, expected 7000"},
		{"the file cut within a block", whole[:at[20]+77], cutTo(want, 20000), "truncated", "declares 24500 frames and holds 20000"},
		{"the file cut between blocks", whole[:at[20]], cutTo(want, 20000), "truncated", "declares 24500 frames and holds 20000"},
		{"the file cut behind its metadata", whole[:at[0]], cutTo(want, 0), "truncated", "declares 24500 frames and holds 0"},
		{"another MD5 sum left by the encoder", streamInfo(26, 42, 0x5A), want, "damaged", "the encoder left 5a5a5a"},
		{"no MD5 sum left by the encoder", streamInfo(26, 42, 0), want, "", ""},
		{"bytes behind the sound", append(append([]byte(nil), whole...), "TAG of some program"...), want, "odd", "19 bytes at byte"},
		{"an ID3 tag before the stream", append([]byte("ID3\x04\x00\x00\x00\x00\x01\x02"+strings.Repeat("x", 130)), whole...), want, "", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, c.file)
			soundtest.Same(t, soundtest.ReadAll(t, r, 333), c.want)
			d := r.Damage()
			if c.kind == "" {
				if len(d) != 0 {
					t.Fatalf("damage %v, want none", d)
				}
				return
			}
			places := 1
			if strings.HasPrefix(c.name, "two neighbouring") {
				places = 2 // each has a whole header, so each is told by itself
			}
			if len(d) != places || d[0].Kind != c.kind || !strings.Contains(d[0].Text, c.text) {
				t.Fatalf("damage %v, want one that is %q and says %q", d, c.kind, c.text)
			}
			// Reading again finds the same, and says it once.
			if err := r.SeekFrame(0); err != nil {
				t.Fatal(err)
			}
			soundtest.Same(t, soundtest.ReadAll(t, r, 4096), c.want)
			if again := r.Damage(); len(again) != places {
				t.Fatalf("damage after reading twice %v, want %v", again, d)
			}
		})
	}
}

func TestLengthUnknownToTheEncoder(t *testing.T) {
	whole, at, want := damaged(t)
	unknown := append([]byte(nil), whole...)
	unknown[21] &= 0xF0
	clear(unknown[22:26])
	r := open(t, unknown)
	if got := r.Header().Frames; got != -1 {
		t.Fatalf("header tells of %d frames, want -1", got)
	}
	soundtest.Same(t, soundtest.ReadAll(t, r, 333), want)
	if d := r.Damage(); len(d) != 0 {
		t.Fatalf("damage %v, want none", d)
	}
	r = open(t, unknown[:at[20]+77])
	soundtest.Same(t, soundtest.ReadAll(t, r, 333), cutTo(want, 20000))
	if d := r.Damage(); len(d) != 1 || d[0].Kind != "truncated" || d[0].HeldFrames != 20000 || d[0].DeclaredFrames != 0 {
		t.Fatalf("damage %v, want one that is truncated and holds 20000 frames", d)
	}
	soundtest.Suite(t, func() sound.Reader { return open(t, unknown) }, want)
}

func TestFilesThatAreRefused(t *testing.T) {
	whole, _, _ := damaged(t)
	change := func(f func(p []byte) []byte) []byte { return f(append([]byte(nil), whole...)) }
	cases := []struct {
		name, want string
		file       []byte
	}{
		{"empty", `the file begins with "", a FLAC file with "fLaC"`, nil},
		{"another magic", `the file begins with "fLaX"`, change(func(p []byte) []byte { p[3] = 'X'; return p })},
		{"cut in the head of STREAMINFO", "metadata block at byte 4 is cut off", whole[:6]},
		{"cut in STREAMINFO", "metadata block at byte 4 declares 34 bytes, the file holds 12", whole[:20]},
		{"first block not STREAMINFO", "metadata block at byte 4 is of kind 4, expected STREAMINFO (0)", change(func(p []byte) []byte { p[4] |= 4; return p })},
		{"forbidden block", "metadata block at byte 42 is of the forbidden kind 127", change(func(p []byte) []byte { p[4] &= 0x7F; p[42] = 0xFF; return p })},
		{"STREAMINFO too short", "metadata block at byte 4 holds 20 bytes, expected 34", change(func(p []byte) []byte { p[7] = 20; return p })},
		{"block longer than the file", "metadata block at byte 42 declares 16777215 bytes", change(func(p []byte) []byte {
			p[4] &= 0x7F
			copy(p[42:], "\x81\xff\xff\xff")
			return p
		})},
		{"rate of 1999 Hz", "declares a rate of 1999 Hz, expected 2000 or more", change(func(p []byte) []byte { p[18], p[19], p[20] = 0, 1999>>4, 1999<<4&0xF0|p[20]&0x0F; return p })},
		{"rate of 0 Hz", "declares a rate of 0 Hz", change(func(p []byte) []byte { p[18], p[19], p[20] = 0, 0, p[20]&0x0F; return p })},
		{"two bits a sample", "declares 2 bits a sample, expected 4 to 32", change(func(p []byte) []byte { p[20] &^= 1; p[21] = 0x10 | p[21]&0x0F; return p })},
		{"blocks of no samples", "declares blocks of 0 samples", change(func(p []byte) []byte { clear(p[8:12]); return p })},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r, err := Open(bytes.NewReader(c.file), int64(len(c.file)))
			var typed *sound.FormatError
			if r != nil || !errors.As(err, &typed) {
				t.Fatalf("gave %v and %v, want a *sound.FormatError", r, err)
			}
			if !strings.Contains(err.Error(), c.want) {
				t.Fatalf("%q, want %q in it", err, c.want)
			}
		})
	}
}

// broken disks are no broken files.
type failing struct {
	p  []byte
	at int64
}

var errDisk = errors.New("input/output error")

func (f failing) ReadAt(p []byte, off int64) (int, error) {
	if off+int64(len(p)) > f.at {
		n := 0
		if off < f.at {
			n = copy(p, f.p[off:f.at])
		}
		return n, errDisk
	}
	return copy(p, f.p[off:]), nil
}

func TestDiskThatFailsWhileReading(t *testing.T) {
	want := soundtest.Noise(2, 200003, 24)
	p := encode(t, integers(want, 24), 24, 96000, 4096)
	r, err := Open(failing{p, 500000}, int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	b := sound.NewBlock(2, 4096)
	for err == nil {
		err = r.Read(b)
	}
	if !errors.Is(err, errDisk) || !strings.Contains(err.Error(), "could not be read") {
		t.Fatalf("%v, want the disk's own error", err)
	}
	if err := r.Read(b); !errors.Is(err, errDisk) {
		t.Fatalf("%v, want the error again", err)
	}
}

// A seek lands where it should behind damage and within it, also where the file
// is long enough to be halved.
func TestSeekingInADamagedFile(t *testing.T) {
	want := soundtest.Noise(2, 200003, 24)
	p := encode(t, integers(want, 24), 24, 96000, 1000)
	for at := len(p) / 4; at < len(p); at += len(p) / 4 {
		for i := range 20000 { // several blocks each
			p[at+i] = byte(i)
		}
	}
	all := soundtest.ReadAll(t, open(t, p), 4096)
	if len(all[0]) != 200003 {
		t.Fatalf("%d frames, want 200003: silence in place of what is lost", len(all[0]))
	}
	whole, silent := 0, 0
	for i := range all[0] {
		switch all[0][i] {
		case want[0][i]:
			whole++
		case 0:
			silent++
		default:
			t.Fatalf("frame %d is %v, want %v or silence", i, all[0][i], want[0][i])
		}
	}
	if silent < 9000 || silent > 20000 {
		t.Fatalf("%d frames are silent, want three times 4 to 6 blocks of 1000", silent)
	}
	r := open(t, p)
	b := sound.NewBlock(2, 3000)
	for frame := int64(0); frame < 200003; frame += 1777 {
		if err := r.SeekFrame(frame); err != nil {
			t.Fatal(err)
		}
		if err := r.Read(b); err != nil {
			t.Fatal(err)
		}
		if b.Start != frame {
			t.Fatalf("block starts at frame %d, want %d", b.Start, frame)
		}
		for i, x := range b.Channels[0] {
			if x != all[0][frame+int64(i)] {
				t.Fatalf("frame %d after a seek is %v, want %v", frame+int64(i), x, all[0][frame+int64(i)])
			}
		}
	}
}
