package inputlist

import (
	"strings"
	"testing"
)

func TestPolarityColumn(t *testing.T) {
	text := "Ch;Source;Pol\n1;Snr top;\n2;Snr bot;flip\n3;Kick;x\n"
	s, err := Read("list.csv", strings.NewReader(text), int64(len(text)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"", "flip", "yes"} {
		if got := s.Lines[i].Polarity; got != want {
			t.Errorf("line %d: polarity %q, want %q", i+1, got, want)
		}
	}
}
