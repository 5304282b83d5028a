package curve

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"unicode"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// shortTakeS is the length of the files where only files matter, not what is in them.
const shortTakeS = 6

// copyTakeS is the length of the files that are copies of each other.
const copyTakeS = 12

// fileTrial is a folder of three lines, of which one is wounded.
type fileTrial struct {
	t *Take
	f *Folder
	k int // row of the wounded line
	x []float32
}

// file picks three lines and one of them, and lets wound change its file.
func file(wound func(ft fileTrial, x float64, r *rand.Rand)) OnFolder {
	return func(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
		lines, ok := t.some(r, 3, func(l stage.Line) bool { return plays(l) && !t.shared(l) })
		if !ok {
			return nil, harm.Wound{}, false
		}
		frames := shortTakeS * t.RateHz
		ft := fileTrial{t: t, f: t.folder(frames, lines...), k: r.IntN(3)}
		ft.x = t.cut(lines[ft.k], frames)
		w := harm.Wound{Lines: t.named(lines[ft.k]), Files: []string{ft.name()}}
		if !none {
			wound(ft, x, r)
		}
		return ft.f, w, true
	}
}

func (ft fileTrial) name() string { return ft.f.lines[ft.k].File }

// remove takes the wounded file away.
func (ft fileTrial) remove() []byte {
	b := ft.f.bytes[ft.name()]
	delete(ft.f.bytes, ft.name())
	for i, n := range ft.f.names {
		if n == ft.name() {
			ft.f.names = append(ft.f.names[:i], ft.f.names[i+1:]...)
			break
		}
	}
	return b
}

// misspelt changes n letters of a file's name.
func misspelt(name string, n int, r *rand.Rand) string {
	base := strings.TrimSuffix(name, ".wav")
	x := []rune(base)
	var at []int
	for i, c := range x {
		if unicode.IsLetter(c) {
			at = append(at, i)
		}
	}
	r.Shuffle(len(at), func(a, b int) { at[a], at[b] = at[b], at[a] })
	for _, i := range at[:min(n, len(at))] {
		for was := unicode.ToLower(x[i]); unicode.ToLower(x[i]) == was; {
			x[i] = rune('a' + r.IntN(26))
		}
	}
	return string(x) + ".wav"
}

// copies puts the first line's sound under the second's name, with a difference
// of so many dBFS of noise; −200 is none. gainDB is that of the copy.
func copies(fits func(*Take, stage.Line) bool, partner bool, gainDB float64) OnFolder {
	return func(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
		lines, ok := t.some(r, 2, func(l stage.Line) bool { return fits(t, l) })
		if !ok {
			return nil, harm.Wound{}, false
		}
		if partner {
			a := lines[r.IntN(2)]
			lines = []int{min(a, t.Lines[a].Partner), max(a, t.Lines[a].Partner)}
		}
		frames := copyTakeS * t.RateHz
		f := t.folder(frames, lines...)
		if !none {
			y := append([]float32(nil), t.cut(lines[0], frames)...)
			scale(y, ratio(gainDB))
			if x > -200 {
				harm.Hiss(y, x, 0, r)
			}
			f.put(f.lines[1].File, t.sheet(), y)
		}
		return f, harm.Wound{Lines: t.named(lines...), All: true}, true
	}
}

func single(_ *Take, l stage.Line) bool { return openAndPlays(l) && l.Partner < 0 }

func half(_ *Take, l stage.Line) bool { return stereo(l) && openAndPlays(l) }

