package desk_test

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tidemark/internal/desk"
	"tidemark/internal/model"
	"tidemark/internal/signal"
)

const playS = 6 // seconds that most of these takes last

// TestPlan is a table of folders, each with one thing wrong with its files, and
// what the check has to say of it.
func TestPlan(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		make  func(dir string)
		kind  model.Kind
		want  model.Weight
		lines []string // of the finding
		files []string
		also  []model.Kind // other kinds that may stop, since one fault shows twice
		more  func(t *testing.T, c desk.Check, f model.Finding)
	}{
		{name: "a line without a file is missing",
			make: func(dir string) { put(t, dir, fourLines, fourFiles(playS)[:3]...) },
			kind: model.KindMissing, want: model.Stop, lines: []string{"4 Ld vox"}, files: []string{}},
		{name: "a talkback without a file is worth a note",
			make: func(dir string) { put(t, dir, fourLines+"5,Talkback,desk\n", fourFiles(playS)...) },
			kind: model.KindMissing, want: model.Note, lines: []string{"5 Talkback"}, files: []string{}},
		{name: "an overdub of one line is a note for all the others",
			make: func(dir string) { put(t, dir, fourLines, fourFiles(playS)[3]) },
			kind: model.KindMissing, want: model.Note, lines: []string{"1 Accordion", "2 Organ", "3 Fiddle"}, files: []string{}},
		{name: "a file of no line is unlisted",
			make: func(dir string) {
				put(t, dir, fourLines, append(fourFiles(playS), file{name: "Zither_01.wav", channels: [][]float32{notes(9, 48000, playS)}})...)
			},
			kind: model.KindUnlisted, want: model.Note, lines: []string{"Zither_01.wav"}, files: []string{"Zither_01.wav"}},
		{name: "a name that fits two lines is a doubtful match",
			make: func(dir string) {
				files := fourFiles(playS)
				files[3].name = "Vox_01.wav"
				put(t, dir, "Ch,Source,Mic\n1,Accordion,\n2,Organ,\n3,Fiddle,\n4,Vox Ada,\n5,Vox Bela,\n", files...)
			},
			kind: model.KindDoubtfulMatch, want: model.Listen, also: []model.Kind{model.KindMissing}, files: []string{"Vox_01.wav"}},
		{name: "two lines with the same samples",
			make: func(dir string) {
				files := fourFiles(playS)
				files[2].channels = files[1].channels
				put(t, dir, fourLines, files...)
			},
			kind: model.KindDuplicate, want: model.Stop, lines: []string{"3 Fiddle", "2 Organ"}, files: []string{"Fiddle_01.wav", "Organ_01.wav"},
			more: func(t *testing.T, _ desk.Check, f model.Finding) { valueIs(t, f, 0, "dB") }},
		{name: "two lines that differ by a gain",
			make: func(dir string) {
				files := fourFiles(playS)
				files[2].channels = [][]float32{signal.Gain(files[1].channels[0], -6)}
				put(t, dir, fourLines, files...)
			},
			kind: model.KindDuplicate, want: model.Listen, lines: []string{"3 Fiddle", "2 Organ"},
			more: func(t *testing.T, _ desk.Check, f model.Finding) { // of the second over the first
				if v, _ := f.Value.Get(); v < 5.99 || v > 6.01 {
					t.Errorf("gain of %.3f dB, want 6", v)
				}
			}},
		{name: "one sound on both sides of a pair may be meant",
			make: func(dir string) {
				x := notes(7, 48000, playS)
				put(t, dir, fourLines+"5,Pno L,\n6,Pno R,\n", append(fourFiles(playS), file{name: "Pno L_01.wav", channels: [][]float32{x}}, file{name: "Pno R_01.wav", channels: [][]float32{x}})...)
			},
			kind: model.KindDuplicate, want: model.Listen, lines: []string{"5 Pno L", "6 Pno R"}},
		{name: "a copy beside its original",
			make: func(dir string) {
				files := fourFiles(playS)
				put(t, dir, fourLines, append(files, file{name: "Organ_01 copy.wav", channels: files[1].channels})...)
			},
			kind: model.KindDuplicate, want: model.Note, files: []string{"Organ_01.wav", "Organ_01 copy.wav"}},
		{name: "a file that ends before the others",
			make: func(dir string) {
				files := fourFiles(playS)
				files[1].channels[0] = files[1].channels[0][:4*48000]
				put(t, dir, fourLines, files...)
			},
			kind: model.KindShort, want: model.Stop, lines: []string{"2 Organ"}, files: []string{"Organ_01.wav"},
			more: func(t *testing.T, _ desk.Check, f model.Finding) {
				valueIs(t, f, 2, "s")
				placeIs(t, f, 4, 6)
			}},
		{name: "a file that begins after the others, by its time reference",
			make: func(dir string) {
				files := fourFiles(playS)
				for i := range files {
					files[i].startS = 3600
				}
				files[1].startS, files[1].channels[0] = 3601.5, files[1].channels[0][72000:]
				put(t, dir, fourLines, files...)
			},
			kind: model.KindLateStart, want: model.Listen, lines: []string{"2 Organ"},
			more: func(t *testing.T, c desk.Check, f model.Finding) {
				valueIs(t, f, 1.5, "s")
				if l := lineNumbered(t, c, 2); l.OffsetS != 1.5 || l.Format.TimeReferenceS.Or(0) != 3601.5 {
					t.Errorf("offset %g s, time reference %v, want 1.5 and 3601.5", l.OffsetS, l.Format.TimeReferenceS)
				}
				if p := c.Passes[0]; p.StartS.Or(0) != 3600 || p.DurationS != playS {
					t.Errorf("the pass starts at %v for %g s, want 3600 for %d", p.StartS, p.DurationS, playS)
				}
			}},
		{name: "44.1 kHz among 48",
			make: func(dir string) {
				files := fourFiles(playS)
				files[1].rateHz, files[1].channels = 44100, [][]float32{notes(2, 44100, playS)}
				put(t, dir, fourLines, files...)
			},
			kind: model.KindWrongRate, want: model.Stop, lines: []string{"2 Organ"},
			more: func(t *testing.T, _ desk.Check, f model.Finding) {
				valueIs(t, f, 44100, "Hz")
				if f.Limit.Or(0) != 48000 {
					t.Errorf("limit %v, want 48000", f.Limit)
				}
			}},
		{name: "16 bits among 24",
			make: func(dir string) {
				files := fourFiles(playS)
				files[1].bits = 16
				put(t, dir, fourLines, files...)
			},
			kind: model.KindWrongDepth, want: model.Listen, lines: []string{"2 Organ"},
			more: func(t *testing.T, _ desk.Check, f model.Finding) { valueIs(t, f, 16, "bits") }},
		{name: "24 bits of which 16 are used",
			make: func(dir string) {
				files := fourFiles(playS)
				files[1].channels[0] = signal.Quantize(files[1].channels[0], 16)
				put(t, dir, fourLines, files...)
			},
			kind: model.KindWrongDepth, want: model.Note, lines: []string{"2 Organ"},
			more: func(t *testing.T, c desk.Check, f model.Finding) {
				valueIs(t, f, 16, "bits")
				if l := lineNumbered(t, c, 2); l.Format.Bits != 24 || l.Format.BitsUsed != 16 {
					t.Errorf("%d bits of which %d are used, want 24 and 16", l.Format.Bits, l.Format.BitsUsed)
				}
			}},
		{name: "a file that was cut off",
			make: func(dir string) { spoil(t, dir, func(p []byte) []byte { return p[:len(p)/2] }) },
			kind: model.KindTruncated, want: model.Stop, also: []model.Kind{model.KindShort}, lines: []string{"2 Organ"}, files: []string{"Organ_01.wav"},
			more: func(t *testing.T, _ desk.Check, f model.Finding) {
				if v, l := f.Value.Or(0), f.Limit.Or(0); v < 2.9 || v > 3.01 || l != playS {
					t.Errorf("%.3f of %.3f s, want about 3 of 6", v, l)
				}
			}},
		{name: "a recorder that crashed before it wrote the length: 0",
			make: func(dir string) { spoil(t, dir, dataLength(0)) },
			kind: model.KindTruncated, want: model.Stop, lines: []string{"2 Organ"}, files: []string{"Organ_01.wav"},
			more: wholeIsRead},
		{name: "a recorder that crashed before it wrote the length: all ones",
			make: func(dir string) { spoil(t, dir, dataLength(0xFFFFFFFF)) },
			kind: model.KindTruncated, want: model.Stop, lines: []string{"2 Organ"}, files: []string{"Organ_01.wav"},
			more: wholeIsRead},
		{name: "a text named .wav among good files",
			make: func(dir string) {
				put(t, dir, fourLines, fourFiles(playS)...)
				write(t, filepath.Join(dir, "Remember.wav"), []byte("Bring the other microphone tomorrow, and milk."))
			},
			kind: model.KindTruncated, want: model.Stop, lines: []string{}, files: []string{"Remember.wav"},
			more: func(t *testing.T, c desk.Check, _ model.Finding) {
				if len(c.Refused) != 1 || c.Refused[0].File != "Remember.wav" || !strings.Contains(c.Refused[0].Reason, "Remember.wav") {
					t.Errorf("refused: %+v, want the text and why", c.Refused)
				}
				if len(c.Lines) != 4 {
					t.Errorf("%d lines were checked, want the four good ones", len(c.Lines))
				}
			}},
		{name: "an empty file named as the others",
			make: func(dir string) {
				put(t, dir, fourLines, fourFiles(playS)[:3]...)
				write(t, filepath.Join(dir, "Ld vox_01.wav"), nil)
			},
			kind: model.KindTruncated, want: model.Stop, also: []model.Kind{model.KindMissing}, lines: []string{}, files: []string{"Ld vox_01.wav"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			c.make(dir)
			got := checkFolder(t, dir)
			f := one(t, got, c.kind)
			if f.Weight != c.want {
				t.Errorf("weight %s, want %s", f.Weight, c.want)
			}
			if c.lines != nil && !slices.Equal(f.Lines, c.lines) {
				t.Errorf("lines %q, want %q", f.Lines, c.lines)
			}
			if c.files != nil && !slices.Equal(f.Files, c.files) {
				t.Errorf("files %q, want %q", f.Files, c.files)
			}
			if f.Evidence == "" || f.Advice == "" || f.ID == "" || f.Unit == "" || f.LimitSource == "" {
				t.Errorf("a finding that does not say all it must: %+v", f)
			}
			stopsOnlyFor(t, got, append(c.also, c.kind)...)
			if c.more != nil {
				c.more(t, got, f)
			}
		})
	}
}

