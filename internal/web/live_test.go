package web

import (
	"context"
	"fmt"
	"io"
	"math"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// watch gathers what a page must not do: ask anyone but this machine, or
// complain on the console. The list is read when the test ends.
func watch(t *testing.T, ctx context.Context) {
	t.Helper()
	var mu sync.Mutex
	var bad []string
	asked := 0
	say := func(s string) { mu.Lock(); bad = append(bad, s); mu.Unlock() }
	err := chromedp.Listen(ctx, func(ev any) {
		switch e := ev.(type) {
		case *network.EventRequestWillBeSent:
			u, err := url.Parse(e.Request.URL)
			if err == nil && (u.Scheme == "data" || u.Scheme == "about" || u.Hostname() == "127.0.0.1") {
				mu.Lock()
				asked++
				mu.Unlock()
				return
			}
			say("a request leaves the machine: " + e.Request.URL)
		case *log.EventEntryAdded:
			if e.Entry.Level != log.EntryLevelInfo && e.Entry.Level != log.EntryLevelVerbose {
				say("console: " + e.Entry.Text + " " + e.Entry.URL)
			}
		case *runtime.EventExceptionThrown:
			say("exception: " + e.ExceptionDetails.Text)
		case *runtime.EventConsoleAPICalled:
			say("the script writes to the console: " + string(e.Type))
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, enable := range []func() error{
		func() error { _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); return err },
		func() error { _, err := chromedp.Call(ctx, log.Enable, cdp.Empty{}); return err },
		func() error { _, err := chromedp.Call(ctx, runtime.Enable, cdp.Empty{}); return err },
	} {
		if err := enable(); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() {
		mu.Lock()
		defer mu.Unlock()
		if asked == 0 {
			t.Error("no request was seen at all: the watch does not work")
		}
		for _, b := range bad {
			t.Error(b)
		}
	})
}

// serve gives the board an address until the test ends; the browser leaves the
// page first, so that nothing is asked of a server that is gone.
func serve(t *testing.T, ctx context.Context, b *Board, o Options) string {
	srv := httptest.NewServer(Handler(b, o))
	t.Cleanup(func() {
		if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
			t.Error(err)
		}
		b.Close()
		srv.Close()
	})
	return srv.URL + "/"
}

// TestInABrowser acts as the engineer would. One browser serves all of it.
func TestInABrowser(t *testing.T) {
	ctx := browser(t)
	watch(t, ctx)

	t.Run("no page is wider than its window", func(t *testing.T) {
		for name, b := range map[string]*Board{"22 lines": finished(fixture(22)), "48 lines": finished(fixture(48)),
			"hostile": finished(hostile()), "nothing": finished(&Page{Folder: "somewhere"}), "running": running()} {
			address := serve(t, ctx, b, Options{})
			open(t, ctx, address, 320)
			for _, wide := range []int64{320, 390, 740, 1280} {
				if err := chromedp.Do(ctx, chromedp.EmulateViewport(wide, 844)); err != nil {
					t.Fatal(err)
				}
				got := evaluate[int64](t, ctx, `document.documentElement.scrollWidth`)
				if inner := evaluate[bool](t, ctx, `innerWidth < 736 && [...document.querySelectorAll(".cardy")].some(e => e.parentElement.scrollWidth > e.parentElement.clientWidth)`); inner {
					t.Errorf("%s at %d px: the cards of a table are cut off", name, wide)
				}
				if got > wide {
					worst := evaluate[string](t, ctx, `[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".scroller")).slice(0, 4).map(e => e.tagName + "." + e.getAttribute("class")).join(" ")`)
					t.Errorf("%s at %d px is %d px wide: %s", name, wide, got, worst)
				}
			}
		}
	})

	t.Run("text has contrast in both lights", func(t *testing.T) {
		address := serve(t, ctx, finished(fixture(22)), Options{})
		open(t, ctx, address+"?weight=stop", 1280)
		for _, light := range []string{"paper", "dim"} {
			evaluate[any](t, ctx, `document.documentElement.dataset.light = "`+light+`"`)
			for _, c := range []struct {
				name, of, property string
				want               float64 // WCAG 2.2: 1.4.3 text 4.5, 1.4.11 graphics 3
			}{
				{"the verdict", "h1", "color", 4.5}, {"its second line", ".tail", "color", 4.5}, {"evidence", ".evidence", "color", 4.5}, {"advice", ".advice", "color", 4.5},
				{"links", ".doors a", "color", 4.5}, {"the word stop", ".w-stop .weight", "color", 4.5}, {"small print", ".facts small", "color", 4.5},
				{"a chosen filter", ".filter a[aria-current]", "color", 4.5}, {"captions", "caption", "color", 4.5}, {"form labels", ".form dt", "color", 4.5},
				{"the scale", "text.scale", "fill", 4.5}, {"names under the strips", "text.name", "fill", 4.5},
				{"the block of stop", ".top", "--stop", 4.5}, {"the shell of listen", ".top", "--listen", 4.5}, {"the water level of note", ".top", "--note", 4.5},
				{"the highest mark", ".top", "--deep", 3}, {"borders of controls", ".top", "--line", 3}, {"the focus ring", ".top", "--focus", 3},
			} {
				got := contrast(t, ctx, c.of, c.property)
				if got < c.want {
					t.Errorf("%s: %s has a contrast of %.2f, want at least %.1f", light, c.name, got, c.want)
				}
			}
			// The waves and the ink must also stand out from the water they cross.
			for _, fg := range []string{"--deep", "--ink"} {
				if got := between(t, ctx, fg, "--fill"); got < 3 {
					t.Errorf("%s: %s on a strip has a contrast of %.2f, want at least 3", light, fg, got)
				}
			}
		}
	})

	t.Run("the keyboard alone suffices", func(t *testing.T) {
		address := serve(t, ctx, finished(fixture(22)), Options{})
		open(t, ctx, address, 1280)
		press := func(keys string) {
			t.Helper()
			if err := chromedp.Do(ctx, chromedp.KeyEvent(keys)); err != nil {
				t.Fatal(err)
			}
		}
		focus := func() string {
			return evaluate[string](t, ctx, `(e => e.id || e.getAttribute("href") || e.value || e.tagName)(document.activeElement)`)
		}
		press(kb.Tab)
		if got := focus(); got != "#main" {
			t.Fatalf("the first stop is %s, want the skip link", got)
		}
		if !evaluate[bool](t, ctx, `getComputedStyle(document.activeElement).outlineStyle !== "none" && document.activeElement.getBoundingClientRect().left >= 0`) {
			t.Error("the skip link cannot be seen when it has the focus")
		}
		// Every stop on the way to the first finding shows its focus.
		reached := false
		for range 40 {
			press(kb.Tab)
			if !evaluate[bool](t, ctx, `getComputedStyle(document.activeElement).outlineStyle !== "none"`) {
				t.Errorf("%s does not show that it has the focus", focus())
			}
			if focus() == "/?weight=stop#findings" {
				reached = true
				break
			}
		}
		if !reached {
			t.Fatal("the filter for stop cannot be reached with Tab")
		}
		press(kb.Enter)
		await(t, ctx, "the filtered page", `location.search === "?weight=stop" && document.querySelectorAll(".card").length === 6`)
		// From a time bar to its finding and on to the next, without a pointer.
		open(t, ctx, address, 1280)
		evaluate[any](t, ctx, `document.querySelector("a.spot").focus()`)
		mark := evaluate[string](t, ctx, `document.activeElement.getAttribute("href")`)
		press(kb.Enter)
		await(t, ctx, "the finding of the mark", `location.hash === "`+mark+`"`)
		evaluate[any](t, ctx, `document.querySelector("`+mark+`").focus()`)
		press("j")
		next := focus()
		if "#"+next == mark || !strings.HasPrefix(next, "f") {
			t.Errorf("j leads from %s to %s, want the next finding", mark, next)
		}
		press("k")
		if got := focus(); "#"+got != mark {
			t.Errorf("k leads back to %s, want %s", got, mark)
		}
		// Without script the same links are there: nothing but href does the work.
		if n := evaluate[int](t, ctx, `document.querySelectorAll("[onclick], a:not([href]), [role=button]").length`); n != 0 {
			t.Errorf("%d things act only by script", n)
		}
	})

	t.Run("targets are large enough for a finger", func(t *testing.T) {
		address := serve(t, ctx, finished(fixture(22)), Options{})
		open(t, ctx, address, 390)
		// WCAG 2.2, 2.5.8: 24 by 24, but for links inside a sentence.
		small := evaluate[string](t, ctx, `[...document.querySelectorAll("button, select, .filter a, .contents a, .light button")].filter(e => {
			const r = e.getBoundingClientRect(); return r.width && (r.height < 24 || r.width < 24) }).map(e => e.textContent.trim()).join(", ")`)
		if small != "" {
			t.Errorf("too small: %s", small)
		}
	})

	t.Run("the light is kept", func(t *testing.T) {
		address := serve(t, ctx, finished(fixture(3)), Options{})
		open(t, ctx, address, 1280)
		if err := chromedp.Do(ctx, chromedp.Click(chromedp.CSS(`.light button[value="dim"]`))); err != nil {
			t.Fatal(err)
		}
		await(t, ctx, "the dim light", `document.documentElement.dataset.light === "dim"`)
		await(t, ctx, "the dim light after a reload", `fetch("/").then(a => a.text()).then(s => { window.kept = s.includes('data-light="dim"') }), window.kept === true`)
		evaluate[any](t, ctx, `document.querySelector('.light button[value="hour"]').click()`)
		await(t, ctx, "the hour's light again", `fetch("/").then(a => a.text()).then(s => { window.back = s.includes('data-choice="hour"') }), window.back === true`)
	})

	t.Run("a running check becomes its result by itself", func(t *testing.T) {
		b := NewBoard("Salt Lanterns")
		b.Begin([]string{"Kick in_01.wav", "Snare top_01.wav"})
		open(t, ctx, serve(t, ctx, b, Options{}), 1280)
		await(t, ctx, "the list of files", `document.querySelectorAll("#hearing li").length === 2`)
		b.Progress(0, 1)
		b.Progress(1, 0.5)
		await(t, ctx, "the progress", `document.querySelector("#verdict").textContent.includes("1 of 2") && document.querySelectorAll("progress")[1].value === 50`)
		b.Begin([]string{"Kick in_01.wav", "Snare top_01.wav", "<b>Hat</b>.wav"})
		await(t, ctx, "a third file", `document.querySelectorAll("#hearing li").length === 3 && document.querySelector("#hearing li:last-child .file").textContent === "<b>Hat</b>.wav"`)
		b.Finish(fixture(22), []byte("{}"))
		await(t, ctx, "the result", `document.querySelector("main").dataset.state === "result" && document.title.includes("Ferry Song") && document.querySelectorAll(".card").length > 20`)
		if got := evaluate[string](t, ctx, `document.querySelector("#said").textContent`); !strings.Contains(got, "The check is done") {
			t.Errorf("what is said aloud: %q", got)
		}
	})

	t.Run("a watched folder's next result takes the place of the last", func(t *testing.T) {
		b := finished(fixture(3))
		open(t, ctx, serve(t, ctx, b, Options{Live: true}), 1280)
		b.Finish(fixture(22), nil)
		await(t, ctx, "the second result", `document.querySelectorAll("#levels tbody tr").length === 22`)
	})

	t.Run("a passage is played in place", func(t *testing.T) {
		heard := make(chan Passage, 4)
		address := serve(t, ctx, finished(fixture(22)), Options{Listen: func(_ context.Context, p Passage, w io.Writer) error {
			heard <- p
			_, err := w.Write(silentWAV)
			return err
		}})
		open(t, ctx, address, 1280)
		if err := chromedp.Do(ctx, chromedp.Click(chromedp.CSS(`.side a.hear`))); err != nil {
			t.Fatal(err)
		}
		if p := <-heard; p.Line != "3 Snare top" || math.Abs(p.StartS-11.34) > 1e-6 || p.DurationS != minListenS {
			t.Errorf("asked for %+v", p)
		}
		await(t, ctx, "the end of the passage", `document.querySelector(".side a.hear").textContent === "Hear it" && location.pathname === "/"`)
	})

	t.Run("print shows tables, black on white", func(t *testing.T) {
		open(t, ctx, serve(t, ctx, finished(fixture(22)), Options{}), 1280)
		evaluate[any](t, ctx, `document.documentElement.dataset.light = "dim"`)
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
			t.Fatal(err)
		}
		got := evaluate[string](t, ctx, `(s => [s(document.documentElement).backgroundColor, s(document.querySelector("h1")).color, s(document.querySelector(".cardy")).display, s(document.querySelector(".light")).display].join(" | "))(getComputedStyle)`)
		if want := "rgb(255, 255, 255) | rgb(0, 0, 0) | table | none"; got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{}); err != nil {
			t.Fatal(err)
		}
	})
}