var fileLadders = []*Ladder{
	{
		Kind: model.KindDuplicate, Name: "one sound under two names", Unit: "dBFS", Stops: true, Folder: copies(single, false, 0),
		What:  "The sound of one microphone is in the file of another, with white noise of so much added: two converters on one split line differ by their noise, one input recorded twice by nothing.",
		Steps: []float64{-40, -80, -100, -110, -120, -130, -140, -150, -200},
	},
	{
		Kind: model.KindDuplicate, Name: "one sound at two gains", Unit: "dBFS", Folder: copies(single, false, -3.3),
		What:  "The same with the copy 3.3 dB lower.",
		Steps: []float64{-40, -80, -100, -110, -120, -130, -140, -150, -200},
	},
	{
		Kind: model.KindDuplicate, Name: "mono on a stereo pair", Unit: "dBFS", PerTake: 3, Folder: copies(half, true, 0),
		What:  "The second microphone of a stereo pair holds the sound of the first, with white noise of so much added.",
		Steps: []float64{-40, -80, -100, -120, -130, -140, -150, -200},
	},
	{
		Kind: model.KindShort, Name: "ends early", Unit: "s", Log: true, Stops: true,
		What:  "One of three files ends so long before the others.",
		Steps: []float64{0.02, 0.2, 0.4, 0.48, 0.52, 0.6, 1, 5},
		Folder: file(func(ft fileTrial, x float64, _ *rand.Rand) {
			ft.f.put(ft.name(), ft.t.sheet(), ft.x[:len(ft.x)-int(x*float64(ft.t.RateHz))])
		}),
	},
	{
		Kind: model.KindLateStart, Name: "begins late", Unit: "s", Log: true,
		What:  "One of three files begins so long after the others, and its stamp says so.",
		Steps: []float64{0.001, 0.02, 0.04, 0.048, 0.052, 0.06, 0.1, 0.5, 4},
		Folder: file(func(ft fileTrial, x float64, _ *rand.Rand) {
			n := int(x * float64(ft.t.RateHz))
			sh := ft.t.sheet()
			sh.Stamp.TimeReference += uint64(n)
			ft.f.put(ft.name(), sh, ft.x[n:])
		}),
	},
	{
		Kind: model.KindTruncated, Name: "cut file", Unit: "frames", Log: true, Stops: true,
		What:  "One of three files holds so many frames fewer than its header says.",
		Steps: []float64{1, 2, 10, 100, 1000, 48000, 192000},
		Folder: file(func(ft fileTrial, x float64, _ *rand.Rand) {
			b := ft.f.bytes[ft.name()]
			ft.f.putBytes(ft.name(), b[:len(b)-int(x)*ft.t.Bits/8])
		}),
	},
	{
		Kind: model.KindWrongRate, Name: "the header's rate", Unit: "% off", Log: true, Stops: true,
		What:  "The header of one of three files says another rate: 47 952, 44 100, 32 000 or 96 000 Hz.",
		Steps: []float64{0.1, 8.125, 33.333, 100},
		Folder: file(func(ft fileTrial, x float64, _ *rand.Rand) {
			sh := ft.t.sheet()
			sh.HeaderRateHz = map[float64]int{0.1: 47952, 8.125: 44100, 33.333: 32000, 100: 96000}[x]
			sh.Stamp.TimeReference = sh.Stamp.TimeReference / uint64(sh.RateHz) * uint64(sh.HeaderRateHz)
			ft.f.put(ft.name(), sh, ft.x)
		}),
	},
	{
		Kind: model.KindWrongDepth, Name: "a file of 16 bits", Unit: "file",
		What:  "One of three files has 16 bits a sample, the others 24.",
		Steps: []float64{1},
		Folder: file(func(ft fileTrial, _ float64, _ *rand.Rand) {
			sh := ft.t.sheet()
			sh.Bits = 16
			ft.f.put(ft.name(), sh, ft.x)
		}),
	},
	{
		Kind: model.KindMissing, Name: "no file", Unit: "file", Stops: true,
		What:   "One of three lines has no file.",
		Steps:  []float64{1},
		Folder: file(func(ft fileTrial, _ float64, _ *rand.Rand) { ft.remove() }),
	},
	{
		Kind: model.KindUnlisted, Name: "a file that the list does not know", Unit: "file",
		What:  "A fourth file lies beside those of three lines.",
		Steps: []float64{1},
		Folder: func(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
			name := []string{"Kazoo_01.wav", "Spare_01.wav", "Track 31.wav", "Doorbell_02.wav"}[r.IntN(4)]
			f, _, ok := file(func(ft fileTrial, _ float64, r *rand.Rand) {
				y := make([]float32, len(ft.x))
				harm.Hiss(y, -70, 1, r)
				ft.f.put(name, t.sheet(), y)
			})(t, x, none, r)
			return f, harm.Wound{Files: []string{name}}, ok
		},
	},
	{
		Kind: model.KindDoubtfulMatch, Name: "misspelt file names", Unit: "letters",
		What:  "So many letters of one file's name are others. Missing and unlisted say the same of a name that no longer means anything; names with the list's numbers are known by these. One wrong letter may rightly be no doubt.",
		Steps: []float64{0, 1, 2, 3, 4, 6, 10},
		Folder: func(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
			f, w, ok := file(func(ft fileTrial, x float64, r *rand.Rand) {
				name := misspelt(ft.name(), int(x), r)
				if _, taken := ft.f.bytes[name]; !taken {
					ft.f.putBytes(name, ft.remove())
				}
			})(t, x, none, r)
			w.Accept = []model.Kind{model.KindMissing, model.KindUnlisted}
			if ok {
				w.Files = nil
			}
			return f, w, ok
		},
	},
}

// String names a ladder.
func (l *Ladder) String() string { return fmt.Sprintf("%s, %s", l.Kind, l.Name) }
