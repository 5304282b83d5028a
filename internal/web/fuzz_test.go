package web

import (
	"context"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// FuzzRequest: whatever is asked for in the address, in the cookie, the range and
// the form, the page answers: no panic, nothing that failed within, a passage
// that makes sense or none, no way to another host, and no text of the address
// that became markup.
func FuzzRequest(f *testing.F) {
	f.Add("/", "weight=stop&line=3+Snare+top", "dim", "", "light=paper&back=/")
	f.Add("/listen", "line=x&start=1e308&for=1e308", "paper", "bytes=0-3", "")
	f.Add("/listen", "line=x&start=-0&for=0.0000001&pass=%00", "", "bytes=-9999999999999999999", "light=hour&back=//elsewhere.example/")
	f.Add("/", "weight=%3Cscript%3E&line=%22%3E%3Cimg src=x%3E", "hour; x", "bytes=5-1,0-0,,", "back=/%0d%0aSet-Cookie:%20a=b")
	f.Add("/static/../sheet.css", "%zz&&==", "", "bits=1", "back=http:///")
	f.Add("/check.json", "version=99999999999999999999", "\"", "bytes=", "back=/?line=%252e")
	board := finished(fixture(5))
	f.Fuzz(func(t *testing.T, path, query, theme, part, form string) {
		var heard []Passage
		h := Handler(board, Options{Listen: func(_ context.Context, p Passage, w io.Writer) error {
			heard = append(heard, p)
			_, err := io.WriteString(w, "RIFF0123WAVE")
			return err
		}})
		if strings.HasPrefix(path, "/events") {
			return // a stream ends with its reader
		}
		address := &url.URL{Path: path, RawQuery: query}
		w := answer(h, &http.Request{Method: "GET", URL: address, Host: "localhost", Header: http.Header{"Cookie": {lightCookie + "=" + theme}, "Range": {part}}})
		if w.Code >= 500 || w.Code < 200 {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		for _, p := range heard {
			if p.Line == "" || !(p.StartS >= 0) || math.IsInf(p.StartS, 0) || !(p.DurationS > 0 && p.DurationS <= maxListenS) {
				t.Errorf("a passage of %+v", p)
			}
		}
		switch kind := w.Header().Get("Content-Type"); {
		case w.Code != 200:
		case strings.HasPrefix(kind, "text/html"):
			sound(t, w.Body.String())
		case kind == "application/json" && !json.Valid(w.Body.Bytes()):
			t.Errorf("no JSON: %s", w.Body)
		}

		w = answer(h, &http.Request{Method: "POST", URL: &url.URL{Path: "/light"}, Host: "localhost",
			Header: http.Header{"Content-Type": {"application/x-www-form-urlencoded"}}, Body: io.NopCloser(strings.NewReader(form))})
		if w.Code != http.StatusSeeOther && w.Code != http.StatusBadRequest {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		if back := w.Header().Get("Location"); w.Code == http.StatusSeeOther && (!strings.HasPrefix(back, "/") || strings.HasPrefix(back, "//") || strings.HasPrefix(back, `/\`) || strings.ContainsAny(back, "\r\n")) {
			t.Errorf("sent on to %q", back)
		}
	})
}

func answer(h http.Handler, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// sound demands markup that holds no script and no style but those of the page.
func sound(t *testing.T, page string) {
	t.Helper()
	n, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	walk(n, func(e *html.Node) {
		if src, _ := attr(e, "src"); (e.Data == "script" || e.Data == "img") && !strings.HasPrefix(src, "/static/") {
			t.Errorf("<%s src=%q>", e.Data, src)
		}
		for _, a := range e.Attr {
			if strings.HasPrefix(a.Key, "on") {
				t.Errorf("%s=%q", a.Key, a.Val)
			}
			if href := a.Val; a.Key == "href" && !strings.HasPrefix(href, "/") && !strings.HasPrefix(href, "#") && !strings.HasPrefix(href, "?") {
				t.Errorf("a link to %q", href)
			}
		}
	})
}

// FuzzHost: nothing but a name of this machine, with or without a port, is answered.
func FuzzHost(f *testing.F) {
	for _, s := range []string{"localhost", "127.0.0.1:80", "[::1]:8080", "::1", "localhost.example", "localhost:", "LOCALHOST:99999", "[localhost", "127.0.0.1:-1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, host string) {
		if !loopbackName(host) {
			return
		}
		u, err := url.Parse("http://" + host + "/")
		if err != nil {
			if strings.Trim(host, "[]") != "::1" { // as some clients leave the brackets out
				t.Fatalf("%q is answered and is no host: %v", host, err)
			}
			return
		}
		switch strings.ToLower(u.Hostname()) {
		case "localhost", "127.0.0.1", "::1", "":
		default:
			t.Fatalf("%q is answered, and is %q to a browser", host, u.Hostname())
		}
	})
}

// FuzzNumbers: whatever a measure comes to, it is written without a sign on
// nothing, and as what it is.
func FuzzNumbers(f *testing.F) {
	for _, x := range []float64{0, math.Copysign(0, -1), -0.04, 1e300, math.NaN(), math.Inf(-1), 3599.96, 59.95, 86400, -1e19} {
		f.Add(x)
	}
	f.Fuzz(func(t *testing.T, x float64) {
		for _, s := range []string{number(x, 1), measure(x, "dBFS"), measure(x, "s"), clock(x), length(x), ofDay(x), signed(is(x), 1), pc(x), px(x), cssString(number(x, 3))} {
			if s == "" || strings.Contains(s, "NaN") || strings.Contains(s, "Inf") || strings.HasPrefix(s, "−0.0") && strings.Trim(s, "−0.\u00a0dBFS") == "" {
				t.Errorf("%g is written as %q", x, s)
			}
		}
	})
}