// silentWAV is a hundredth of a second of nothing: 8 kHz, 16 bit, mono.
var silentWAV = append([]byte("RIFF\xc4\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data\xa0\x00\x00\x00"), make([]byte, 160)...)

// contrast is the ratio of an element's colour (a property, or a custom one) to
// the first ground behind it that is not transparent.
func contrast(t *testing.T, ctx context.Context, of, property string) float64 {
	t.Helper()
	got := evaluate[[]string](t, ctx, fmt.Sprintf(`(() => {
		const e = document.querySelector(%q), p = %q;
		const clear = c => c === "transparent" || c.startsWith("rgba(0, 0, 0, 0");
		let ground = e; while (ground && clear(getComputedStyle(ground).backgroundColor)) ground = ground.parentElement;
		return [getComputedStyle(e).getPropertyValue(p).trim(), getComputedStyle(ground ?? document.documentElement).backgroundColor];
	})()`, of, property))
	return ratio(t, got[0], got[1])
}

// between is the ratio of two of the page's named colours.
func between(t *testing.T, ctx context.Context, a, b string) float64 {
	t.Helper()
	got := evaluate[[]string](t, ctx, fmt.Sprintf(`[%q, %q].map(n => getComputedStyle(document.documentElement).getPropertyValue(n).trim())`, a, b))
	return ratio(t, got[0], got[1])
}

