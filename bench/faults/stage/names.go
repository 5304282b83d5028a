package stage

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// naming is one recorder's habit of naming files.
type naming struct {
	style, take int
	hour        int
	// aloneFolders: the line check has one folder a source; else one pass.
	aloneFolders bool
}

func newNaming(r *rand.Rand) naming {
	return naming{style: r.IntN(6), take: 1 + r.IntN(12), hour: 10 + r.IntN(12), aloneFolders: r.IntN(2) == 0}
}

func (n naming) file(number int, source string) string {
	switch n.style {
	case 0:
		return fmt.Sprintf("%s_%02d.wav", source, n.take)
	case 1:
		return fmt.Sprintf("%02d-%s-%04d.wav", number, strings.ToUpper(source), n.take)
	case 2:
		return fmt.Sprintf("%02d_%s_T%02d.wav", number, source, n.take)
	case 3:
		return fmt.Sprintf("%s_%02d-01.wav", source, n.take)
	case 4:
		return fmt.Sprintf("%s-241018_%02d02.wav", source, n.hour)
	}
	return fmt.Sprintf("%s.%02d.wav", source, n.take)
}

// WriteList writes the input list as somebody typed it, in the words of one of
// the heads, which chance picks.
func WriteList(w io.Writer, lines []Line, r *rand.Rand) error {
	heads := [][]string{
		{"ch", "source", "mic", "notes"},
		{"#", "instrument", "mic/DI", "remarks"},
		{"input", "name", "microphone", "comment"},
	}
	rows := [][]string{heads[r.IntN(len(heads))]}
	for _, l := range lines {
		rows = append(rows, []string{strconv.Itoa(l.Number), l.Source, l.Mic, ""})
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// Folder names below a session's own folder.
const (
	TakeFolder  = "take"
	AloneFolder = "line check"
	ListName    = "list.csv"
)

// Record writes take, line check and list below dir and lets go of the sources.
// The samples of each take file are on disk afterwards and can be had with
// ReadFile.
func (s *Session) Record(dir string) error {
	for _, d := range []string{TakeFolder, AloneFolder} {
		if err := os.MkdirAll(filepath.Join(dir, d), 0o755); err != nil {
			return err
		}
	}
	err := s.RecordTo(func(name string, sh Sheet, channels [][]float32) error {
		to := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		return WriteFile(to, sh, channels)
	})
	if err != nil {
		return err
	}
	f, err := os.Create(filepath.Join(dir, ListName))
	if err != nil {
		return err
	}
	return errors.Join(WriteList(f, s.Lines, rand.New(rand.NewPCG(s.Seed, 0x400))), f.Close())
}

// Put takes over one recorded file: its name below the session, with slashes.
type Put func(name string, sh Sheet, channels [][]float32) error

// RecordTo renders every file of the take and of the line check for put, and
// lets go of the sources.
func (s *Session) RecordTo(put Put) error {
	s.gains = make([]float64, len(s.Lines))
	alone := s.aloneSources(rand.New(rand.NewPCG(s.Seed, 0xa10)))
	room := s.fillRoom(s.sources, rand.New(rand.NewPCG(s.Seed, 0x300)))
	if err := s.write(put, TakeFolder, s.sources, room, true); err != nil {
		return err
	}
	room = s.fillRoom(alone, rand.New(rand.NewPCG(s.Seed, 0x300)))
	if err := s.write(put, AloneFolder, alone, room, false); err != nil {
		return err
	}
	s.sources = nil
	return nil
}

// write renders the lines and hands them on, pairs of one file together.
func (s *Session) write(put Put, dir string, sources []source, room [roomOutputs][]float32, take bool) error {
	for i := 0; i < len(s.Lines); i++ {
		channels := [][]float32{s.render(i, sources, room, take)}
		if i+1 < len(s.Lines) && s.Lines[i+1].File == s.Lines[i].File {
			channels = append(channels, s.render(i+1, sources, room, take))
		}
		bw := s.Stamp()
		sheet := Sheet{RateHz: s.RateHz, Bits: s.Bits, Stamp: &bw}
		if !take {
			bw.TimeReference -= uint64(s.RateHz) * 1800
		}
		if !take && s.names.aloneFolders {
			if err := s.writeTurns(put, dir, s.Lines[i].File, sheet, channels); err != nil {
				return err
			}
		} else if err := put(dir+"/"+s.Lines[i].File, sheet, channels); err != nil {
			return err
		}
		i += len(channels) - 1
	}
	return nil
}

// writeTurns cuts one file of the line check into a folder for each source.
func (s *Session) writeTurns(put Put, dir, file string, sheet Sheet, channels [][]float32) error {
	n, gap := s.turnFrames()
	for turn, src := range s.turns() {
		name := ""
		for _, l := range s.Lines {
			if l.own == src {
				name = l.Source
				break
			}
		}
		cut := make([][]float32, len(channels))
		for c := range channels {
			cut[c] = channels[c][turn*(n+gap) : (turn+1)*(n+gap)]
		}
		if err := put(dir+"/"+name+"/"+file, sheet, cut); err != nil {
			return err
		}
	}
	return nil
}

// Stamp is the broadcast stamp that the session's recorder writes.
func (s *Session) Stamp() Stamp {
	seconds := s.names.hour*3600 + 120
	return Stamp{
		Date: "2024-10-18", Time: fmt.Sprintf("%02d:02:00", s.names.hour),
		TimeReference: uint64(seconds) * uint64(s.RateHz), Originator: "Fathom R24",
	}
}

// Turn cuts what a line of the line check holds while another line's source has
// its turn, out of a file as RecordTo gives it where all turns are one pass.
func (s *Session) Turn(x []float32, line int) []float32 {
	n, gap := s.turnFrames()
	turn := slices.Index(s.turns(), s.Lines[line].own)
	return x[turn*(n+gap) : (turn+1)*(n+gap)]
}

// TurnFolder is the folder of the line check that holds the turn of a line's
// source, and "" where all turns are one pass.
func (s *Session) TurnFolder(line int) string {
	if !s.names.aloneFolders {
		return ""
	}
	for _, l := range s.Lines {
		if l.own == s.Lines[line].own {
			return l.Source
		}
	}
	return ""
}

// turnFrames is how long a turn lasts, and the pause before it.
func (s *Session) turnFrames() (turn, gap int) {
	return int(aloneS * float64(s.RateHz)), s.RateHz / 2
}

// aloneS is how long each source plays alone in the line check.
const aloneS = 2.5

// turns are the sources in the order in which the list names them first.
func (s *Session) turns() []int {
	var order []int
	for _, l := range s.Lines {
		if !slices.Contains(order, l.own) {
			order = append(order, l.own)
		}
	}
	return order
}

// aloneSources lets each source play by itself in turn: the loudest stretch of
// what it plays in the take. Who rests in the take taps a few times.
func (s *Session) aloneSources(r *rand.Rand) []source {
	n, gap := s.turnFrames()
	out := make([]source, len(s.sources))
	for turn, i := range s.turns() {
		src := s.sources[i]
		x := make([]float32, gap+len(s.sources)*(n+gap))
		best, at := 0.0, 0
		for from := 0; from+n <= len(src.x); from += n / 4 {
			var p float64
			for k := from; k < from+n; k += 7 {
				p += float64(src.x[k]) * float64(src.x[k])
			}
			if p > best*(1.0+0.05*r.Float64()) {
				best, at = p, from
			}
		}
		to := gap + turn*(n+gap)
		if best > 0 {
			copy(x[to:], src.x[at:min(at+n, len(src.x))])
			fade := s.RateHz / 50
			for k := range fade {
				x[to+k] *= float32(k) / float32(fade)
				x[to+n-1-k] *= float32(k) / float32(fade)
			}
		}
		if best == 0 {
			for tap := range 5 {
				from := to + tap*n/5
				for k := range min(n/6, len(x)-from) {
					x[from+k] = float32(0.3 * r.NormFloat64() * math.Exp(-float64(k)/float64(s.RateHz)/0.08))
				}
			}
		}
		src.x = x
		out[i] = src
	}
	return out
}
