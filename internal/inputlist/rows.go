package inputlist

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"tidemark/internal/model"
)

var totalRow = regexp.MustCompile(`^(grand )?(totals?|sum|total (of )?(inputs|lines|channels)|(inputs|lines|channels) total)( ?[:=]? ?\d+.*)?$`)

// dittos are the marks for "as above".
var dittos = map[string]bool{
	`"`: true, `''`: true, "”": true, "“": true, "„": true, "″": true, "〃": true, "´´": true, "``": true, "’’": true, "‘‘": true,
	"ditto": true, "do.": true, "dito": true, "idem": true, "-\"-": true, "-''-": true, "—\"—": true, "same": true, "as above": true, "^": true, "↑": true,
}

func isDitto(cell string) bool {
	return dittos[strings.ToLower(cell)] || strings.Trim(cell, `" `) == "" && cell != ""
}

// groupWords name parts of a band; a row that holds nothing else heads a group.
var groupWords = map[string]bool{
	"drums": true, "drum": true, "drum kit": true, "kit": true, "percussion": true, "guitars": true, "guitar": true, "gtrs": true,
	"keys": true, "keyboards": true, "vocals": true, "vox": true, "voices": true, "strings": true, "horns": true, "brass": true,
	"winds": true, "bass": true, "playback": true, "rhythm": true, "rhythm section": true, "band": true, "orchestra": true, "rooms": true,
	"ambience": true, "backing vocals": true, "bgvs": true, "bvs": true, "utility": true, "misc": true, "comms": true, "spare": true,
	"live room": true, "control room": true, "booth": true, "overdubs": true, "room mics": true, "lead vocals": true, "acoustic instruments": true,
}

// freeLine is what people type beside the number of a line that nothing is
// plugged into. Common practice.
var freeLine = regexp.MustCompile(`^(spare|unused|not used|free|empty|open|n/?[cu]|reserve|libre|frei)( ?\d+)?$|^[-–—.]+$`)

// lister turns rows into lines.
type lister struct {
	*Sheet
	l        layout
	used     map[int]bool // numbers that some row has
	above    map[int]string
	group    string
	numbered bool // the list has a column of numbers with numbers in it
	blank    int  // rows with a number and nothing else
	micRows  []gridRow
}

// readLines finds the headers and reads the rows below them.
func readLines(g grid, opt Options) (Sheet, error) {
	s := Sheet{Encoding: g.encoding, Delimiter: g.delimiter, SheetName: g.sheetName, Notes: g.notes}
	first := slices.IndexFunc(g.rows, func(r gridRow) bool { return r.filled() > 0 })
	if first < 0 {
		return Sheet{}, errEmpty
	}
	h, start := headerFor(g.rows, opt), first
	var headers []string
	if h >= 0 {
		s.HeaderRow, headers, start = g.rows[h].number, g.rows[h].cells, h+1
		if h+1 < len(g.rows) {
			if both, ok := joinHeader(g.rows[h], g.rows[h+1]); ok {
				headers, start = both, h+2
				s.Notes = append(s.Notes, fmt.Sprintf("the headers take two rows, %d and %d", g.rows[h].number, g.rows[h+1].number))
			}
		}
	}
	rows := g.rows[start:]
	l, err := s.assign(headers, g.width(), opt)
	if err != nil {
		return Sheet{}, err
	}
	if h < 0 || l.at(fieldSource) < 0 {
		if h < 0 {
			s.Notes = append(s.Notes, "no row of headers found: the columns were told by what they hold, which is doubtful")
			s.guessColumns(&l, rows)
		} else if _, ok := l.columns[fieldTrack]; ok {
			l.columns[fieldSource] = l.columns[fieldTrack]
			s.Notes = append(s.Notes, "no column of sources: the names in the recorder are read as the sources")
		} else {
			s.guessSourceOnly(&l, rows)
		}
	}
	if l.at(fieldSource) < 0 {
		return Sheet{}, errNoSource(s.HeaderRow, headers, g.rows[first])
	}
	if h < 0 {
		rows = s.skipAbove(rows, l)
	}
	r := lister{Sheet: &s, l: l, used: map[int]bool{}, above: map[int]string{}}
	r.survey(rows)
	for i, row := range rows {
		if len(s.Lines) >= maxLines {
			s.problem(row.number, "", true, "more than %d lines; this row and those below were left aside", maxLines)
			break
		}
		var next gridRow
		if i+1 < len(rows) {
			next = rows[i+1]
		}
		r.row(row, next)
	}
	r.finish()
	s.name(l)
	if len(s.Lines) == 0 {
		return Sheet{}, r.noLines()
	}
	return s, nil
}

