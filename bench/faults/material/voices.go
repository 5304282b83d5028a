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
	for range 5 {
		file := c.files[r.IntN(len(c.files))]
		x, rate, err := readSound(file)
		if err != nil || len(x) < rate/5 {
			continue
		}
		return scaled(Resample(trim(x), rate, rateHz), 1)
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
