package cli

import (
	"os"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Widths of a line on the terminal, in characters.
const (
	usualWidth = 100
	leastWidth = 60
)

// lineWidth is how long a line may get: 100 characters, or what COLUMNS says. It
// is the same in a pipe, so that a check kept in a file reads like the screen.
func lineWidth() int {
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		return max(n, leastWidth)
	}
	return usualWidth
}

// wrap breaks a text between words so that no line is longer than width, the
// indent counted. The first line begins with first and all others with the same
// number of blanks. What stands in double quotes stays whole, longer than a line
// if it must be: it may be a name that somebody wants to copy.
func wrap(first, text string, width int) string {
	indent := utf8.RuneCountInString(first)
	var out strings.Builder
	out.WriteString(first)
	at := indent
	for i, word := range words(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > width:
			out.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			out.WriteByte(' ')
			at++
		}
		out.WriteString(word)
		at += n
	}
	return out.String()
}

// words parts a text at its blanks, outside of double quotes. A text with a quote
// that does not end (an inch, a ditto mark) is parted at every blank.
func words(text string) []string {
	if strings.Count(text, `"`)%2 != 0 {
		return strings.Fields(text)
	}
	quoted := false
	return strings.FieldsFunc(text, func(r rune) bool {
		if r == '"' {
			quoted = !quoted
		}
		return unicode.IsSpace(r) && !quoted
	})
}
