package inputlist

import (
	"fmt"
	"strings"
)

// Understood says in a few plain lines what was made of the sheet, for the
// person who typed it: how many lines from which rows, which column was read
// as what, what was left aside, and what to look at.
func (s Sheet) Understood() string {
	var b strings.Builder
	if n := len(s.Lines); n > 0 {
		fmt.Fprintf(&b, "%d %s from rows %d to %d", n, plural(n, "line"), s.Lines[0].Row, s.Lines[n-1].Row)
	} else {
		b.WriteString("no lines")
	}
	if s.SheetName != "" {
		fmt.Fprintf(&b, " of sheet %q", s.SheetName)
	}
	if s.HeaderRow > 0 {
		fmt.Fprintf(&b, ", headers in row %d", s.HeaderRow)
	} else {
		b.WriteString(", no headers")
	}
	if s.Encoding != "" {
		fmt.Fprintf(&b, "; text in %s, cells parted by: %s", s.Encoding, s.Delimiter)
	}
	b.WriteByte('\n')
	var read, aside []string
	for _, c := range s.Columns {
		header := ""
		if c.Header != "" {
			header = fmt.Sprintf(" %q", c.Header)
		}
		switch {
		case c.Field == "":
			aside = append(aside, c.Letter+header)
		case c.Doubted:
			read = append(read, fmt.Sprintf("%s from column %s%s (a guess)", c.Field, c.Letter, header))
		default:
			read = append(read, fmt.Sprintf("%s from column %s%s", c.Field, c.Letter, header))
		}
	}
	if len(read) > 0 {
		fmt.Fprintf(&b, "read: %s\n", strings.Join(read, ", "))
	}
	if len(aside) > 0 {
		fmt.Fprintf(&b, "left aside: %s\n", strings.Join(aside, ", "))
	}
	for _, n := range s.Notes {
		fmt.Fprintln(&b, n)
	}
	for _, p := range s.Problems {
		fmt.Fprintln(&b, p)
	}
	return b.String()
}

func plural(n int, word string) string {
	if n == 1 {
		return word
	}
	return word + "s"
}
