// Package parallel spreads independent calculations over threads without
// letting the number of threads show in the result.
package parallel

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// Workers gives the number of threads to use: n, or one for each processor
// where n is not positive.
func Workers(n int) int {
	if n > 0 {
		return n
	}
	return runtime.GOMAXPROCS(0)
}

// Map calls f(0) ... f(n-1) on at most workers goroutines (see Workers) and
// waits for all of them. f must write its result to a place that belongs to i.
//
// Indices are handed out in increasing order and no more are handed out after
// an error, so the error returned, that of the lowest index that fails, does
// not depend on workers. Where ctx is done first, Map waits for running calls
// and returns the context's error.
func Map(ctx context.Context, n, workers int, f func(i int) error) error {
	workers = min(Workers(workers), n)
	var (
		next   atomic.Int64
		stop   atomic.Bool
		mu     sync.Mutex
		failed = n
		first  error
		wg     sync.WaitGroup
	)
	for range workers {
		wg.Go(func() {
			for !stop.Load() && ctx.Err() == nil {
				i := int(next.Add(1) - 1)
				if i >= n {
					return
				}
				if err := f(i); err != nil {
					stop.Store(true)
					mu.Lock()
					if i < failed {
						failed, first = i, err
					}
					mu.Unlock()
				}
			}
		})
	}
	wg.Wait()
	if first != nil {
		return first
	}
	if int(next.Load()) < n {
		return ctx.Err()
	}
	return nil
}
