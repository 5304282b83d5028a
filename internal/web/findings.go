package web

import (
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"tidemark/internal/model"
)

// filter is what the person asked to see, from the query: a weight, a line by
// name, or both; empty shows all.
type filter struct {
	Weight model.Weight
	Line   string
}

// readFilter takes the filter from a query; a weight that does not exist is no
// filter, so that an old link still shows something.
func readFilter(q url.Values) filter {
	f := filter{Line: q.Get("line")}
	for _, w := range weights {
		if string(w) == q.Get("weight") {
			f.Weight = w
		}
	}
	return f
}

func (f filter) shows(x model.Finding) bool {
	if f.Weight != "" && f.Weight != x.Weight {
		return false
	}
	if f.Line == "" {
		return true
	}
	for _, l := range x.Lines {
		if l == f.Line {
			return true
		}
	}
	return false
}

// address is the page's own address with this filter.
func (f filter) address() string {
	v := url.Values{}
	if f.Weight != "" {
		v.Set("weight", string(f.Weight))
	}
	if f.Line != "" {
		v.Set("line", f.Line)
	}
	if len(v) == 0 {
		return "/#findings"
	}
	return "/?" + v.Encode() + "#findings"
}

// choice is one link of the filter.
type choice struct {
	Word    string
	Weight  model.Weight
	Count   int
	Address string
	Current bool
}

// card is one entry of the findings: one finding, or several of one kind and
// weight that ask for the same thing.
type card struct {
	Weight  model.Weight
	Word    string
	Heading string
	Caution string
	Advice  string // common to all items; empty when each has its own
	Items   []item
}

// Many says whether the card gathers several findings.
func (c card) Many() bool { return len(c.Items) > 1 }

// item is one finding on its card.
type item struct {
	Anchor                       string
	Lines                        []ref
	Pass                         string
	When                         string
	Places                       []ref // later ones; the first is When
	More                         int   // places that are not listed
	Measured, Limit, LimitSource string
	Evidence, Advice             string
	Bar                          string // anchor of the line's time bar
	Listen                       string // address of the sound around it, empty without
}

// ref is a word that leads somewhere; an empty Address is plain text.
type ref struct{ Text, Address string }

// shownNames is how many lines a finding names.
const shownNames = 8

// gatherFrom is how many findings of one kind and weight make one card.
const gatherFrom = 3

// shownPlaces is how many further places a finding spells out.
const shownPlaces = 6

// cards builds the entries in order of weight; inside a weight the order given
// is kept, a gathered card standing where its first finding stood.
func (s *sheet) cards(f filter) []card {
	many := map[string]int{}
	key := func(x model.Finding) string { return string(x.Weight) + "/" + string(x.Kind) }
	for _, x := range s.Page.Findings {
		if f.shows(x) {
			many[key(x)]++
		}
	}
	var out []card
	for _, w := range weights {
		at := map[string]int{}
		for i, x := range s.Page.Findings {
			if x.Weight.Rank() != w.Rank() || !f.shows(x) {
				continue
			}
			it := s.item(i)
			if j, ok := at[key(x)]; ok {
				out[j].Items = append(out[j].Items, it)
				continue
			}
			if many[key(x)] >= gatherFrom {
				at[key(x)] = len(out)
			}
			out = append(out, card{
				Weight: w, Word: string(w), Heading: heading(x.Kind), Caution: caution(x),
				Items: []item{it},
			})
		}
	}
	for i := range out {
		out[i].shareAdvice()
	}
	return out
}

// shareAdvice lifts an advice that all items give to the card.
func (c *card) shareAdvice() {
	first := c.Items[0].Advice
	for _, it := range c.Items {
		if it.Advice != first {
			return
		}
	}
	c.Advice = first
	for i := range c.Items {
		c.Items[i].Advice = ""
	}
}

func anchor(finding int) string { return "f" + strconv.Itoa(finding+1) }

func (s *sheet) item(i int) item {
	x := s.Page.Findings[i]
	it := item{
		Anchor: anchor(i), Evidence: evidence(x), Advice: sentence(x.Advice),
		LimitSource: strings.TrimSuffix(x.LimitSource, ", no published source"), // the foot of the page says what common practice is
	}
	if len(s.Page.Passes) > 1 {
		it.Pass = x.Pass
	}
	for i, l := range x.Lines {
		if i == shownNames && len(x.Lines) > shownNames+1 {
			it.Lines = append(it.Lines, ref{Text: "and " + strconv.Itoa(len(x.Lines)-i) + " more"})
			break
		}
		it.Lines = append(it.Lines, ref{l, filter{Line: l}.address()})
	}
	if v, ok := x.Value.Get(); ok {
		it.Measured = measure(v, x.Unit)
	}
	if v, ok := x.Limit.Get(); ok {
		it.Limit = measure(v, x.Unit)
	}
	if len(x.Lines) > 0 {
		if row, ok := s.row(x.Pass, x.Lines[0]); ok {
			it.Bar = barAnchor(row)
		}
	}
	s.when(&it, x)
	return it
}

