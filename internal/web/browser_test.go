package web

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// browser starts a headless Chromium from the PATH. Without one the test is
// skipped, or fails where TIDEMARK_NEED_BROWSER is set.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		if os.Getenv("TIDEMARK_NEED_BROWSER") != "" {
			t.Fatal("TIDEMARK_NEED_BROWSER is set, and no chromium, chromium-browser or google-chrome is in the PATH")
		}
		t.Skip("no chromium, chromium-browser or google-chrome in the PATH")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()), chromedp.WindowSize(1280, 900),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-background-networking", true))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(func() { cancel(); stop() })
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("start %s: %v", path, err)
	}
	return ctx
}

// open goes to an address in a window of the width; under 600 px it is a phone.
func open(t *testing.T, ctx context.Context, address string, wide int64) {
	t.Helper()
	view := chromedp.EmulateViewport(wide, 900)
	if wide < 600 {
		view = chromedp.EmulateViewport(wide, 844, chromedp.EmulateMobile)
	}
	if err := chromedp.Do(ctx, view, chromedp.Navigate(address), chromedp.WaitReady(chromedp.CSS("main"))); err != nil {
		t.Fatal(err)
	}
}

func evaluate[T any](t *testing.T, ctx context.Context, js string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js))
	if err != nil {
		t.Fatalf("%s: %v", js, err)
	}
	return v
}

// await asks until the expression is true, for five seconds at most.
func await(t *testing.T, ctx context.Context, what, js string) {
	t.Helper()
	for range 100 {
		if evaluate[bool](t, ctx, js) {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("waited 5 s for %s", what)
}

func finished(p *Page) *Board {
	b := NewBoard(p.Folder)
	b.Finish(p, []byte(fmt.Sprintf(`{"schema":"tidemark.check/1","folder":%q}`, "x")))
	return b
}

// running is a board in the middle of a check of the invented session.
func running() *Board {
	b := NewBoard("Salt Lanterns/2026-03-14 Ferry Song")
	var names []string
	for _, l := range band {
		names = append(names, l.source+"_01.wav")
	}
	b.Begin(names)
	for i := range 9 {
		b.Progress(i, 1)
	}
	b.Progress(9, 0.6)
	b.Refuse(10, "no data chunk in 44 bytes: copy the file again from the recorder")
	return b
}
