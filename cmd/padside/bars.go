package main

import (
	"io"
	"strings"
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"
)

// bars shows progress on a terminal, one bar per stage, and nothing elsewhere.
type bars struct {
	all   *mpb.Progress
	stage string
	bar   *mpb.Bar
}

func newBars(w io.Writer) *bars {
	f, ok := w.(interface{ Fd() uintptr })
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return &bars{}
	}
	return &bars{all: mpb.New(mpb.WithOutput(w), mpb.WithWidth(48), mpb.WithRefreshRate(100*time.Millisecond))}
}

func (b *bars) show(stage string, done, total int) {
	if b.all == nil || total <= 0 {
		return
	}
	if stage != b.stage {
		if b.bar != nil {
			b.bar.SetTotal(-1, true)
		}
		b.stage = stage
		b.bar = b.all.AddBar(int64(total),
			mpb.PrependDecorators(decor.Name(stage+strings.Repeat(" ", max(0, 8-len(stage))))),
			mpb.AppendDecorators(decor.CountersNoUnit("%d of %d")))
	}
	b.bar.SetCurrent(int64(done))
}

func (b *bars) done() {
	if b.all == nil {
		return
	}
	if b.bar != nil {
		b.bar.SetTotal(-1, true)
	}
	b.all.Wait()
}