// when writes the places of a finding, and where it can be heard.
func (s *sheet) when(it *item, x model.Finding) {
	start, ok := x.StartS.Get()
	if !ok && len(x.Places) > 0 {
		start, ok = x.Places[0].StartS, true
	}
	if !ok {
		return
	}
	end := x.EndS.Or(start)
	it.When = clock(start)
	switch {
	case x.Count > 1 && len(x.Places) > 0:
		for j, p := range x.Places {
			if j > shownPlaces {
				break
			}
			if j > 0 {
				it.Places = append(it.Places, ref{clock(p.StartS), s.listen(x.Pass, p.Line, p.StartS, p.EndS)})
			}
		}
		it.More = len(x.Places) - 1 - len(it.Places)
		end = x.Places[0].EndS
	case end-start >= 0.1:
		it.When += " to " + clock(end)
	}
	line := ""
	if len(x.Lines) > 0 {
		line = x.Lines[0]
	}
	if len(x.Places) > 0 {
		line = x.Places[0].Line
	}
	it.Listen = s.listen(x.Pass, line, start, end)
}

// evidence is the finding's evidence as a sentence; one that begins with the
// name of a line or a file keeps it as it is written.
func evidence(x model.Finding) string {
	for _, name := range append(append([]string(nil), x.Lines...), x.Files...) {
		if name != "" && strings.HasPrefix(x.Evidence, name) {
			return name + strings.TrimPrefix(sentence("\u200b"+x.Evidence[len(name):]), "\u200b")
		}
	}
	return sentence(x.Evidence)
}

// minus is a hyphen that stands for one.
var minus = regexp.MustCompile(`(^|[\s(])-(\d)`)

// sentence gives a sentence its full stop and its capital, which the rules leave
// to the face that prints it.
func sentence(t string) string {
	t = strings.TrimSpace(t)
	if t == "" {
		return ""
	}
	t = minus.ReplaceAllString(t, "$1\u2212$2")
	if c := t[0]; c >= 'a' && c <= 'z' {
		t = string(c-'a'+'A') + t[1:]
	}
	if !strings.ContainsAny(t[len(t)-1:], ".!?") {
		t += "."
	}
	return t
}

// spans lists where a finding lies on a line of a pass, in seconds; whole says
// that it concerns the line but has no place in time.
func spans(x model.Finding, pass, line string) (at []model.Place, whole bool) {
	if x.Pass != "" && x.Pass != pass {
		return nil, false
	}
	for _, p := range x.Places {
		if p.Line == line {
			at = append(at, p)
		}
	}
	if len(at) > 0 {
		return at, false
	}
	for _, l := range x.Lines {
		if l != line {
			continue
		}
		start, ok := x.StartS.Get()
		if !ok {
			return nil, true
		}
		return []model.Place{{Line: line, StartS: start, EndS: x.EndS.Or(start)}}, false
	}
	return nil, false
}

// verdict is the headline in its parts, so that each weight carries its shape.
type verdict struct {
	Parts []verdictPart
	Tail  string
}

type verdictPart struct {
	Weight model.Weight
	Text   string
}

// Sentence is the verdict in one sentence: what there is to stop for, to listen
// to and to note, over how many lines and how long, and how long it took.
func Sentence(p *Page) string {
	v := verdictOf(p)
	var parts []string
	for _, x := range v.Parts {
		parts = append(parts, x.Text)
	}
	return strings.ReplaceAll(strings.Join(parts, ", ")+" — "+v.Tail, "\u00a0", " ")
}

func verdictOf(p *Page) verdict {
	n := map[model.Weight]int{}
	for _, x := range p.Findings {
		n[x.Weight]++
	}
	var v verdict
	say := func(w model.Weight, text string) {
		v.Parts = append(v.Parts, verdictPart{w, strings.ReplaceAll(text, " ", "\u00a0")})
	}
	if len(p.Lines) == 0 && len(p.Findings) == 0 {
		say("", "Nothing was measured") // which is not the same as nothing to stop for
	} else if k := n[model.Stop]; k > 0 {
		say(model.Stop, count(k, "thing", "things")+" to stop for")
	} else {
		say("", "Nothing to stop for")
	}
	if k := n[model.Listen]; k > 0 {
		say(model.Listen, strconv.Itoa(k)+" to listen to")
	}
	if k := n[model.Note]; k > 0 {
		say(model.Note, count(k, "note", "notes"))
	}
	lines, music := p.LineCount, p.MusicS
	if lines == 0 {
		lines = distinctLines(p)
	}
	if music == 0 {
		music = totalS(p)
	}
	tail := []string{count(lines, "line", "lines")}
	if d := music; d > 0 {
		tail = append(tail, length(d))
	}
	if k := len(p.Files.Refused); k > 0 {
		tail = append(tail, count(k, "file", "files")+" could not be read")
	}
	if p.TookS > 0 {
		tail = append(tail, "checked in "+number(p.TookS, 1)+" s")
	}
	v.Tail = strings.Join(tail, ", ")
	return v
}

func totalS(p *Page) (d float64) {
	for _, x := range p.Passes {
		d += x.DurationS
	}
	return d
}

// distinctLines counts lines once, however many passes recorded them.
func distinctLines(p *Page) int {
	seen := map[string]bool{}
	for _, l := range p.Lines {
		seen[l.Name()] = true
	}
	return len(seen)
}
