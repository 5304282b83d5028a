package inputlist

import (
	"strings"
	"testing"
)

// Lists typed by a neighbour: the headings of common practice in other languages.
func TestHeadingsOfOtherLanguages(t *testing.T) {
	for _, c := range []struct{ name, list, mic, stand string }{
		{"German", "Kapelle;;;;\nKanal;Quelle;Mikrofon;Stativ;Bemerkung\n1;Kick in;Skillet;groß;\n2;Snare top;Trivet;klein;schräg\n", "Trivet", "klein"},
		{"Spanish", "Canal\tFuente\tMicrófono\tPie\tNotas\n1\tKick in\tSkillet\tjirafa\t\n2\tSnare top\tTrivet\tcorto\t\n", "Trivet", "corto"},
		{"French", "Voie;Instrument;Micro;Pied;Remarques\n1;Kick in;Skillet;grand;\n2;Snare top;Trivet;petit;\n", "Trivet", "petit"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := Read("list.csv", strings.NewReader(c.list), int64(len(c.list)), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if s.HeaderRow == 0 || len(s.Lines) != 2 {
				t.Fatalf("got headers in row %d and %d lines, want headers and 2 lines", s.HeaderRow, len(s.Lines))
			}
			if got := s.Lines[1]; got.Number != 2 || got.Mic != c.mic || got.Stand != c.stand {
				t.Errorf("got number %d, mic %q, stand %q; want 2, %q, %q", got.Number, got.Mic, got.Stand, c.mic, c.stand)
			}
		})
	}
}

// A line of one cell in capitals was taken for the head of a group, and lost.
func TestCapitalsThatNameALineHeadNoGroup(t *testing.T) {
	for _, c := range []struct {
		name, list string
		want       int
	}{
		{"one column and nothing else", "Kick In\nSnare Top\nOH L\nOH R\nLd Vox\nBV 1\nBV 2\nTALKBACK\n", 8},
		{"a group among numbered lines stays one", "Ch,Source,Mic\n1,Kick,a\nDRUM KIT,,\n,HORNS,\n2,Snare,b\n", 2},
		{"a side without a number is a line that lacks it", "Ch,Source,Mic\n1,Kick,a\n2,OH L,b\n,OH R,\n", 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := Read("list.csv", strings.NewReader(c.list), int64(len(c.list)), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if len(s.Lines) != c.want {
				t.Errorf("got %d lines, want %d: %v", len(s.Lines), c.want, s.Lines)
			}
		})
	}
}

// A spare line without a file used to be a line that nobody recorded.
func TestFreeLinesAreNoLines(t *testing.T) {
	list := "Ch,Source,Mic\n1,Kick,a\n2,spare,\n3,Spare 2,\n4,n/c,\n5,-,\n6,Free Bass,b\n7,spare vox,c\n"
	s, err := Read("list.csv", strings.NewReader(list), int64(len(list)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, l := range s.Lines {
		got = append(got, l.Source)
	}
	if strings.Join(got, ", ") != "Kick, Free Bass, spare vox" {
		t.Errorf("got %q", got)
	}
	if !strings.Contains(s.Understood(), `row 3, number 2, is free ("spare")`) {
		t.Errorf("not said: %s", s.Understood())
	}
}

// A talkback at the end of a list used to become two lines, T and B.
func TestTwoLettersAloneAreOneLine(t *testing.T) {
	list := "Ch,Source,Mic\n1,Snare T/B,a\n3,Vox,b\n4,T/B,\n"
	s, err := Read("list.csv", strings.NewReader(list), int64(len(list)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, l := range s.Lines {
		got = append(got, l.Name())
	}
	if strings.Join(got, ", ") != "1 Snare T, 2 Snare B, 3 Vox, 4 T/B" {
		t.Errorf("got %q", got)
	}
}
