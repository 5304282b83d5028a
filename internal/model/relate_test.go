package model

import (
	"fmt"
	"slices"
	"testing"
)

// listOf builds a list from sources, none of them split from a pair row.
func listOf(sources ...string) []Line {
	lines := make([]Line, len(sources))
	for i, s := range sources {
		lines[i] = Line{Number: i + 1, Source: s, Partner: -1}
	}
	ReadSources(lines)
	return lines
}

// named writes relations as "A / B on C: kind".
func named(lines []Line, rs []Relation) []string {
	var out []string
	for _, r := range rs {
		s := fmt.Sprintf("%s / %s: %s", lines[r.A].Source, lines[r.B].Source, r.Kind)
		if r.On != r.A {
			s += " on " + lines[r.On].Source
		}
		out = append(out, s)
	}
	return out
}

// Which lines belong together is common practice, no source.
func TestRelations(t *testing.T) {
	for _, c := range []struct {
		name    string
		sources []string
		want    []string
	}{
		{"an empty list has none", nil, nil},
		{"overheads are measured on the snare's top", []string{"Snare bot", "Snare top", "OH L", "OH R"}, []string{
			"Snare top / Snare bot: top and bottom", "OH L / OH R: stereo pair on Snare top",
			"Snare bot / OH L: same kit", "Snare bot / OH R: same kit", "Snare top / OH L: same kit", "Snare top / OH R: same kit"}},
		{"without a snare on the kick", []string{"K", "OHL", "OHR"}, []string{
			"OHL / OHR: stereo pair on K", "K / OHL: same kit", "K / OHR: same kit"}},
		{"alone on the left one", []string{"OH R", "OH L"}, []string{"OH L / OH R: stereo pair"}},
		{"rooms near and far are pairs of their own", []string{"Rm near L", "Rm near R", "Rm far L", "Rm far R"}, []string{
			"Rm near L / Rm near R: room pair", "Rm far L / Rm far R: room pair"}},
		{"in, out and sub", []string{"Kick in", "Kick out", "Sub kick"}, []string{
			"Kick in / Kick out: in and out", "Kick in / Sub kick: two microphones", "Kick out / Sub kick: two microphones"}},
		{"DI and amplifier of one player", []string{"Bass DI", "Bass amp", "EG Dave DI", "Gtr Dave", "Gtr Anna"}, []string{
			"Bass DI / Bass amp: DI and amplifier", "EG Dave DI / Gtr Dave: DI and amplifier"}},
		{"acoustic DI and microphone", []string{"AG DI", "AG mic"}, []string{"AG DI / AG mic: two microphones"}},
		{"piano sides", []string{"pno L", "pno R"}, []string{"pno L / pno R: stereo pair"}},
		{"mid and side by their letters", []string{"Room M", "Room S"}, []string{"Room M / Room S: mid-side"}},
		{"places on one source", []string{"Acoustic neck", "Acoustic body"}, []string{"Acoustic neck / Acoustic body: two microphones"}},
		{"organ top and bottom is no drum", []string{"Organ top", "Organ bottom"}, []string{"Organ top / Organ bottom: two microphones"}},
		{"tom top and bottom by number", []string{"T1 top", "T1 bot", "T2 top", "T2 bot"}, []string{
			"T1 top / T1 bot: top and bottom", "T2 top / T2 bot: top and bottom"}},
		{"two toms, two singers, two guitars are not pairs", []string{"Tom 1", "Tom 2", "BGV 1", "BGV 2", "Gtr L", "Gtr R", "Vox", "Vox"}, nil},
		{"overheads by number", []string{"OH 1", "OH 2"}, []string{"OH 1 / OH 2: stereo pair"}},
		{"three overheads by number stay apart", []string{"OH 1", "OH 2", "OH 3"}, nil},
		{"unknown source with sides", []string{"Celesta L", "Celesta R"}, []string{"Celesta L / Celesta R: stereo pair"}},
		{"cues are not related", []string{"TB L", "TB R"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			lines := listOf(c.sources...)
			if got := named(lines, Relations(lines)); !slices.Equal(got, c.want) {
				t.Errorf("got  %q\nwant %q", got, c.want)
			}
		})
	}
}

func TestRelationsOfARowSplitInTwo(t *testing.T) {
	lines := []Line{
		{Source: "Gtr L", Side: Left, Partner: 1}, {Source: "Gtr R", Side: Right, Partner: 0},
		{Source: "Vox", Partner: 99},
	}
	ReadSources(lines)
	got := Relations(lines)
	want := []Relation{{A: 0, B: 1, On: 0, Kind: StereoPair}}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}