func valueIs(t *testing.T, f model.Finding, want float64, unit string) {
	t.Helper()
	if v, ok := f.Value.Get(); !ok || v != want || f.Unit != unit {
		t.Errorf("%s of %v %s, want %g %s", f.Kind, f.Value, f.Unit, want, unit)
	}
}

func placeIs(t *testing.T, f model.Finding, startS, endS float64) {
	t.Helper()
	if f.StartS.Or(-1) != startS || f.EndS.Or(-1) != endS {
		t.Errorf("%s from %v to %v s, want %g to %g", f.Kind, f.StartS, f.EndS, startS, endS)
	}
}

// spoil writes four good files, one of them spoilt.
func spoil(t *testing.T, dir string, do func([]byte) []byte) {
	put(t, dir, fourLines, fourFiles(playS)...)
	path := filepath.Join(dir, "Organ_01.wav")
	p, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	write(t, path, do(p))
}

// dataLength writes another length into the header of the data chunk, and the
// same into the RIFF's, as a recorder does that fills them in at the end.
func dataLength(n uint32) func([]byte) []byte {
	return func(p []byte) []byte {
		at := strings.Index(string(p), "data")
		binary.LittleEndian.PutUint32(p[at+4:], n)
		binary.LittleEndian.PutUint32(p[4:], n)
		return p
	}
}

