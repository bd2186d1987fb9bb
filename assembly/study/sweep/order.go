package sweep

import (
	"fmt"
)

// order keeps track of which of a shard's variants are finished, in memory that
// does not grow with their number: all below low, and those in ahead.
type order[T any] struct {
	shard Shard
	total int // the shard's variants
	low   int // every ordinal below is finished
	ahead map[int]T
	count int
}

func newOrder[T any](s Shard, variants int) *order[T] {
	return &order[T]{shard: s, total: s.size(variants), ahead: map[int]T{}}
}

// add takes a finished variant and calls emit, which may be nil, for each one
// that is now next in order.
func (o *order[T]) add(index int, v T, emit func(T) error) error {
	k, ok := o.shard.ordinal(index)
	if !ok || k >= o.total {
		return fmt.Errorf("variant %d is not one of shard %s", index, o.shard)
	}
	if _, twice := o.ahead[k]; twice || k < o.low {
		return fmt.Errorf("variant %d is there twice", index)
	}
	if k-o.low >= window {
		return fmt.Errorf("variant %d is missing: %d follow it", o.shard.variant(o.low), k-o.low)
	}
	o.count++
	o.ahead[k] = v
	for {
		v, ok := o.ahead[o.low]
		if !ok {
			return nil
		}
		delete(o.ahead, o.low)
		o.low++
		if emit != nil {
			if err := emit(v); err != nil {
				return err
			}
		}
	}
}

// done reports whether a variant is finished.
func (o *order[T]) done(k int) bool {
	_, ok := o.ahead[k]
	return ok || k < o.low
}
