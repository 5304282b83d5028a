package match

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidemark/internal/model"
)

// sources are the matches as "file:channel source", certain ones with "!".
func sources(recs []model.Recording, lines []model.Line, r Result) []string {
	var out []string
	for _, m := range r.Matches {
		s := strings.TrimSuffix(recs[m.Recording].Name, ".wav")
		if recs[m.Recording].Channels > 1 {
			s += ":" + string(rune('1'+m.Channel))
		}
		if m.Line >= 0 {
			s += " " + lines[m.Line].Source
		}
		if m.Certain {
			s += "!"
		}
		out = append(out, s)
	}
	return out
}

func poly(name string, channels int, names ...string) model.Recording {
	r := rec(name, rate, 1000, 0)
	r.Channels, r.ChannelNames = channels, names
	return r
}

func TestPolyphonicFiles(t *testing.T) {
	four := list("1 Kick", "2 Snare", "3 OH L", "4 OH R")
	for _, c := range []struct {
		name  string
		recs  []model.Recording
		lines []model.Line
		want  []string
	}{
		{"by its channels' names, in whatever order", []model.Recording{poly("Rec 1.wav", 4, "OH R", "Snr", "Kik", "OH L")}, four,
			[]string{"Rec 1:1 OH R!", "Rec 1:2 Snare!", "Rec 1:3 Kick!", "Rec 1:4 OH L!"}},
		{"as many channels as lines", []model.Recording{poly("Rec 1.wav", 4)}, four,
			[]string{"Rec 1:1 Kick!", "Rec 1:2 Snare!", "Rec 1:3 OH L!", "Rec 1:4 OH R!"}},
		{"two files end to end", []model.Recording{poly("A.wav", 3), poly("B.wav", 3)}, list("1 Kick", "2 Snare", "3 HH", "4 Bass DI", "5 Acc", "6 Vox"),
			[]string{"A:1 Kick!", "A:2 Snare!", "A:3 HH!", "B:1 Bass DI!", "B:2 Acc!", "B:3 Vox!"}},
		{"more channels than lines is doubtful", []model.Recording{poly("Rec 1.wav", 6)}, four,
			[]string{"Rec 1:1 Kick", "Rec 1:2 Snare", "Rec 1:3 OH L", "Rec 1:4 OH R", "Rec 1:5", "Rec 1:6"}},
		{"a name that says something else is doubtful", []model.Recording{poly("Piano.wav", 4)}, four,
			[]string{"Piano:1 Kick", "Piano:2 Snare", "Piano:3 OH L", "Piano:4 OH R"}},
		{"named for a family with as many lines", []model.Recording{poly("Toms.wav", 3), rec("Kick.wav", rate, 1000, 0)}, list("1 Kick", "2 T1", "3 T2", "4 FT"),
			[]string{"Kick Kick!", "Toms:1 T1!", "Toms:2 T2!", "Toms:3 FT!"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Files(c.recs, Passes(c.recs), c.lines, nil)
			if err != nil {
				t.Fatal(err)
			}
			if s := sources(c.recs, c.lines, got[0]); !slices.Equal(s, c.want) {
				t.Errorf("got  %q\nwant %q", s, c.want)
			}
		})
	}
}

func TestPunchesFollowTheirLineAndCopiesHaveNone(t *testing.T) {
	recs := []model.Recording{
		rec("Vox_01.wav", 60*rate, 1000, 0), rec("Kick_01.wav", 60*rate, 1000, 0),
		rec("Vox_02.wav", 5*rate, 1030, 0), rec("Kick_01 copy.wav", 60*rate, 1000, 0),
	}
	lines := list("1 Kick", "2 Vox", "3 Bass")
	got, err := Files(recs, Passes(recs), lines, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"Kick_01 Kick!", "Vox_01 Vox!", "Vox_02 Vox!", "Kick_01 copy"}
	if s := sources(recs, lines, got[0]); !slices.Equal(s, want) {
		t.Errorf("got %q, want %q", s, want)
	}
	if !slices.Equal(got[0].Missing, []int{2}) {
		t.Errorf("got missing %v, want the bass alone", got[0].Missing)
	}
}

