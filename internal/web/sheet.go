package web

import (
	"net/url"
	"strings"

	"tidemark/internal/model"
)

// sheet is a Page ready to be drawn, with the filter and the theme in force.
type sheet struct {
	frame
	Page     *Page
	Filter   filter
	rows     map[string]int
	canHear  bool
	Choices  []choice
	Lines    []string // that have findings, for the filter
	Cards    []card
	Tides    tides
	Bars     []barPass
	Ladder   ladder
	Levels   []levelRow
	Checked  string
	Length   string
	Nominal  string
	Mains    string
	Total    int
	Shown    int
	Distinct int
}

func newSheet(p *Page, fr frame, f filter, canHear bool) *sheet {
	// A weight this page does not know is shown as a note.
	known := *p
	known.Findings = append([]model.Finding(nil), p.Findings...)
	for i, x := range known.Findings {
		if weightWords[x.Weight] == "" {
			known.Findings[i].Weight = model.Note
		}
	}
	p = &known
	s := &sheet{frame: fr, Page: p, Filter: f, canHear: canHear, rows: map[string]int{}}
	for i, l := range p.Lines {
		s.rows[l.Pass+"\x00"+l.Name()] = i
		if _, ok := s.rows["\x00"+l.Name()]; !ok {
			s.rows["\x00"+l.Name()] = i
		}
	}
	s.Total = len(p.Findings)
	seen := map[string]bool{}
	for _, x := range p.Findings {
		if f.shows(x) {
			s.Shown++
		}
		for _, l := range x.Lines {
			if !seen[l] {
				seen[l] = true
			}
		}
	}
	for _, l := range p.Lines {
		if n := l.Name(); seen[n] {
			s.Lines = append(s.Lines, n)
			delete(seen, n)
		}
	}
	for _, x := range p.Findings { // what no line of the list claims: files by name
		for _, l := range x.Lines {
			if seen[l] {
				s.Lines = append(s.Lines, l)
				delete(seen, l)
			}
		}
	}
	s.Choices = s.choices()
	s.Cards = s.cards(f)
	s.Tides, s.Bars, s.Ladder, s.Levels = s.tides(), s.bars(), s.ladder(), s.levels()
	s.Length, s.Distinct = length(totalS(p)), distinctLines(p)
	if !p.CheckedAt.IsZero() {
		s.Checked = p.CheckedAt.Format("2 January 2006, 15:04")
	}
	if v, ok := p.NominalDBFS.Get(); ok {
		s.Nominal = number(v, 0) + "\u00a0dBFS"
	}
	if v, ok := p.MainsHz.Get(); ok {
		s.Mains = number(v, 0) + "\u00a0Hz"
	}
	return s
}

// choices are the links by weight; their counts respect the chosen line.
func (s *sheet) choices() []choice {
	n := map[model.Weight]int{}
	all := 0
	for _, x := range s.Page.Findings {
		if (filter{Line: s.Filter.Line}).shows(x) {
			n[x.Weight]++
			all++
		}
	}
	out := []choice{{"all", "", all, filter{Line: s.Filter.Line}.address(), s.Filter.Weight == ""}}
	for _, w := range weights {
		out = append(out, choice{string(w), w, n[w], filter{w, s.Filter.Line}.address(), s.Filter.Weight == w})
	}
	return out
}

// row finds the line of a pass by its name; a finding without a pass is shown
// on the first pass that has the line.
func (s *sheet) row(pass, line string) (int, bool) {
	i, ok := s.rows[pass+"\x00"+line]
	return i, ok
}

// Around a place some seconds more are heard: enough to know where one is.
const (
	leadInS    = 1.0
	minListenS = 3.0
	maxListenS = 8.0
)

// listen is the address of the sound around a place, empty where it cannot be heard.
func (s *sheet) listen(pass, line string, startS, endS float64) string {
	i, ok := s.row(pass, line)
	if !s.canHear || !ok || s.Page.Lines[i].File == "" {
		return ""
	}
	from := max(startS-leadInS, 0)
	return Passage{
		Pass: s.Page.Lines[i].Pass, Line: line, StartS: from,
		DurationS: min(max(endS+leadInS-from, minListenS), maxListenS),
	}.address()
}

func (p Passage) address() string {
	v := url.Values{}
	v.Set("pass", p.Pass)
	v.Set("line", p.Line)
	v.Set("start", strings.Replace(number(p.StartS, 3), "−", "-", 1))
	v.Set("for", number(p.DurationS, 3))
	return "/listen?" + v.Encode()
}

// Verdict is the headline.
func (s *sheet) Verdict() verdict {
	if s.Page.Verdict != "" {
		return verdict{Parts: []verdictPart{{Text: s.Page.Verdict}}}
	}
	return verdictOf(s.Page)
}

// Meaning is what a weight asks of a person.
func (s *sheet) Meaning(w model.Weight) string { return weightWords[w] }