// headerFor is the row of headers; headers that the person named find it too.
func headerFor(rows []gridRow, opt Options) int {
	if h := findHeader(rows); h >= 0 {
		return h
	}
	for i, r := range rows[:min(len(rows), headerSearch)] {
		if dataLike(r) {
			continue
		}
		for _, c := range r.cells {
			if f := fieldsOf(c); len(f) > 0 && f[0].field == fieldSource {
				return i
			}
			for _, want := range opt.Columns {
				if columnOf(want) < 0 && c != "" && normalHeader(c) == normalHeader(want) {
					return i
				}
			}
		}
	}
	return -1
}

// guessSourceOnly looks for sources where the headers name other fields only.
func (s *Sheet) guessSourceOnly(l *layout, rows []gridRow) {
	seen := survey(rows, l.count)
	best := -1
	for i, c := range seen {
		if l.fieldAt(i) == "" && c.sources*2 >= c.filled && c.sources > 1 && (best < 0 || c.sources > seen[best].sources) {
			best = i
		}
	}
	if best >= 0 {
		l.columns[fieldSource], l.doubted[best] = []int{best}, true
		s.problem(s.HeaderRow, letter(best), false, "no header names the source, but %d of %d cells here do: read as the source; if that is wrong say --columns source=…", seen[best].sources, seen[best].filled)
	}
}

// skipAbove drops what stands above the first numbered row of a list without
// headers that are known: a title, headers in another language.
func (s *Sheet) skipAbove(rows []gridRow, l layout) []gridRow {
	col := l.at(fieldNumber)
	if col < 0 {
		return rows
	}
	for i, r := range rows {
		if parseNumber(r.cell(col)).ok && r.cell(l.at(fieldSource)) != "" {
			for _, above := range rows[:i] {
				if above.filled() > 0 {
					s.problem(above.number, "", false, "stands above the first number: taken as a title or headers, left aside")
				}
			}
			return rows[i:]
		}
	}
	return rows
}

// survey notes which numbers the rows have.
func (r *lister) survey(rows []gridRow) {
	col := r.l.at(fieldNumber)
	for _, row := range rows {
		if n := parseNumber(row.cell(col)); n.ok {
			r.numbered = true
			for _, k := range n.list {
				r.used[k] = true
			}
		}
	}
}

// row reads one row below the headers. next is the row below it.
func (r *lister) row(row, next gridRow) {
	if row.filled() == 0 || r.repeatsHeader(row) {
		return
	}
	first, at := row.first()
	if totalRow.MatchString(strings.TrimRight(model.Fold(first), " :")) {
		r.Notes = append(r.Notes, fmt.Sprintf("row %d is a total: left aside", row.number))
		return
	}
	numCol, srcCol := r.l.at(fieldNumber), r.l.at(fieldSource)
	if source := model.Fold(row.cell(srcCol)); row.filled() <= 2 && totalRow.MatchString(strings.TrimRight(source, " :")) {
		r.Notes = append(r.Notes, fmt.Sprintf("row %d is a total: left aside", row.number)) // "23 | lines total"
		return
	}
	numCell := row.cell(numCol)
	nums := parseNumber(numCell)
	if row.filled() == 1 && !nums.ok && r.single(row, first, at) {
		return
	}
	for col, c := range row.cells {
		if col != numCol && isDitto(c) {
			row.cells[col] = r.above[col]
			if r.above[col] == "" {
				r.problem(row.number, letter(col), false, "a ditto mark with nothing above it")
			}
		} else if col == srcCol {
			row.cells[col] = r.dittoBegins(c, r.above[col])
		}
	}
	source := row.cell(srcCol)
	if nums.date {
		r.problem(row.number, letter(numCol), false, "the spreadsheet made the date %q of it; read as the pair %d/%d", numCell, nums.list[0], nums.list[1])
	}
	if nums.ok && freeLine.MatchString(model.Fold(source)) {
		r.Notes = append(r.Notes, fmt.Sprintf("row %d, number %s, is free (%q): left aside, no file is missed for it", row.number, numCell, source))
		for col, c := range row.cells {
			r.above[col] = c
		}
		return
	}
	if source == "" {
		source = r.sourceless(row, nums)
		if source == "" {
			return
		}
	}
	if !nums.ok && r.numbered {
		switch {
		case numCell == "":
			r.problem(row.number, letter(numCol), false, "%q has no number", source)
		default:
			r.problem(row.number, letter(numCol), false, "%q has the number %q, which is not a plain number or pair; read without one", source, numCell)
		}
	}
	halves := splitRow(source, nums.list, func(n int) bool { return !r.used[n] })
	if len(halves) == 1 && len(nums.list) == 1 && spansTwo(source) && !r.used[nums.list[0]+1] {
		if n := parseNumber(next.cell(numCol)); n.ok && n.list[0] == nums.list[0]+2 {
			halves = sided(source, nums.list[0], nums.list[0]+1)
			r.problem(row.number, letter(numCol), false, "%q stands for a pair and number %d is free: read as %d and %d", source, nums.list[0]+1, nums.list[0], nums.list[0]+1)
		}
	}
	r.add(row, row.cell(srcCol), halves)
	for col, c := range row.cells {
		r.above[col] = c
	}
	if len(row.cells) > 0 && srcCol >= 0 {
		r.above[srcCol] = halves[len(halves)-1].source
	}
}

