package material

import (
	"encoding/xml"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"sync"
)

// A drum kit on disk is a folder with a drumkit.xml that lists instruments, each
// with layers: a sound file and the range of strokes (0 to 1) it is for.
type kitXML struct {
	Instruments []struct {
		Name   string     `xml:"name"`
		File   string     `xml:"filename"`
		Layers []layerXML `xml:"layer"`
		Parts  []struct {
			Layers []layerXML `xml:"layer"`
		} `xml:"instrumentComponent"`
	} `xml:"instrumentList>instrument"`
}

type layerXML struct {
	File string  `xml:"filename"`
	Min  float64 `xml:"min"`
	Max  float64 `xml:"max"`
}

// layers plays the recorded stroke nearest to the asked one.
type layers struct {
	strokes []stroke
	mu      sync.Mutex
	cache   map[string][]float32 // by file and rate
}

type stroke struct {
	file     string
	min, max float64
	rate     int
	sound    []float32
}

func (l *layers) Note(_, velocity int, _ float64, rateHz int, r *rand.Rand) []float32 {
	v := float64(velocity) / 127
	var fit []stroke
	for _, s := range l.strokes {
		if v >= s.min-0.08 && v <= s.max+0.08 {
			fit = append(fit, s)
		}
	}
	if len(fit) == 0 {
		fit = l.strokes
	}
	s := fit[r.IntN(len(fit))]
	id := fmt.Sprint(s.file, rateHz)
	l.mu.Lock()
	x, ok := l.cache[id]
	if !ok {
		x = Resample(s.sound, s.rate, rateHz)
		l.cache[id] = x
	}
	l.mu.Unlock()
	// No two strokes are alike, even where the kit holds one recording.
	g := float32(v * (0.93 + 0.14*r.Float64()))
	out := make([]float32, len(x))
	for i, y := range x {
		out[i] = y * g
	}
	return out
}

// part reads a kit's free-text instrument name as a part of a kit or a
// percussion instrument; both empty where it is neither.
func part(name string) (drum, percussion string) {
	n := " " + strings.ToLower(strings.NewReplacer("_", " ", "-", " ", "1", " 1", "2", " 2").Replace(name)) + " "
	has := func(words ...string) bool {
		for _, w := range words {
			if strings.Contains(n, w) {
				return true
			}
		}
		return false
	}
	switch {
	case has("choke", "swish", "8bit", "noise", "fx", "empty"):
		return "", ""
	case has("conga", "bongo", "djembe", "cajon", "dunun", "kenkeni", "sangban", "bell", "tamb", "shak", "marac", "clave", "block", "clap", "snap", "agogo"):
		for _, w := range []string{"conga", "bongo", "djembe", "cajon", "tambourine", "maraca", "clave", "cowbell", "block", "clap"} {
			if has(w) {
				return "", strings.ToUpper(w[:1]) + w[1:]
			}
		}
		return "", "Percussion"
	case has("kick", "bass drum", "bassdrum", " bd "):
		return "kick", ""
	case has("side stick", "rim", " stick"):
		return "rim", ""
	case has("snare", " sd ", " sn "):
		return "snare", ""
	case has("open") && has("hat", "hh", "hihat"):
		return "hat open", ""
	case has("hat", " hh ", "hihat"):
		return "hat", ""
	case has("floor", "tom low", "low tom", "tom lo", "tom 3"):
		return "tom 3", ""
	case has("tom mid", "mid tom", "tom 2"):
		return "tom 2", ""
	case has("tom"):
		return "tom 1", ""
	case has("crash", "splash", "china"):
		return "crash", ""
	case has("ride"):
		return "ride", ""
	}
	return "", ""
}

// readKits reads every kit below dir. A kit needs kick, snare and hat to count;
// hand drums are kept whatever else the folder holds.
func readKits(dir string) (kits []Kit, hits []Hit, err error) {
	found, err := filepath.Glob(filepath.Join(dir, "*", "drumkit.xml"))
	if err != nil {
		return nil, nil, err
	}
	sort.Strings(found)
	for _, at := range found {
		raw, err := os.ReadFile(at)
		if err != nil {
			return nil, nil, err
		}
		var k kitXML
		if err := xml.Unmarshal(raw, &k); err != nil {
			continue // an older description with another form; the others do
		}
		kit := Kit{}
		for _, in := range k.Instruments {
			all := in.Layers
			for _, p := range in.Parts {
				all = append(all, p.Layers...)
			}
			if in.File != "" && len(all) == 0 {
				all = []layerXML{{in.File, 0, 1}}
			}
			drum, percussion := part(in.Name)
			if (drum == "" && percussion == "") || (drum != "" && kit[drum] != nil) {
				continue
			}
			l := &layers{cache: map[string][]float32{}}
			for _, y := range all {
				file := filepath.Join(filepath.Dir(at), y.File)
				x, rate, err := readSound(file)
				if err != nil {
					continue
				}
				if x = trim(x); len(x) > rate/50 {
					l.strokes = append(l.strokes, stroke{file, y.Min, y.Max, rate, scaled(edged(x, rate, 0, 0.01), 1)})
				}
			}
			if len(l.strokes) == 0 {
				continue
			}
			if drum != "" {
				kit[drum] = l
			} else {
				hits = append(hits, Hit{percussion, l})
			}
		}
		if kit["kick"] != nil && kit["snare"] != nil && kit["hat"] != nil {
			kits = append(kits, kit)
		}
	}
	return kits, hits, nil
}
