package band

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

// The invented recorder, and when it ran.
const (
	recorderName = "Wendrake Sexton"
	sessionDate  = "2026-09-18"
	checkTime    = "11:05:30"
	songTime     = "15:42:10"
)

// LineCheckFolder is where the line check's files lie in the session's folder.
const LineCheckFolder = "Line check"

// SheetName is the file name of the assistant's input list.
const SheetName = "Input list.csv"

// File is one sound file of a session and the lines it holds, a channel each.
type File struct {
	Name  string
	Lines []int
}

// Files are the recorder's files of a take: one a line, the rooms interleaved.
func (s *Session) Files(take int) []File {
	var out []File
	for i, l := range s.Lines {
		name := fmt.Sprintf("%s_%02d.wav", l.File, take)
		if n := len(out); n > 0 && out[n-1].Name == name {
			out[n-1].Lines = append(out[n-1].Lines, i)
			continue
		}
		out = append(out, File{name, []int{i}})
	}
	return out
}

// pass is one run of the recorder.
type pass struct {
	folder  string
	take    int
	clock   string
	session *Session
}

// Write makes the session's folder: the song, a line check in a folder below
// it and the input list. The same options write the same bytes. It writes into
// a new or empty folder, or over an earlier session of its own, and refuses any
// other. progress, which may be nil, hears of seconds of sound rendered.
func Write(ctx context.Context, dir string, o Options, progress func(done, total float64)) error {
	o.LineCheck = false
	song, err := NewSession(o)
	if err != nil {
		return err
	}
	check := o
	check.LineCheck, check.DurationS = true, 0
	lines, err := NewSession(check)
	if err != nil {
		return err
	}
	passes := []pass{
		{filepath.Join(dir, LineCheckFolder), 1, checkTime, lines},
		{dir, 2, songTime, song},
	}
	for _, p := range passes {
		if err := p.free(); err != nil {
			return err
		}
	}
	total := 0.0
	for _, p := range passes {
		total += p.session.Scene.seconds()
	}
	done := 0.0
	for _, p := range passes {
		err := p.write(ctx, func(s float64) {
			if progress != nil {
				progress(done+s, total)
			}
		})
		if err != nil {
			return err
		}
		done += p.session.Scene.seconds()
	}
	return writeSheet(filepath.Join(dir, SheetName), song.Lines)
}

func (s *Scene) seconds() float64 { return float64(s.Frames) / float64(s.RateHz) }

// free makes the folder and makes sure that nothing of anybody else's is in it.
func (p pass) free() error {
	if err := os.MkdirAll(p.folder, 0o755); err != nil {
		return fmt.Errorf("the session's folder: %w", err)
	}
	entries, err := os.ReadDir(p.folder)
	if err != nil {
		return fmt.Errorf("the session's folder: %w", err)
	}
	known := map[string]bool{}
	for _, f := range p.session.Files(p.take) {
		known[f.Name] = true
	}
	for _, e := range entries {
		name := e.Name()
		switch {
		case strings.HasPrefix(name, "."), name == LineCheckFolder && e.IsDir():
		case name == SheetName && e.Type().IsRegular() && begins(filepath.Join(p.folder, name), sheetTitle):
		case known[name] && e.Type().IsRegular() && begins(filepath.Join(p.folder, name), recorderName):
		default:
			return fmt.Errorf("folder %q holds %q, which the band did not make: give it a new or an empty folder", p.folder, name)
		}
	}
	return nil
}

// begins says whether a mark stands in the first kilobytes of a file: in the
// bext chunk of the band's own recordings, in the title of its sheet.
func begins(path, mark string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 4096)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return false
	}
	return strings.Contains(string(head[:n]), mark)
}

// reel is one file being written under a temporary name.
type reel struct {
	file  *os.File
	path  string
	wav   *wav.Writer
	block sound.Block
	lines []int
}

func (r *reel) temporary() string {
	return filepath.Join(filepath.Dir(r.path), "."+filepath.Base(r.path)+".part")
}

// writeFrames is how many frames are rendered at a time.
const writeFrames = 4800

func (p pass) write(ctx context.Context, progress func(seconds float64)) (err error) {
	s := p.session
	var reels []*reel
	defer func() {
		if err == nil {
			return
		}
		for _, r := range reels {
			r.file.Close()
			os.Remove(r.temporary())
		}
	}()
	for _, f := range s.Files(p.take) {
		r := &reel{path: filepath.Join(p.folder, f.Name), lines: f.Lines, block: sound.Block{Channels: make([][]float32, len(f.Lines))}}
		if r.file, err = os.Create(r.temporary()); err != nil {
			return fmt.Errorf("the session's folder: %w", err)
		}
		reels = append(reels, r)
		if r.wav, err = wav.NewWriter(r.file, p.spec(f), s.Scene.Frames); err != nil {
			return fmt.Errorf("%s: %w", f.Name, err)
		}
	}
	render, err := NewRenderer(&s.Scene)
	if err != nil {
		return err
	}
	b := sound.NewBlock(len(s.Scene.Mics), writeFrames)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := render.Next(b); err == io.EOF {
			break
		}
		for _, r := range reels {
			for c, line := range r.lines {
				r.block.Channels[c] = b.Channels[line]
			}
			if err := r.wav.Write(r.block); err != nil {
				return fmt.Errorf("%s: %w", r.path, err)
			}
		}
		progress(float64(b.Start+int64(b.Frames())) / float64(s.Scene.RateHz))
	}
	for _, r := range reels {
		if err := errors.Join(r.wav.Close(), r.file.Sync(), r.file.Close()); err != nil {
			return fmt.Errorf("%s: %w", r.path, err)
		}
	}
	for _, r := range reels {
		if err := os.Rename(r.temporary(), r.path); err != nil {
			return err
		}
	}
	return nil
}

// spec is what the recorder writes of itself into a file.
func (p pass) spec(f File) wav.Spec {
	rate := p.session.Scene.RateHz
	var h, m, sec uint64
	fmt.Sscanf(p.clock, "%d:%d:%d", &h, &m, &sec)
	mode := "mono"
	if len(f.Lines) == 2 {
		mode = "stereo"
	}
	description := fmt.Sprintf("%s take %d", songTitle, p.take)
	if p.session.Solos != nil {
		description = "line check"
	}
	return wav.Spec{
		Format: sound.Format{Container: "WAV", Encoding: sound.Integer, Bits: 24, RateHz: rate, Channels: len(f.Lines)},
		Broadcast: &sound.Broadcast{
			Description: description, Originator: recorderName,
			OriginatorReference: fmt.Sprintf("WS%s%s%03d", strings.ReplaceAll(sessionDate, "-", ""), strings.ReplaceAll(p.clock, ":", ""), f.Lines[0]+1),
			OriginationDate:     sessionDate, OriginationTime: p.clock,
			TimeReference: (h*3600 + m*60 + sec) * uint64(rate), Version: 1,
			CodingHistory: fmt.Sprintf("A=PCM,F=%d,W=24,M=%s,T=%s\r\n", rate, mode, recorderName),
		},
	}
}
