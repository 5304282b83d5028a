package soundfile

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
	"tidemark/internal/sound/wav"
)

// Programs that read and write sound for others are the outside truth here: what
// they write must read as it was, and what is written here they must read as we
// do. Each test is skipped where its program is not installed.

func run(t *testing.T, name string, args ...string) {
	t.Helper()
	at, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s is not installed: it is the outside truth of this test", name)
	}
	if said, err := exec.Command(at, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s %s: %v: %s", name, strings.Join(args, " "), err, said)
	}
}

func ourFile(t *testing.T, path string, spec wav.Spec, planar [][]float32) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := wav.Create(f, spec)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: planar}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, path string) (sound.Reader, [][]float32) {
	t.Helper()
	p, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r, err := Open(bytes.NewReader(p), int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	return r, soundtest.ReadAll(t, r, 700)
}

func TestFilesOfOtherProgramsReadAsTheyWere(t *testing.T) {
	type kind struct {
		program, file string
		args          []string
		format        sound.Format // Bits, Encoding and Container
	}
	ffmpeg := func(codec, file, container string, bits int, e sound.Encoding, more ...string) kind {
		return kind{"ffmpeg", file, append([]string{"-c:a", codec}, more...), sound.Format{Container: container, Bits: bits, Encoding: e}}
	}
	sox := func(file, container string, bits int, e sound.Encoding, args ...string) kind {
		return kind{"sox", file, args, sound.Format{Container: container, Bits: bits, Encoding: e}}
	}
	kinds := []kind{
		ffmpeg("pcm_u8", "a.wav", "WAV", 8, sound.Integer),
		ffmpeg("pcm_s24le", "a.wav", "WAV", 24, sound.Integer),
		ffmpeg("pcm_f32le", "a.wav", "WAV", 32, sound.Float),
		ffmpeg("pcm_f64le", "a.wav", "WAV", 64, sound.Float),
		ffmpeg("pcm_s24le", "a.wav", "RF64", 24, sound.Integer, "-rf64", "always"),
		ffmpeg("pcm_s24le", "a.wav", "WAV", 24, sound.Integer, "-write_bext", "1", "-metadata", "description=Line 3"),
		ffmpeg("pcm_s16be", "a.aiff", "AIFF", 16, sound.Integer),
		ffmpeg("pcm_s16le", "a.aiff", "AIFC", 16, sound.Integer), // sowt
		ffmpeg("pcm_f32be", "a.aiff", "AIFC", 32, sound.Float),
		sox("a.wav", "WAV", 16, sound.Integer, "-b", "16"),
		sox("a.wav", "WAV", 24, sound.Integer, "-b", "24"),
		sox("a.wav", "WAV", 32, sound.Integer, "-b", "32"),
		sox("a.wav", "WAV", 32, sound.Float, "-e", "floating-point", "-b", "32"),
		sox("a.wav", "WAV", 64, sound.Float, "-e", "floating-point", "-b", "64"),
		sox("a.aiff", "AIFF", 24, sound.Integer, "-b", "24"),
		sox("a.aifc", "AIFC", 16, sound.Integer, "-b", "16"),
		sox("a.flac", "FLAC", 24, sound.Integer, "-b", "24"),
	}
	for i, k := range kinds {
		// Programs take long to start, so channel counts go round. The number
		// of frames is even: ffmpeg counts the pad byte into the 64-bit size of
		// the sound, and sox leaves it away at the end of AIFF, which is noted.
		channels := []int{2, 1, 6}[i%3]
		t.Run(fmt.Sprintf("%s %v %s, %d channels", k.program, k.args, k.file, channels), func(t *testing.T) {
			dir := t.TempDir()
			grid := min(k.format.Bits, 24)
			want := soundtest.Noise(channels, 4000, grid)
			in, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, k.file)
			ourFile(t, in, wav.Spec{Format: sound.Format{Bits: max(grid, 16), RateHz: 48000, Channels: channels}}, want)
			if k.program == "ffmpeg" {
				run(t, "ffmpeg", append(append([]string{"-v", "error", "-i", in}, k.args...), out)...)
			} else {
				run(t, "sox", append(append([]string{"-D", in}, k.args...), out)...)
			}
			r, got := read(t, out)
			k.format.RateHz, k.format.Channels = 48000, channels
			if f := r.Header().Format; f != k.format {
				t.Fatalf("format %+v, want %+v", f, k.format)
			}
			if d := r.Damage(); len(d) != 0 {
				t.Fatalf("damage %v, want none", d)
			}
			soundtest.Same(t, got, want)
			if strings.Contains(strings.Join(k.args, " "), "bext") && (r.Header().Broadcast == nil || r.Header().Broadcast.Description != "Line 3") {
				t.Fatalf("broadcast metadata %+v, want the description", r.Header().Broadcast)
			}
		})
	}
}

// A pipe cannot be gone back in: ffmpeg leaves the sizes open.
func TestFileThatWasWrittenThroughAPipe(t *testing.T) {
	at, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("ffmpeg is not installed: it is the outside truth of this test")
	}
	in := filepath.Join(t.TempDir(), "in.wav")
	want := soundtest.Noise(2, 4001, 16)
	ourFile(t, in, wav.Spec{Format: sound.Format{Bits: 16, RateHz: 48000, Channels: 2}}, want)
	p, err := exec.Command(at, "-v", "error", "-i", in, "-f", "wav", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	r, err := Open(bytes.NewReader(p), int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	soundtest.Same(t, soundtest.ReadAll(t, r, 100), want)
	if d := r.Damage(); len(d) != 1 || d[0].Kind != "unfinished" || d[0].HeldFrames != 4001 {
		t.Fatalf("damage %v, want one that is unfinished and holds 4001 frames", d)
	}
}

// What the writer makes reads the same elsewhere: all forms, decoded by ffmpeg.
func TestOurFilesReadTheSameElsewhere(t *testing.T) {
	for _, f := range []sound.Format{
		{Container: "WAV", Bits: 8, Channels: 1}, {Container: "WAV", Bits: 16, Channels: 8}, {Container: "WAV", Bits: 24, Channels: 2},
		{Container: "WAV", Bits: 32, Channels: 1}, {Container: "WAV", Encoding: sound.Float, Bits: 32, Channels: 8},
		{Container: "RF64", Encoding: sound.Float, Bits: 64, Channels: 2}, {Container: "RF64", Bits: 24, Channels: 8},
	} {
		f.RateHz = 96000
		channels := f.Channels
		t.Run(fmt.Sprintf("%+v", f), func(t *testing.T) {
			dir := t.TempDir()
			in, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, "out.raw")
			ourFile(t, in, wav.Spec{
				Format: f, Broadcast: &sound.Broadcast{Description: "Line 3", CodingHistory: "odd"},
				ChannelNames: make([]string, channels),
			}, soundtest.Noise(channels, 4001, min(f.Bits, 24)))
			run(t, "ffmpeg", "-v", "error", "-i", in, "-f", "f32le", "-c:a", "pcm_f32le", out)
			raw, err := os.ReadFile(out)
			if err != nil {
				t.Fatal(err)
			}
			want := make([][]float32, channels)
			for i := 0; i+4 <= len(raw); i += 4 {
				c := i / 4 % channels
				want[c] = append(want[c], math.Float32frombits(binary.LittleEndian.Uint32(raw[i:])))
			}
			_, got := read(t, in)
			soundtest.Same(t, got, want)
		})
	}
}
