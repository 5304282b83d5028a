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

func any1(stage.Line) bool { return true }

// missing takes a line's file away, but not the only one: a folder in which
// nothing fits the list is refused, and rightly.
func (f *Folder) missing(r *rand.Rand) (Wound, bool, error) {
	if len(f.Session.Lines) < 2 {
		return Wound{}, false, nil
	}
	i, ok := f.one(r, func(l stage.Line) bool { return f.alone(l) && l.Role != "talkback" })
	if !ok {
		return Wound{}, false, nil
	}
	w := f.wound(model.KindMissing, "no file", i)
	w.Severe = true
	return w, true, os.Remove(filepath.Join(f.Dir, f.Session.Lines[i].File))
}

// unlisted adds a file that the list does not know.
func (f *Folder) unlisted(r *rand.Rand) (Wound, bool, error) {
	if len(f.Session.Lines) == 0 {
		return Wound{}, false, nil
	}
	sh, x, err := f.read(0)
	if err != nil {
		return Wound{}, false, err
	}
	y := make([]float32, len(x[0]))
	Hiss(y, between(r, -80, -60), 1, r)
	name := []string{"Kazoo_01.wav", "Spare_01.wav", "Track 31.wav", "Doorbell_02.wav"}[r.IntN(4)]
	w := Wound{Kind: model.KindUnlisted, Variant: "extra file", Files: []string{name}}
	return w, true, f.write(name, sh, [][]float32{y})
}

// truncated leaves the length unwritten, or the file shorter than it says.
func (f *Folder) truncated(r *rand.Rand) (Wound, bool, error) {
	i, ok := f.one(r, any1)
	if !ok {
		return Wound{}, false, nil
	}
	sh, x, err := f.read(i)
	if err != nil {
		return Wound{}, false, err
	}
	sh.Declared = stage.Declared(1 + r.IntN(3))
	w := f.wound(model.KindTruncated, []string{"", "length zero", "length all ones", "length too large"}[sh.Declared], i)
	w.Severe = true
	return w, true, f.write(f.Session.Lines[i].File, sh, x)
}

// short ends a file early; strength in seconds.
func (f *Folder) short(r *rand.Rand) (Wound, bool, error) {
	i, ok := f.one(r, any1)
	if !ok {
		return Wound{}, false, nil
	}
	sh, x, err := f.read(i)
	if err != nil {
		return Wound{}, false, err
	}
	w := f.wound(model.KindShort, "ends early", i)
	w.Strength, w.Unit = math.Exp(between(r, math.Log(0.2), math.Log(20))), "s"
	w.Severe = w.Strength > 1
	keep := len(x[0]) - int(w.Strength*float64(sh.RateHz))
	for c := range x {
		x[c] = x[c][:max(keep, sh.RateHz)]
	}
	w.Timed, w.Starts = true, []float64{float64(len(x[0])) / float64(sh.RateHz)}
	return w, true, f.write(f.Session.Lines[i].File, sh, x)
}

// lateStart arms a track late; the stamp says so. Strength in seconds.
func (f *Folder) lateStart(r *rand.Rand) (Wound, bool, error) {
	i, ok := f.one(r, any1)
	if !ok {
		return Wound{}, false, nil
	}
	sh, x, err := f.read(i)
	if err != nil {
		return Wound{}, false, err
	}
	w := f.wound(model.KindLateStart, "armed late", i)
	w.Strength, w.Unit = math.Exp(between(r, math.Log(0.05), math.Log(15))), "s"
	cut := min(int(w.Strength*float64(sh.RateHz)), len(x[0])/2)
	st := f.Session.Stamp()
	st.TimeReference += uint64(cut)
	sh.Stamp = &st
	for c := range x {
		x[c] = x[c][cut:]
	}
	return w, true, f.write(f.Session.Lines[i].File, sh, x)
}

// wrongRate lies in the header about the rate.
func (f *Folder) wrongRate(r *rand.Rand) (Wound, bool, error) {
	i, ok := f.one(r, any1)
	if !ok || len(f.Session.Lines) < 3 {
		return Wound{}, false, nil
	}
	sh, x, err := f.read(i)
	if err != nil {
		return Wound{}, false, err
	}
	for sh.HeaderRateHz = sh.RateHz; sh.HeaderRateHz == sh.RateHz; {
		sh.HeaderRateHz = []int{44100, 48000, 96000}[r.IntN(3)]
	}
	// The recorder believed its header: its stamp counts frames of that rate.
	st := f.Session.Stamp()
	st.TimeReference = st.TimeReference / uint64(sh.RateHz) * uint64(sh.HeaderRateHz)
	sh.Stamp = &st
	w := f.wound(model.KindWrongRate, "header", i)
	w.Severe = true
	w.Detail = fmt.Sprintf("recorded at %d Hz, says %d Hz", sh.RateHz, sh.HeaderRateHz)
	return w, true, f.write(f.Session.Lines[i].File, sh, x)
}

// wrongDepth writes a file of 16 bits among 24, or 16 bits in a 24-bit file.
func (f *Folder) wrongDepth(r *rand.Rand) (Wound, bool, error) {
	i, ok := f.one(r, func(l stage.Line) bool { return l.Plays })
	if !ok || f.Session.Bits != 24 || len(f.Session.Lines) < 3 {
		return Wound{}, false, nil
	}
	sh, x, err := f.read(i)
	if err != nil {
		return Wound{}, false, err
	}
	w := f.wound(model.KindWrongDepth, "16-bit file", i)
	if r.IntN(2) == 0 {
		w.Variant = "16 bits in 24"
		for c := range x {
			for t, v := range x[c] {
				x[c][t] = float32(math.Round(float64(v)*32768)) / 32768
			}
		}
	} else {
		sh.Bits = 16
	}
	return w, true, f.write(f.Session.Lines[i].File, sh, x)
}

// duplicate puts one line's sound under another's name.
func (f *Folder) duplicate(r *rand.Rand) (Wound, bool, error) {
	fits := func(l stage.Line) bool { return f.alone(l) && l.Role != "talkback" && l.Plays && l.Partner < 0 }
	i, ok1 := f.one(r, fits)
	k, ok2 := f.one(r, fits)
	if !ok1 || !ok2 {
		return Wound{}, false, nil
	}
	w := f.wound(model.KindDuplicate, "same sound twice", i, k)
	w.All, w.Severe = true, true
	to := filepath.Join(f.Dir, f.Session.Lines[k].File)
	if err := os.Remove(to); err != nil {
		return w, false, err
	}
	return w, true, os.Link(filepath.Join(f.Sound, f.Session.Lines[i].File), to)
}