func wholeIsRead(t *testing.T, c desk.Check, f model.Finding) {
	if l := lineNumbered(t, c, 2); l.Format.DurationS != playS {
		t.Errorf("%.3f s were read, want all %d: %s", l.Format.DurationS, playS, f.Evidence)
	}
}

func TestAGoodFolderHasNothingToStopFor(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	put(t, dir, fourLines, fourFiles(playS)...)
	c := checkFolder(t, dir)
	if len(c.Findings) > 0 {
		t.Errorf("findings on good files:\n%s", summary(c))
	}
	if !strings.HasPrefix(c.Verdict(), "nothing to stop for, nothing to listen to (4 lines, 0:06,") {
		t.Errorf("verdict %q", c.Verdict())
	}
}

// A doubtful match takes the weight out of whatever is found on the line.
func TestADoubtfulMatchNeverStops(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	files := fourFiles(playS)
	files[3].name = "Vox_01.wav"
	files[3].channels[0] = signal.Gain(files[3].channels[0], 24) // flat tops: writing clips at full scale
	list := "Ch,Source,Mic\n1,Accordion,\n2,Organ,\n3,Fiddle,\n4,Vox Ada,\n5,Vox Bela,\n"
	put(t, dir, list, files...)
	c := checkFolder(t, dir)
	f := one(t, c, model.KindClipped)
	if f.Weight != model.Listen || !slices.Equal(f.Files, []string{"Vox_01.wav"}) {
		t.Errorf("%s on %v, want a listen on the doubtful file", f.Weight, f.Files)
	}
	for _, l := range c.Lines {
		if l.File == "Vox_01.wav" && (l.Certain || l.RunnerUp == "") {
			t.Errorf("certain %v with the runner-up %q, want a doubt and a name", l.Certain, l.RunnerUp)
		}
	}
	// Settled by hand, the same sound stops.
	req := request(t, dir)
	req.Overrides = []string{"Vox_01.wav=5"}
	if f := one(t, check(t, req), model.KindClipped); f.Weight != model.Stop || !slices.Equal(f.Lines, []string{"5 Vox Bela"}) {
		t.Errorf("after the word of a person: %s on %v, want a stop on 5 Vox Bela", f.Weight, f.Lines)
	}
}

