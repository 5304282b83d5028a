package model

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// FuzzParseSource: any text is read, twice alike, in no more words than it has,
// and blanks around it or between its words change nothing.
func FuzzParseSource(f *testing.F) {
	for _, s := range []string{"K in", "OH L/R", "T1", "d i", "\xff\xfe", "99999999999999999999 tom", "BGV 2 R", "KickIn", "Akkordeo\u0308n ², ٣", "sub kick", "lead gtr", "r b"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s := ParseSource(text)
		if s.Index < 0 || !utf8.ValidString(s.Stem) {
			t.Errorf("%+v", s)
		}
		if again := ParseSource(text); again != s {
			t.Errorf("second reading differs: %+v, %+v", s, again)
		}
		tokens := Tokens(text)
		if words := strings.Join(tokens, " "); ParseSource(words) != s && slices.Equal(Tokens(words), tokens) {
			t.Errorf("%q reads %+v, its words %q read %+v", text, s, words, ParseSource(words))
		}
		if spaced := ParseSource(" \t" + text + " "); spaced != s {
			t.Errorf("with blanks around: %+v, want %+v", spaced, s)
		}
	})
}

// FuzzFold: what is folded folds to itself, and is cut into words that are folded.
func FuzzFold(f *testing.F) {
	for _, s := range []string{"Akkordeön", "Akkordeo\u0308n", "ﬁddle", "İ", "ẞ", "ŉ", "\xff", "T1KickIn"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		once := Fold(text)
		if twice := Fold(once); twice != once {
			t.Errorf("%q folds to %q, and that to %q", text, once, twice)
		}
		for _, w := range Tokens(text) {
			if w == "" || Fold(w) != w || len(Tokens(w)) > 2 {
				t.Errorf("%q is no folded word: folds to %q, is cut into %q", w, Fold(w), Tokens(w))
			}
		}
	})
}

// FuzzReadSources: a list of sources gets families, parts and sides without
// losing a line, each list of the same sources alike, and relations name lines
// that exist.
func FuzzReadSources(f *testing.F) {
	f.Add("Kick in\nKick out\nSN T\nSN B\nT\nB\nroom\nEG Dave\nBGV 2\n\nOH L/R")
	f.Add("Room M\nRoom S\nS\nM\nM")
	f.Fuzz(func(t *testing.T, text string) {
		var lines []Line
		for i, s := range strings.Split(text, "\n") {
			if i == 64 {
				break
			}
			lines = append(lines, Line{Number: i + 1, Source: s, Typed: s, Partner: -1})
		}
		again := slices.Clone(lines)
		ReadSources(lines)
		ReadSources(again)
		if !slices.Equal(lines, again) {
			t.Errorf("got %+v, want %+v", again, lines)
		}
		for i, l := range lines {
			if l.Number != i+1 || l.Index < 0 || l.Partner != -1 || !utf8.ValidString(l.Stem) {
				t.Errorf("line %d became %+v", i, l)
			}
		}
		for _, r := range Relations(lines) {
			if r.A == r.B || min(r.A, r.B, r.On) < 0 || max(r.A, r.B, r.On) >= len(lines) {
				t.Errorf("relation %+v of %d lines", r, len(lines))
			}
		}
	})
}
