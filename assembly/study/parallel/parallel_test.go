package parallel

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync/atomic"
	"testing"
	"time"
)

func TestMapCallsEachIndexOnce(t *testing.T) {
	for _, workers := range []int{0, 1, 2, 7, 100} {
		calls := make([]atomic.Int32, 53)
		err := Map(t.Context(), len(calls), workers, func(i int) error {
			calls[i].Add(1)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for i := range calls {
			if n := calls[i].Load(); n != 1 {
				t.Errorf("%d workers: index %d was called %d times", workers, i, n)
			}
		}
	}
}

func TestMapReturnsTheErrorOfTheLowestIndex(t *testing.T) {
	for range 50 {
		err := Map(t.Context(), 100, 8, func(i int) error {
			if i == 20 {
				time.Sleep(100 * time.Microsecond) // lets a later index fail first
			}
			if i >= 20 {
				return fmt.Errorf("index %d", i)
			}
			return nil
		})
		if err == nil || err.Error() != "index 20" {
			t.Fatalf("got %v, want index 20", err)
		}
	}
}

func TestMapStopsWhenTold(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	var calls atomic.Int32
	err := Map(ctx, 1000, 2, func(i int) error {
		if calls.Add(1) == 10 {
			cancel()
		}
		return nil
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want %v", err, context.Canceled)
	}
	if n := calls.Load(); n > 12 {
		t.Errorf("%d calls after the context was done at 10", n)
	}
}

func TestMapThatEndedIsNotStopped(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	err := Map(ctx, 5, 1, func(i int) error {
		if i == 4 {
			cancel()
		}
		return nil
	})
	if err != nil {
		t.Errorf("every index was done, yet: %v", err)
	}
}

// BenchmarkMap shows what a second thread brings to calculations of about 0.1
// ms; compare ns/op.
func BenchmarkMap(b *testing.B) {
	for _, workers := range []int{1, 2} {
		b.Run(fmt.Sprintf("%d", workers), func(b *testing.B) {
			out := make([]float64, b.N)
			err := Map(b.Context(), b.N, workers, func(i int) error {
				x := float64(i)
				for range 10_000 {
					x = math.Sqrt(x + 1)
				}
				out[i] = x
				return nil
			})
			if err != nil {
				b.Fatal(err)
			}
		})
	}
}