// ratio is WCAG 2.2's contrast ratio, (L1 + 0.05) / (L2 + 0.05) with relative
// luminance L, of two colours written #rgb, #rrggbb or rgb(r, g, b).
func ratio(t *testing.T, a, b string) float64 {
	t.Helper()
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(t *testing.T, c string) float64 {
	t.Helper()
	var v [3]int
	var err error
	switch {
	case len(c) == 7 && c[0] == '#':
		_, err = fmt.Sscanf(c, "#%02x%02x%02x", &v[0], &v[1], &v[2])
	case len(c) == 4 && c[0] == '#':
		_, err = fmt.Sscanf(c, "#%1x%1x%1x", &v[0], &v[1], &v[2])
		v = [3]int{v[0] * 17, v[1] * 17, v[2] * 17}
	default:
		_, err = fmt.Sscanf(c, "rgb(%d, %d, %d)", &v[0], &v[1], &v[2])
	}
	if err != nil {
		t.Fatalf("colour %q: %v", c, err)
	}
	var l float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		x := float64(v[i]) / 255
		if x <= 0.04045 {
			x /= 12.92
		} else {
			x = math.Pow((x+0.055)/1.055, 2.4)
		}
		l += weight * x
	}
	return l
}

// WCAG 2.2, definition of contrast ratio: black on white is 21, equal colours 1.
func TestContrastRatio(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want float64
	}{{"#000", "#ffffff", 21}, {"rgb(255, 255, 255)", "#000000", 21}, {"#777777", "#fff", 4.48}, {"#123456", "#123456", 1}} {
		if got := ratio(t, c.a, c.b); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%s on %s: %.3f, want %.2f", c.a, c.b, got, c.want)
		}
	}
}
