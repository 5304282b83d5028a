package web

import (
	"context"
	"io"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// TestShots writes pictures of the page, and its printed form, into the folder
// named by TIDEMARK_SHOTS, for a person to look at.
func TestShots(t *testing.T) {
	dir := os.Getenv("TIDEMARK_SHOTS")
	if dir == "" {
		t.Skip("set TIDEMARK_SHOTS to a folder to get pictures of the page")
	}
	ctx := browser(t)
	for _, s := range []struct {
		name  string
		board *Board
		light string
		wide  int64
		paper *chromedp.PaperSize
	}{
		{"22-paper", finished(fixture(22)), "paper", 1280, &chromedp.PaperA4},
		{"22-dim", finished(fixture(22)), "dim", 1280, nil},
		{"22-phone", finished(fixture(22)), "paper", 390, nil},
		{"48-paper", finished(fixture(48)), "paper", 1280, &chromedp.PaperLetter},
		{"hostile-phone", finished(hostile()), "dim", 390, nil},
		{"hostile-wide", finished(hostile()), "paper", 1280, nil},
		{"empty", finished(&Page{Folder: "somewhere"}), "paper", 1280, nil},
		{"running", running(), "dim", 1280, nil},
	} {
		srv := httptest.NewServer(Handler(s.board, Options{Listen: func(context.Context, Passage, io.Writer) error { return nil }}))
		save := func(name string, b []byte, err error) {
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		open(t, ctx, srv.URL+"/", s.wide)
		evaluate[any](t, ctx, `document.documentElement.dataset.light = "`+s.light+`"`)
		b, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
		save(s.name+".png", b, err)
		if s.paper != nil {
			b, err := chromedp.Run(ctx, chromedp.PrintToPDF(func(p *page.PrintToPDFParams) {
				p.PaperWidth, p.PaperHeight = s.paper.Width, s.paper.Height
			}))
			save(s.name+".pdf", b, err)
		}
		s.board.Close()
		srv.Close()
	}
}
