package cli

import (
	"io"
	"sync"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"tidemark/internal/desk"
)

// bar is a progress bar on a terminal, and nothing in a pipe.
type bar struct {
	mu   sync.Mutex
	p    *mpb.Progress
	b    *mpb.Bar
	what string
}

// barSteps is the resolution of a bar.
const barSteps = 1000

func newBar(e Edges, what string) *bar {
	b := &bar{what: what}
	out := io.Writer(nil)
	if e.Terminal {
		out = e.Stderr
	}
	if out == nil {
		return b
	}
	b.p = mpb.New(mpb.WithOutput(out), mpb.WithWidth(48))
	b.b = b.p.New(barSteps, mpb.BarStyle().Lbound(" ").Filler("~").Tip("~").Padding(" ").Rbound(" "),
		mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Any(func(decor.Statistics) string { b.mu.Lock(); defer b.mu.Unlock(); return b.what })),
		mpb.AppendDecorators(decor.Percentage()))
	return b
}

// check moves the bar to where a check is.
func (b *bar) check(p desk.Progress) {
	if b.p == nil {
		return
	}
	b.mu.Lock()
	b.what = p.Stage
	b.mu.Unlock()
	if p.BytesTotal > 0 {
		b.b.SetCurrent(int64(float64(barSteps-1) * float64(p.BytesDone) / float64(p.BytesTotal)))
	}
}

// share moves the bar to a share of the whole, 0 to 1.
func (b *bar) share(done float64) {
	if b.p != nil {
		b.b.SetCurrent(int64((barSteps - 1) * done))
	}
}

// done takes the bar away.
func (b *bar) done() {
	if b.p != nil {
		b.b.SetCurrent(barSteps)
		b.p.Wait()
	}
}
