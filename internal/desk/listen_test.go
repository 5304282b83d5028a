package desk_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"tidemark/internal/desk"
	"tidemark/internal/disk"
	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
	"tidemark/internal/sound/wav"
)

// stairs is a channel whose every sample says its frame, exactly in 24 bits.
func stairs(frames, from int) []float32 {
	x := make([]float32, frames)
	for i := range x {
		x[i] = float32(from+i) / (1 << 23)
	}
	return x
}

// excerptFolder holds a stereo WAV of three seconds, the second channel a
// million steps over the first, and the first as FLAC that tells no length.
func excerptFolder(t *testing.T) *disk.Folder {
	t.Helper()
	dir := t.TempDir()
	left, right := stairs(3*48000, 0), stairs(3*48000, 1e6)
	put(t, dir, "", file{name: "Rooms_01.wav", channels: [][]float32{left, right}, startS: 3600})
	write(t, dir+"/Organ_01.flac", flacBytes(t, left, 48000, false))
	lib, err := disk.OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	return lib
}

func readWAV(t *testing.T, p []byte) (sound.Header, []float32) {
	t.Helper()
	r, err := wav.Open(bytes.NewReader(p), int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	planar := soundtest.ReadAll(t, r, 1000)
	if d := r.Damage(); len(d) > 0 {
		t.Errorf("an excerpt is damaged: %v", d)
	}
	return r.Header(), planar[0]
}

func TestExcerptHoldsTheStretchAskedFor(t *testing.T) {
	t.Parallel()
	lib := excerptFolder(t)
	for _, c := range []struct {
		name            string
		file            string
		channel         int
		startS, lengthS float64
		first, frames   int // of the recording
	}{
		{"in the middle", "Rooms_01.wav", 1, 1, 0.5, 48000, 24000},
		{"the other channel", "Rooms_01.wav", 2, 1, 0.5, 48000, 24000},
		{"before the beginning", "Rooms_01.wav", 1, -5, 0.5, 0, 24000},
		{"over the end", "Rooms_01.wav", 1, 2.5, 10, 120000, 24000},
		{"behind the end: the last tenth of a second", "Rooms_01.wav", 1, 100, 1, 3*48000 - 4800, 4800},
		{"behind all time", "Rooms_01.wav", 1, 1e300, 1, 3*48000 - 4800, 4800},
		{"no length at all", "Rooms_01.wav", 1, 1, 0, 48000, 4800},
		{"a length below nothing", "Rooms_01.wav", 1, 1, -3, 48000, 4800},
		{"longer than anybody listens", "Rooms_01.wav", 1, 0, 1e9, 0, 3 * 48000},
		{"from a FLAC without a length", "Organ_01.flac", 1, 1, 0.5, 48000, 24000},
		{"over the end of a FLAC without a length", "Organ_01.flac", 1, 2.5, 10, 120000, 24000},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			if err := desk.Excerpt(lib, c.file, c.channel, c.startS, c.lengthS, &b); err != nil {
				t.Fatal(err)
			}
			h, got := readWAV(t, b.Bytes())
			if want := (sound.Format{Container: "WAV", Bits: 24, RateHz: 48000, Channels: 1}); h.Format != want {
				t.Errorf("format %+v, want %+v", h.Format, want)
			}
			soundtest.Same(t, [][]float32{got}, [][]float32{stairs(c.frames, c.first+(c.channel-1)*1e6)})
		})
	}
}

func TestExcerptRefusesWhatIsNotThere(t *testing.T) {
	t.Parallel()
	lib := excerptFolder(t)
	for _, c := range []struct {
		name, file string
		channel    int
		startS     float64
		says       string
	}{
		{"channel 0", "Rooms_01.wav", 0, 0, "2 channels"},
		{"channel 3 of 2", "Rooms_01.wav", 3, 0, "2 channels"},
		{"a file that is not in the folder", "Zither.wav", 1, 0, "Zither.wav"},
		{"a way out of the folder", "../Rooms_01.wav", 1, 0, "not in"},
		{"a time that is no number", "Rooms_01.wav", 1, math.NaN(), "time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			err := desk.Excerpt(lib, c.file, c.channel, c.startS, 1, &b)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("error %v, want one that says %q", err, c.says)
			}
			if b.Len() > 0 {
				t.Errorf("%d bytes were written all the same", b.Len())
			}
		})
	}
}

// A place of a finding is in seconds of the pass; a file armed late lies later in it.
func TestACheckFindsTheSoundOfALineInItsPass(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	late := stairs(4*48000, 0)
	files := fourFiles(playS)
	for i := range files {
		files[i].startS = 3600
	}
	files[1].startS, files[1].channels = 3602, [][]float32{late}
	put(t, dir, fourLines, files...)
	req := request(t, dir)
	c := check(t, req)
	var excerpt bytes.Buffer
	if err := c.Excerpt(req.Recordings, "pass 1", "2 Organ", 3, 0.5, &excerpt); err != nil {
		t.Fatal(err)
	}
	_, got := readWAV(t, excerpt.Bytes())
	soundtest.Same(t, [][]float32{got}, [][]float32{stairs(24000, 48000)})
	var b bytes.Buffer
	for _, asked := range [][2]string{{"pass 2", "2 Organ"}, {"pass 1", "9 Zither"}} {
		if err := c.Excerpt(req.Recordings, asked[0], asked[1], 0, 1, &b); err == nil || !strings.Contains(err.Error(), asked[1]) {
			t.Errorf("%v: error %v, want one that names the line", asked, err)
		}
	}
}
