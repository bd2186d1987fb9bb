package profile

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// eventTol is how closely inset events are found, in mm: a few tolerances,
// below which insets are snapped.
const eventTol = 1e-7

// OffsetEvents returns the depths d in (0, dmax], ascending, at which the outline
// of Offset(r, −d) changes in kind: an edge vanishes, a loop splits, or a loop
// disappears. Between two of them each edge only moves, so that insets at the
// events are enough to build a chamfer of flat and conical faces. Depths are found within 1e-6 mm
// by bisection on the sequence of edges around each loop. That misses none: what vanishes
// under erosion never comes back, so equal sequences at two depths have no event
// between. Events less than 1e-6 mm deep, or apart, are not told apart.
func OffsetEvents(r Region, dmax float64) ([]float64, error) {
	if !(dmax > 0) || math.IsInf(dmax, 0) {
		return nil, fmt.Errorf("inset events to a depth of %g mm, must be positive", dmax)
	}
	ids := r.Clone()
	n := int32(0)
	for _, l := range ids {
		for i := range l {
			n++
			l[i].Tag = n
		}
	}
	kind := func(d float64) ([]int32, error) {
		o, err := Offset(ids, -d)
		if err != nil {
			return nil, err
		}
		return signature(o), nil
	}
	lo := 10 * eventTol
	if dmax <= lo {
		return nil, nil
	}
	first, err := kind(lo)
	if err != nil {
		return nil, err
	}
	last, err := kind(dmax)
	if err != nil {
		return nil, err
	}
	var events []float64
	var search func(lo, hi float64, a, b []int32) error
	search = func(lo, hi float64, a, b []int32) error {
		if slices.Equal(a, b) {
			return nil
		}
		mid := 0.5 * (lo + hi)
		if hi-lo < eventTol {
			if k := len(events); k == 0 || mid-events[k-1] > 10*eventTol {
				events = append(events, mid)
			}
			return nil
		}
		m, err := kind(mid)
		if err != nil {
			return err
		}
		if err := search(lo, mid, a, m); err != nil {
			return err
		}
		return search(mid, hi, m, b)
	}
	err = search(lo, dmax, first, last)
	return events, err
}

// signature lists the edges around each loop, in an order that does not depend
// on where the loop starts.
func signature(r Region) []int32 {
	var loops [][]int32
	for _, l := range r {
		var s []int32
		for i := range l {
			c := 2 * l[i].Tag
			if l[i].Bulge != 0 {
				c++
			}
			// Two parts of a large arc are one edge.
			if k := len(s); k == 0 || s[k-1] != c {
				s = append(s, c)
			}
		}
		if k := len(s); k > 1 && s[0] == s[k-1] {
			s = s[:k-1]
		}
		best := s
		for k := 1; k < len(s); k++ {
			if s[k] > best[0] {
				continue
			}
			if t := append(slices.Clone(s[k:]), s[:k]...); slices.Compare(t, best) < 0 {
				best = t
			}
		}
		loops = append(loops, best)
	}
	slices.SortFunc(loops, func(a, b []int32) int { return cmp.Or(cmp.Compare(len(a), len(b)), slices.Compare(a, b)) })
	var out []int32
	for _, s := range loops {
		out = append(append(out, -1), s...)
	}
	return out
}
