package match

import (
	"reflect"
	"testing"

	"tidemark/internal/model"
)

func TestLinesFromTheFilesOwnNames(t *testing.T) {
	for _, c := range []struct {
		name  string
		files []string
		want  []string
	}{
		{"takes are no part of a name", []string{"Kick In_03.wav", "Snare_03.wav"}, []string{"Kick In", "Snare"}},
		{"left and right are two lines", []string{"OH_01.L.wav", "OH_01.R.wav"}, []string{"OH L", "OH R"}},
		{"numbers that tell two files apart stay", []string{"Tom_1.wav", "Tom_2.wav"}, []string{"Tom 1", "Tom 2"}},
		{"a file without a name keeps what it has", []string{"Track 7.wav", "Track 8.wav"}, []string{"Track 7", "Track 8"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var recs []model.Recording
			pass := model.Pass{Name: "pass 1"}
			for i, f := range c.files {
				recs = append(recs, model.Recording{Name: f, Channels: 1, RateHz: 48000, Frames: 48000})
				pass.Members = append(pass.Members, model.Member{Recording: i})
			}
			lines, results := Named(recs, []model.Pass{pass})
			var got []string
			for _, l := range lines {
				got = append(got, l.Source)
			}
			if !reflect.DeepEqual(got, c.want) {
				t.Errorf("lines %q, want %q", got, c.want)
			}
			for i, m := range results[0].Matches {
				if m.Line != i || !m.Certain {
					t.Errorf("%s is line %d, certain %v", c.files[i], m.Line, m.Certain)
				}
			}
		})
	}
}
