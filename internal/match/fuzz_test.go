package match

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"tidemark/internal/model"
)

// FuzzParseName: any name is taken apart without a take, number or side that
// does not exist, and a folder before it changes nothing.
func FuzzParseName(f *testing.F) {
	for _, s := range []string{"03_Kick In_T07.wav", "Kick In-241018_1402.wav", "OH_01.L.wav", "_.wav", "(1)", "2024-10-18 14.02 (2) copy.wav", "copy of Track 7.aif", "Tom_1", "Floor T1.flac"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		n := parseName(name)
		if n.take < -1 || n.number < 0 {
			t.Errorf("got %+v", n)
		}
		_ = n.key()
		_ = stampSeconds(n.stamp)
		if !strings.ContainsAny(name, `/\`) && name != "" && name != "." && name != ".." {
			if in := parseName("day 2/" + name); in != n {
				t.Errorf("in a folder: got %+v, want %+v", in, n)
			}
		}
	})
}

// FuzzParseOverrides: what --match says is read and written back to the same,
// or refused with a sentence and nothing beside it.
func FuzzParseOverrides(f *testing.F) {
	for _, s := range []string{"Audio 7.wav=3", "Poly.wav:3=Snare top", "room test.wav=none", "a=b=c", "x:0=1", "x:99999999999999999999=1", "=1", "C:3=1", " : 3 = 1 ", "a:1:2=3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, word string) {
		got, err := ParseOverrides([]string{word})
		if err != nil {
			if got != nil || !strings.HasPrefix(err.Error(), "--match: ") {
				t.Fatalf("%v with the error %v", got, err)
			}
			return
		}
		if len(got) != 1 || got[0].File == "" || got[0].Line == "" || got[0].Channel < 0 {
			t.Fatalf("%+v", got)
		}
		back := got[0].File
		if got[0].Channel > 0 {
			back = fmt.Sprintf("%s:%d", back, got[0].Channel)
		}
		if again, err := ParseOverrides([]string{back + "=" + got[0].Line}); err != nil || !reflect.DeepEqual(again, got) {
			t.Fatalf("%q written back: %+v, %v, want %+v", word, again, err, got)
		}
	})
}

// FuzzFiles: whatever the files and the lines are called, and whatever a person
// says of them, every channel of every recording is matched once, no line is two
// files of one pass, and the result is the same again.
func FuzzFiles(f *testing.F) {
	f.Add("01_Kick_T1.wav\n02_Snare_T1.wav\n03_Snare_T2.wav\nKick copy.wav", "Kick\nSnare\nOH L\nOH R", "Kick copy.wav=Snare", uint64(0))
	f.Add("Poly.wav\nPoly_2.wav\n240118_003_Vox.wav", "Vox\nBass", "Poly.wav:2=Vox", uint64(0x0302010203))
	f.Add("Track 1.wav\nTrack 2.wav\nTrack 2 (1).wav", "1\n2\n3", "", uint64(0x8180))
	f.Fuzz(func(t *testing.T, names, sources, word string, shape uint64) {
		var recs []model.Recording
		for i, name := range strings.Split(names, "\n") {
			if i == 24 {
				break
			}
			b := shape >> (8 * (i % 8))
			r := model.Recording{Name: name, Channels: 1 + int(b&3), RateHz: 44100 + 3900*int(b>>2&1), Frames: int64(1000 + 500*(b>>3&3)), Bits: 24}
			if b>>5&1 == 1 {
				r.HasStart, r.StartFrames = true, int64(1+b>>6&3)*int64(r.RateHz)/100
			}
			if b>>7&1 == 1 {
				r.OriginS = int64(1000 + i)
				r.ChannelNames = make([]string, r.Channels)
				r.ChannelNames[0] = sources[:min(len(sources), 8)]
			}
			recs = append(recs, r)
		}
		var lines []model.Line
		for i, s := range strings.Split(sources, "\n") {
			if i == 24 {
				break
			}
			lines = append(lines, model.Line{Number: (i + 1) * int(1-shape>>63), Source: s, Typed: s, Partner: -1, Track: []string{"", s}[shape>>62&1]})
		}
		model.ReadSources(lines)
		var said []Override
		if o, err := ParseOverrides([]string{word}); err == nil {
			said = o
		}
		passes := Passes(recs)
		seen := make([]int, len(recs))
		for _, p := range passes {
			for _, m := range p.Members {
				seen[m.Recording]++
			}
		}
		for i, n := range seen {
			if n != 1 {
				t.Fatalf("recording %d is in %d passes", i, n)
			}
		}
		results, err := Files(recs, passes, lines, said)
		if err != nil {
			if results != nil || len(said) == 0 {
				t.Fatalf("%v with the error %v", results, err)
			}
			return
		}
		for i, r := range results {
			channels, held, gone := 0, map[int]int{}, map[int]bool{}
			for _, m := range passes[i].Members {
				channels += recs[m.Recording].Channels
			}
			if len(r.Matches) != channels {
				t.Fatalf("%d matches for %d channels", len(r.Matches), channels)
			}
			spare := map[int]bool{}
			for _, m := range passes[i].Members {
				spare[m.Recording] = m.Copy || m.Punch
			}
			for _, m := range r.Matches {
				if m.Line < -1 || m.Line >= len(lines) || m.RunnerUp < -1 || m.RunnerUp >= len(lines) || !(m.Score >= 0 && m.Score <= 1) {
					t.Fatalf("match %+v of %d lines", m, len(lines))
				}
				if m.Line >= 0 && !spare[m.Recording] {
					held[m.Line]++
				}
			}
			for _, l := range r.Missing {
				gone[l] = true
			}
			for l := range lines {
				if held[l] > 1 {
					t.Fatalf("line %d is %d channels of one pass: %+v", l, held[l], r.Matches)
				}
				if held[l] > 0 && gone[l] {
					t.Fatalf("line %d is matched and missing", l)
				}
			}
		}
		again, err := Files(recs, Passes(recs), lines, said)
		if err != nil || !reflect.DeepEqual(again, results) {
			t.Fatalf("matched again: %+v, %v, want %+v", again, err, results)
		}
	})
}
