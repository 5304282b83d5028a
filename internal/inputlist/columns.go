package inputlist

import (
	"fmt"
	"slices"
	"sort"
	"strings"
)

// ParseColumns reads what --columns says: "source=B,mic=D,track=File name".
// The right side is a column's letter or its header. An empty text gives nil.
// Errors name what is allowed.
func ParseColumns(text string) (map[string]string, error) {
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	out := map[string]string{}
	for _, part := range strings.Split(text, ",") {
		field, column, ok := strings.Cut(part, "=")
		field, column = strings.ToLower(strings.TrimSpace(field)), strings.TrimSpace(column)
		if !ok || field == "" || column == "" {
			return nil, fmt.Errorf("columns: %q is not field=column; write for example source=B,mic=D", strings.TrimSpace(part))
		}
		name, known := fieldNamed(field)
		if !known {
			return nil, fmt.Errorf("columns: there is no field %q; the fields are %s", field, strings.Join(Fields, ", "))
		}
		if _, twice := out[name]; twice {
			return nil, fmt.Errorf("columns: %s is given twice; give it one column", name)
		}
		out[name] = column
	}
	return out, nil
}

// fieldNamed finds a field by its name or by a header that names it alone.
func fieldNamed(s string) (string, bool) {
	if slices.Contains(Fields, s) {
		return s, true
	}
	if f := fieldsOf(s); len(f) > 0 {
		return f[0].field, true
	}
	return "", false
}

// layout says which columns hold which field.
type layout struct {
	columns map[string][]int // field → columns
	doubted map[int]bool
	headers []string
	count   int
}

// at returns the first column of a field, −1 without.
func (l layout) at(field string) int {
	if c := l.columns[field]; len(c) > 0 {
		return c[0]
	}
	return -1
}

// fieldAt returns the field of a column, empty without one; the first in the
// order of Fields where one column serves two.
func (l layout) fieldAt(col int) string {
	for _, f := range Fields {
		if slices.Contains(l.columns[f], col) {
			return f
		}
	}
	return ""
}

// assign gives each header its field: first what the person said, then the
// headers that name one field best. It reports unknown and doubled columns.
func (s *Sheet) assign(headers []string, width int, opt Options) (layout, error) {
	l := layout{columns: map[string][]int{}, doubted: map[int]bool{}, headers: headers, count: max(width, len(headers))}
	taken := map[int]bool{}
	var fields []string
	for f := range opt.Columns {
		fields = append(fields, f)
	}
	sort.Strings(fields)
	for _, f := range fields {
		col, err := findColumn(opt.Columns[f], headers, l.count)
		if err != nil {
			return layout{}, fmt.Errorf("columns: %s=%s: %w", f, opt.Columns[f], err)
		}
		if taken[col] {
			return layout{}, fmt.Errorf("columns: column %s is given to two fields; give it to one", letter(col))
		}
		taken[col] = true
		l.columns[f] = []int{col}
	}

	type claim struct {
		col, rank int
		field     string
	}
	var claims []claim
	for col, h := range headers {
		for i, n := range fieldsOf(h) {
			claims = append(claims, claim{col, n.rank + i*100, n.field})
		}
	}
	sort.SliceStable(claims, func(i, j int) bool { return claims[i].rank < claims[j].rank })
	for _, c := range claims {
		_, said := opt.Columns[c.field]
		if taken[c.col] || said || len(l.columns[c.field]) > 0 && !gathers[c.field] {
			continue
		}
		taken[c.col] = true
		l.columns[c.field] = append(l.columns[c.field], c.col)
	}
	for _, cols := range l.columns {
		slices.Sort(cols)
	}
	for col, h := range headers {
		if taken[col] || h == "" {
			continue
		}
		if f := fieldsOf(h); len(f) > 0 {
			other := letter(l.at(f[0].field))
			s.problem(s.HeaderRow, letter(col), false, "%q could be the %s too, which is read from column %s; left aside (to choose it: --columns %s=%s)", h, f[0].field, other, f[0].field, letter(col))
		} else {
			s.problem(s.HeaderRow, letter(col), false, "%q is no column that is known here; left aside", h)
		}
	}
	return l, nil
}

// findColumn finds a column by header, else by letter.
func findColumn(want string, headers []string, count int) (int, error) {
	for i, h := range headers {
		if h != "" && normalHeader(h) == normalHeader(want) && normalHeader(want) != "" {
			return i, nil
		}
	}
	if i := columnOf(want); i >= 0 && i < count {
		return i, nil
	}
	last := ""
	if count > 0 {
		last = fmt.Sprintf("the columns are A to %s", letter(count-1))
	}
	if names := quoted(headers); names != "" {
		last += ", with the headers " + names
	}
	return 0, fmt.Errorf("the list has no such column; %s", last)
}

// quoted lists headers, at most twelve of them.
func quoted(headers []string) string {
	var out []string
	for _, h := range headers {
		if h != "" {
			if len(out) == 12 {
				out = append(out, "…")
				break
			}
			out = append(out, quote(h))
		}
	}
	return strings.Join(out, ", ")
}

// problem adds a problem, up to a limit that no list comes near.
func (s *Sheet) problem(row int, column string, fatal bool, format string, args ...any) {
	if len(s.Problems) < maxProblems {
		s.Problems = append(s.Problems, Problem{Row: row, Column: column, Fatal: fatal, Text: fmt.Sprintf(format, args...)})
	}
}
