package tune

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tuckfinger/assembly/study"
)

// conflict finds a set of limits that can't be met together though any of its
// members left out lets the others be met, and what can be reached of each.
// nearest is the best place of the search that failed. Source of the deletion
// filter: Chinneck and Dravnieks, ORSA J. Comput. 3 (1991) 157-168.
func (p *problem) conflict(ctx context.Context, nearest point) ([]Shortfall, error) {
	known := []point{nearest}
	// met reports whether a place within some limits is found.
	met := func(limits []study.Limit) (bool, error) {
		b, err := p.search(ctx, query{limits: limits, from: nearestFirst(known, limits)})
		if err != nil {
			return false, err
		}
		known = append(known, b)
		return study.Hold(b.outcome, limits), nil
	}
	set := slices.Clone(p.Limits)
	slack := func(l study.Limit) float64 { return l.Slack(nearest.outcome.Measures[l.Measure]) }
	// Limits that are far from binding at the nearest place seldom take part.
	tight := slices.DeleteFunc(slices.Clone(set), func(l study.Limit) bool { return slack(l) > 0.05 })
	if len(tight) < len(set) {
		if ok, err := met(tight); err != nil {
			return nil, err
		} else if !ok {
			set = tight
		}
	}
	// The loosest are tried first, so that the violated ones stay to be named.
	slices.SortStableFunc(set, func(a, b study.Limit) int { return cmp.Compare(slack(b), slack(a)) })
	for i := 0; i < len(set) && len(set) > 1; {
		rest := slices.Delete(slices.Clone(set), i, i+1)
		ok, err := met(rest)
		if err != nil {
			return nil, err
		}
		if ok {
			i++
		} else {
			set = rest
		}
	}
	inOrder := slices.DeleteFunc(slices.Clone(p.Limits), func(l study.Limit) bool { return !slices.Contains(set, l) })
	var out []Shortfall
	for i, l := range inOrder {
		rest := slices.Delete(slices.Clone(inOrder), i, i+1)
		b, err := p.search(ctx, query{
			limits: rest,
			goal:   func(o study.Outcome) float64 { return -l.Slack(o.Measures[l.Measure]) },
			from:   nearestFirst(known, rest),
		})
		if err != nil {
			return nil, err
		}
		s := Shortfall{Limit: l, Attainable: math.NaN()}
		if study.Hold(b.outcome, rest) {
			s.Attainable, s.Values, s.Bounds = b.outcome.Measures[l.Measure], p.values(b.u), p.bounds(b.u)
		}
		out = append(out, s)
	}
	return out, nil
}

// nearestFirst picks known places to begin with: the two with the smallest
// violation.
func nearestFirst(known []point, limits []study.Limit) []point {
	k := slices.Clone(known)
	slices.SortStableFunc(k, func(a, b point) int {
		return cmp.Compare(violation(a.outcome, limits), violation(b.outcome, limits))
	})
	return k[:min(2, len(k))]
}
