package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"sync"
	"syscall"
	"time"
)

// pace shows how far a long count has come, at which rate, and the time left:
// on a terminal in place, elsewhere as a line every now and then.
type pace struct {
	*progress
	every time.Duration
	start time.Time

	mu   sync.Mutex
	last time.Time
}

func newPace(w io.Writer) *pace {
	p := &pace{progress: newProgress(w), every: 20 * time.Second, start: time.Now()}
	if isTerminal(w) {
		p.every = 200 * time.Millisecond
	}
	p.step("starting")
	return p
}

// of counts things whose total is known. The function may be called by several
// goroutines.
func (p *pace) of(what string) func(done, total int) {
	return func(done, total int) {
		rate := float64(done) / time.Since(p.start).Seconds()
		left := time.Duration(float64(total-done) / rate * float64(time.Second))
		p.say(func() string { return counted(done, total, what, rate, left) })
	}
}

// tries counts without a known end.
func (p *pace) tries(done int) {
	p.say(func() string {
		return fmt.Sprintf("%d tries, %.3g per second", done, float64(done)/time.Since(p.start).Seconds())
	})
}

// say shows a line unless another was shown just before.
func (p *pace) say(line func() string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if time.Since(p.last) < p.every && time.Since(p.start) > quietFor {
		return // until then nothing is shown, but what is shown first must be new
	}
	p.last = time.Now()
	p.step(line())
}

func counted(done, total int, what string, rate float64, left time.Duration) string {
	s := fmt.Sprintf("%d of %d %s, %.3g per second", done, total, what, rate)
	if left >= 0 && done < total {
		s += ", " + left.Round(time.Second).String() + " left"
	}
	return s
}

// interruptible is a context that ends with the first Ctrl-C or termination;
// a second one ends the program at once.
func interruptible(parent context.Context) (context.Context, context.CancelFunc) {
	if parent == nil {
		parent = context.Background()
	}
	ctx, stop := signal.NotifyContext(parent, os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop)
	return ctx, stop
}