func TestOverrides(t *testing.T) {
	lines := rowPair(list("1 Kick", "2 Snare", "3 OH L", "4 OH R", "5 Vox", "6 Vox"), 2, 3, "OH")
	recs := []model.Recording{rec("Kick.wav", rate, 1000, 0), rec("Snare.wav", rate, 1000, 0), poly("Both.wav", 2), poly("Multi.wav", 3)}
	for _, c := range []struct {
		name  string
		words []string
		want  []string // matches that must be there; or one error
	}{
		{"against the name", []string{"Kick.wav=Snare"}, []string{"Kick Snare!", "Snare"}},
		{"by number, without extension, in any case", []string{"KICK=5"}, []string{"Kick Vox!", "Snare Snare!"}},
		{"a file that is no line", []string{"Kick.wav=none"}, []string{"Kick!"}},
		{"an interleaved pair", []string{"Both.wav=OH"}, []string{"Both:1 OH L!", "Both:2 OH R!"}},
		{"an interleaved pair by its first number", []string{"Both=3"}, []string{"Both:1 OH L!", "Both:2 OH R!"}},
		{"one channel", []string{"Multi.wav:3=2"}, []string{"Multi:3 Snare!", "Snare"}},
		{"no such file", []string{"Kik.wav=1"}, []string{`--match: there is no file "Kik.wav"; the files are Kick.wav, Snare.wav, Both.wav, Multi.wav`}},
		{"no such line", []string{"Kick.wav=9"}, []string{`--match: there is no line "9" on the list; the lines are "1 Kick", "2 Snare", "3 OH L", "4 OH R", "5 Vox", "6 Vox"`}},
		{"no such channel", []string{"Multi.wav:4=1"}, []string{`--match: Multi.wav has 3 channels, there is no channel 4`}},
		{"a name that two lines have", []string{"Kick.wav=Vox"}, []string{`--match: "Vox" could be "5 Vox", "6 Vox"; say it by number`}},
		{"a pair for a mono file", []string{"Kick.wav=OH"}, []string{`--match: "OH" is two lines, "3 OH L" and "4 OH R"; say which one Kick.wav is`}},
		{"a polyphonic file without a channel", []string{"Multi.wav=1"}, []string{`--match: Multi.wav has 3 channels; say which one is "1", for example "Multi.wav:1=1"`}},
		{"one line twice", []string{"Kick.wav=1", "Snare.wav=1"}, []string{`--match: line "1 Kick" is given to two channels of pass 1; one of them is Snare.wav`}},
		{"no equals sign", []string{"Kick.wav"}, []string{`--match: "Kick.wav" is not FILE=LINE; write for example "Audio 7.wav=3" or "Poly.wav:3=Snare top"`}},
		{"channel nought", []string{"Multi.wav:0=1"}, []string{`--match: "Multi.wav:0=1": channels are counted from 1`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			over, err := ParseOverrides(c.words)
			var got []Result
			if err == nil {
				got, err = Files(recs, Passes(recs), lines, over)
			}
			if err != nil {
				if err.Error() != c.want[0] {
					t.Errorf("got  %v\nwant %s", err, c.want[0])
				}
				return
			}
			s := sources(recs, lines, got[0])
			for _, w := range c.want {
				if !slices.Contains(s, w) {
					t.Errorf("got %q, want among them %q", s, w)
				}
			}
		})
	}
}

