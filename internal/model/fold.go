package model

import (
	"strings"
	"unicode"
)

// folds are the accented letters of Latin scripts and what they are compared
// as. It is a table and not a library so that this ring stays on the standard
// library; letters of other scripts compare as themselves.
var folds = foldTable(
	"a", "àáâãäåāăą", "c", "çćĉċč", "d", "ďđð", "e", "èéêëēĕėęě", "g", "ĝğġģ",
	"h", "ĥħ", "i", "ìíîïĩīĭįı", "j", "ĵ", "k", "ķ", "l", "ĺļľŀł", "n", "ñńņňŉ",
	"o", "òóôõöøōŏő", "r", "ŕŗř", "s", "śŝşšș", "t", "ţťŧț", "u", "ùúûüũūŭůűų",
	"w", "ŵ", "y", "ýÿŷ", "z", "źżž", "ss", "ß", "ae", "æ", "oe", "œ", "th", "þ",
	"fi", "ﬁ", "fl", "ﬂ",
)

func foldTable(pairs ...string) map[rune]string {
	m := map[rune]string{}
	for i := 0; i < len(pairs); i += 2 {
		for _, r := range pairs[i+1] {
			m[r] = pairs[i]
		}
	}
	return m
}

// Fold lowers a text and takes its accents off, so that "Akkordeön", decomposed
// or not, compares equal to "akkordeon".
func Fold(text string) string {
	var b strings.Builder
	for _, r := range text {
		r = unicode.ToLower(r)
		if unicode.Is(unicode.Mn, r) {
			continue // the accents of decomposed names, as some file systems keep them
		}
		if s, ok := folds[r]; ok {
			b.WriteString(s)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

// Tokens cuts a text into folded words and numbers. A change between letters
// and digits parts them ("T1" → t 1), and so does a capital after a small
// letter ("KickIn" → kick in, "PnoL" → pno l); everything else that is neither
// letter nor digit is a gap.
func Tokens(text string) []string {
	var out []string
	var word []rune
	flush := func() {
		if len(word) > 0 {
			if s := Fold(string(word)); s != "" {
				out = append(out, s)
			}
			word = word[:0]
		}
	}
	var last rune
	for _, r := range text {
		switch {
		case unicode.Is(unicode.Mn, r):
			word = append(word, r)
			continue
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			flush()
		default:
			if len(word) > 0 && (unicode.IsDigit(r) != unicode.IsDigit(last) ||
				unicode.IsUpper(r) && unicode.IsLower(last)) {
				flush()
			}
			word = append(word, r)
		}
		last = r
	}
	flush()
	return out
}
