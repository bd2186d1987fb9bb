// Package sweep evaluates every variant of a plan and survives being killed.
//
// Each finished variant is a record in an append-only journal. Run goes on
// where an earlier run of the same sweep stopped, wherever that was, and
// neither loses nor repeats what is recorded. A sweep can be split into shards
// that run anywhere and know nothing of each other; Open puts their journals
// together, finds what is missing or doubled, and gives the rows in the plan's
// order, the same for any number of shards, threads and interruptions.
//
// Memory does not grow with the number of variants.
package sweep

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/parallel"
	"tuckfinger/assembly/study/sample"
)

// Setup describes a sweep.
type Setup struct {
	Plan     sample.Plan
	Names    []string // of the plan's dimensions
	Measures []study.Measure
	// ID stands for everything else that decides the outcomes, such as a hash
	// of the input files and the program's version. A journal with another ID
	// is refused.
	ID    string
	Shard Shard
	// Each gives the evaluation of a variant by its index, where it matters; nil:
	// Run's is that of all.
	Each     func(index int) study.Evaluate
	Workers  int            // threads; 0 means one for each processor
	Progress func(Progress) // may be nil; called on one goroutine
}

// Progress is how far a run has come. Rate and time left are about this run.
type Progress struct {
	Done, Total int // the shard's variants; Done has the earlier ones too
	Earlier     int // recorded by earlier runs
	Errors      int // variants with an error
	Rate        float64
	Left        time.Duration // negative while unknown
}

// Run evaluates the variants that the journal at path does not have yet.
//
// Where ctx is done first, running variants are finished and recorded, and the
// error is the context's. An error of a variant is its row, not Run's error.
// Progress is valid with any error.
func Run(ctx context.Context, path string, s Setup, f study.Evaluate) (p Progress, err error) {
	if err := s.check(); err != nil {
		return p, err
	}
	j, fd, err := openJournal(path, s.header(), s.Shard)
	if err != nil {
		return p, err
	}
	defer func() { err = errors.Join(err, j.close()) }()
	r := &runner{
		Setup: s, f: f, order: fd.order,
		progress: Progress{Done: fd.order.count, Earlier: fd.order.count, Total: fd.order.total, Errors: fd.errors, Left: -1},
		start:    time.Now(),
	}
	r.moved = sync.NewCond(&r.mu)
	err = r.do(ctx, j)
	return r.progress, err
}

func (s *Setup) check() error {
	if s.Plan.Dim() != len(s.Names) {
		return fmt.Errorf("%d names for %d dimensions", len(s.Names), s.Plan.Dim())
	}
	return s.Shard.check()
}

func (s *Setup) header() Header {
	return Header{Form: form, ID: s.ID, Variants: s.Plan.Len(), Shard: s.Shard.String(), Names: s.Names, Measures: s.Measures}
}

// runner is a run of a sweep.
type runner struct {
	Setup
	f        study.Evaluate
	progress Progress
	start    time.Time

	mu    sync.Mutex
	moved *sync.Cond // order has moved on, or the run stops
	order *order[struct{}]
	next  int // ordinals below are begun or finished
}

// finished is a variant on its way to the journal.
type finished struct {
	index  int
	failed bool
	line   []byte
	err    error // it can't be written
}

// do starts the workers and writes what they finish.
func (r *runner) do(ctx context.Context, j *journal) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	// The lock keeps a worker from missing the call between looking and waiting.
	defer context.AfterFunc(ctx, func() {
		r.mu.Lock()
		defer r.mu.Unlock()
		r.moved.Broadcast()
	})()
	workers := parallel.Workers(r.Workers)
	rows := make(chan finished, workers)
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for {
				k, ok := r.take(ctx)
				if !ok {
					return
				}
				rows <- r.try(r.Shard.variant(k))
			}
		})
	}
	go func() { wg.Wait(); close(rows) }()

	var failure error
	for row := range rows {
		if failure == nil {
			if failure = r.write(j, row, rows); failure != nil {
				stop(failure)
			}
		}
	}
	if failure != nil {
		return failure
	}
	if r.order.count < r.order.total {
		return context.Cause(ctx)
	}
	return nil
}

// take hands out the next variant that is not finished; ok is false where none
// is left or the run stops.
func (r *runner) take(ctx context.Context) (k int, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for ctx.Err() == nil {
		for r.next < r.order.total && r.order.done(r.next) {
			r.next++
		}
		switch {
		case r.next >= r.order.total:
			return 0, false
		case r.next < r.order.low+window:
			r.next++
			return r.next - 1, true
		}
		r.moved.Wait()
	}
	return 0, false
}

// try evaluates a variant.
func (r *runner) try(i int) finished {
	row := Row{Index: i, Values: sample.Point(r.Plan, i)}
	f := r.f
	if r.Each != nil {
		f = r.Each(i)
	}
	o := study.Try(f, row.Values, len(r.Measures))
	if o.Err != nil {
		row.Err = o.Err.Error()
		if row.Err == "" {
			row.Err = "unknown error"
		}
	} else {
		row.Measures, row.Failed = o.Measures, o.Failed
	}
	b, err := row.encode()
	return finished{i, row.Err != "", b, err}
}

// write records a finished variant and those that wait behind it.
func (r *runner) write(j *journal, row finished, more <-chan finished) error {
	batch := []finished{row}
	for len(more) > 0 {
		batch = append(batch, <-more)
	}
	var lines []byte
	for _, b := range batch {
		if b.err != nil {
			return fmt.Errorf("variant %d: %w", b.index, b.err)
		}
		lines = append(lines, b.line...)
	}
	if err := j.append(lines); err != nil {
		return err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, b := range batch {
		if err := r.order.add(b.index, struct{}{}, nil); err != nil {
			return err
		}
		if b.failed {
			r.progress.Errors++
		}
	}
	r.moved.Broadcast()
	p := &r.progress
	p.Done = r.order.count
	if t := time.Since(r.start).Seconds(); t > 0 {
		p.Rate = float64(p.Done-p.Earlier) / t
		p.Left = time.Duration(float64(p.Total-p.Done) / p.Rate * float64(time.Second))
	}
	if r.Progress != nil {
		r.Progress(*p)
	}
	return nil
}
