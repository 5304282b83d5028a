package flac

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// FuzzFLAC: no panic, errors of one type, memory bounded by the longest block
// and by what the file holds, and no more frames than the file can justify:
// coded blocks of leastCoded bytes each, or what STREAMINFO declares.
func FuzzFLAC(f *testing.F) {
	whole, at, _ := damaged(f)
	f.Add(whole[:at[2]+100])
	f.Add(whole[:at[0]])
	f.Add(unhex(f, rfcExample1))
	f.Add(encode(f, [][]int32{{0, 0, 0, 0, 1, 1, 1, 1}, {5, 5, 5, 5, 5, 5, 5, 5}, {7, -7, 7, -7, 7, -7, 7, -7}}, 24, 176400, 16))
	f.Fuzz(func(t *testing.T, p []byte) {
		r, err := Open(bytes.NewReader(p), int64(len(p)))
		if err != nil {
			soundtest.Refusal(t, err, r == nil)
			return
		}
		info := r.info
		most := int64(len(p)/leastCoded+1) * int64(info.maxBlock)
		if info.samples > 0 {
			// Silence in place of blocks that left no bytes is bounded by
			// what STREAMINFO declares, and by a length that is still a gap.
			most = min(info.samples, most+int64(len(p)/leastCoded+1)*maxSilence(info.rateHz))
		}
		b := sound.NewBlock(info.channels, 4096)
		frames := int64(0)
		for {
			err := r.Read(b)
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%v from bytes in memory", err)
			}
			if frames += int64(b.Frames()); frames > most {
				t.Fatalf("%d frames and more from %d bytes, at most %d can be", frames, len(p), most)
			}
			if frames > 1<<17 {
				return // silence goes on
			}
		}
		soundtest.Consistent(t, r, frames)
		soundtest.Agree(t, func() sound.Reader {
			r, err := Open(bytes.NewReader(p), int64(len(p)))
			if err != nil {
				t.Fatal(err)
			}
			return r
		}, len(p))
		if cap(r.w.buf) > max(len(p), windowBytes) {
			t.Fatalf("a window of %d bytes for a file of %d", cap(r.w.buf), len(p))
		}
		if err := r.SeekFrame(frames / 2); err != nil {
			t.Fatal(err)
		}
		if err := r.Read(b); err != nil && !errors.Is(err, io.EOF) {
			t.Fatal(err)
		}
	})
}

// FuzzSubframe: behind the checksum of the header, which random bytes do not
// pass, any bits at all are decoded to samples or to an error of type broken.
func FuzzSubframe(f *testing.F) {
	whole, at, _ := damaged(f)
	f.Add(whole[at[1]+7:at[1]+300], uint16(1000), uint8(16))
	f.Add([]byte{0x10, 0, 0, 0, 0, 0xFF, 0xFF}, uint16(16), uint8(24))             // fixed, order 0
	f.Add([]byte{0xC1, 0x80, 0, 0, 0, 0, 0xFF, 0xFF, 0xFF}, uint16(64), uint8(33)) // linear, wasted bits
	f.Fuzz(func(t *testing.T, p []byte, block uint16, bits uint8) {
		w := window{r: bytes.NewReader(p), size: int64(len(p))}
		samples := make([]int64, max(int(block), 1))
		err := w.subframe(samples, 4+uint(bits)%30)
		if _, ok := err.(broken); err != nil && !ok {
			t.Fatalf("%v is of type %T, want broken", err, err)
		}
	})
}

// Random bits behind a right header end in an error of type broken, whichever
// subframes they happen to be.
func TestRandomBitsBehindARightHeader(t *testing.T) {
	whole, at, _ := damaged(t)
	head := whole[at[3] : at[3]+8] // header of six bytes and more, its CRC last
	end := 0
	for n := 5; n <= 8; n++ {
		if crc8(head[:n-1]) == head[n-1] {
			end = n
			break
		}
	}
	if end == 0 {
		t.Fatal("the header's checksum was not found")
	}
	for seed := range 2000 {
		p := append([]byte(nil), whole[at[3]:at[3]+int64(end)]...)
		x := uint32(seed)*2654435761 + 1
		for range 600 {
			x ^= x << 13
			x ^= x >> 17
			x ^= x << 5
			p = append(p, byte(x>>7)&[]byte{0xFF, 0x1F, 0x7F, 0x3F}[seed%4])
		}
		w := window{r: bytes.NewReader(p), size: int64(len(p))}
		samples := [][]int64{make([]int64, 1000), make([]int64, 1000)}
		info := streamInfo{minBlock: 1000, maxBlock: 1000, rateHz: 48000, channels: 2, bits: 16}
		_, err := w.decode(&info, samples)
		if err == nil {
			continue // one in 65536
		}
		if _, ok := err.(broken); !ok {
			t.Fatal(fmt.Errorf("seed %d: %w of type %T", seed, err, err))
		}
	}
}
