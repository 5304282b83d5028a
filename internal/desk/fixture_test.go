package desk_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"tidemark/internal/band"
	"tidemark/internal/desk"
	"tidemark/internal/disk"
	"tidemark/internal/model"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

// shared is a folder of this run of the test binary, for what is rendered once.
var shared string

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "desk-test-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	shared = dir
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

// skipSlow leaves a test out where it would take minutes. What runs side by side
// is watched by the tests of workers, progress and cancelling, which stay.
func skipSlow(t *testing.T, why string) {
	t.Helper()
	if testing.Short() || raced {
		t.Skip(why + ": not with -short nor -race")
	}
}

// demo is the band's session on the disk, with its line check and its list.
type demo struct {
	dir     string
	session *band.Session
}

// faultyDemo is the session that the demo shows, whole: the last of its faults
// is sung at the end.
var faultyDemo = sync.OnceValues(func() (demo, error) {
	o := band.Options{Faults: true}
	s, err := band.NewSession(o)
	if err != nil {
		return demo{}, err
	}
	d := demo{filepath.Join(shared, "faulty"), s}
	return d, band.Write(context.Background(), d.dir, o, nil)
})

// take is a short piece of the song, in memory: a channel a line.
type take struct {
	rateHz  int
	lines   [][]float32
	session *band.Session
}

// shortTake is twelve seconds of the song with those faults that do not need all of it.
var shortTake = sync.OnceValues(func() (take, error) { return render(band.Options{Faults: true, DurationS: 12}) })

// render plays a session into memory.
func render(o band.Options) (take, error) {
	s, err := band.NewSession(o)
	if err != nil {
		return take{}, err
	}
	r, err := band.NewRenderer(&s.Scene)
	if err != nil {
		return take{}, err
	}
	t := take{s.Scene.RateHz, make([][]float32, len(s.Lines)), s}
	b := sound.NewBlock(len(s.Lines), 4800)
	for {
		if err := r.Next(b); err == io.EOF {
			return t, nil
		} else if err != nil {
			return take{}, err
		}
		for c, x := range b.Channels {
			t.lines[c] = append(t.lines[c], x...)
		}
	}
}

// some is the take with these lines alone, by number.
func (t take) some(numbers ...int) take {
	lines, session := t.lines, *t.session
	t.lines, session.Lines = nil, nil
	for _, n := range numbers {
		t.lines, session.Lines = append(t.lines, lines[n-1]), append(session.Lines, t.session.Lines[n-1])
	}
	t.session = &session
	return t
}

// list writes the lines as a tidy input list.
func (t take) list(tb testing.TB, dir string) {
	var b strings.Builder
	b.WriteString("Ch,Source,Mic,Track\n")
	for _, l := range t.session.Lines {
		mic := l.Mic
		if mic == "same" {
			mic = "Mirrelk Trivet"
		}
		fmt.Fprintf(&b, "%d,%s,%s,%s\n", l.Number, strings.Replace(l.Source, "Rooms", map[bool]string{true: "Room L", false: "Room R"}[l.Number == 11], 1), mic, "")
	}
	write(tb, filepath.Join(dir, "Input list.csv"), []byte(b.String()))
}

// file is what a test puts on the disk as one recording.
type file struct {
	name     string // below the folder
	channels [][]float32
	rateHz   int
	bits     int
	startS   float64  // time reference, 0 without a bext chunk
	names    []string // of channels, nil without
	form     string   // "WAV", "RF64", "BW64"
}

// wavBytes is the file as the bytes of a WAV file. Rate and depth are 48 kHz
// and 24 bit where the test does not care.
func (f file) wavBytes(tb testing.TB) []byte {
	tb.Helper()
	if f.rateHz == 0 {
		f.rateHz = 48000
	}
	if f.bits == 0 {
		f.bits = 24
	}
	spec := wav.Spec{Format: sound.Format{Container: f.form, Bits: f.bits, RateHz: f.rateHz, Channels: len(f.channels)}, ChannelNames: f.names}
	if f.startS > 0 {
		spec.Broadcast = &sound.Broadcast{Originator: "Wendrake Sexton", OriginationDate: "2026-09-18", OriginationTime: clock(f.startS),
			TimeReference: uint64(f.startS * float64(f.rateHz)), Version: 1}
	}
	var b bytes.Buffer
	w, err := wav.NewWriter(&b, spec, int64(len(f.channels[0])))
	if err != nil {
		tb.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: f.channels}); err != nil {
		tb.Fatal(err)
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

func clock(s float64) string {
	return fmt.Sprintf("%02d:%02d:%02d", int(s)/3600, int(s)/60%60, int(s)%60)
}

// write puts a file on the disk, with the folders it needs.
func write(tb testing.TB, path string, p []byte) {
	tb.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		tb.Fatal(err)
	}
	if err := os.WriteFile(path, p, 0o666); err != nil {
		tb.Fatal(err)
	}
}

// link gives a file a second name, or copies it where the disk cannot.
func link(tb testing.TB, from, to string) {
	tb.Helper()
	if err := os.MkdirAll(filepath.Dir(to), 0o777); err != nil {
		tb.Fatal(err)
	}
	if os.Link(from, to) == nil {
		return
	}
	p, err := os.ReadFile(from)
	if err != nil {
		tb.Fatal(err)
	}
	write(tb, to, p)
}