func TestNothingToMatch(t *testing.T) {
	if got, err := Files(nil, nil, nil, nil); err != nil || len(got) != 0 {
		t.Errorf("got %v, %v", got, err)
	}
	lines := list("1 Kick")
	recs := []model.Recording{{Name: "no channels.wav"}, {Name: "", Channels: 1}}
	got, err := Files(recs, Passes(recs), lines, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range got {
		if !slices.Equal(r.Missing, []int{0}) {
			t.Errorf("got missing %v, want the kick", r.Missing)
		}
	}
}

// Whatever the names: every channel is matched once, no line is held twice but
// by a punch, scores are between 0 and 1, certain ones clear of the runner-up,
// and the person's word wins.
func TestPropertiesOfMatches(t *testing.T) {
	words := []string{"Kick", "Kick in", "Snare", "Snare top", "OH L", "OH R", "Overheads", "Tom 1", "Gtr Dave", "Gtr Anna", "Vox", "BGV 2", "Gitarre", ""}
	rapid.Check(t, func(t *rapid.T) {
		var lines []model.Line
		for _, w := range rapid.SliceOfN(rapid.SampledFrom(words), 0, 10).Draw(t, "lines") {
			lines = append(lines, model.Line{Source: w, Typed: w, Partner: -1, Number: rapid.IntRange(0, 10).Draw(t, "number"),
				Track: rapid.SampledFrom([]string{"", "", "Vox", "7"}).Draw(t, "track")})
		}
		model.ReadSources(lines)
		recs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) model.Recording {
			r := model.Recording{
				Name: rapid.SampledFrom([]string{"", "03_", "Track ", "240118_003_"}).Draw(t, "head") + rapid.SampledFrom(words).Draw(t, "word") +
					rapid.SampledFrom([]string{"", "_01", ".L", " 7", " copy"}).Draw(t, "tail") + ".wav",
				Channels: rapid.IntRange(0, 4).Draw(t, "channels"), RateHz: rate,
				Frames: rapid.Int64Range(1, 3).Draw(t, "frames") * rate, HasStart: true, StartFrames: rapid.Int64Range(1, 3).Draw(t, "start") * rate,
			}
			if rapid.Bool().Draw(t, "named") {
				r.ChannelNames = rapid.SliceOfN(rapid.SampledFrom(words), 0, 5).Draw(t, "names")
			}
			return r
		}), 0, 10).Draw(t, "recs")
		passes := Passes(recs)
		fix := fixed{}
		if len(recs) > 0 && len(lines) > 0 {
			r, l := rapid.IntRange(0, len(recs)-1).Draw(t, "fixed file"), rapid.IntRange(-1, len(lines)-1).Draw(t, "fixed line")
			if recs[r].Channels > 0 {
				fix[[2]int{r, rapid.IntRange(0, recs[r].Channels-1).Draw(t, "fixed channel")}] = l
			}
		}
		for _, p := range passes {
			m := matcher{recs: recs, lines: lines, targets: makeTargets(lines), found: map[[2]int]model.Match{}, holder: make([]int, len(lines))}
			for i := range m.holder {
				m.holder[i] = -1
			}
			r, err := m.pass(p, fix)
			if err != nil {
				t.Fatal(err)
			}
			channels := 0
			punch := map[int]bool{}
			for _, mem := range p.Members {
				channels += recs[mem.Recording].Channels
				punch[mem.Recording] = mem.Punch
			}
			if channels != len(r.Matches) {
				t.Fatalf("%d channels, %d matches", channels, len(r.Matches))
			}
			seen, held := map[[2]int]bool{}, map[int]bool{}
			for _, x := range r.Matches {
				key := [2]int{x.Recording, x.Channel}
				if seen[key] {
					t.Fatalf("channel %v is matched twice", key)
				}
				seen[key] = true
				if want, said := fix[key]; said && (x.Line != want || x.By != byWord || !x.Certain) {
					t.Fatalf("the word %d for %v was not kept: %+v", want, key, x)
				}
				if x.Score < 0 || x.Score > 1 || x.RunnerUpScore < 0 || x.RunnerUpScore > 1 {
					t.Fatalf("score out of range: %+v", x)
				}
				if x.Line >= 0 && !punch[x.Recording] {
					if held[x.Line] {
						t.Fatalf("line %d is held twice", x.Line)
					}
					held[x.Line] = true
				}
				if x.Certain && x.By != byWord && (x.Line < 0 || x.Score < certainScore) {
					t.Fatalf("certain without reason: %+v", x)
				}
			}
			for _, l := range r.Missing {
				if held[l] {
					t.Fatalf("line %d is held and missing", l)
				}
			}
		}
	})
}

func BenchmarkFiles(b *testing.B) {
	lines := plainBand()
	var recs []model.Recording
	for _, l := range lines {
		recs = append(recs, rec("01_"+l.Source+"_03.wav", rate, 1000, 0))
	}
	passes := Passes(recs)
	for b.Loop() {
		if _, err := Files(recs, passes, lines, nil); err != nil {
			b.Fatal(err)
		}
	}
}
