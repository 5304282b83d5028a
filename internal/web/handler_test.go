package web

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
)

func ask(h http.Handler, method, host, address string, header map[string]string, body string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, address, strings.NewReader(body))
	r.Host = host
	if body != "" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for k, v := range header {
		r.Header.Set(k, v)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestOnlyLoopbackNamesAreAnswered(t *testing.T) {
	h := Handler(finished(fixture(3)), Options{})
	for host, want := range map[string]int{
		"localhost": 200, "localhost:8080": 200, "LOCALHOST:1": 200, "127.0.0.1:8080": 200, "[::1]:8080": 200, "[::1]": 200,
		"": 421, "studio.example": 421, "localhost.studio.example:80": 421, "127.0.0.1.studio.example": 421,
		"192.168.1.4:8080": 421, "127.0.0.2": 421, "localhost:80:80": 421, "localhost:x": 421, "[::2]:80": 421,
		"[localhost": 421, "localhost]": 421,
	} {
		for _, address := range []string{"/", "/check.json", "/static/sheet.css", "/nothing"} {
			w := ask(h, "GET", host, address, nil, "")
			if address == "/nothing" && want == 200 {
				want = 404
			}
			if w.Code != want {
				t.Errorf("Host %q %s: %d, want %d", host, address, w.Code, want)
			}
			if w.Header().Get("Content-Security-Policy") != policy || w.Header().Get("X-Content-Type-Options") != "nosniff" || w.Header().Get("Referrer-Policy") == "" {
				t.Errorf("Host %q %s: the safety headers are not all there: %v", host, address, w.Header())
			}
		}
	}
}

func TestThemeIsKeptAndCrossOriginPostsRefused(t *testing.T) {
	h := Handler(finished(fixture(3)), Options{})
	w := ask(h, "POST", "localhost:80", "/light", map[string]string{"Sec-Fetch-Site": "same-origin"}, "light=dim&back=%2F%3Fweight%3Dstop")
	if w.Code != 303 || w.Header().Get("Location") != "/?weight=stop" || !strings.Contains(w.Header().Get("Set-Cookie"), "tidemark_light=dim") {
		t.Errorf("%d %v", w.Code, w.Header())
	}
	page := ask(h, "GET", "localhost:80", "/", map[string]string{"Cookie": "tidemark_light=dim"}, "").Body.String()
	if !strings.Contains(page, `data-light="dim" data-choice="dim"`) {
		t.Error("the page does not keep the chosen light")
	}
	for _, back := range []string{"//elsewhere.example/", "https://elsewhere.example/", "/\\elsewhere.example", "javascript:x", "/light"} {
		w := ask(h, "POST", "localhost:80", "/light", nil, "light=paper&back="+url.QueryEscape(back))
		if got := w.Header().Get("Location"); got != "/" {
			t.Errorf("back %q leads to %q", back, got)
		}
	}
	for _, header := range []map[string]string{{"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://elsewhere.example"}} {
		if w := ask(h, "POST", "localhost:80", "/light", header, "light=dim"); w.Code != 403 {
			t.Errorf("a post with %v: %d, want 403", header, w.Code)
		}
	}
}

func TestDimAfterDarkUnlessChosen(t *testing.T) {
	for _, c := range []struct {
		name   string
		hour   int
		cookie string
		want   string
	}{
		{"noon", 12, "", `<html lang="en" data-choice="hour"`},
		{"evening", 19, "", `<html lang="en" data-light="dim" data-choice="hour"`},
		{"small hours", 6, "", `<html lang="en" data-light="dim" data-choice="hour"`},
		{"paper chosen at night", 23, "paper", `<html lang="en" data-light="paper" data-choice="paper"`},
		{"a cookie that is not ours", 12, "plaid", `<html lang="en" data-choice="hour"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := Handler(finished(fixture(1)), Options{Now: func() time.Time { return time.Date(2026, 3, 14, c.hour, 0, 0, 0, time.UTC) }})
			got := ask(h, "GET", "localhost", "/", map[string]string{"Cookie": "tidemark_light=" + c.cookie}, "").Body.String()
			if !strings.Contains(got, c.want) {
				t.Errorf("got %s, want %s", got[:min(160, len(got))], c.want)
			}
		})
	}
}

func TestJSONIsServedAsGiven(t *testing.T) {
	b := NewBoard("a folder")
	if w := ask(Handler(b, Options{}), "GET", "localhost", "/check.json", nil, ""); w.Code != 503 {
		t.Errorf("before the result: %d, want 503", w.Code)
	}
	b.Finish(&Page{}, []byte(`{"schema":"tidemark.check/1"}`))
	w := ask(Handler(b, Options{}), "GET", "localhost", "/check.json", nil, "")
	if w.Code != 200 || w.Body.String() != `{"schema":"tidemark.check/1"}` || w.Header().Get("Content-Type") != "application/json" {
		t.Errorf("%d %s %v", w.Code, w.Body, w.Header())
	}
}

func TestListen(t *testing.T) {
	var asked Passage
	h := Handler(finished(fixture(22)), Options{Listen: func(_ context.Context, p Passage, w io.Writer) error {
		asked = p
		if p.Line == "no such line" {
			return errors.New("line \"no such line\" is in no pass")
		}
		_, err := io.WriteString(w, "RIFF0123WAVE")
		return err
	}})
	for _, c := range []struct {
		name, query string
		code        int
		want        Passage
	}{
		{"a passage", "pass=pass+1&line=3+Snare+top&start=11.34&for=3", 200, Passage{"pass 1", "3 Snare top", 11.34, 3}},
		{"never longer than the most", "line=x&start=0&for=99999", 200, Passage{"", "x", 0, maxListenS}},
		{"no line", "start=0&for=1", 400, Passage{}},
		{"before the start", "line=x&start=-1&for=1", 400, Passage{}},
		{"no number", "line=x&start=NaN&for=1", 400, Passage{}},
		{"for ever", "line=x&start=Inf&for=1", 400, Passage{}},
		{"a line that is not there", "line=no+such+line&start=0&for=1", 404, Passage{"", "no such line", 0, 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			asked = Passage{}
			w := ask(h, "GET", "localhost", "/listen?"+c.query, nil, "")
			if w.Code != c.code || asked != c.want {
				t.Errorf("%d %+v, want %d %+v", w.Code, asked, c.code, c.want)
			}
			if c.code == 200 && (w.Body.String() != "RIFF0123WAVE" || w.Header().Get("Content-Type") != "audio/wav") {
				t.Errorf("%s %v", w.Body, w.Header())
			}
		})
	}
	part := ask(h, "GET", "localhost", "/listen?line=x&start=0&for=1", map[string]string{"Range": "bytes=4-7"}, "")
	if part.Code != 206 || part.Body.String() != "0123" {
		t.Errorf("a part: %d %s", part.Code, part.Body)
	}
	if w := ask(Handler(finished(fixture(1)), Options{}), "GET", "localhost", "/listen?line=x&start=0&for=1", nil, ""); w.Code != 404 {
		t.Errorf("without a hook: %d, want 404", w.Code)
	}
}

// The links on the page must lead to passages that the handler accepts.
func TestHearLinksCarryTheirPlace(t *testing.T) {
	s := newSheet(fixture(22), frame{}, filter{}, true)
	n := 0
	for _, c := range s.Cards {
		for _, it := range c.Items {
			if it.Listen == "" {
				continue
			}
			n++
			u, err := url.Parse(it.Listen)
			if err != nil || u.Path != "/listen" || u.Query().Get("line") == "" || u.Query().Get("pass") != "pass 1" {
				t.Errorf("%s: %v", it.Listen, err)
			}
		}
	}
	if n < 5 {
		t.Errorf("%d findings can be heard, want those with a place", n)
	}
}

func TestStaticFilesAreNamedOneByOne(t *testing.T) {
	h := Handler(finished(fixture(1)), Options{})
	for name, want := range map[string]string{"sheet.css": "text/css; charset=utf-8", "sheet.js": "text/javascript; charset=utf-8", "mark.svg": "image/svg+xml"} {
		w := ask(h, "GET", "localhost", "/static/"+name, nil, "")
		if w.Code != 200 || w.Header().Get("Content-Type") != want {
			t.Errorf("%s: %d %q", name, w.Code, w.Header().Get("Content-Type"))
		}
		again := ask(h, "GET", "localhost", "/static/"+name, map[string]string{"If-None-Match": w.Header().Get("ETag")}, "")
		if again.Code != 304 {
			t.Errorf("%s again: %d, want 304", name, again.Code)
		}
	}
	if w := ask(h, "GET", "localhost", "/static/..%2Ftemplates%2Fresult.html", nil, ""); w.Code != 404 {
		t.Errorf("a way out of the folder: %d, want 404", w.Code)
	}
}

func TestEventsTellProgressThenResultAndEnd(t *testing.T) {
	b := NewBoard("a folder")
	srv := httptest.NewServer(Handler(b, Options{}))
	defer srv.Close()
	b.Begin([]string{"Kick.wav", "Snare.wav"})
	answer, err := http.Get(srv.URL + "/events?version=0")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	in := bufio.NewScanner(answer.Body)
	next := func() string {
		var got []string
		for in.Scan() {
			if in.Text() == "" {
				return strings.Join(got, " ")
			}
			got = append(got, in.Text())
		}
		return "end"
	}
	if got := next(); !strings.Contains(got, "event: progress") || !strings.Contains(got, `"line":"Listening: 0 of 2 files heard"`) {
		t.Errorf("first: %s", got)
	}
	b.Progress(0, 2) // past the end is the end
	b.Progress(7, 1) // not one of the files
	if got := next(); !strings.Contains(got, `"done":1`) || !strings.Contains(got, `"state":"heard","fraction":1`) {
		t.Errorf("second: %s", got)
	}
	b.Finish(&Page{}, nil)
	if got := next(); got != `event: result data: {"version":1}` {
		t.Errorf("third: %s", got)
	}
	b.Close()
	for range 3 {
		if next() == "end" {
			return
		}
	}
	t.Error("the stream does not end when the board is closed")
}

func TestFailureIsShownAsItsSentence(t *testing.T) {
	b := NewBoard("a folder")
	b.Fail("folder holds no sound files: give the folder that the recorder writes to")
	got := get(t, b, "/")
	if !strings.Contains(got, "Folder holds no sound files: give the folder that the recorder writes to.") || !strings.Contains(got, "The check could not be done") {
		t.Error("the sentence is not on the page")
	}
}
