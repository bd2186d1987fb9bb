package mesh

import (
	"fmt"
	"math"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// Simplify returns m with as many vertices removed as a distance of
// maxDeviation (mm) from the field's surface allows. Remaining vertices stay
// where they were, so what m had on the surface, on an edge or at a corner is
// still there; faces become large triangles, curved surfaces chords.
//
// A vertex is pulled into a neighbour when this keeps the surface manifold,
// turns no triangle by 60° or more and makes no sliver, and either every new
// triangle lies in the plane of one it replaces to within 2 % of maxDeviation,
// or the field at twelve points of every new triangle, and the removed vertex's
// distance from them, stay within 85 % of maxDeviation. What m itself
// deviates is not repaired. A result that crosses itself, as a wall thinner
// than maxDeviation might, is thrown away and made again with a quarter of the
// distance; after three such attempts m is returned as it is.
//
// Parts of a large mesh are worked on at once, then what lies between them; the parts
// do not depend on GOMAXPROCS, nor does the result. The field must be safe for concurrent
// use.
//
// It returns an error when m is not valid, when maxDeviation is not positive,
// or when the field is NaN or infinite at a point tried.
func Simplify(m *Mesh, field sdf.SDF3, maxDeviation float64) (*Mesh, error) {
	if !(maxDeviation > 0) || math.IsInf(maxDeviation, 0) {
		return nil, fmt.Errorf("mesh: a deviation of %g mm is not positive and finite", maxDeviation)
	}
	twin, err := m.validate()
	if err != nil {
		return nil, err
	}
	for try := range 3 {
		dev := maxDeviation / math.Pow(4, float64(try))
		s := &collapser{
			halfMesh: newHalfMesh(m, twin), part: everywhere,
			field: field, limit: 0.85 * dev, flat: 0.02 * dev, exact: 1e-3 * dev,
		}
		s.onParts((*collapser).flatten)
		s.onParts((*collapser).shorten)
		for v := range s.state {
			s.state[v] = stale
		}
		s.flatten() // of what is left in s.mine
		if s.err != nil {
			return nil, s.err
		}
		out := s.result()
		if len(out.SelfIntersections()) == 0 {
			return out, nil
		}
	}
	return m.Clone(), nil
}

// Where shorten has a vertex: each is in the queue once at most. One whose
// surroundings have changed is looked at again when its turn comes.
const (
	untried = iota
	absent
	queued
	outdated
)

// What flatten knows of a vertex.
const (
	stale  = iota // to be looked at
	failed        // no good shape at this step
	curved        // no target in its planes, until its ring changes
)

// flatten removes vertices inside plane faces and along straight edges,
// best shapes first in coarse steps.
func (s *collapser) flatten() {
	for _, need := range [...]float64{0.25, 0.1, 0.02} {
		for _, u := range s.mine {
			if s.state[u] == failed {
				s.state[u] = stale
			}
		}
		for removed := 1; removed > 0 && s.err == nil; {
			removed = 0
			for _, u := range s.mine {
				if s.state[u] != stale || !s.works(u) {
					continue
				}
				s.state[u] = curved
				if !s.around(u) {
					continue
				}
				best, ok := s.bestFlat(u, need)
				for ok && !(s.linked(best.h) && (best.lift <= s.exact || s.near(best.h))) {
					best, ok = s.bestFlat(u, need)
				}
				if ok {
					for i := range s.ring {
						s.state[s.ring[i].a] = stale
					}
					s.collapse(best.h)
					removed++
				}
			}
		}
	}
}

// bestFlat returns the pull of u within its planes with the best shape that it has
// not returned before, and notes if there is one with any shape.
func (s *collapser) bestFlat(u int32, need float64) (best move, ok bool) {
	at := -1
	for i := range s.ring {
		if s.ring[i].barred {
			continue
		}
		mv, good := s.consider(u, i, need, best.shape, s.flat)
		if mv.lift <= s.flat {
			s.state[u] = failed
		}
		if good && mv.shape > best.shape {
			best, at = mv, i
		}
	}
	if at < 0 {
		return best, false
	}
	s.ring[at].barred = true
	return best, true
}

// shorten removes vertices of curved faces and edges, least lift first, each
// checked against the field.
func (s *collapser) shorten() {
	offer := func(u int32) {
		if !s.works(u) {
			s.wait[u] = untried
			return
		}
		s.wait[u] = absent
		cost := math.Inf(1)
		if s.around(u) {
			for i := range s.ring {
				if mv, ok := s.consider(u, i, 0.05, 0, min(cost, 8*s.limit)); ok {
					cost = min(cost, mv.lift)
				}
			}
		}
		if !math.IsInf(cost, 1) {
			s.queue.push(pull{cost, u})
			s.wait[u] = queued
		}
	}
	for _, u := range s.mine {
		if s.wait[u] == untried {
			offer(u)
		}
	}
	var left []move
	var touched []int32
	for len(s.queue) > 0 && s.err == nil {
		u := s.queue.pop().vertex
		if s.wait[u] == outdated {
			offer(u)
			continue
		}
		s.wait[u] = absent
		if !s.around(u) {
			continue
		}
		left = left[:0]
		for i := range s.ring {
			if mv, ok := s.consider(u, i, 0.05, 0, 8*s.limit); ok {
				left = append(left, mv)
			}
		}
		for try := 0; try < 2 && len(left) > 0; try++ {
			best := 0
			for i := range left {
				if left[i].lift < left[best].lift {
					best = i
				}
			}
			mv := left[best]
			left = append(left[:best], left[best+1:]...)
			if !s.linked(mv.h) || mv.lift > s.exact && !s.near(mv.h) {
				continue
			}
			touched = touched[:0]
			for i := range s.ring {
				touched = append(touched, s.ring[i].a)
			}
			s.collapse(mv.h)
			for _, w := range touched {
				if s.wait[w] == queued {
					s.wait[w] = outdated
				} else if s.wait[w] != outdated {
					offer(w)
				}
			}
			break
		}
	}
}

// near reports whether the triangles that a pull along h would make lie within
// the limit of the surface, and the removed vertex within it of them.
func (s *collapser) near(h int32) bool {
	v := s.to(h)
	p, q := s.at[s.from(h)], s.at[v]
	away := math.Inf(1)
	for i := range s.ring {
		a, b := s.ring[i].a, s.ring[i].b
		if a == v || b == v {
			continue
		}
		away = min(away, distance2(p, q, s.at[a], s.at[b]))
	}
	if away > s.limit*s.limit {
		return false
	}
	for i := range s.ring {
		a, b := s.ring[i].a, s.ring[i].b
		if a == v || b == v {
			continue
		}
		pa, pb := s.at[a], s.at[b]
		c := r3.Scale(1./3, r3.Add(q, r3.Add(pa, pb)))
		// The side from q to b is the next triangle's side to a, or old.
		ea, eb, e := r3.Scale(0.5, r3.Add(q, pa)), r3.Scale(0.5, r3.Add(q, pb)), r3.Scale(0.5, r3.Add(pa, pb))
		// A long side may leave a curved face next to its end and lie farthest off there.
		tip := r3.Scale(1./16, r3.Sub(pa, q))
		for _, x := range [12]r3.Vec{
			ea, r3.Scale(0.5, r3.Add(ea, q)), r3.Scale(0.5, r3.Add(ea, pa)), r3.Add(q, tip), r3.Sub(pa, tip),
			c, r3.Scale(0.5, r3.Add(c, q)), r3.Scale(0.5, r3.Add(c, pa)), r3.Scale(0.5, r3.Add(c, pb)),
			r3.Scale(0.5, r3.Add(c, ea)), r3.Scale(0.5, r3.Add(c, eb)), r3.Scale(0.5, r3.Add(c, e)),
		} {
			if !s.within(x) {
				return false
			}
		}
	}
	return true
}

// within reports whether the field at x is within the limit.
func (s *collapser) within(x r3.Vec) bool {
	f := evaluate(s.field, x)
	if f-f != 0 {
		s.err = fmt.Errorf("mesh: the field is %g at %s mm", f, place(x))
		return false
	}
	return math.Abs(f) <= s.limit
}
