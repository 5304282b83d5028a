package match

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidemark/internal/model"
)

const rate = 48000

// rec is a recording of a length in frames; start is its time reference in
// seconds (0: none), origin its origination in seconds.
func rec(name string, frames int64, start float64, origin int64) model.Recording {
	return model.Recording{Name: name, Channels: 1, RateHz: rate, Bits: 24, Frames: frames,
		StartFrames: int64(start * rate), HasStart: start > 0, OriginS: origin}
}

// closed is a recording with a file time.
func closed(r model.Recording, modified int64) model.Recording {
	r.ModifiedS = modified
	return r
}

// shown writes passes as "name name+offset name(punch) name(copy)".
func shown(recs []model.Recording, passes []model.Pass) []string {
	var out []string
	for _, p := range passes {
		var words []string
		for _, m := range p.Members {
			w := strings.TrimSuffix(recs[m.Recording].Name, ".wav")
			if m.OffsetS != 0 {
				w += fmt.Sprintf("+%.2f", m.OffsetS)
			}
			if m.Punch {
				w += "(punch)"
			}
			if m.Copy {
				w += "(copy)"
			}
			words = append(words, w)
		}
		out = append(out, strings.Join(words, " "))
	}
	return out
}

// What recorders do with times and counters is common practice, no source.
func TestPasses(t *testing.T) {
	const long, longer, short = 60 * rate, 75*rate + 11, 8 * rate
	for _, c := range []struct {
		name string
		recs []model.Recording
		want []string
	}{
		{"nothing", nil, nil},
		{"two takes by time reference", []model.Recording{
			rec("Kick_01.wav", long, 1000, 0), rec("Snare_01.wav", long, 1000.02, 0), rec("Kick_02.wav", longer, 1200, 0), rec("Snare_02.wav", longer, 1200, 0)},
			[]string{"Kick_01 Snare_01+0.02", "Kick_02 Snare_02"}},
		{"a line armed late counts from 01", []model.Recording{
			rec("Kick_01.wav", long, 1000, 0), rec("Kick_02.wav", long, 1200, 0), rec("Vox_01.wav", long-5*rate, 1205, 0)},
			[]string{"Kick_01", "Kick_02 Vox_01+5.00"}},
		{"a fix punched in", []model.Recording{
			rec("Kick_01.wav", long, 1000, 0), rec("Vox_01.wav", long, 1000, 0), rec("Vox_02.wav", short, 1030, 0)},
			[]string{"Kick_01 Vox_01 Vox_02+30.00(punch)"}},
		{"two takes at one place of the timeline", []model.Recording{
			rec("Kick_01.wav", long, 3600, 0), rec("Snare_01.wav", long, 3600, 0), rec("Kick_02.wav", longer, 3600, 0), rec("Snare_02.wav", longer, 3600, 0)},
			[]string{"Kick_01 Snare_01", "Kick_02 Snare_02"}},
		{"the same by origination", []model.Recording{
			rec("a/Kick.wav", long, 3600, 5000), rec("a/Snare.wav", long, 3600, 5001), rec("b/Kick.wav", longer, 3600, 6000), rec("b/Snare.wav", longer, 3600, 6000)},
			[]string{"a/Kick a/Snare", "b/Kick b/Snare"}},
		{"no reference, by origination although counters differ", []model.Recording{
			rec("Kick_01.wav", long, 0, 5000), rec("Kick_02.wav", longer, 0, 5300), rec("Vox_01.wav", longer, 0, 5302)},
			[]string{"Kick_01", "Kick_02 Vox_01"}},
		{"no times at all, by take number", []model.Recording{
			rec("Kick_01.wav", long, 0, 0), rec("Snare_01.wav", long, 0, 0), rec("Kick_02.wav", longer, 0, 0), rec("Snare_02.wav", longer, 0, 0)},
			[]string{"Kick_01 Snare_01", "Kick_02 Snare_02"}},
		{"by take number, and the late counter by its length", []model.Recording{
			rec("Kick_01.wav", long, 0, 0), rec("Snare_01.wav", long, 0, 0), rec("Kick_02.wav", longer, 0, 0), rec("Snare_02.wav", longer, 0, 0), rec("Vox_01.wav", longer, 0, 0)},
			[]string{"Kick_01 Snare_01", "Kick_02 Snare_02 Vox_01"}},
		{"every line counts for itself, and one has a second take", []model.Recording{
			rec("01-KICK-0007.wav", long, 0, 0), rec("Snare.03.wav", long, 0, 0), rec("Hat.wav", long, 0, 0), rec("Vox_02.wav", long-7*rate, 0, 0), rec("Bass_02.wav", long, 0, 0), rec("Gtr_02.wav", long, 0, 0), rec("Vox_03.wav", short, 0, 0)},
			[]string{"01-KICK-0007 Bass_02 Gtr_02 Hat Snare.03 Vox_02", "Vox_03"}},
		{"takes of one length are takes still, where they have a line in common", []model.Recording{
			closed(rec("Kick_01.wav", long, 0, 0), 100), closed(rec("Snare_01.wav", long, 0, 0), 101), closed(rec("Kick_02.wav", long, 0, 0), 300), closed(rec("Vox_02.wav", long, 0, 0), 301)},
			[]string{"Kick_01 Snare_01", "Kick_02 Vox_02"}},
		{"by date and time in the names", []model.Recording{
			rec("Kick-241018_1402.wav", long, 0, 0), rec("Snare-241018_1402.wav", long, 0, 0), rec("Kick-241018_1410.wav", long, 0, 0), rec("Snare-241018_1410.wav", long, 0, 0)},
			[]string{"Kick-241018_1402 Snare-241018_1402", "Kick-241018_1410 Snare-241018_1410"}},
		{"the minute went by while the files were opened", []model.Recording{
			rec("Kick-241018_1402.wav", long, 0, 0), rec("Snare-241018_1403.wav", long, 0, 0)},
			[]string{"Kick-241018_1402 Snare-241018_1403"}},
		{"running numbers behind a date", []model.Recording{
			rec("240118_003_Kick.wav", long, 0, 0), rec("240118_003_Snare.wav", long, 0, 0), rec("240118_004_Kick.wav", longer, 0, 0), rec("240118_004_Snare.wav", longer, 0, 0)},
			[]string{"240118_003_Kick 240118_003_Snare", "240118_004_Kick 240118_004_Snare"}},
		{"equal names in two folders, by length", []model.Recording{
			rec("a/Kick.wav", long, 0, 0), rec("a/Snare.wav", long, 0, 0), rec("b/Kick.wav", longer, 0, 0), rec("b/Snare.wav", longer, 0, 0)},
			[]string{"a/Kick a/Snare", "b/Kick b/Snare"}},
		{"toms numbered with an underscore are no takes", []model.Recording{
			rec("Tom_1.wav", long, 1000, 0), rec("Tom_2.wav", long, 1000, 0), rec("Tom_3.wav", long, 1000, 0)},
			[]string{"Tom_1 Tom_2 Tom_3"}},
		{"tracks without names", []model.Recording{
			rec("Audio 1_1.wav", long, 0, 0), rec("Audio 2_1.wav", long, 0, 0), rec("Audio 1_2.wav", longer, 0, 0), rec("Audio 2_2.wav", longer, 0, 0)},
			[]string{"Audio 1_1 Audio 2_1", "Audio 1_2 Audio 2_2"}},
		{"copies stay with their originals", []model.Recording{
			rec("Kick.wav", long, 1000, 0), rec("Kick copy.wav", long, 1000, 0), rec("Kick (1).wav", long, 0, 0), rec("Snare.wav", long, 1000, 0)},
			[]string{"Kick Snare Kick (1)(copy) Kick copy(copy)"}},
		{"a take called bounce without an original is no copy", []model.Recording{
			rec("Kick bounce.wav", long, 0, 0), rec("Snare bounce.wav", long, 0, 0)},
			[]string{"Kick bounce Snare bounce"}},
		{"exported one after the other", []model.Recording{
			rec("Kick.wav", long, 0, 5000), rec("Snare.wav", long, 0, 5015), rec("Vox.wav", long, 0, 5031), rec("Bass.wav", long, 0, 5120)},
			[]string{"Bass Kick Snare Vox"}},
		{"left and right are two lines", []model.Recording{
			rec("OH.L.wav", long, 0, 0), rec("OH.R.wav", long, 0, 0)},
			[]string{"OH.L OH.R"}},
		{"a file without a reference among files with one", []model.Recording{
			rec("Kick.wav", long, 1000, 0), rec("Snare.wav", long, 1000, 0), rec("Vox.wav", long, 0, 0)},
			[]string{"Kick Snare Vox"}},
		{"the whole band again from another place of the timeline", []model.Recording{
			rec("K_01.wav", long, 100, 0), rec("S_01.wav", long, 100, 0), rec("K_02.wav", long, 130, 0), rec("S_02.wav", long, 130, 0)},
			[]string{"K_01 S_01", "K_02 S_02"}},
		{"two lines punched in, one of them twice", []model.Recording{
			rec("B_01.wav", long, 100, 0), rec("K_01.wav", long, 100, 0), rec("S_01.wav", long, 100, 0), rec("V_01.wav", long, 100, 0),
			rec("B_02.wav", short, 130, 0), rec("V_02.wav", short, 130, 0), rec("V_03.wav", short, 145, 0)},
			[]string{"B_01 K_01 S_01 V_01 B_02+30.00(punch) V_02+30.00(punch) V_03+45.00(punch)"}},
		{"a false start seven seconds before the take", []model.Recording{
			rec("K_01.wav", 3*rate, 0, 1000), rec("S_01.wav", 3*rate, 0, 1000), rec("K_02.wav", long, 0, 1007), rec("S_02.wav", long, 0, 1007)},
			[]string{"K_01 S_01", "K_02 S_02"}},
		{"a file that broke off is still of its pass", []model.Recording{
			rec("K_01.wav", long, 100, 0), rec("S_01.wav", short, 100, 0), rec("V_01.wav", long, 100, 0)},
			[]string{"K_01 S_01 V_01"}},
		{"a voice done again twice at one place of the timeline", []model.Recording{
			rec("K_01.wav", long, 100, 1000), rec("V_01.wav", long, 100, 1000), rec("V_02.wav", long+5, 100, 3000), rec("V_03.wav", long+9, 100, 4000)},
			[]string{"K_01 V_01", "V_02", "V_03"}},
		{"another day at the same hour", []model.Recording{
			rec("Kick_01.wav", long, 1000, 100000), rec("Vox_01.wav", long, 1020, 100000+86400)},
			[]string{"Kick_01", "Vox_01"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := shown(c.recs, Passes(c.recs)); !slices.Equal(got, c.want) {
				t.Errorf("got  %q\nwant %q", got, c.want)
			}
		})
	}
}

