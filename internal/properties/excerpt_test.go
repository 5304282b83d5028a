package properties

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"testing"

	"tidemark/internal/desk"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/sound/soundfile"
	"tidemark/internal/sound/soundtest"
	"tidemark/internal/sound/wav"
)

// memory is a folder of files that are held in memory.
type memory map[string][]byte

func (m memory) Folder() string { return "memory" }

func (m memory) Files() (files []desk.File, err error) {
	for _, name := range slices.Sorted(maps.Keys(m)) {
		files = append(files, desk.File{Name: name, Size: int64(len(m[name]))})
	}
	return files, nil
}

func (m memory) Open(name string) (sound.Reader, io.Closer, error) {
	p, ok := m[name]
	if !ok {
		return nil, nil, fmt.Errorf("%s is not in memory", name)
	}
	r, err := soundfile.Open(bytes.NewReader(p), int64(len(p)))
	return r, io.NopCloser(nil), err
}

// FuzzExcerpt: whatever stretch of whatever file is asked for, there is a whole
// WAV file of at most twenty seconds that holds just these samples, or an error
// and not a byte.
func FuzzExcerpt(f *testing.F) {
	x := [][]float32{signal.Quantize(signal.Pink(1, 0.1, 20000), 16), signal.Quantize(signal.Pink(2, 0.1, 20000), 16)}
	t := new(testing.T)
	files := map[uint8][]byte{
		0: wavForm("WAV", sound.Integer, 16).write(t, 8000, x), 1: flacForm(16).write(t, 8000, x), 2: aiffForm("sowt", 16).write(t, 8000, x),
	}
	f.Add(uint8(0), []byte{}, 1, 0.5, 1.0)
	f.Add(uint8(1), []byte{}, 2, -3.0, 1e300)
	f.Add(uint8(2), []byte{}, 3, 1e308, 1e-300)
	f.Add(uint8(0), []byte{}, 0, 2.4999, -1.0)
	f.Add(uint8(1), []byte{}, 2, math.Inf(1), math.Inf(1))
	f.Add(uint8(1), []byte{}, 1, math.NaN(), 1.0)
	f.Add(uint8(3), files[0][:200], 1, 0.0, 20.0)
	f.Add(uint8(3), files[1][:4000], 1, 0.1, 2.0)
	f.Fuzz(func(t *testing.T, which uint8, p []byte, channel int, start, length float64) {
		if known, ok := files[which]; ok {
			p = known
		}
		var b bytes.Buffer
		if err := desk.Excerpt(memory{"a": p}, "a", channel, start, length, &b); err != nil {
			if b.Len() > 0 || err.Error() == "" {
				t.Fatalf("%d bytes written with the error %v", b.Len(), err)
			}
			return
		}
		r, err := wav.Open(bytes.NewReader(b.Bytes()), int64(b.Len()))
		if err != nil {
			t.Fatal(err)
		}
		h := r.Header()
		if len(h.Damage) > 0 || h.Format.Bits != 24 || h.Format.Channels != 1 || h.DurationS() > desk.ListenMostS {
			t.Fatalf("an excerpt of %+v", h)
		}
		if _, ok := files[which]; !ok {
			return
		}
		got := soundtest.ReadAll(t, r, 777)[0]
		from := int(min(max(0, start)*8000, 20000-800))
		want := x[channel-1][from:min(20000, from+len(got))]
		if len(got) != len(want) || len(got) < 800 {
			t.Fatalf("%d frames from frame %d on", len(got), from)
		}
		for i := range want {
			if got[i] != want[i] {
				t.Fatalf("frame %d is %v, want %v", i, got[i], want[i])
			}
		}
	})
}
