package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"math"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
)

//go:embed templates static
var assets embed.FS

var pages = template.Must(template.ParseFS(assets, "templates/*.html"))

// Options are what the page needs from its surroundings.
type Options struct {
	// Listen writes the passage as a WAV file; nil shows no "hear it" links. It
	// opens sound read-only. The answer is held in memory, at most maxListenS long.
	Listen func(ctx context.Context, p Passage, w io.Writer) error
	// Now is the clock that decides whether it is dark outside; nil never is.
	Now func() time.Time
	// Live keeps open pages connected after the first result, for a folder that
	// is watched.
	Live bool
}

// Passage is a stretch of a line to be heard, in seconds from the start of the pass.
type Passage struct {
	Pass      string
	Line      string
	StartS    float64
	DurationS float64
}

// Handler serves the board:
//
//	GET  /             the progress, then the result; ?weight= and ?line= choose findings
//	GET  /check.json   the result as it was given to Finish
//	GET  /events       progress and results as server-sent events
//	GET  /listen       a passage as WAV, where Options.Listen is set
//	GET  /sheet.css    the head and foot of printed pages
//	GET  /static/…     style sheet, script, icon
//	POST /light        keeps the theme a person has chosen
//
// Requests that were not addressed to this machine by a loopback name are
// refused (a page elsewhere could otherwise point a name of its own at it), as
// are cross-origin posts. Binding to a loopback address is the caller's part.
func Handler(b *Board, o Options) http.Handler {
	s := &server{board: b, options: o, tags: staticTags()}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.page)
	mux.HandleFunc("GET /check.json", s.checkJSON)
	mux.HandleFunc("GET /events", s.events)
	mux.HandleFunc("GET /listen", s.listen)
	mux.HandleFunc("GET /sheet.css", s.sheetCSS)
	mux.HandleFunc("GET /static/{name}", s.static)
	mux.HandleFunc("POST /light", s.light)
	return guard(http.NewCrossOriginProtection().Handler(mux))
}

type server struct {
	board   *Board
	options Options
	tags    map[string]string
}

// policy lets the page load from itself and nothing from anywhere else, and no
// script or style that is written into the page.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; " +
	"connect-src 'self'; media-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

func guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !loopbackName(r.Host) {
			http.Error(w, "this page answers only to localhost: open it by the address that the program printed", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// loopbackName says whether a Host header, with or without a port, names this machine.
func loopbackName(host string) bool {
	if h, port, err := net.SplitHostPort(host); err == nil {
		if _, err := strconv.ParseUint(port, 10, 16); err != nil {
			return false
		}
		host = h
	} else if inner, ok := strings.CutPrefix(host, "["); ok {
		if host, ok = strings.CutSuffix(inner, "]"); !ok {
			return false
		}
	}
	switch strings.ToLower(host) {
	case "localhost", "127.0.0.1", "::1":
		return true
	}
	return false
}

// frame is what every page has around its content.
type frame struct {
	Title   string
	Light   string // "paper", "dim" or empty: decided by the system
	Choice  string // "paper", "dim" or "hour"
	Back    string // address to return to after the theme form
	Version int    // of the result
	Live    bool
	CSS, JS string // addresses with their content's tag
}

// lightCookie keeps the theme; cookies are shared by all ports of a host, hence the name.
const lightCookie = "tidemark_light"

// Dark from 19 to 7 o'clock by the machine's own clock; common practice would
// be the sun, but the machine does not know where it is.
const (
	dimFromHour  = 19
	dimUntilHour = 7
)

func (s *server) frame(r *http.Request, st state) frame {
	f := frame{
		Choice: "hour", Back: r.URL.RequestURI(), Version: st.Version, Live: s.options.Live,
		CSS: "/static/sheet.css?" + s.tags["sheet.css"], JS: "/static/sheet.js?" + s.tags["sheet.js"],
	}
	if c, err := r.Cookie(lightCookie); err == nil && (c.Value == "paper" || c.Value == "dim") {
		f.Choice, f.Light = c.Value, c.Value
	}
	if f.Choice == "hour" && s.options.Now != nil {
		if h := s.options.Now().Hour(); h >= dimFromHour || h < dimUntilHour {
			f.Light = "dim"
		}
	}
	return f
}

// page draws the progress until there is a result, then the result.
func (s *server) page(w http.ResponseWriter, r *http.Request) {
	st, _ := s.board.now()
	fr := s.frame(r, st)
	if st.page == nil {
		fr.Title = "Listening: " + st.Folder
		render(w, "progress.html", newProgress(st, fr))
		return
	}
	fr.Title = "Tidemark: " + st.page.Folder
	render(w, "result.html", newSheet(st.page, fr, readFilter(r.URL.Query()), s.options.Listen != nil))
}

func render(w http.ResponseWriter, name string, data any) {
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, name, data); err != nil {
		http.Error(w, "the page could not be drawn: "+err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(b.Bytes())
}

func (s *server) checkJSON(w http.ResponseWriter, r *http.Request) {
	st, _ := s.board.now()
	if st.json == nil && st.Failure != "" {
		http.Error(w, st.Failure, http.StatusUnprocessableEntity)
		return
	}
	if st.json == nil {
		w.Header().Set("Retry-After", "1")
		http.Error(w, "the check is not done yet: ask again in a moment", http.StatusServiceUnavailable)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(st.json)
}

// light keeps the chosen theme and returns to the page it was chosen on.
func (s *server) light(w http.ResponseWriter, r *http.Request) {
	c := &http.Cookie{Name: lightCookie, Value: r.FormValue("light"), Path: "/", SameSite: http.SameSiteStrictMode, HttpOnly: true, MaxAge: 365 * 86400}
	switch c.Value {
	case "paper", "dim":
	default:
		c.Value, c.MaxAge = "", -1
	}
	http.SetCookie(w, c)
	back := "/"
	if u, err := url.Parse(r.FormValue("back")); err == nil && u.Path == "/" && u.Host == "" && u.Scheme == "" {
		u.Fragment = ""
		back = u.RequestURI()
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
}

// listen answers a passage. It is read into memory first, so that a fault on
// the way is an error and not a broken sound, and so that players may seek.
func (s *server) listen(w http.ResponseWriter, r *http.Request) {
	if s.options.Listen == nil {
		http.NotFound(w, r)
		return
	}
	q := r.URL.Query()
	start, err1 := strconv.ParseFloat(q.Get("start"), 64)
	dur, err2 := strconv.ParseFloat(q.Get("for"), 64)
	if err1 != nil || err2 != nil || !(start >= 0) || !(dur > 0) || math.IsInf(start, 0) || q.Get("line") == "" {
		http.Error(w, "a passage needs line, start and for, in seconds", http.StatusBadRequest)
		return
	}
	var b bytes.Buffer
	p := Passage{Pass: q.Get("pass"), Line: q.Get("line"), StartS: start, DurationS: min(dur, maxListenS)}
	if err := s.options.Listen(r.Context(), p, &b); err != nil {
		http.Error(w, "the passage could not be read: "+err.Error(), http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", "audio/wav")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(b.Bytes()))
}

// events streams the progress; a new result is an event of its own, and the
// page fetches it. At most ten events a second are sent.
func (s *server) events(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	_ = out.SetWriteDeadline(time.Time{}) // the stream may outlive the server's limit
	seen, _ := strconv.Atoi(r.URL.Query().Get("version"))
	for {
		st, changed := s.board.now()
		kind, data := "progress", any(newProgress(st, frame{}))
		switch {
		case st.Closed:
			kind, data = "end", struct{}{} // so that the page does not ask again
		case st.Version > seen:
			seen = st.Version
			kind, data = "result", map[string]int{"version": st.Version}
		}
		b, err := json.Marshal(data)
		if err != nil {
			return
		}
		if _, err := fmt.Fprintf(w, "event: %s\ndata: %s\n\n", kind, b); err != nil || out.Flush() != nil {
			return
		}
		if st.Closed {
			return
		}
		select {
		case <-changed:
		case <-r.Context().Done():
			return
		}
		select {
		case <-time.After(100 * time.Millisecond):
		case <-r.Context().Done():
			return
		}
	}
}

// sheetCSS is the part of the style sheet that depends on the result: what is
// printed in the margins of every page.
func (s *server) sheetCSS(w http.ResponseWriter, r *http.Request) {
	st, _ := s.board.now()
	left, right, foot := st.Folder, "", "Tidemark"
	if p := st.page; p != nil {
		left = p.Folder
		if p.Job != "" {
			left = p.Job + " · " + left
		}
		if !p.CheckedAt.IsZero() {
			right = p.CheckedAt.Format("2 January 2006, 15:04")
		}
		foot = strings.TrimSpace("Tidemark " + p.Version)
	}
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	fmt.Fprintf(w, "@page {\n  @top-left { content: %s }\n  @top-right { content: %s }\n  @bottom-left { content: %s }\n"+
		"  @bottom-right { content: \"page \" counter(page) \" of \" counter(pages) }\n}\n",
		cssString(left), cssString(right), cssString(foot))
}

// cssString quotes a text for a style sheet: everything but letters, digits and
// blanks is written as an escape, so that no text can end the string.
func cssString(t string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range t {
		if r == ' ' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			b.WriteRune(r)
		} else if r != 0 {
			fmt.Fprintf(&b, "\\%06x ", r) // the blank ends the escape, and belongs to it
		}
	}
	b.WriteByte('"')
	return b.String()
}

func (s *server) static(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	tag, ok := s.tags[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	b, err := assets.ReadFile("static/" + name)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	// Named one by one: the system's table of types is not to be trusted here.
	switch name[strings.LastIndexByte(name, '.'):] {
	case ".css":
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
	case ".js":
		w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	case ".svg":
		w.Header().Set("Content-Type", "image/svg+xml")
	}
	w.Header().Set("Cache-Control", "no-cache")
	w.Header().Set("ETag", `"`+tag+`"`)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(b))
}

// staticTags are the names of the static files with a tag of their content.
func staticTags() map[string]string {
	tags := map[string]string{}
	_ = fs.WalkDir(assets, "static", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := assets.ReadFile(path)
		sum := sha256.Sum256(b)
		tags[strings.TrimPrefix(path, "static/")] = hex.EncodeToString(sum[:6])
		return err
	})
	return tags
}
