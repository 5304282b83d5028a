package web

import (
	"context"
	"encoding/xml"
	"io"
	"net/http/httptest"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// get asks the board's handler for an address, as a browser on this machine.
func get(t *testing.T, b *Board, address string) string {
	t.Helper()
	r := httptest.NewRequest("GET", address, nil)
	r.Host = "localhost:8080"
	w := httptest.NewRecorder()
	Handler(b, Options{Listen: func(_ context.Context, _ Passage, _ io.Writer) error { return nil }}).ServeHTTP(w, r)
	if w.Code != 200 {
		t.Fatalf("GET %s: %d %s", address, w.Code, w.Body)
	}
	return w.Body.String()
}

// walk calls each with every element of the page.
func walk(n *html.Node, each func(*html.Node)) {
	if n.Type == html.ElementNode {
		each(n)
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		walk(c, each)
	}
}

func attr(n *html.Node, name string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val, true
		}
	}
	return "", false
}

func text(n *html.Node) string {
	var b strings.Builder
	var in func(*html.Node)
	in = func(n *html.Node) {
		if n.Type == html.TextNode {
			b.WriteString(n.Data)
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			in(c)
		}
	}
	in(n)
	return strings.Join(strings.Fields(b.String()), " ")
}

// What holds for every page, whatever is on it.
func TestPagesAreSoundMarkup(t *testing.T) {
	oneLine := fixture(1)
	undefined := fixture(22)
	for i := range undefined.Lines {
		undefined.Lines[i].Levels = Levels{}
	}
	for name, b := range map[string]*Board{
		"22 lines": finished(fixture(22)), "48 lines": finished(fixture(48)), "one line": finished(oneLine),
		"no level measured": finished(undefined), "hostile text": finished(hostile()), "nothing at all": finished(&Page{}),
		"running": running(), "not begun": NewBoard("a folder"),
	} {
		t.Run(name, func(t *testing.T) {
			src := get(t, b, "/")
			doc, err := html.Parse(strings.NewReader(src))
			if err != nil {
				t.Fatal(err)
			}
			ids, refs := map[string]bool{}, map[string]bool{}
			h1, lastLevel := 0, 0
			walk(doc, func(n *html.Node) {
				if id, ok := attr(n, "id"); ok {
					if ids[id] {
						t.Errorf("id %q is given twice", id)
					}
					ids[id] = true
				}
				for _, a := range n.Attr {
					if a.Key == "style" || strings.HasPrefix(a.Key, "on") {
						t.Errorf("<%s> has the attribute %s: the policy forbids it", n.Data, a.Key)
					}
					if (a.Key == "href" || a.Key == "aria-labelledby") && a.Val != "" {
						if h, ok := strings.CutPrefix(a.Val, "#"); ok {
							refs[h] = true
						} else if a.Key == "aria-labelledby" {
							refs[a.Val] = true
						} else if !strings.HasPrefix(a.Val, "/") || strings.HasPrefix(a.Val, "//") {
							t.Errorf("<%s> leads away from the page: %q", n.Data, a.Val)
						}
					}
					if strings.Contains(a.Val, "NaN") || strings.Contains(a.Val, "Inf") {
						t.Errorf("<%s %s=%q> is no number", n.Data, a.Key, a.Val)
					}
				}
				switch n.Data {
				case "h1", "h2", "h3":
					level := int(n.Data[1] - '0')
					if level == 1 {
						h1++
					}
					if level > lastLevel+1 {
						t.Errorf("heading %q skips from %d to %d", text(n), lastLevel, level)
					}
					lastLevel = level
				case "script":
					if _, ok := attr(n, "src"); !ok {
						t.Errorf("a script is written into the page: %s", text(n))
					}
				case "style", "iframe", "object", "embed", "img":
					t.Errorf("there is a <%s>", n.Data)
				case "table":
					if n.FirstChild == nil || !strings.Contains(subtree(n), "<caption") {
						t.Error("a table has no caption")
					}
				case "th":
					if _, ok := attr(n, "scope"); !ok {
						t.Errorf("the heading cell %q has no scope", text(n))
					}
				}
			})
			if h1 != 1 {
				t.Errorf("%d headings of level 1, want 1", h1)
			}
			for r := range refs {
				if !ids[r] {
					t.Errorf("something leads to #%s, which is not on the page", r)
				}
			}
			if strings.Contains(src, "ZgotmplZ") {
				t.Error("the template engine refused a value (ZgotmplZ)")
			}
		})
	}
}

func subtree(n *html.Node) string {
	var b strings.Builder
	_ = html.Render(&b, n)
	return b.String()
}

func TestEveryKindIsHeadedAndShown(t *testing.T) {
	p := fixture(22)
	kinds := map[model.Kind]bool{}
	for _, f := range p.Findings {
		kinds[f.Kind] = true
	}
	if got, want := len(kinds), len(kindWords); got != want || want != 22 {
		t.Fatalf("the fixture has %d kinds, the page heads %d, want 22", got, want)
	}
	src := get(t, finished(p), "/")
	doc, _ := html.Parse(strings.NewReader(src))
	headings := map[string]bool{}
	walk(doc, func(n *html.Node) {
		if n.Data == "h3" && n.FirstChild != nil {
			headings[strings.TrimSpace(n.FirstChild.Data)] = true
		}
	})
	for k := range kinds {
		if !headings[heading(k)] {
			t.Errorf("no card is headed %q", heading(k))
		}
	}
	plain := text(doc)
	for _, f := range p.Findings {
		if !strings.Contains(plain, evidence(f)) {
			t.Errorf("evidence is not on the page: %s", evidence(f))
		}
	}
	for k, c := range cautions {
		if kinds[k] && !strings.Contains(plain, c) {
			t.Errorf("the caution of %s is not on the page", k)
		}
	}
}

