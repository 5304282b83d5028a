package inputlist

import (
	"strings"
	"unicode"
)

// grid is a sheet as cells, before anything is understood of it.
type grid struct {
	rows                           []gridRow
	encoding, delimiter, sheetName string
	notes                          []string
}

// gridRow is a row with its number in the sheet, from 1. cells has no empty
// end; cell(i) is safe for any i.
type gridRow struct {
	number int
	cells  []string
	merged map[int]int // column → rows of the merged cell that fills it from above or begins here
}

func (r gridRow) cell(i int) string {
	if i < 0 || i >= len(r.cells) {
		return ""
	}
	return r.cells[i]
}

// filled counts the cells that hold something.
func (r gridRow) filled() int {
	n := 0
	for _, c := range r.cells {
		if c != "" {
			n++
		}
	}
	return n
}

// first is the first filled cell and its column, −1 without.
func (r gridRow) first() (string, int) {
	for i, c := range r.cells {
		if c != "" {
			return c, i
		}
	}
	return "", -1
}

// width is the most cells a row has.
func (g grid) width() int {
	w := 0
	for _, r := range g.rows {
		w = max(w, len(r.cells))
	}
	return w
}

// newRow cleans cells and cuts the empty end.
func newRow(number int, cells []string) gridRow {
	if len(cells) > maxColumns {
		cells = cells[:maxColumns]
	}
	out := make([]string, len(cells))
	last := 0
	for i, c := range cells {
		if out[i] = clean(c); out[i] != "" {
			last = i + 1
		}
	}
	return gridRow{number: number, cells: out[:last]}
}

// clean trims a cell, makes one space of any white space (a line break typed
// into a cell, a no-break space) and drops what cannot be seen.
func clean(s string) string {
	var b strings.Builder
	n, gap := 0, false
	for _, r := range s {
		switch {
		case unicode.IsSpace(r):
			gap = true
			continue
		case unicode.IsControl(r), r == '\uFEFF', r == '\u200B', r == '\u200E', r == '\u200F', r == unicode.ReplacementChar:
			continue
		}
		if gap && n > 0 {
			b.WriteByte(' ')
		}
		gap = false
		b.WriteRune(r)
		if n++; n >= maxCellRunes {
			break
		}
	}
	return b.String()
}

// letter names a column as spreadsheets do: A … Z, AA.
func letter(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('A'+(i-1)%26)) + s
	}
	return s
}

// columnOf is letter's inverse; −1 for what is no column letter.
func columnOf(s string) int {
	if s == "" || len(s) > 2 {
		return -1
	}
	n := 0
	for _, r := range strings.ToUpper(s) {
		if r < 'A' || r > 'Z' {
			return -1
		}
		n = n*26 + int(r-'A') + 1
	}
	return n - 1
}
