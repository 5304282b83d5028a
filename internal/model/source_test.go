package model

import "testing"

// Names as assistants type them; the readings are common practice, no source.
func TestParseSource(t *testing.T) {
	for _, c := range []struct {
		text string
		want SourceWords
	}{
		{"Kick", SourceWords{Kick, NoPart, NoSide, 0, "kick"}},
		{"kik", SourceWords{Kick, NoPart, NoSide, 0, "kick"}},
		{"K in", SourceWords{Kick, In, NoSide, 0, "kick"}},
		{"K", SourceWords{Kick, NoPart, NoSide, 0, "kick"}},
		{"kick out", SourceWords{Kick, Out, NoSide, 0, "kick"}},
		{"KickOut", SourceWords{Kick, Out, NoSide, 0, "kick"}},
		{"KICK (port)", SourceWords{Kick, Out, NoSide, 0, "kick"}},
		{"Kick beater", SourceWords{Kick, Top, NoSide, 0, "kick"}},
		{"sub kick", SourceWords{Kick, Sub, NoSide, 0, "kick"}},
		{"Kick Sub", SourceWords{Kick, Sub, NoSide, 0, "kick"}},
		{"BD", SourceWords{Kick, NoPart, NoSide, 0, "kick"}},
		{"Bass drum", SourceWords{Kick, NoPart, NoSide, 0, "kick"}},
		{"SN T", SourceWords{Snare, Top, NoSide, 0, "snare"}},
		{"SN B", SourceWords{Snare, Bottom, NoSide, 0, "snare"}},
		{"snr bot", SourceWords{Snare, Bottom, NoSide, 0, "snare"}},
		{"Snare under", SourceWords{Snare, Bottom, NoSide, 0, "snare"}},
		{"SD top", SourceWords{Snare, Top, NoSide, 0, "snare"}},
		{"S top", SourceWords{Snare, Top, NoSide, 0, "snare"}},
		{"Snare 2", SourceWords{Snare, NoPart, NoSide, 2, "snare"}},
		{"HH", SourceWords{HiHat, NoPart, NoSide, 0, "hat"}},
		{"Hi-Hat", SourceWords{HiHat, NoPart, NoSide, 0, "hat"}},
		{"T1", SourceWords{Tom, NoPart, NoSide, 1, "tom"}},
		{"T 2", SourceWords{Tom, NoPart, NoSide, 2, "tom"}},
		{"rack", SourceWords{Tom, NoPart, NoSide, 0, "rack tom"}},
		{"floor tom", SourceWords{Tom, NoPart, NoSide, 0, "floor tom"}},
		{"FT", SourceWords{Tom, NoPart, NoSide, 0, "floor tom"}},
		{"Tom 1 Bot", SourceWords{Tom, Bottom, NoSide, 1, "tom"}},
		{"Mid Tom", SourceWords{Tom, NoPart, NoSide, 0, "mid tom"}},
		{"Ride", SourceWords{Cymbal, NoPart, NoSide, 0, "ride"}},
		{"OH L", SourceWords{Overhead, NoPart, Left, 0, "overhead"}},
		{"OHR", SourceWords{Overhead, NoPart, Right, 0, "overhead"}},
		{"ovhd R", SourceWords{Overhead, NoPart, Right, 0, "overhead"}},
		{"Drum Overheads Left", SourceWords{Overhead, NoPart, Left, 0, "overhead"}},
		{"O/H L", SourceWords{Overhead, NoPart, Left, 0, "overhead"}},
		{"Perc OH", SourceWords{Percussion, NoPart, NoSide, 0, "percussion overhead"}},
		{"rm", SourceWords{Room, NoPart, NoSide, 0, "room"}},
		{"room far", SourceWords{Room, Far, NoSide, 0, "room"}},
		{"Amb R", SourceWords{Room, NoPart, Right, 0, "room"}},
		{"Drum Room", SourceWords{Room, NoPart, NoSide, 0, "room"}},
		{"Piano room L", SourceWords{Room, NoPart, Left, 0, "piano room"}},
		{"MS mid", SourceWords{Unknown, MidPart, NoSide, 0, ""}},
		{"Room side", SourceWords{Room, SidePt, NoSide, 0, "room"}},
		{"bass DI", SourceWords{Bass, DI, NoSide, 0, "bass"}},
		{"Bass D.I.", SourceWords{Bass, DI, NoSide, 0, "bass"}},
		{"BS amp", SourceWords{Bass, Amp, NoSide, 0, "bass"}},
		{"Upright bass", SourceWords{Bass, NoPart, NoSide, 0, "upright bass"}},
		{"Bass vox", SourceWords{Voice, NoPart, NoSide, 0, "bass voice"}},
		{"EG Dave", SourceWords{Guitar, NoPart, NoSide, 0, "gtr dave"}},
		{"Gtr Dave", SourceWords{Guitar, NoPart, NoSide, 0, "gtr dave"}},
		{"gtr DI", SourceWords{Guitar, DI, NoSide, 0, "gtr"}},
		{"Gtr 2 cab", SourceWords{Guitar, Amp, NoSide, 2, "gtr"}},
		{"AG", SourceWords{Acoustic, NoPart, NoSide, 0, "acoustic"}},
		{"Ac Gtr DI", SourceWords{Acoustic, DI, NoSide, 0, "acoustic"}},
		{"acc", SourceWords{Accordion, NoPart, NoSide, 0, "accordion"}},
		{"Accordéon R", SourceWords{Accordion, NoPart, Right, 0, "accordion"}},
		{"Accordion bass", SourceWords{Accordion, NoPart, NoSide, 0, "accordion bass"}},
		{"pno L", SourceWords{Piano, NoPart, Left, 0, "piano"}},
		{"PnoR", SourceWords{Piano, NoPart, Right, 0, "piano"}},
		{"KB R", SourceWords{Keys, NoPart, Right, 0, "keys"}},
		{"E Piano", SourceWords{Keys, NoPart, NoSide, 0, "electric piano"}},
		{"Org top", SourceWords{Organ, Top, NoSide, 0, "organ"}},
		{"Vln 1", SourceWords{Strings, NoPart, NoSide, 1, "violin"}},
		{"Bass clarinet", SourceWords{Winds, NoPart, NoSide, 0, "bass clarinet"}},
		{"ld vox", SourceWords{Voice, NoPart, NoSide, 0, "lead voice"}},
		{"Lead Vocal Mara", SourceWords{Voice, NoPart, NoSide, 0, "lead voice mara"}},
		{"Lead", SourceWords{Voice, NoPart, NoSide, 0, "lead voice"}},
		{"Lead gtr", SourceWords{Guitar, NoPart, NoSide, 0, "lead gtr"}},
		{"BGV 2", SourceWords{Backing, NoPart, NoSide, 2, "backing voice"}},
		{"BGV2", SourceWords{Backing, NoPart, NoSide, 2, "backing voice"}},
		{"R&B vox", SourceWords{Voice, NoPart, NoSide, 0, "r b voice"}},
		{"TB", SourceWords{Talkback, NoPart, NoSide, 0, "talkback"}},
		{"Talkback drummer", SourceWords{Talkback, NoPart, NoSide, 0, "talkback drummer"}},
		{"click", SourceWords{Click, NoPart, NoSide, 0, "click"}},
		{"Shkr", SourceWords{Percussion, NoPart, NoSide, 0, "shaker"}},
		{"Tmb", SourceWords{Percussion, NoPart, NoSide, 0, "tambourine"}},
		// Not guessed.
		{"S", SourceWords{Unknown, NoPart, NoSide, 0, "s"}},
		{"M", SourceWords{Unknown, NoPart, NoSide, 0, "m"}},
		{"BG", SourceWords{Unknown, NoPart, NoSide, 0, "bg"}},
		{"In 7", SourceWords{Unknown, NoPart, NoSide, 7, "in"}},
		{"Grosse Trommel", SourceWords{Unknown, NoPart, NoSide, 0, "grosse trommel"}},
		{"", SourceWords{}},
		{"—", SourceWords{}},
	} {
		t.Run(c.text, func(t *testing.T) {
			if got := ParseSource(c.text); got != c.want {
				t.Errorf("got %+v, want %+v", got, c.want)
			}
		})
	}
}

func TestReadSourcesTellsMidAndSideFromNeighbours(t *testing.T) {
	lines := []Line{
		{Source: "Room M"}, {Source: "Room S"}, {Source: "M"}, {Source: "S"}, {Source: "S"}, {Source: "Vox M"},
	}
	ReadSources(lines)
	want := []Part{MidPart, SidePt, MidPart, SidePt, NoPart, NoPart}
	for i, l := range lines {
		if l.Part != want[i] {
			t.Errorf("%s (row %d): got part %q, want %q", l.Source, i, l.Part, want[i])
		}
	}
	if lines[0].Stem != "room" || lines[4].Stem != "s" {
		t.Errorf("got stems %q and %q, want \"room\" and \"s\"", lines[0].Stem, lines[4].Stem)
	}
}

func TestFoldTakesAccentsAndCaseOff(t *testing.T) {
	for in, want := range map[string]string{
		"Accordéon": "accordeon", "Accorde\u0301on": "accordeon", "FLÖTE": "flote", "Straße": "strasse", "çÑ": "cn",
	} {
		if got := Fold(in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
}
