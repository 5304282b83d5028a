package material

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
)

// fetched are the packages with recorded sound, and what of each is used.
var fetched = []struct{ name, holds string }{
	{"fluid-soundfont-gm", "sampled instruments"},
	{"hydrogen-drumkits", "sampled drums and hand percussion"},
	{"ktuberling-data", "spoken words, many speakers"},
	{"asterisk-core-sounds-en-g722", "spoken sentences"},
	{"asterisk-core-sounds-fr-g722", "spoken sentences"},
}

// clipsASpeaker is how many clips of one speaker are kept.
const clipsASpeaker = 90

// Fetch downloads the packages into dir and unpacks them there with the
// distribution's own tools, without installing anything. It writes package,
// version and the licences that the package's copyright file names to w.
// Compressed voices are decoded to WAV where ffmpeg is at hand, else left out.
func Fetch(ctx context.Context, dir string, w io.Writer) error {
	for _, tool := range []string{"apt-get", "dpkg-deb"} {
		if _, err := exec.LookPath(tool); err != nil {
			return fmt.Errorf("fetching recorded sound needs %s, which is not here: run on a Debian system, or use --synthetic", tool)
		}
	}
	debs := filepath.Join(dir, "packages")
	if err := os.MkdirAll(debs, 0o755); err != nil {
		return err
	}
	for _, p := range fetched {
		if old, _ := filepath.Glob(filepath.Join(debs, p.name+"_*.deb")); len(old) == 0 {
			c := exec.CommandContext(ctx, "apt-get", "download", p.name)
			c.Dir = debs
			if out, err := c.CombinedOutput(); err != nil {
				return fmt.Errorf("apt-get download %s: %w (run apt-get update and try again)\n%s", p.name, err, out)
			}
		}
		got, _ := filepath.Glob(filepath.Join(debs, p.name+"_*.deb"))
		if len(got) == 0 {
			return fmt.Errorf("apt-get download %s left no package in %s", p.name, debs)
		}
		deb, to := got[len(got)-1], filepath.Join(dir, p.name)
		if _, err := os.Stat(to); errors.Is(err, os.ErrNotExist) {
			if out, err := exec.CommandContext(ctx, "dpkg-deb", "-x", deb, to).CombinedOutput(); err != nil {
				return fmt.Errorf("dpkg-deb -x %s: %w\n%s", deb, err, out)
			}
		}
		fmt.Fprintf(w, "%-30s %-24s %s; licences named: %s\n", p.name, version(deb), p.holds, licences(to))
	}
	return decodeVoices(ctx, dir, w)
}

func version(deb string) string {
	parts := strings.Split(filepath.Base(deb), "_")
	if len(parts) < 2 {
		return "?"
	}
	return strings.ReplaceAll(parts[1], "%3a", ":")
}

// licences gathers the licence names out of the copyright files of a package.
func licences(dir string) string {
	files, _ := filepath.Glob(filepath.Join(dir, "usr/share/doc/*/copyright"))
	seen := map[string]bool{}
	for _, f := range files {
		raw, err := os.ReadFile(f)
		if err != nil {
			continue
		}
		for line := range strings.Lines(string(raw)) {
			if name, ok := strings.CutPrefix(strings.TrimSpace(line), "License:"); ok && strings.TrimSpace(name) != "" {
				seen[strings.TrimSpace(name)] = true
			}
			if strings.Contains(line, "under the MIT license") {
				seen["MIT"] = true
			}
		}
	}
	var names []string
	for n := range seen {
		names = append(names, n)
	}
	sort.Strings(names)
	return strings.Join(names, ", ")
}

// decodeVoices turns the voices' coded files into WAV below dir/voices.
func decodeVoices(ctx context.Context, dir string, w io.Writer) error {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		fmt.Fprintln(w, "no ffmpeg here: the coded voices stay out, synthetic ones speak instead")
		return nil
	}
	var jobs [][2]string
	count := map[string]int{}
	for _, src := range []struct{ below, ext string }{
		{"ktuberling-data/usr/share/ktuberling/sounds", ".ogg"},
		{"asterisk-core-sounds-en-g722", ".g722"},
		{"asterisk-core-sounds-fr-g722", ".g722"},
	} {
		_ = filepath.WalkDir(filepath.Join(dir, src.below), func(path string, d os.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, src.ext) {
				return nil
			}
			speaker := filepath.Base(filepath.Dir(path))
			if src.ext == ".g722" {
				speaker = strings.Split(src.below, "/")[0]
				if st, err := d.Info(); err != nil || st.Size() < 12000 {
					return nil // under a second and a half: a lone word
				}
			}
			if count[speaker] >= clipsASpeaker {
				return nil
			}
			count[speaker]++
			jobs = append(jobs, [2]string{path, filepath.Join(dir, "voices", speaker, strings.TrimSuffix(filepath.Base(path), src.ext)+".wav")})
			return nil
		})
	}
	for _, j := range jobs {
		if _, err := os.Stat(j[1]); err == nil {
			continue
		}
		if err := os.MkdirAll(filepath.Dir(j[1]), 0o755); err != nil {
			return err
		}
		if out, err := exec.CommandContext(ctx, "ffmpeg", "-v", "error", "-y", "-i", j[0], "-ac", "1", j[1]).CombinedOutput(); err != nil {
			return fmt.Errorf("ffmpeg could not decode %s: %w\n%s", j[0], err, out)
		}
	}
	fmt.Fprintf(w, "voices: %d clips of %d speakers\n", len(jobs), len(count))
	return nil
}

// Load reads what Fetch brought to dir.
func Load(dir string) (*Store, error) {
	s := &Store{Tuned: map[string][]Tuned{}}
	bank := filepath.Join(dir, "fluid-soundfont-gm/usr/share/sounds/sf2/FluidR3_GM.sf2")
	if err := s.addBank(bank); err != nil {
		return nil, fmt.Errorf("recorded sound is not in %s: %w (bring it with --fetch, or use --synthetic)", dir, err)
	}
	kits, hits, err := readKits(filepath.Join(dir, "hydrogen-drumkits/usr/share/hydrogen/data/drumkits"))
	if err != nil {
		return nil, err
	}
	s.Kits, s.Percussion = kits, hits
	s.Voices = readVoices(filepath.Join(dir, "voices"))
	plain := Synthetic()
	if len(s.Voices) == 0 {
		s.Voices = plain.Voices
	}
	if len(s.Kits) == 0 {
		s.Kits, s.Percussion = plain.Kits, plain.Percussion
	}
	for _, p := range fetched {
		if got, _ := filepath.Glob(filepath.Join(dir, "packages", p.name+"_*.deb")); len(got) > 0 {
			s.From = append(s.From, p.name+" "+version(got[0]))
		}
	}
	return s, nil
}
