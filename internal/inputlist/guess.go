package inputlist

import (
	"fmt"
	"strings"
	"unicode"

	"tidemark/internal/model"
)

// contents counts what a column's cells look like.
type contents struct {
	filled, numbers, rising, sources, models, stands, ticks int
}

// standWords are the words of a column of stands, common practice.
var standWords = []string{"boom", "tall", "short", "straight", "stand", "clip", "low", "round", "floor", "bar"}

// survey looks at the cells of every column, group rows left out.
func survey(rows []gridRow, width int) []contents {
	out := make([]contents, width)
	last := make([]int, width)
	for _, r := range rows[:min(len(rows), 300)] {
		if r.filled() < 2 && width > 1 {
			continue // titles, group rows, remarks
		}
		for i, c := range r.cells {
			if c == "" || i >= width {
				continue
			}
			k := &out[i]
			k.filled++
			if n := parseNumber(c); n.ok {
				k.numbers++
				if n.list[0] > last[i] {
					k.rising++
				}
				last[i] = n.list[0]
				if c == "1" {
					k.ticks++
				}
				continue
			}
			if ticked(c) != 0 {
				k.ticks++
				continue
			}
			if s := model.ParseSource(c); s.Family != model.Unknown {
				k.sources++
			}
			if letters, digits := mixed(c); letters && digits && len(c) < 20 {
				k.models++
			}
			for _, w := range strings.Fields(model.Fold(c)) {
				if contains(standWords, w) {
					k.stands++
					break
				}
			}
		}
	}
	return out
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func mixed(s string) (letters, digits bool) {
	for _, r := range s {
		letters = letters || unicode.IsLetter(r)
		digits = digits || unicode.IsDigit(r)
	}
	return letters, digits
}

// guessColumns fills a layout from contents, where there are no headers: the
// column with most known sources, rising numbers left of it, a column of
// models, one of stands, one of ticks. Each is said to be doubtful.
func (s *Sheet) guessColumns(l *layout, rows []gridRow) {
	seen := survey(rows, l.count)
	free := func(i int) bool { return l.fieldAt(i) == "" }
	pick := func(field string, need func(c contents) int) int {
		if len(l.columns[field]) > 0 {
			return -1
		}
		best, score := -1, 0
		for i, c := range seen {
			if free(i) && c.filled > 0 {
				if n := need(c); n > score {
					best, score = i, n
				}
			}
		}
		if best >= 0 {
			l.columns[field] = []int{best}
			l.doubted[best] = true
		}
		return best
	}
	if i := pick(fieldSource, func(c contents) int {
		if c.sources*10 >= c.filled*3 {
			return c.sources
		}
		return 0
	}); i >= 0 {
		s.problem(0, letter(i), false, "no header says so, but %d of %d cells name sources: read as the source; if that is wrong say --columns source=…", seen[i].sources, seen[i].filled)
	} else if l.count == 1 && l.at(fieldSource) < 0 && seen[0].filled > seen[0].numbers {
		l.columns[fieldSource], l.doubted[0] = []int{0}, true
		s.problem(0, "A", false, "the only column: read as the source")
	}
	if l.at(fieldSource) < 0 {
		return
	}
	s.told(pick(fieldNumber, func(c contents) int {
		if c.numbers >= 2 && c.numbers*10 >= (c.filled-1)*8 && c.rising*10 >= c.numbers*8 { // one may be a header
			return c.rising
		}
		return 0
	}), "rising numbers", fieldNumber)
	s.told(pick(fieldMic, func(c contents) int {
		if c.models*10 >= c.filled*4 && c.filled >= 2 {
			return c.models
		}
		return 0
	}), "names with letters and figures", fieldMic)
	s.told(pick(fieldStand, func(c contents) int {
		if c.stands*10 >= c.filled*5 && c.filled >= 2 {
			return c.stands
		}
		return 0
	}), "words of stands", fieldStand)
	s.told(pick(fieldPhantom, func(c contents) int {
		if c.ticks*10 >= c.filled*9 && c.filled >= 2 && c.rising < 2 {
			return c.ticks
		}
		return 0
	}), "marks", fieldPhantom)
}

func (s *Sheet) told(col int, what, field string) {
	if col >= 0 {
		s.problem(0, letter(col), false, "no header says so, but it holds %s: read as the %s", what, field)
	}
}

// errNoSource says that nothing names the sources, what was seen, and what to do.
func errNoSource(headerRow int, headers []string, first gridRow) error {
	if headerRow > 0 {
		return fmt.Errorf("no column of sources found; the headers in row %d are %s; say which one holds the sources, for example --columns source=B", headerRow, quoted(headers))
	}
	return fmt.Errorf("no column of sources found and no row of headers; the first filled row (%d) reads %s; say which column holds the sources, for example --columns source=B", first.number, quoted(first.cells))
}
