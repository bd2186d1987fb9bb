// Package profile holds the exact two-dimensional geometry that every part of
// a finger is made from: closed loops of straight lines and circular arcs.
//
// Lengths are millimetres, angles radians, x to the right and y up. Material
// lies on the left of a loop's travel: outer loops run counter-clockwise,
// loops around holes clockwise. The signed distance is negative inside.
//
// One profile is the source of a printed wall, of the curve that a pin centre
// follows along it, of the clearance to a neighbour and of the outline in a
// drawing; nothing here is faceted unless Flatten is asked for.
//
// What booleans, offsets and constructors return is canonical: vertices more than Tol
// apart, neighbours on the same line or circle with equal tags joined, arcs up to
// half a turn (a larger one is two equal halves), loops starting at their leftmost
// vertex, outer loops sorted by that vertex and each followed by its holes.
// Where boundaries of several operands coincide, the edge keeps the shape of the first
// and the tag of the first that runs in the direction of the result.
//
// Where things are:
//
//	build.go      circles, rectangles, bars, filleted polygons, thick paths
//	boolean.go    Union, Subtract, Intersect, Clean, Imprint; transform.go: motions
//	arrange.go    the one engine below them: edges cut at every meeting point, then
//	              bundle.go, trace.go and canonical.go: from cut edges to loops
//	offset.go     Offset, MiterOffset, Round; events.go: depths where an inset changes
//	measure.go    area, centroid, second moments, perimeter, winding
//	field.go      signed distance with an index; ray.go: rays
//	clearance.go  distance or penetration of two moving outlines
//	thickness.go  walls and gaps by rays
//	chain.go      one side of an outline, the path of a disc rolling along it
//	flatten.go    points on a loop within a stated deviation
package profile

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Tol is the one length, in mm, below which points are the same point.
// Booleans and offsets snap vertices that are closer than Tol, and vertices to
// edges that are closer than Tol/2; edges with the same ends that stay within Tol
// are one edge; loops narrower than Tol (area below Tol times perimeter) are
// dropped. So a boundary moves by Tol, not more, where outlines nearly touch,
// and by rounding (about 1e-13 mm) elsewhere.
const Tol = 2e-8

// Vertex starts one edge of a loop; the edge ends at the next vertex.
type Vertex struct {
	P r2.Vec
	// Bulge is tan(sweep/4) of the arc that leaves P: 0 is a straight line,
	// positive turns left (counter-clockwise), 1 is a half circle. An arc never
	// sweeps a whole turn; a circle is two halves.
	Bulge float64
	// Tag says which feature of the part made this edge. It is carried through
	// booleans and offsets and never looked at by them. 0 is "none".
	Tag int32
}

// Loop is a closed chain of edges. It does not cross or touch itself.
type Loop []Vertex

// Region is a set of points bounded by loops that do not cross: outer loops
// counter-clockwise, holes clockwise. The empty region has no loops. Two loops
// may share a vertex (discs that touch), never a stretch.
type Region []Loop

// Edge is one edge of a loop with both its ends.
type Edge struct {
	A, B  r2.Vec
	Bulge float64
	Tag   int32
}

// Edge returns the edge that leaves vertex i.
func (l Loop) Edge(i int) Edge {
	v, w := l[i], l[(i+1)%len(l)]
	return Edge{A: v.P, B: w.P, Bulge: v.Bulge, Tag: v.Tag}
}

// IsLine reports whether the edge is straight.
func (e Edge) IsLine() bool { return e.Bulge == 0 }

// Arc returns centre, radius, start angle and signed sweep of a curved edge.
// It must not be called on a line.
func (e Edge) Arc() (centre r2.Vec, radius, start, sweep float64) {
	sweep = 4 * math.Atan(e.Bulge)
	chord := r2.Sub(e.B, e.A)
	// The centre lies on the chord's bisector, (1−b²)/(4b) chords to its left.
	h := (1 - e.Bulge*e.Bulge) / (4 * e.Bulge)
	mid := r2.Scale(0.5, r2.Add(e.A, e.B))
	centre = r2.Add(mid, r2.Scale(h, r2.Vec{X: -chord.Y, Y: chord.X}))
	d := r2.Sub(e.A, centre)
	return centre, math.Hypot(d.X, d.Y), math.Atan2(d.Y, d.X), sweep
}

// Length returns the length of the edge in mm.
func (e Edge) Length() float64 {
	s := newSeg(e.A, e.B, e.Bulge)
	return s.length()
}

// At returns the point at the fraction t of the edge's length (0 is A, 1 is B)
// and the unit tangent there.
func (e Edge) At(t float64) (p, tangent r2.Vec) {
	s := newSeg(e.A, e.B, e.Bulge)
	return s.at(t), s.tangent(t)
}

// Reverse returns the edge travelled from B to A.
func (e Edge) Reverse() Edge { return Edge{A: e.B, B: e.A, Bulge: -e.Bulge, Tag: e.Tag} }

// Edges calls f for every edge in order.
func (r Region) Edges(f func(loop, edge int, e Edge)) {
	for i, l := range r {
		for j := range l {
			f(i, j, l.Edge(j))
		}
	}
}

// NumEdges returns the number of edges of all loops.
func (r Region) NumEdges() int {
	n := 0
	for _, l := range r {
		n += len(l)
	}
	return n
}

// IsEmpty reports whether the region holds no points.
func (r Region) IsEmpty() bool { return len(r) == 0 }

// Clone returns a copy that shares nothing with l.
func (l Loop) Clone() Loop { return append(Loop(nil), l...) }

// Reverse returns the loop travelled the other way; each edge keeps its tag.
func (l Loop) Reverse() Loop {
	n := len(l)
	out := make(Loop, n)
	for i := range out {
		e := l[(2*n-2-i)%n] // the edge that ends where the reversed edge starts
		out[i] = Vertex{P: l[n-1-i].P, Bulge: -e.Bulge, Tag: e.Tag}
	}
	return out
}

// Clone returns a copy that shares nothing with r.
func (r Region) Clone() Region {
	if r == nil {
		return nil
	}
	out := make(Region, len(r))
	for i, l := range r {
		out[i] = l.Clone()
	}
	return out
}

// Reverse returns every loop travelled the other way: the boundary of the
// complement.
func (r Region) Reverse() Region {
	out := make(Region, len(r))
	for i, l := range r {
		out[i] = l.Reverse()
	}
	return out
}

// Retag returns a copy in which every edge has the given tag.
func (r Region) Retag(tag int32) Region {
	out := r.Clone()
	for _, l := range out {
		for i := range l {
			l[i].Tag = tag
		}
	}
	return out
}

// Box returns the exact bounds of the region; ok is false when it is empty.
func (r Region) Box() (box r2.Box, ok bool) {
	box = r2.Box{
		Min: r2.Vec{X: math.Inf(1), Y: math.Inf(1)},
		Max: r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)},
	}
	r.Edges(func(_, _ int, e Edge) {
		for _, s := range e.segs() {
			lo, hi := s.box()
			box.Min = minVec(box.Min, lo)
			box.Max = maxVec(box.Max, hi)
		}
	})
	return box, len(r) > 0
}
