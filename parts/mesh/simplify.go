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

// collapser is a closed half-edge mesh under simplification. Half-edge
// 3t+k runs from corner k of triangle t to corner k+1.
type collapser struct {
	at    []r3.Vec
	tri   [][3]int32 // first corner −1: removed
	twin  []int32
	out   []int32 // a half-edge that leaves each vertex, −1: removed
	field sdf.SDF3
	limit float64
	flat  float64 // lift of a pull that counts as within a plane
	exact float64 // lift that needs no look at the field
	seen  []int32 // scratch: stamp by vertex
	stamp int32
	ring  []spoke // scratch: the vertex at work
	err   error
}

func newCollapser(m *Mesh, field sdf.SDF3, dev float64) *collapser {
	twin, _ := m.twins()
	s := &collapser{
		at: m.Vertices, tri: append([][3]int32(nil), m.Triangles...), twin: twin,
		out: make([]int32, len(m.Vertices)), seen: make([]int32, len(m.Vertices)),
		field: field, limit: 0.85 * dev, flat: 0.02 * dev, exact: 1e-3 * dev,
	}
	for h := range int32(len(twin)) {
		u, _ := m.halfEdge(h)
		s.out[u] = h
	}
	// A vertex where sheets touch has more than one fan; it is left alone.
	if top, err := m.Topology(); err == nil {
		for _, v := range top.Pinched {
			s.out[v] = -1
		}
	}
	return s
}

func nextHalf(h int32) int32 {
	if h%3 == 2 {
		return h - 2
	}
	return h + 1
}

func prevHalf(h int32) int32 {
	if h%3 == 0 {
		return h + 2
	}
	return h - 1
}

func (s *collapser) from(h int32) int32 { return s.tri[h/3][h%3] }
func (s *collapser) to(h int32) int32   { return s.from(nextHalf(h)) }

// spoke is a half-edge that leaves the vertex at work, with the normal of its
// triangle (of length nn, twice the area) and twice the smallest height
// relative to the longest side.
type spoke struct {
	h     int32
	a, b  int32 // the triangle's other corners
	n     r3.Vec
	nn    float64
	shape float64
}

// around fills s.ring with the spokes of u. It returns false when a triangle
// there has no area.
func (s *collapser) around(u int32) bool {
	s.ring = s.ring[:0]
	p := s.at[u]
	for h := s.out[u]; ; {
		k := spoke{h: h, a: s.to(h), b: s.to(nextHalf(h))}
		da, db := r3.Sub(s.at[k.a], p), r3.Sub(s.at[k.b], p)
		k.n = r3.Cross(da, db)
		k.nn = math.Sqrt(r3.Norm2(k.n))
		if k.nn == 0 {
			return false
		}
		k.shape = k.nn / max(r3.Norm2(da), r3.Norm2(db), r3.Norm2(r3.Sub(db, da)))
		s.ring = append(s.ring, k)
		if h = s.twin[prevHalf(h)]; h == s.out[u] {
			return true
		}
	}
}

// move is what pulling a vertex along a half-edge would do.
type move struct {
	h     int32
	lift  float64 // largest distance of the target from a plane at the vertex, mm
	shape float64 // smallest height over longest side of the new triangles
}

// consider measures a pull along spoke i out of the vertex u whose ring is
// s.ring. ok is false when the target lies farther than maxLift from a plane
// there, or a triangle would turn over, degenerate or, unless those there are
// worse, have a shape below need. mv.lift is then +Inf in the first case only.
func (s *collapser) consider(u int32, i int, need, maxLift float64) (mv move, ok bool) {
	v := s.ring[i].a
	q := s.at[v]
	d := r3.Sub(q, s.at[u])
	mv = move{h: s.ring[i].h, shape: math.Inf(1)}
	for k := range s.ring {
		g := &s.ring[k]
		if l := math.Abs(r3.Dot(g.n, d)); l > mv.lift*g.nn {
			if mv.lift = l / g.nn; mv.lift > maxLift {
				mv.lift = math.Inf(1)
				return mv, false
			}
		}
	}
	old := math.Inf(1)
	for k := range s.ring {
		g := &s.ring[k]
		if g.a == v || g.b == v {
			continue
		}
		pa, pb := s.at[g.a], s.at[g.b]
		da, db := r3.Sub(pa, q), r3.Sub(pb, q)
		n := r3.Cross(da, db)
		nn := math.Sqrt(r3.Norm2(n))
		if r3.Dot(n, g.n) <= 0.5*nn*g.nn {
			return mv, false
		}
		mv.shape = min(mv.shape, nn/max(r3.Norm2(r3.Sub(pb, pa)), r3.Norm2(da), r3.Norm2(db)))
		old = min(old, g.shape)
	}
	return mv, mv.shape >= min(need, old)
}

// linked reports whether a pull along h keeps the surface manifold: its ends
// have just the two opposite corners in common, and both keep three triangles.
func (s *collapser) linked(h int32) bool {
	v := s.to(h)
	if s.out[v] < 0 {
		return false
	}
	s.stamp++
	for i := range s.ring {
		s.seen[s.ring[i].a] = s.stamp
	}
	common := 0
	for g := s.out[v]; ; {
		if s.seen[s.to(g)] == s.stamp {
			common++
		}
		if g = s.twin[prevHalf(g)]; g == s.out[v] {
			break
		}
	}
	if common != 2 {
		return false
	}
	for _, w := range [2]int32{s.to(nextHalf(h)), s.to(nextHalf(s.twin[h]))} {
		if s.out[w] < 0 || s.valence(w) <= 3 {
			return false
		}
	}
	return true
}

func (s *collapser) valence(v int32) int {
	n := 0
	for g := s.out[v]; ; {
		n++
		if g = s.twin[prevHalf(g)]; g == s.out[v] {
			return n
		}
	}
}

// collapse pulls the start of h, whose ring is s.ring, into its end.
func (s *collapser) collapse(h int32) {
	u, v := s.from(h), s.to(h)
	for i := range s.ring {
		g := s.ring[i].h
		s.tri[g/3][g%3] = v
	}
	for _, g := range [2]int32{h, s.twin[h]} {
		a, b := s.twin[nextHalf(g)], s.twin[prevHalf(g)]
		s.twin[a], s.twin[b] = b, a
		// a and b are the two directions of one edge from v to the far corner.
		s.out[s.from(a)], s.out[s.from(b)] = a, b
		s.tri[g/3][0] = -1
	}
	s.out[u] = -1
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
	var todo []move
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
		todo = todo[:0]
		for i := range s.ring {
			if mv, ok := s.consider(u, i, 0.05, 8*s.limit); ok {
				todo = append(todo, mv)
			}
		}
		for try := 0; try < 2 && len(todo) > 0; try++ {
			best := 0
			for i := range todo {
				if todo[i].lift < todo[best].lift {
					best = i
				}
			}
			mv := todo[best]
			todo = append(todo[:best], todo[best+1:]...)
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

// result returns what is left.
func (s *collapser) result() *Mesh {
	m := &Mesh{Vertices: s.at}
	for _, t := range s.tri {
		if t[0] >= 0 {
			m.Triangles = append(m.Triangles, t)
		}
	}
	return m.Compact()
}