func TestPassesAcrossRates(t *testing.T) {
	recs := []model.Recording{
		{Name: "Kick.wav", RateHz: 48000, Frames: 480000, StartFrames: 48000 * 100, HasStart: true},
		{Name: "Vox.wav", RateHz: 96000, Frames: 960000, StartFrames: 96000 * 100, HasStart: true},
	}
	p := Passes(recs)
	if len(p) != 1 || !p[0].Timed || p[0].StartS != 100 {
		t.Errorf("got %+v, want one pass at 100 s", p)
	}
}

func TestFileTimesAreTheLastResort(t *testing.T) {
	const n = 480000
	recs := []model.Recording{
		{Name: "Kick_01.wav", RateHz: rate, Frames: n, ModifiedS: 1000}, {Name: "Snare_01.wav", RateHz: rate, Frames: n, ModifiedS: 1001},
		{Name: "Kick_02.wav", RateHz: rate, Frames: n, ModifiedS: 2000}, {Name: "Snare_02.wav", RateHz: rate, Frames: n, ModifiedS: 2002},
	}
	want := []string{"Kick_01 Snare_01", "Kick_02 Snare_02"}
	if got := shown(recs, Passes(recs)); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Every recording is in exactly one pass, whatever the names and times.
func TestEveryRecordingIsInOnePass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		recs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) model.Recording {
			return model.Recording{
				Name: rapid.SampledFrom([]string{"Kick", "Snare", "Tom_1", "Audio 7", "OH.L", "03_Vox", "Kick copy"}).Draw(t, "name") +
					rapid.SampledFrom([]string{"", "_01", "_02", "_02-01", "-241018_1402", " (1)"}).Draw(t, "tail") + ".wav",
				Channels: 1, RateHz: rapid.SampledFrom([]int{0, 44100, 48000, 96000}).Draw(t, "rate"),
				Frames:      rapid.Int64Range(0, 3).Draw(t, "frames") * 480000,
				StartFrames: rapid.Int64Range(-1, 5).Draw(t, "start") * 240000, HasStart: rapid.Bool().Draw(t, "has"),
				OriginS: rapid.Int64Range(0, 3).Draw(t, "origin") * 30, ModifiedS: rapid.Int64Range(0, 3).Draw(t, "modified") * 30,
			}
		}), 0, 14).Draw(t, "recs")
		seen := map[int]int{}
		for k, p := range Passes(recs) {
			if p.Name != fmt.Sprintf("pass %d", k+1) {
				t.Fatalf("got name %q", p.Name)
			}
			if len(p.Members) == 0 {
				t.Fatalf("%s is empty", p.Name)
			}
			for _, m := range p.Members {
				seen[m.Recording]++
				if m.OffsetS < 0 {
					t.Fatalf("negative offset %v", m.OffsetS)
				}
			}
		}
		for i := range recs {
			if seen[i] != 1 {
				t.Fatalf("%s is in %d passes", recs[i].Name, seen[i])
			}
		}
	})
}