func TestFindingsStandInOrderOfWeightAndGather(t *testing.T) {
	s := newSheet(fixture(22), frame{}, filter{}, false)
	last := -1
	many := 0
	for _, c := range s.Cards {
		if r := c.Weight.Rank(); r < last {
			t.Errorf("%s %q stands after a lighter one", c.Weight, c.Heading)
		} else {
			last = r
		}
		if c.Many() {
			many++
			if c.Heading != "Another word length" || len(c.Items) != 4 || c.Advice == "" || c.Items[0].Advice != "" {
				t.Errorf("gathered card %q: %d items, advice %q", c.Heading, len(c.Items), c.Advice)
			}
		}
	}
	if many != 1 {
		t.Errorf("%d gathered cards, want 1", many)
	}
}

func TestFilterByWeightAndLine(t *testing.T) {
	for _, c := range []struct {
		name, query string
		want        int
	}{
		{"everything", "/", 25},
		{"stops", "/?weight=stop", 6},
		{"one line", "/?line=21+Lead+voice", 2},
		{"a pair counts for both lines", "/?line=4+Snare+bottom", 2},
		{"both", "/?weight=listen&line=15+Guitar+Dave", 1},
		{"a weight that does not exist shows all", "/?weight=panic", 25},
		{"a line that does not exist shows none", "/?line=99", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			doc, _ := html.Parse(strings.NewReader(get(t, finished(fixture(22)), c.query)))
			got := 0
			walk(doc, func(n *html.Node) {
				if id, _ := attr(n, "id"); len(id) > 1 && id[0] == 'f' && strings.Trim(id[1:], "0123456789") == "" {
					got++
				}
			})
			if got != c.want {
				t.Errorf("%d findings shown, want %d", got, c.want)
			}
		})
	}
}

func TestHostileTextStaysText(t *testing.T) {
	b := finished(hostile())
	src := get(t, b, "/")
	doc, _ := html.Parse(strings.NewReader(src))
	scripts := 0
	walk(doc, func(n *html.Node) {
		if n.Data == "script" {
			scripts++
		}
	})
	if scripts != 1 {
		t.Errorf("%d scripts on the page, want our own alone", scripts)
	}
	css := get(t, b, "/sheet.css")
	if strings.Count(css, `"`) != 10 || strings.Contains(css, "body") && !strings.Contains(css, `\00007b `) {
		t.Errorf("a name breaks out of the style sheet:\n%s", css)
	}
	if strings.Contains(css, "<") || strings.Count(css, "{") != 5 {
		t.Errorf("a name writes rules into the style sheet:\n%s", css)
	}
}

func TestPrintedHeadKeepsTheName(t *testing.T) {
	got := get(t, finished(&Page{Folder: "Nór, 3"}), "/sheet.css")
	if want := `@top-left { content: "N\0000f3 r\00002c  3" }`; !strings.Contains(got, want) {
		t.Errorf("%s\nwant %s", got, want)
	}
}

func TestSentence(t *testing.T) {
	f := func(w ...model.Weight) (out []model.Finding) {
		for _, x := range w {
			out = append(out, model.Finding{Weight: x})
		}
		return out
	}
	lines := []Line{{Number: 1, Source: "Kick", Pass: "pass 1"}, {Number: 1, Source: "Kick", Pass: "pass 2"}, {Number: 2, Source: "Snare"}}
	for _, c := range []struct {
		name string
		page Page
		want string
	}{
		{"nothing measured is not nothing to stop for", Page{Files: Files{Refused: []Refused{{"a", "b"}}}}, "Nothing was measured — 0 lines, 1 file could not be read"},
		{"nothing found", Page{Lines: lines}, "Nothing to stop for — 2 lines"},
		{"one of each", Page{Findings: f(model.Note, model.Stop, model.Listen), TookS: 0.94, Passes: []Pass{{DurationS: 75}}, Lines: lines[:1]},
			"1 thing to stop for, 1 to listen to, 1 note — 1 line, 1:15, checked in 0.9 s"},
		{"many stops", Page{Findings: f(model.Stop, model.Stop), Passes: []Pass{{DurationS: 3599.6}}}, "2 things to stop for — 0 lines, 1:00:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Sentence(&c.page); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// The icon is an XML file of its own, outside the reach of the HTML checks.
func TestIconIsWellFormed(t *testing.T) {
	b, err := assets.ReadFile("static/mark.svg")
	if err != nil {
		t.Fatal(err)
	}
	d := xml.NewDecoder(strings.NewReader(string(b)))
	for {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

func TestTheLineCheckIsShown(t *testing.T) {
	p := &Page{Folder: "take", LineCheck: LineCheck{Folder: "Line check", Form: "one pass", Turns: []Turn{
		{Sounded: "6 Rack tom", Heard: "7 Floor tom", StartS: unit.Some(13.35)}, {Sounded: "8 OH L"}}}}
	b := NewBoard("take")
	b.Finish(p, nil)
	page := get(t, b, "http://localhost:8080/")
	for _, want := range []string{"The line check as it was heard", "6 Rack tom", "7 Floor tom", "0:13.4", "no line"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}
