package main

import (
	"fmt"
	"io"
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// progress shows which step a command is at: a moving line on a terminal, plain
// lines elsewhere. Nothing is shown for work shorter than a second.
type progress struct {
	w     io.Writer
	start time.Time
	bars  *mpb.Progress
	bar   *mpb.Bar
	now   string
}

const quietFor = time.Second

func newProgress(w io.Writer) *progress { return &progress{w: w, start: time.Now()} }

// step says what is being done now.
func (p *progress) step(what string) {
	p.now = what
	late := time.Since(p.start) > quietFor
	if !isTerminal(p.w) {
		if late {
			fmt.Fprintf(p.w, "%s\n", what)
		}
		return
	}
	if p.bars == nil && late {
		p.bars = mpb.New(mpb.WithOutput(p.w), mpb.WithWidth(1))
		p.bar = p.bars.New(0, mpb.SpinnerStyle(), mpb.BarRemoveOnComplete(),
			mpb.AppendDecorators(decor.Any(func(decor.Statistics) string { return p.now }), decor.Elapsed(decor.ET_STYLE_GO, decor.WC{W: 6})))
	}
}

// done clears the line.
func (p *progress) done() {
	if p.bars != nil {
		p.bar.SetTotal(-1, true)
		p.bars.Wait()
		p.bars = nil
	}
}