// sourceless handles a row without a source: a line that was not filled in is
// passed over, one with a name in the recorder is called that, one with
// anything else is kept under no name, since something is plugged in there.
func (r *lister) sourceless(row gridRow, nums numbers) string {
	if track := row.cell(r.l.at(fieldTrack)); track != "" && !parseNumber(track).ok {
		r.problem(row.number, letter(r.l.at(fieldSource)), false, "no source; called by its name in the recorder, %q", track)
		return track
	}
	own := 0 // filled cells that are not numbers of the form itself
	for col, c := range row.cells {
		if c != "" && col != r.l.at(fieldNumber) && !parseNumber(c).ok && ticked(c) != -1 && row.merged[col] == 0 {
			own++
		}
	}
	switch {
	case own == 0 && nums.ok:
		r.blank++
		return ""
	case own > 0 && nums.ok:
		r.problem(row.number, letter(r.l.at(fieldSource)), false, "number %d has no source", nums.list[0])
		return "(no source)"
	}
	mic := row.cell(r.l.at(fieldMic)) != ""
	r.problem(row.number, "", mic, "neither a number nor a source; left aside")
	return ""
}

// single handles a row with one filled cell that is no number: a group, a
// remark, or a line of which only the source is known. It says whether the row
// is done with.
func (r *lister) single(row gridRow, text string, at int) bool {
	if isDitto(text) {
		return false
	}
	src := at == r.l.at(fieldSource)
	folded := strings.TrimRight(model.Fold(text), " :")
	upper := strings.ToUpper(text) == text && strings.ToLower(text) != text
	before, after, colon := strings.Cut(text, ":")
	words := model.ParseSource(text)
	// "OH L" and "BV 2" are typed in capitals in any list: they head no group.
	line := src && words.Family != model.Unknown && !groupWords[folded] &&
		(words.Side != model.NoSide || words.Part != model.NoPart || words.Index > 0 || len(r.l.columns) == 1)
	switch {
	case colon && strings.TrimSpace(after) != "" && strings.TrimSpace(before) != "":
		r.problem(row.number, letter(at), false, "%q is a remark: left aside", text)
		return true
	case groupWords[folded] && (upper || colon || !src || r.numbered || len(r.l.columns) > 1),
		upper && !line && len([]rune(folded)) > 3 && (r.numbered || !src || r.mostlyLower()),
		colon:
		r.group = strings.TrimRight(text, " :")
		return true
	case !src:
		r.problem(row.number, letter(at), false, "%q stands alone: left aside", text)
		return true
	case r.numbered && (words.Family == model.Unknown || len(strings.Fields(text)) > 4):
		r.problem(row.number, letter(at), false, "%q has no number and nothing else in its row: left aside as a remark", text)
		return true
	}
	return false
}

// mostlyLower says whether the lines so far are not typed in capitals, so that
// capitals mean something.
func (r *lister) mostlyLower() bool {
	lower := 0
	for _, l := range r.Lines {
		if strings.ToUpper(l.Typed) != l.Typed {
			lower++
		}
	}
	return lower*2 > len(r.Lines) && len(r.Lines) > 0
}

// repeatsHeader says whether a row shows the headers again, as printed sheets do.
func (r *lister) repeatsHeader(row gridRow) bool {
	if r.HeaderRow == 0 {
		return false
	}
	same := 0
	for i, c := range row.cells {
		if c != "" && i < len(r.l.headers) && normalHeader(c) == normalHeader(r.l.headers[i]) && normalHeader(c) != "" {
			same++
		}
	}
	if same >= 2 && same*2 > row.filled() {
		r.Notes = append(r.Notes, fmt.Sprintf("row %d repeats the headers: left aside", row.number))
		return true
	}
	return false
}

// dittoBegins resolves `" bot` below "Snare top": the source above without its
// part, side and number, and the rest of the cell.
func (r *lister) dittoBegins(cell, above string) string {
	mark, rest, ok := strings.Cut(cell, " ")
	if !ok || !isDitto(mark) || above == "" || strings.EqualFold(mark, "same") {
		return cell
	}
	words := strings.Fields(above)
	for len(words) > 1 {
		w := words[len(words)-1]
		s := model.ParseSource("snare " + w)
		if s.Stem != "snare" && strings.IndexFunc(w, unicode.IsLetter) >= 0 {
			break
		}
		words = words[:len(words)-1]
	}
	return strings.Join(words, " ") + " " + rest
}

func (r *lister) noLines() error {
	if r.HeaderRow > 0 {
		return fmt.Errorf("no lines below the headers in row %d; is column %s the one with the sources (--columns source=…)", r.HeaderRow, letter(r.l.at(fieldSource)))
	}
	return errors.New("no lines found in the list; say which column holds the sources, for example --columns source=B")
}
