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
package profile

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

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
// counter-clockwise, holes clockwise. The empty region has no loops.
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
