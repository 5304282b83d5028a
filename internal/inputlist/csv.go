package inputlist

import "strings"

// The delimiters that spreadsheets write, and their names.
var delimiters = []struct {
	char byte
	name string
}{{',', "comma"}, {';', "semicolon"}, {'\t', "tab"}, {'|', "bar"}}

// maxQuoted bounds a quoted cell: a quote that does not end within it was
// typed as a mark (a ditto, inches) and is read as one.
const maxQuoted = 2000

// parseText guesses the delimiter and cuts the text into rows. The guess is
// the delimiter under which the first rows show the most headers, then the one
// that parts most rows into equally many cells.
func parseText(text string) grid {
	// "sep=;" in the first line is how a spreadsheet tells itself.
	if rest, ok := cutPrefixFold(text, "sep="); ok && len(rest) > 0 {
		for _, d := range delimiters {
			if rest[0] == d.char && (len(rest) == 1 || rest[1] == '\r' || rest[1] == '\n') {
				rest = strings.TrimPrefix(strings.TrimPrefix(rest[1:], "\r"), "\n")
				return gridOf(rest, d.char, d.name) // the line is no row of the sheet
			}
		}
	}
	best, bestScore := -1, 0
	for i, d := range delimiters {
		if score := delimiterScore(cutRows(text, d.char, 60)); score > bestScore {
			best, bestScore = i, score
		}
	}
	if best < 0 {
		return gridOf(text, 0, "none")
	}
	return gridOf(text, delimiters[best].char, delimiters[best].name)
}

func gridOf(text string, char byte, name string) grid {
	g := grid{delimiter: name}
	for _, cells := range cutRows(text, char, maxRows+1) {
		if len(g.rows) >= maxRows {
			g.notes = append(g.notes, tooManyRows)
			break
		}
		g.add(cells)
	}
	for len(g.rows) > 0 && len(g.rows[len(g.rows)-1].cells) == 0 {
		g.rows = g.rows[:len(g.rows)-1]
	}
	return g
}

// add appends the next row of the sheet.
func (g *grid) add(cells []string) {
	g.rows = append(g.rows, newRow(len(g.rows)+1, cells))
}

func cutPrefixFold(s, prefix string) (string, bool) {
	if len(s) >= len(prefix) && strings.EqualFold(s[:len(prefix)], prefix) {
		return s[len(prefix):], true
	}
	return s, false
}

// delimiterScore is higher the more a cut looks like a sheet; 0 where no row
// was parted.
func delimiterScore(rows [][]string) int {
	counts := map[int]int{}
	headers, parted := 0, 0
	for _, cells := range rows {
		r := newRow(1, cells)
		if len(cells) > 1 && r.filled() > 0 {
			counts[len(cells)]++
			parted++
		}
		headers = max(headers, headerScore(r))
	}
	if parted == 0 {
		return 0
	}
	same := 0
	for _, n := range counts {
		same = max(same, n)
	}
	return headers*1000 + same*4 + parted
}

// cutRows cuts text into rows of cells. A cell that begins with a quote and
// ends with one before a delimiter or the end of the line is quoted, with ""
// for a quote; anything else is taken as it stands, so that a lone " is a
// ditto mark and `Tom 12"` keeps its inches. Lines end with LF, CR LF or CR.
// delimiter 0 makes one cell of a line.
func cutRows(text string, delimiter byte, most int) [][]string {
	var rows [][]string
	var cells []string
	for i := 0; i < len(text) && len(rows) < most; {
		cell, next := cutCell(text, i, delimiter, len(cells) < maxColumns)
		if len(cells) < maxColumns {
			cells = append(cells, cell)
		}
		i = next
		if i < len(text) && delimiter != 0 && text[i] == delimiter {
			if i++; i == len(text) {
				break // a delimiter at the very end parts nothing
			}
			continue
		}
		if i < len(text) && text[i] == '\r' {
			i++
		}
		if i < len(text) && text[i] == '\n' && (i == 0 || text[i-1] == '\r' || next == i) {
			i++
		}
		rows = append(rows, cells)
		cells = nil
	}
	if cells != nil && len(rows) < most {
		rows = append(rows, cells)
	}
	return rows
}

// ends says whether a cell ends at i.
func ends(text string, i int, delimiter byte) bool {
	return i >= len(text) || text[i] == '\n' || text[i] == '\r' || delimiter != 0 && text[i] == delimiter
}

// cutCell returns the cell that begins at i and where it ends. Cells beyond
// those that are kept are not searched for quotes.
func cutCell(text string, i int, delimiter byte, kept bool) (string, int) {
	if kept && text[i] == '"' && !ends(text, i+1, delimiter) {
		if cell, next, ok := cutQuoted(text, i, delimiter); ok {
			return cell, next
		}
	}
	j := i
	for !ends(text, j, delimiter) {
		j++
	}
	return text[i:j], j
}

func cutQuoted(text string, i int, delimiter byte) (string, int, bool) {
	// `" bot;` is a ditto with a word behind it: nobody's spreadsheet opens a
	// quoted cell with a space and then a delimiter.
	if text[i+1] == ' ' {
		j := i + 1
		for j < len(text) && text[j] != '"' && !ends(text, j, delimiter) {
			j++
		}
		if j >= len(text) || text[j] != '"' {
			return "", 0, false
		}
	}
	// Find the end first, from quote to quote; build the cell only if there is one.
	limit := min(len(text), i+maxQuoted)
	for j := i + 1; j < limit; j++ {
		k := strings.IndexByte(text[j:limit], '"')
		if k < 0 {
			break
		}
		if j += k; j+1 < len(text) && text[j+1] == '"' {
			j++ // a doubled quote is one of the cell's own
			continue
		}
		if ends(text, j+1, delimiter) {
			return strings.ReplaceAll(text[i+1:j], `""`, `"`), j + 1, true
		}
		// A quote amid the cell, not doubled by whoever typed it, stays.
	}
	return "", 0, false
}
