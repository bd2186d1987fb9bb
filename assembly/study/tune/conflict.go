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
// nearest is the best place of the search that failed. A place found on the way
// that is within all limits after all is returned instead. Source of the deletion
// filter: Chinneck and Dravnieks, ORSA J. Comput. 3 (1991) 157-168.
func (p *problem) conflict(ctx context.Context, nearest point) ([]Shortfall, *point, error) {
	known := []point{nearest}
	for {
		set, err := p.reduce(ctx, nearest, &known)
		if err != nil {
			return nil, nil, err
		}
		tried := len(known)
		out, err := p.shortfalls(ctx, set, &known)
		if err != nil {
			return nil, nil, err
		}
		// A search that failed does not prove that there is nothing: places found
		// since may be within the set, which then has to be found anew.
		refuted := false
		for i := range known[tried:] {
			k := &known[tried+i]
			if study.Hold(k.outcome, p.Limits) {
				return nil, k, nil
			}
			refuted = refuted || study.Hold(k.outcome, set)
		}
		if !refuted {
			return out, nil, nil
		}
	}
}

// reduce leaves limits out of all of them as long as the others seem to be in
// conflict. Places that it looks at become known.
func (p *problem) reduce(ctx context.Context, nearest point, known *[]point) ([]study.Limit, error) {
	// met reports whether a place within some limits is known or found.
	met := func(limits []study.Limit) (bool, error) {
		for i := range *known {
			if study.Hold((*known)[i].outcome, limits) {
				return true, nil
			}
		}
		b, err := p.search(ctx, query{limits: limits, from: nearestFirst(*known, limits)})
		if err != nil {
			return false, err
		}
		*known = append(*known, b)
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
	return slices.DeleteFunc(slices.Clone(p.Limits), func(l study.Limit) bool { return !slices.Contains(set, l) }), nil
}

// shortfalls finds what can be reached of each limit of a set while the others
// hold. The places become known.
func (p *problem) shortfalls(ctx context.Context, set []study.Limit, known *[]point) ([]Shortfall, error) {
	var out []Shortfall
	for i, l := range set {
		rest := slices.Delete(slices.Clone(set), i, i+1)
		b, err := p.search(ctx, query{
			limits: rest,
			goal:   func(o study.Outcome) float64 { return -l.Slack(o.Measures[l.Measure]) },
			from:   nearestFirst(*known, rest),
		})
		if err != nil {
			return nil, err
		}
		*known = append(*known, b)
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
