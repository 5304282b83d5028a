package material

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"
	"strings"
)

// clips is one speaker's recorded phrases, any of them at random.
type clips struct{ files []string }

func (c *clips) Phrase(rateHz int, r *rand.Rand) []float32 {
	for range 12 {
		file := c.files[r.IntN(len(c.files))]
		x, rate, err := readSound(file)
		if err != nil || len(x) < rate/5 || spiky(x) {
			continue
		}
		return scaled(Resample(edged(trim(x), rate, 0.008, 0.02), rate, rateHz), 1)
	}
	return nil
}

// readVoices makes a speaker of each folder of WAV files below dir.
func readVoices(dir string) []Speaker {
	byFolder := map[string][]string{}
	_ = filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasSuffix(path, ".wav") {
			f := filepath.Dir(path)
			byFolder[f] = append(byFolder[f], path)
		}
		return nil
	})
	var folders []string
	for f, files := range byFolder {
		if len(files) >= 10 {
			sort.Strings(files)
			folders = append(folders, f)
		}
	}
	sort.Strings(folders)
	var out []Speaker
	for _, f := range folders {
		out = append(out, &clips{files: byFolder[f]})
	}
	return out
}

// spikyCrest is how far the largest fourth difference of a clean voice stays
// over their rms: plosives reach 20, the seams of a badly coded clip 50 and more
// (seen in the fetched voices).
const spikyCrest = 32

// spiky says whether a clip brings clicks of its own, so that it cannot serve
// as sound without a fault. The fourth difference leaves little but the highest
// frequencies, in which seams stand out and voices do not.
func spiky(x []float32) bool {
	var most, power float64
	for i := 4; i < len(x); i++ {
		d := float64(x[i] - 4*x[i-1] + 6*x[i-2] - 4*x[i-3] + x[i-4])
		power += d * d
		most = max(most, d*d)
	}
	return most > spikyCrest*spikyCrest*power/float64(max(len(x), 1))
}