// put writes recordings and, where it is not "", an input list.
func put(tb testing.TB, dir, list string, files ...file) {
	tb.Helper()
	for _, f := range files {
		write(tb, filepath.Join(dir, filepath.FromSlash(f.name)), f.wavBytes(tb))
	}
	if list != "" {
		write(tb, filepath.Join(dir, "Input list.csv"), []byte(list))
	}
}

// notes is a player of its own: notes of half a second with rests of another
// length for each seed, over the noise of an open microphone.
func notes(seed uint64, rateHz int, seconds float64) []float32 {
	n := signal.Frames(rateHz, seconds)
	x := signal.White(seed, signal.Amplitude(-72), n)
	hz := 110 * (1 + 0.37*float64(seed%11))
	length := signal.Frames(rateHz, 0.5)
	for at := signal.Frames(rateHz, 0.2+0.07*float64(seed%5)); at+length < n; at += length + signal.Frames(rateHz, 0.3+0.05*float64(seed%7)) {
		note := signal.Sine(rateHz, hz, signal.Amplitude(-16), length)
		signal.Fade(note, rateHz/40, rateHz/20)
		signal.Add(x, note, at)
		hz *= 1.122
		if hz > 1500 {
			hz /= 8
		}
	}
	return x
}

// fourLines is an input list of sources that nothing relates, and one folder's
// worth of sound for them.
const fourLines = "Ch,Source,Mic\n1,Accordion,Farrowick Bellrope\n2,Organ,Ossendal Ladle\n3,Fiddle,Ossendal Thimble\n4,Ld vox,Farrowick Lantern\n"

func fourFiles(seconds float64) []file {
	var out []file
	for i, name := range []string{"Accordion_01.wav", "Organ_01.wav", "Fiddle_01.wav", "Ld vox_01.wav"} {
		out = append(out, file{name: name, channels: [][]float32{notes(uint64(i+1), 48000, seconds)}})
	}
	return out
}

// request is a check of a folder as the command line asks for it.
func request(tb testing.TB, dir string) desk.CheckRequest {
	tb.Helper()
	lib, err := disk.OpenFolder(dir)
	if err != nil {
		tb.Fatal(err)
	}
	req := desk.CheckRequest{Recordings: lib}
	list, err := disk.FindList(dir)
	if err != nil {
		tb.Fatal(err)
	}
	if list != "" {
		doc, closer, err := disk.OpenList(list)
		if err != nil {
			tb.Fatal(err)
		}
		tb.Cleanup(func() { closer.Close() })
		req.List = doc
	}
	if alone := disk.FindAlone(dir); alone != "" {
		if req.Alone, err = disk.OpenFolder(alone); err != nil {
			tb.Fatal(err)
		}
	}
	return req
}

func check(tb testing.TB, req desk.CheckRequest) desk.Check {
	tb.Helper()
	began := time.Now()
	c, err := desk.CheckPass(context.Background(), req)
	if err != nil {
		tb.Fatal(err)
	}
	if d := time.Since(began); d > time.Second {
		tb.Logf("checked in %.1f s", d.Seconds())
	}
	return c
}

// checkFolder checks a folder with the list and the line check that lie in it.
func checkFolder(tb testing.TB, dir string) desk.Check {
	tb.Helper()
	return check(tb, request(tb, dir))
}

// found are the findings of a kind.
func found(c desk.Check, kind model.Kind) []model.Finding {
	var out []model.Finding
	for _, f := range c.Findings {
		if f.Kind == kind {
			out = append(out, f)
		}
	}
	return out
}

// one is the only finding of a kind.
func one(tb testing.TB, c desk.Check, kind model.Kind) model.Finding {
	tb.Helper()
	all := found(c, kind)
	if len(all) != 1 {
		tb.Fatalf("%d findings of kind %s, want one:\n%s", len(all), kind, summary(c))
	}
	return all[0]
}

// stopsOnlyFor fails where something else than these kinds stops the band.
func stopsOnlyFor(tb testing.TB, c desk.Check, kinds ...model.Kind) {
	tb.Helper()
	may := map[model.Kind]bool{}
	for _, k := range kinds {
		may[k] = true
	}
	for _, f := range c.Findings {
		if f.Weight == model.Stop && !may[f.Kind] {
			tb.Errorf("an unexpected stop: %s %v: %s", f.Kind, f.Lines, f.Evidence)
		}
	}
}

// summary lists the findings for a failed test's words.
func summary(c desk.Check) string {
	var b strings.Builder
	for _, f := range c.Findings {
		fmt.Fprintf(&b, "  %-6s %s %v %v: %s\n", f.Weight, f.Kind, f.Lines, f.Files, f.Evidence)
	}
	return b.String()
}

// object is the check as its JSON reads.
func object(tb testing.TB, v any) map[string]any {
	tb.Helper()
	p, err := json.Marshal(v)
	if err != nil {
		tb.Fatal(err)
	}
	var m map[string]any
	if err := json.Unmarshal(p, &m); err != nil {
		tb.Fatal(err)
	}
	return m
}

// lineNumbered is the report of a line in the first pass.
func lineNumbered(tb testing.TB, c desk.Check, n int) desk.LineReport {
	tb.Helper()
	for _, l := range c.Lines {
		if l.Number == n {
			return l
		}
	}
	tb.Fatalf("line %d is in no report", n)
	return desk.LineReport{}
}
