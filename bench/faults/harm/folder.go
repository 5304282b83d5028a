package harm

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"

	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// Folder is a copy of a session's take that may be wounded: files that are not
// touched are links to the sound ones.
type Folder struct {
	Session *stage.Session
	Sound   string // the folder of sound files
	Dir     string // the copy
	Alone   string // the line check, "" without
	AloneTo string // its copy: a crossed patch crosses both
	Touched map[int]bool
}

// Copy links every take file of a session into dir.
func Copy(s *stage.Session, sound, dir string) (*Folder, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	f := &Folder{Session: s, Sound: sound, Dir: dir, Touched: map[int]bool{}}
	for _, l := range s.Lines {
		to := filepath.Join(dir, l.File)
		if _, err := os.Lstat(to); err == nil {
			continue
		}
		if err := os.Link(filepath.Join(sound, l.File), to); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// CopyAlone links the line check as well.
func (f *Folder) CopyAlone(from, to string) error {
	f.Alone, f.AloneTo = from, to
	return filepath.WalkDir(from, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			return os.MkdirAll(filepath.Join(to, rel), 0o755)
		}
		return os.Link(path, filepath.Join(to, rel))
	})
}

// cross puts the sound of one file under another's name, in the take and in
// every folder of the line check.
func (f *Folder) cross(name, from string) error {
	swap := func(sound, dir string) error {
		to := filepath.Join(dir, name)
		if err := os.Remove(to); err != nil {
			return err
		}
		return os.Link(filepath.Join(sound, from), to)
	}
	if err := swap(f.Sound, f.Dir); err != nil || f.Alone == "" {
		return err
	}
	return filepath.WalkDir(f.Alone, func(path string, d os.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		if _, err := os.Stat(filepath.Join(path, name)); err != nil {
			return nil // the folder that only holds the sources' folders
		}
		rel, err := filepath.Rel(f.Alone, path)
		if err != nil {
			return err
		}
		return swap(path, filepath.Join(f.AloneTo, rel))
	})
}

// Name is how findings call a line.
func Name(l stage.Line) string { return fmt.Sprintf("%d %s", l.Number, l.Source) }

// free are the lines that no wound has touched yet and that fit.
func (f *Folder) free(fits func(stage.Line) bool) []int {
	var out []int
	for i, l := range f.Session.Lines {
		if !f.Touched[i] && fits(l) {
			out = append(out, i)
		}
	}
	return out
}

// touch marks lines, the other channel of a shared file and the other half of a
// pair, so that no second wound disturbs the first one's evidence.
func (f *Folder) touch(lines ...int) {
	for _, i := range lines {
		f.Touched[i] = true
		for k, l := range f.Session.Lines {
			if l.File == f.Session.Lines[i].File || f.Session.Lines[i].Partner == k {
				f.Touched[k] = true
			}
		}
	}
}

func (f *Folder) read(i int) (stage.Sheet, [][]float32, error) {
	return stage.ReadFile(filepath.Join(f.Sound, f.Session.Lines[i].File))
}

// write replaces a line's file in the copy; the sound one stays.
func (f *Folder) write(name string, sh stage.Sheet, x [][]float32) error {
	to := filepath.Join(f.Dir, name)
	if err := os.Remove(to); err != nil && !os.IsNotExist(err) {
		return err
	}
	return stage.WriteFile(to, sh, x)
}

// Inflict puts one fault of a kind into the folder. ok is false where the
// session has no line left for it.
func (f *Folder) Inflict(kind model.Kind, r *rand.Rand) (w Wound, ok bool, err error) {
	if on := Lines[kind]; on != nil {
		return f.onLine(on, r)
	}
	if on := files[kind]; on != nil {
		return on(f, r)
	}
	return Wound{}, false, fmt.Errorf("no way to inflict %q", kind)
}

func (f *Folder) onLine(on OnLine, r *rand.Rand) (Wound, bool, error) {
	lines := f.free(func(stage.Line) bool { return true })
	for range 6 {
		if len(lines) == 0 {
			break
		}
		i := lines[r.IntN(len(lines))]
		l := f.Session.Lines[i]
		sh, x, err := f.read(i)
		if err != nil {
			return Wound{}, false, err
		}
		w, ok := on(Listen(x[l.Channel], sh.RateHz), l, r)
		if !ok {
			continue
		}
		w.Lines, w.Files = []string{Name(l)}, []string{l.File}
		f.touch(i)
		return w, true, f.write(l.File, sh, x)
	}
	return Wound{}, false, nil
}

