package main

import (
	"bytes"
	"sync"
	"testing"
	"time"
)

// lockedBuffer is a writer that the timer's goroutine and the test share.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// Short work says nothing; long work, to a pipe, says each step on its own line,
// the one that was going on when the quiet time ended first.
func TestProgressInAPipe(t *testing.T) {
	short := &lockedBuffer{}
	p := newProgress(short)
	p.step("reading")
	p.done()
	p.done()
	if short.String() != "" {
		t.Errorf("short work says %q", short.String())
	}
	long := &lockedBuffer{}
	p = newProgress(long)
	p.step("reading")
	p.step("meshing")
	time.Sleep(quietFor + 300*time.Millisecond)
	p.step("checking")
	p.done()
	if got := long.String(); got != "meshing\nchecking\n" {
		t.Errorf("long work says %q", got)
	}
}