func TestTwoTakesInOneFolderAreTwoPasses(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for n, startS := range []float64{3600, 3700} {
		files := fourFiles(playS)
		for i := range files {
			files[i].startS = startS
			files[i].name = strings.ReplaceAll(files[i].name, "_01", []string{"_01", "_02"}[n])
			files[i].channels[0] = notes(uint64(1+i+20*n), 48000, playS+2*float64(n))
		}
		if n == 1 {
			files = files[:3] // the second take lost its voice
		}
		put(t, dir, fourLines, files...)
	}
	c := checkFolder(t, dir)
	if len(c.Passes) != 2 || len(c.Lines) != 7 {
		t.Fatalf("%d passes and %d tracks, want 2 and 7", len(c.Passes), len(c.Lines))
	}
	for i, want := range []struct{ startS, durationS float64 }{{3600, 6}, {3700, 8}} {
		if p := c.Passes[i]; p.StartS.Or(0) != want.startS || p.DurationS != want.durationS || len(p.Files) != 4-i {
			t.Errorf("%s starts at %v for %g s with %d files, want %g for %g with %d", p.Name, p.StartS, p.DurationS, len(p.Files), want.startS, want.durationS, 4-i)
		}
	}
	if f := one(t, c, model.KindMissing); f.Pass != "pass 2" || !slices.Equal(f.Lines, []string{"4 Ld vox"}) {
		t.Errorf("missing %v in %s, want 4 Ld vox in pass 2", f.Lines, f.Pass)
	}
	stopsOnlyFor(t, c, model.KindMissing)
	if !strings.Contains(c.Verdict(), "(4 lines in 2 passes, 0:14,") {
		t.Errorf("verdict %q, want four lines in two passes of 14 s", c.Verdict())
	}
}

// A fix punched in is neither short, nor late, nor a second file for its line.
func TestAPunchedInFixIsPartOfItsPass(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	files := fourFiles(playS)
	for i := range files {
		files[i].startS = 3600
	}
	files = append(files, file{name: "Organ_02.wav", channels: [][]float32{notes(30, 48000, 2)}, startS: 3602.5})
	put(t, dir, fourLines, files...)
	c := checkFolder(t, dir)
	if len(c.Passes) != 1 || len(c.Passes[0].Files) != 5 {
		t.Fatalf("%d passes, the first of %d files; want one of five", len(c.Passes), len(c.Passes[0].Files))
	}
	if len(c.Findings) > 0 {
		t.Errorf("findings on a take with a fix:\n%s", summary(c))
	}
	fixes := 0
	for _, l := range c.Lines {
		if l.File == "Organ_02.wav" {
			fixes++
			if l.Name != "2 Organ" || l.OffsetS != 2.5 {
				t.Errorf("the fix is %q from %g s on, want 2 Organ from 2.5 s", l.Name, l.OffsetS)
			}
		}
	}
	if fixes != 1 {
		t.Errorf("the fix is in %d reports, want one", fixes)
	}
	if !strings.Contains(c.Verdict(), "(4 lines, 0:06,") {
		t.Errorf("verdict %q, want four lines", c.Verdict())
	}
}
