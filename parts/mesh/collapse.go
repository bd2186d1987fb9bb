package mesh

import (
	"math"
	"slices"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// collapser is a closed half-edge mesh under simplification. Half-edge
// 3t+k runs from corner k of triangle t to corner k+1.
type collapser struct {
	*halfMesh
	field sdf.SDF3
	limit float64
	flat  float64 // lift of a pull that counts as within a plane
	exact float64 // lift that needs no look at the field
	part  int32   // the part at work, or all of the mesh: everywhere
	mine  []int32 // the vertices that may be removed, those that are there
	ring  []spoke // scratch: the vertex at work
	worst float64 // least shape there
	queue pulls
	err   error
}

// halfMesh is what the collapsers of all parts of a mesh work on.
type halfMesh struct {
	at    []r3.Vec
	tri   [][3]int32 // first corner −1: removed
	twin  []int32
	out   []int32 // a half-edge that leaves each vertex, −1: removed
	home  []int32 // the part in which all neighbours of a vertex lie, −1: none
	state []uint8 // what flatten knows of a vertex
	wait  []uint8 // where shorten has it
}

// newHalfMesh copies the triangles of a valid mesh with its twins.
func newHalfMesh(m *Mesh, twin []int32) *halfMesh {
	n := len(m.Vertices)
	s := &halfMesh{
		at: m.Vertices, tri: slices.Clone(m.Triangles), twin: slices.Clone(twin), out: make([]int32, n),
		home: make([]int32, n), state: make([]uint8, n), wait: make([]uint8, n),
	}
	leave := make([]int32, n)
	for i, t := range s.tri {
		for k, v := range t {
			s.out[v] = int32(3*i + k)
			leave[v]++
		}
	}
	// A vertex where sheets touch has more than one fan; it is left alone.
	for v := range int32(n) {
		if s.valence(v) != int(leave[v]) {
			leave[v] = -1
		}
	}
	for v, k := range leave {
		if k < 0 {
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

func (s *halfMesh) from(h int32) int32 { return s.tri[h/3][h%3] }
func (s *halfMesh) to(h int32) int32   { return s.from(nextHalf(h)) }

// spoke is a half-edge that leaves the vertex at work, with the normal of its
// triangle (of length nn, twice the area) and twice the smallest height
// relative to the longest side.
type spoke struct {
	h      int32
	a, b   int32 // the triangle's other corners
	n      r3.Vec
	nn     float64
	shape  float64
	barred bool // the pull along it was tried
}

// around fills s.ring with the spokes of u. It returns false when a triangle
// there has no area.
func (s *collapser) around(u int32) bool {
	s.ring, s.worst = s.ring[:0], math.Inf(1)
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
		s.worst = min(s.worst, k.shape)
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
// there, or a triangle would turn over, degenerate or have a shape below least or,
// unless those there are worse, below need. mv.lift is then +Inf in the first case
// only.
func (s *collapser) consider(u int32, i int, need, least, maxLift float64) (mv move, ok bool) {
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
	old, least := math.Inf(1), max(least, min(need, s.worst))
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
		if mv.shape < least {
			return mv, false
		}
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
	common := 0
	for g := s.out[v]; ; {
		w := s.to(g)
		for i := range s.ring {
			if s.ring[i].a == w {
				common++
			}
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

func (s *halfMesh) valence(v int32) int {
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

// result returns what is left.
func (s *halfMesh) result() *Mesh {
	m := &Mesh{Vertices: s.at}
	for _, t := range s.tri {
		if t[0] >= 0 {
			m.Triangles = append(m.Triangles, t)
		}
	}
	return m.Compact()
}
