package material

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/mewkiz/flac"

	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

// maxSampleS bounds how much of one sample file is read.
const maxSampleS = 20

// readSound reads a short sound file, its channels averaged.
func readSound(path string) ([]float32, int, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	switch {
	case strings.HasSuffix(path, ".wav"):
		return readWAV(f)
	case strings.HasSuffix(path, ".flac"):
		return readFLAC(f)
	}
	return nil, 0, fmt.Errorf("%s: neither WAV nor FLAC", path)
}

func readWAV(f *os.File) ([]float32, int, error) {
	st, err := f.Stat()
	if err != nil {
		return nil, 0, err
	}
	r, err := wav.Open(f, st.Size())
	if err != nil {
		return nil, 0, err
	}
	h := r.Header().Format
	b := sound.NewBlock(h.Channels, sound.BlockFrames)
	var out []float32
	for len(out) < maxSampleS*h.RateHz {
		if err := r.Read(b); err == io.EOF {
			break
		} else if err != nil {
			return nil, 0, err
		}
		for i := range b.Frames() {
			var sum float32
			for c := range b.Channels {
				sum += b.Channels[c][i]
			}
			out = append(out, sum/float32(h.Channels))
		}
	}
	return out, h.RateHz, nil
}

func readFLAC(f *os.File) ([]float32, int, error) {
	s, err := flac.New(f)
	if err != nil {
		return nil, 0, err
	}
	rate, full := int(s.Info.SampleRate), float32(int64(1)<<(s.Info.BitsPerSample-1))
	var out []float32
	for len(out) < maxSampleS*rate {
		fr, err := s.ParseNext()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, 0, err
		}
		for i := range fr.Subframes[0].Samples {
			var sum float32
			for _, c := range fr.Subframes {
				sum += float32(c.Samples[i])
			}
			out = append(out, sum/full/float32(len(fr.Subframes)))
		}
	}
	return out, rate, nil
}
