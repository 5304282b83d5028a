package cli

import (
	"errors"
	"strings"
	"testing"

	"tidemark/internal/desk"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		name, first, text string
		width             int
		want              string
	}{
		{"a short text stays on its line", "STOP    ", "it hums", 20, "STOP    it hums"},
		{"a line may be as long as the width", "-> ", "abc def", 10, "-> abc def"},
		{"one longer than that is broken under its beginning", "-> ", "abc defg", 10, "-> abc\n   defg"},
		{"letters count, not bytes", "", "éééé ñññ", 8, "éééé ñññ"},
		{"a name in quotes stays whole", "", `write --match "Kick In copy.wav=NUMBER" now`, 20, "write --match\n\"Kick In copy.wav=NUMBER\"\nnow"},
		{"a quote without an end holds nothing together", "", `the 12" tom is late`, 10, "the 12\"\ntom is\nlate"},
		{"no text leaves the beginning", "-> ", "", 10, "-> "},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := wrap(c.first, c.text, c.width); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

func TestWidthComesFromColumns(t *testing.T) {
	for _, c := range []struct {
		columns string
		want    int
	}{{"", 100}, {"132", 132}, {"20", leastWidth}, {"wide", 100}, {"-1", 100}} {
		t.Setenv("COLUMNS", c.columns)
		if got := lineWidth(); got != c.want {
			t.Errorf("COLUMNS=%q: got %d, want %d", c.columns, got, c.want)
		}
	}
}

// A check with a long finding, two passes, a pair in one file and a file that is
// no line.
func sample() desk.Check {
	level := func(v float64) desk.Levels {
		return desk.Levels{PeakDBFS: unit.Some(v), UsualLowDBFS: unit.Some(v - 30), UsualHighDBFS: unit.Some(v - 10)}
	}
	stereo := desk.Format{Channels: 2}
	return desk.Check{
		List: &desk.ListReport{File: "list.csv", Understood: "3 lines\nread: " + strings.Repeat("mic from column C, ", 10) + "\n"},
		Passes: []desk.PassReport{
			{Name: "pass 1", StartS: unit.Some(56530.0), DurationS: 75},
			{Name: "pass 2", DurationS: 9},
		},
		Lines: []desk.LineReport{
			{Number: 1, Source: "Kick", File: "Audio Files/Kick.wav", Pass: "pass 1", Levels: level(-0.04)},
			{Number: 2, Source: "Rooms R", File: "Audio Files/Rooms.wav", Channel: 2, Format: stereo, Pass: "pass 1", Levels: level(-12)},
			{File: "Audio Files/Kick copy.wav", Pass: "pass 2"},
		},
		LineCheck: &desk.LineCheckReport{Folder: "take/Line check", Form: "one pass", Why: "two sources sound all the time"},
		Findings: []model.Finding{{Weight: model.Stop, Evidence: strings.Repeat("it crackles and ", 12),
			Advice: strings.Repeat("swap the cable, ", 12)}},
	}
}

func printed(t *testing.T, c desk.Check) string {
	t.Helper()
	t.Setenv("COLUMNS", "")
	var out strings.Builder
	if err := printCheck(&out, c, false); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestPrintedCheckFitsTheTerminal(t *testing.T) {
	for _, line := range strings.Split(printed(t, sample()), "\n") {
		if n := len([]rune(line)); n > 100 || strings.TrimRight(line, " ") != line {
			t.Errorf("%d characters or a blank at the end: %q", n, line)
		}
	}
}

func TestPrintedCheckSays(t *testing.T) {
	out := printed(t, sample())
	for _, want := range []string{
		"\nSTOP    it crackles and",
		"\n     -> swap the cable, ",
		"\n        ", // both go on under their text
		`line check in "Line check": not understood: two sources sound all the time`,
		"line (file in Audio Files)",
		"\n      pass 1 from 15:42:10, 1:15 long\n",
		"\n      pass 2, 0:09 long\n",
		"   1     0.0 ", // not -0.0
		"-30.0 to -10.0 ",
		"  Kick (Kick.wav)",
		"Rooms R (Rooms.wav, channel 2)",
		"(not on the list) (Kick copy.wav)",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("missing %q in:\n%s", want, out)
		}
	}
}

func TestWithoutAListNothingIsOffTheList(t *testing.T) {
	c := sample()
	c.List = nil
	out := printed(t, c)
	if strings.Contains(out, "not on the list") || !strings.Contains(out, "  Kick copy.wav\n") {
		t.Errorf("a file without a line should go by its own name:\n%s", out)
	}
}

func TestMeasurementNamesWhatItCouldNotRead(t *testing.T) {
	var out strings.Builder
	err := printMeasure(&out, desk.Measurement{
		Files:   []desk.FileReport{{File: "a.wav", Format: desk.Format{Channels: 1}, Levels: desk.Levels{ClippedFrames: 3, DigitalSilenceS: 1.5}}},
		Refused: []desk.Refused{{File: "take/b.wav", Reason: "b.wav: the file holds no bytes"}},
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"1 channel,", "clipped: 3 samples", "digital silence: 1.50 s", "take/b.wav\n  not read: the file holds no bytes\n"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("missing %q in:\n%s", want, out.String())
		}
	}
}

func TestErrorsAreOneLine(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"one\n\n two\n", "one; two"},
		{"unknown command \"chek\"\n\nDid you mean this?\n\tcheck\n", `unknown command "chek"; did you mean this: check`},
	} {
		if got := oneLine(errors.New(c.in)); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
