package inputlist

import (
	"fmt"
	"strings"

	"tidemark/internal/model"
)

// add makes the lines of a row.
func (r *lister) add(row gridRow, typed string, halves []half) {
	base := len(r.Lines)
	if mic := row.cell(r.l.at(fieldMic)); parseNumber(mic).ok {
		r.micRows = append(r.micRows, row)
	}
	for i, h := range halves {
		get := func(field string) string { return r.value(row, field) }
		part := func(field string) string { return halfOf(get(field), i, len(halves)) }
		l := model.Line{
			Number: h.number, Source: h.source, Typed: typed, Side: h.side, Partner: -1, Group: r.group, Row: row.number,
			Mic: part(fieldMic), Stand: get(fieldStand), TieLine: part(fieldTieLine), Preamp: part(fieldPreamp), Gain: part(fieldGain),
			Phantom: get(fieldPhantom), Pad: get(fieldPad), Filter: get(fieldFilter), Polarity: get(fieldPolarity), Insert: part(fieldInsert),
			Desk: part(fieldDesk), Return: part(fieldReturn), Converter: part(fieldConverter), Track: part(fieldTrack),
			Space: get(fieldSpace), Performer: get(fieldPerformer), Notes: get(fieldNotes),
		}
		if l.Typed == "" {
			l.Typed = h.source
		}
		if h.linked && len(halves) == 2 {
			l.Partner = base + 1 - i
		}
		r.Lines = append(r.Lines, l)
	}
	r.mergedPair(row, halves)
}

// mergedPair makes left and right of two rows under one merged source cell.
func (r *lister) mergedPair(row gridRow, halves []half) {
	n := len(r.Lines)
	if len(halves) != 1 || n < 2 || row.merged[r.l.at(fieldSource)] != 2 {
		return
	}
	a, b := &r.Lines[n-2], &r.Lines[n-1]
	if a.Row != row.number-1 || a.Typed != b.Typed || a.Partner >= 0 || model.ParseSource(b.Typed).Side != model.NoSide {
		return
	}
	a.Source, b.Source = a.Source+" L", b.Source+" R"
	a.Side, b.Side = model.Left, model.Right
	a.Partner, b.Partner = n-1, n-2
}

// value is what a row says in a field. A tick in a yes-or-no field is "yes",
// or the header where that says more ("-10", "comp"); a no is empty.
func (r *lister) value(row gridRow, field string) string {
	cols := r.l.columns[field]
	var out []string
	for _, col := range cols {
		v := row.cell(col)
		switch field {
		case fieldPhantom, fieldPad, fieldFilter, fieldPolarity, fieldInsert:
			header := ""
			if col < len(r.l.headers) {
				header = r.l.headers[col]
			}
			switch ticked(v) {
			case -1:
				v = ""
			case 1:
				v = "yes"
				if field == fieldPad && strings.ContainsAny(header, "0123456789") || len(cols) > 1 {
					v = header
				}
			}
		}
		if v != "" {
			out = append(out, v)
		}
	}
	if field == fieldNotes {
		return strings.Join(out, "; ")
	}
	return strings.Join(out, " ")
}

// finish numbers a list without numbers, reads the sources, and reports what
// only the whole list shows.
func (r *lister) finish() {
	if !r.numbered && len(r.Lines) > 0 {
		for i := range r.Lines {
			r.Lines[i].Number, r.Lines[i].ByOrder = i+1, true
		}
		r.Notes = append(r.Notes, "the list has no numbers: the lines are counted in the order of the rows")
	}
	model.ReadSources(r.Lines)
	if r.blank > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("%d numbered rows have nothing else in them: left aside", r.blank))
	}
	seen := map[int]int{}
	for i, l := range r.Lines {
		if l.Number == 0 {
			continue
		}
		if j, ok := seen[l.Number]; ok && r.Lines[j].Row != l.Row {
			r.problem(l.Row, letter(r.l.at(fieldNumber)), false, "number %d is %q here and %q in row %d", l.Number, l.Source, r.Lines[j].Source, r.Lines[j].Row)
			continue
		}
		seen[l.Number] = i
	}
	col := letter(max(r.l.at(fieldMic), 0))
	if n := len(r.micRows); n > 3 {
		r.problem(r.micRows[0].number, col, false, "%d microphones look like numbers, first in this row; is it the right column (--columns mic=…)", n)
	} else {
		for _, row := range r.micRows {
			r.problem(row.number, col, false, "the microphone %q looks like a number", row.cell(r.l.at(fieldMic)))
		}
	}
}

// name fills the sheet's columns.
func (s *Sheet) name(l layout) {
	for i := range l.count {
		c := Column{Letter: letter(i), Field: l.fieldAt(i), Doubted: l.doubted[i]}
		if i < len(l.headers) {
			c.Header = l.headers[i]
		}
		if c.Header != "" || c.Field != "" {
			s.Columns = append(s.Columns, c)
		}
	}
}