// files holds the wounds to pairs, names and files.
var files = map[model.Kind]func(*Folder, *rand.Rand) (Wound, bool, error){
	model.KindFlipped:    (*Folder).flipped,
	model.KindLate:       (*Folder).late,
	model.KindSwapped:    (*Folder).swapped,
	model.KindMissing:    (*Folder).missing,
	model.KindUnlisted:   (*Folder).unlisted,
	model.KindTruncated:  (*Folder).truncated,
	model.KindShort:      (*Folder).short,
	model.KindLateStart:  (*Folder).lateStart,
	model.KindWrongRate:  (*Folder).wrongRate,
	model.KindWrongDepth: (*Folder).wrongDepth,
	model.KindDuplicate:  (*Folder).duplicate,
}

// Kinds are all kinds that can be inflicted, in the order of the report.
var Kinds = []model.Kind{
	model.KindDead, model.KindNoisy, model.KindHum, model.KindCrackle, model.KindDropout, model.KindClipped,
	model.KindHot, model.KindLow, model.KindDCOffset, model.KindFlipped, model.KindLate, model.KindSwapped,
	model.KindMissing, model.KindUnlisted, model.KindTruncated, model.KindShort, model.KindLateStart,
	model.KindWrongRate, model.KindWrongDepth, model.KindDuplicate,
}

// one picks a free line that fits and marks it.
func (f *Folder) one(r *rand.Rand, fits func(stage.Line) bool) (int, bool) {
	lines := f.free(fits)
	if len(lines) == 0 {
		return 0, false
	}
	i := lines[r.IntN(len(lines))]
	f.touch(i)
	return i, true
}

func (f *Folder) wound(kind model.Kind, variant string, lines ...int) Wound {
	w := Wound{Kind: kind, Variant: variant}
	for _, i := range lines {
		w.Lines = append(w.Lines, Name(f.Session.Lines[i]))
		w.Files = append(w.Files, f.Session.Lines[i].File)
	}
	return w
}

// alone says whether a line has a file to itself.
func (f *Folder) alone(l stage.Line) bool {
	n := 0
	for _, o := range f.Session.Lines {
		if o.File == l.File {
			n++
		}
	}
	return n == 1
}

// flipped turns one half of a pair over.
func (f *Folder) flipped(r *rand.Rand) (Wound, bool, error) {
	i, ok := f.one(r, func(l stage.Line) bool { return l.Partner >= 0 && l.Pair != "room" && l.Plays })
	if !ok {
		return Wound{}, false, nil
	}
	l := f.Session.Lines[i]
	sh, x, err := f.read(i)
	if err != nil {
		return Wound{}, false, err
	}
	scale(x[l.Channel], -1)
	w := f.wound(model.KindFlipped, l.Pair, i, l.Partner)
	w.Severe = l.Pair == "stereo" || l.Pair == "top bottom"
	return w, true, f.write(l.File, sh, x)
}

// late moves one of a stereo pair of microphones back; strength in ms.
func (f *Folder) late(r *rand.Rand) (Wound, bool, error) {
	i, ok := f.one(r, func(l stage.Line) bool { return l.Pair == "stereo" && l.Role == "cymbals" && l.Plays })
	if !ok {
		return Wound{}, false, nil
	}
	l := f.Session.Lines[i]
	sh, x, err := f.read(i)
	if err != nil {
		return Wound{}, false, err
	}
	w := f.wound(model.KindLate, "overhead", i, l.Partner)
	w.Strength, w.Unit = math.Exp(between(r, math.Log(0.05), 0)), "ms"
	Delay(x[l.Channel], w.Strength/1000*float64(sh.RateHz))
	return w, true, f.write(l.File, sh, x)
}

// Delay moves sound later by a number of frames that need not be whole.
func Delay(x []float32, frames float64) {
	whole := int(frames)
	f := float32(frames - float64(whole))
	for t := len(x) - 1; t >= 0; t-- {
		var a, b float32
		if k := t - whole; k >= 0 {
			a = x[k]
			if k > 0 {
				b = x[k-1]
			}
		}
		x[t] = a + f*(b-a)
	}
}

// swapped gives lines each other's files, two or a ring of three.
func (f *Folder) swapped(r *rand.Rand) (Wound, bool, error) {
	n := 2
	if r.Float64() < 0.3 {
		n = 3
	}
	lines := f.free(func(l stage.Line) bool {
		return l.Plays && f.alone(l) && l.Feed == stage.Air && l.Partner < 0 && l.Role != "talkback"
	})
	if len(lines) < n {
		return Wound{}, false, nil
	}
	r.Shuffle(len(lines), func(a, b int) { lines[a], lines[b] = lines[b], lines[a] })
	ring := lines[:n]
	f.touch(ring...)
	w := f.wound(model.KindSwapped, fmt.Sprintf("ring of %d", n), ring...)
	w.All, w.Severe = true, true
	for k, i := range ring {
		from := f.Session.Lines[ring[(k+1)%n]].File
		if err := f.cross(f.Session.Lines[i].File, from); err != nil {
			return w, false, err
		}
		w.Detail += fmt.Sprintf("%s carries %s; ", f.Session.Lines[i].File, from)
	}
	return w, true, nil
}
