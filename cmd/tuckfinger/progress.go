package main

import (
	"fmt"
	"io"
	"sync"
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// progress shows which step a command is at: a moving line on a terminal, plain
// lines elsewhere. Nothing is shown for work shorter than quietFor.
type progress struct {
	w     io.Writer
	timer *time.Timer

	mu    sync.Mutex
	now   string
	shown bool // quietFor has passed
	over  bool
	bars  *mpb.Progress
	bar   *mpb.Bar
}

const quietFor = time.Second

func newProgress(w io.Writer) *progress {
	p := &progress{w: w}
	p.timer = time.AfterFunc(quietFor, p.show)
	return p
}

// show starts to show the step that is being done.
func (p *progress) show() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.over {
		return
	}
	p.shown = true
	if !isTerminal(p.w) {
		fmt.Fprintln(p.w, p.now)
		return
	}
	step := func(decor.Statistics) string {
		p.mu.Lock()
		defer p.mu.Unlock()
		return p.now
	}
	p.bars = mpb.New(mpb.WithOutput(p.w), mpb.WithWidth(1))
	p.bar = p.bars.New(0, mpb.SpinnerStyle(), mpb.BarRemoveOnComplete(),
		mpb.AppendDecorators(decor.Any(step), decor.Elapsed(decor.ET_STYLE_GO, decor.WC{W: 6})))
}

// step says what is being done now.
func (p *progress) step(what string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.now = what
	if p.shown && p.bars == nil {
		fmt.Fprintln(p.w, what)
	}
}

// done clears the line. It may be called twice.
func (p *progress) done() {
	p.timer.Stop()
	p.mu.Lock()
	bars, bar := p.bars, p.bar
	p.over, p.bars = true, nil
	p.mu.Unlock()
	if bars != nil {
		bar.SetTotal(-1, true)
		bars.Wait()
	}
}
