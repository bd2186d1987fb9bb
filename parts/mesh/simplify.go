package mesh

import (
	"container/heap"
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
// or the field at ten points of every new triangle, and the removed vertex's
// distance from them, stay within 85 % of maxDeviation. What m itself
// deviates is not repaired. A result that crosses itself, as a wall thinner
// than maxDeviation might, is thrown away and made again with a quarter of the
// distance; after three such attempts m is returned as it is.
//
// It returns an error when m is not valid, when maxDeviation is not positive,
// or when the field is NaN or infinite at a point tried.
func Simplify(m *Mesh, field sdf.SDF3, maxDeviation float64) (*Mesh, error) {
	if !(maxDeviation > 0) || math.IsInf(maxDeviation, 0) {
		return nil, fmt.Errorf("mesh: a deviation of %g mm is not positive and finite", maxDeviation)
	}
	if err := m.Validate(); err != nil {
		return nil, err
	}
	for try := range 3 {
		s := newCollapser(m, field, maxDeviation/math.Pow(4, float64(try)))
		s.flatten()
		s.shorten()
		s.flatten()
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

// flatten removes vertices inside plane faces and along straight edges,
// best shapes first in coarse steps.
func (s *collapser) flatten() {
	// A vertex without a target in its planes is out until its ring changes.
	const (
		stale  = iota // to be looked at
		failed        // no good shape at this step
		curved        // no target in its planes
	)
	state := make([]uint8, len(s.at))
	for _, need := range [...]float64{0.4, 0.2, 0.1, 0.05, 0.02} {
		for u := range state {
			if state[u] == failed {
				state[u] = stale
			}
		}
		for removed := 1; removed > 0 && s.err == nil; {
			removed = 0
			for u := range int32(len(s.at)) {
				if s.out[u] < 0 || state[u] != stale {
					continue
				}
				state[u] = curved
				if !s.around(u) {
					continue
				}
				best := move{h: -1}
				for i := range s.ring {
					mv, ok := s.consider(u, i, need, s.flat)
					if mv.lift <= s.flat {
						state[u] = failed
					}
					if ok && (best.h < 0 || mv.shape > best.shape) &&
						s.linked(mv.h) && (mv.lift <= s.exact || s.near(mv.h)) {
						best = mv
					}
				}
				if best.h >= 0 {
					for i := range s.ring {
						state[s.ring[i].a] = stale
					}
					s.collapse(best.h)
					removed++
				}
			}
		}
	}
}

// pull is an entry of the queue of curved pulls; it is void once the vertex
// has a later version.
type pull struct {
	cost    float64
	vertex  int32
	version int32
}

type pulls []pull

func (p pulls) Len() int { return len(p) }
func (p pulls) Less(i, j int) bool {
	if p[i].cost != p[j].cost {
		return p[i].cost < p[j].cost
	}
	return p[i].vertex < p[j].vertex
}
func (p pulls) Swap(i, j int) { p[i], p[j] = p[j], p[i] }
func (p *pulls) Push(x any)   { *p = append(*p, x.(pull)) }
func (p *pulls) Pop() any {
	x := (*p)[len(*p)-1]
	*p = (*p)[:len(*p)-1]
	return x
}

// shorten removes vertices of curved faces and edges, least lift first, each
// checked against the field.
func (s *collapser) shorten() {
	version := make([]int32, len(s.at))
	queue := &pulls{}
	offer := func(u int32) {
		version[u]++
		if s.out[u] < 0 {
			return
		}
		cost := math.Inf(1)
		if s.around(u) {
			for i := range s.ring {
				if mv, ok := s.consider(u, i, 0.05, min(cost, 8*s.limit)); ok {
					cost = min(cost, mv.lift)
				}
			}
		}
		if !math.IsInf(cost, 1) {
			*queue = append(*queue, pull{cost, u, version[u]})
		}
	}
	for u := range int32(len(s.at)) {
		offer(u)
	}
	heap.Init(queue)
	var left []move
	var touched []int32
	for queue.Len() > 0 && s.err == nil {
		top := heap.Pop(queue).(pull)
		u := top.vertex
		if s.out[u] < 0 || version[u] != top.version {
			continue
		}
		if !s.around(u) {
			continue
		}
		left = left[:0]
		for i := range s.ring {
			if mv, ok := s.consider(u, i, 0.05, 8*s.limit); ok {
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
				n := queue.Len()
				if offer(w); queue.Len() > n {
					heap.Fix(queue, n)
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
		for _, x := range [10]r3.Vec{
			ea, r3.Scale(0.5, r3.Add(ea, q)), r3.Scale(0.5, r3.Add(ea, pa)),
			c, r3.Scale(0.5, r3.Add(c, q)), r3.Scale(0.5, r3.Add(c, pa)), r3.Scale(0.5, r3.Add(c, pb)),
			r3.Scale(0.5, r3.Add(c, ea)), r3.Scale(0.5, r3.Add(c, eb)), r3.Scale(0.5, r3.Add(c, e)),
		} {
			f := evaluate(s.field, x)
			if f-f != 0 {
				s.err = fmt.Errorf("mesh: the field is %g at %s mm", f, place(x))
				return false
			}
			if math.Abs(f) > s.limit {
				return false
			}
		}
	}
	return true
}
