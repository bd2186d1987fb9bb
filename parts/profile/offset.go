package profile

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Offset returns, for d > 0, the points within d mm of the region (the Minkowski
// sum with a disc: convex corners become arcs of radius d) and, for d < 0, the
// points of the region at least |d| from its boundary (erosion: convex corners
// stay sharp, reflex corners become arcs). Edges that vanish and loops that split,
// join or disappear are accounted for; an erosion deeper than the region is empty.
//
// Method: the sum is the union of the region with, for each edge, the strip on
// its right and, for each convex corner, a sector. All run counter-clockwise, so
// the sum of their boundaries (one raw chain per loop, radial sides cancelling)
// winds positively around the result and zero times elsewhere, and positive
// winding is the exact result. Erosion is the same for the complement.
//
// Arcs at corners have the tag of the edge that ends there.
func Offset(r Region, d float64) (Region, error) { return offset(r, d, 1) }

// MiterOffset is Offset with straight corners: for d > 0, convex corners are
// extended along the end tangents to their meeting point, up to limit·d from the
// corner (limit ≥ 1; a square corner needs 1.42); sharper ones are rounded. For
// d < 0 the reflex corners are.
func MiterOffset(r Region, d, limit float64) (Region, error) {
	if !(limit >= 1) {
		return nil, fmt.Errorf("mitre limit %g, must be at least 1", limit)
	}
	return offset(r, d, limit)
}

func offset(r Region, d, miter float64) (Region, error) {
	if math.IsNaN(d) || math.IsInf(d, 0) {
		return nil, fmt.Errorf("offset by %g mm", d)
	}
	if math.Abs(d) < Tol {
		return r.Clone(), nil
	}
	in := func(w, _ int) bool { return w > 0 }
	if d < 0 {
		r, d = r.Reverse(), -d
		in = func(w, _ int) bool { return w < 0 }
	}
	raw := make(Region, len(r))
	for i, l := range r {
		raw[i] = rawOffset(l, d, miter)
	}
	return combine(fmt.Sprintf("offset by %g mm", d), in, []Region{raw}, nil)
}

// taggedSeg is a seg of an edge with the tag.
type taggedSeg struct {
	seg
	tag int32
}

func appendSegs(out []taggedSeg, e Edge) []taggedSeg {
	if dist2(e.A, e.B) == 0 {
		return out
	}
	for _, s := range e.segs() {
		out = append(out, taggedSeg{s, e.Tag})
	}
	return out
}

// rawOffset returns the chain of the outer sides of all strips and sectors of a loop.
func rawOffset(l Loop, d, miter float64) Loop {
	var es []taggedSeg
	for i := range l {
		es = appendSegs(es, l.Edge(i))
	}
	out := make(Loop, 0, 2*len(es))
	for i := range es {
		out = appendStrip(out, &es[i], d)
		out = appendJoin(out, &es[i], &es[(i+1)%len(es)], d, miter)
	}
	return out
}

// appendStrip adds the outer side of an edge's strip, but for its last point.
func appendStrip(out Loop, s *taggedSeg, d float64) Loop {
	n := right(s.ta)
	v := Vertex{P: r2.Add(s.a, r2.Scale(d, n)), Tag: s.tag}
	if s.k < 0 && -1/s.k <= d {
		// The strip of a hollow arc ends at its centre.
		return append(out, v, Vertex{P: r2.Add(s.a, r2.Scale(-1/s.k, n)), Tag: s.tag})
	}
	v.Bulge = math.Tan(s.sweep / 4)
	return append(out, v)
}

// appendJoin adds what leads from a strip to the next, but for its last point: a
// sector at a convex corner, and at a reflex one a way through the corner.
func appendJoin(out Loop, s, next *taggedSeg, d, miter float64) Loop {
	p, q := r2.Add(s.b, r2.Scale(d, right(s.tb))), r2.Add(s.b, r2.Scale(d, right(next.ta)))
	if dist2(p, q) <= Tol*Tol/16 {
		return out // smooth
	}
	turn := turnAngle(&s.seg, &next.seg)
	switch {
	case turn < 0:
		return append(out, Vertex{P: p, Tag: s.tag}, Vertex{P: s.b, Tag: s.tag})
	case miter > 1 && math.Cos(turn/2)*miter >= 1:
		return append(out, Vertex{P: p, Tag: s.tag},
			Vertex{P: r2.Add(p, r2.Scale(d*math.Tan(turn/2), s.tb)), Tag: s.tag})
	}
	return append(out, Vertex{P: p, Bulge: math.Tan(turn / 4), Tag: s.tag})
}

// turnAngle returns the turn from the end of s to the start of next in (−π, π].
// Where the path doubles back it is π if the material lies in the narrow side.
func turnAngle(s, next *seg) float64 {
	t := math.Atan2(s.tb.X*next.ta.Y-s.tb.Y*next.ta.X, s.tb.X*next.ta.X+s.tb.Y*next.ta.Y)
	if math.Abs(t) > math.Pi-1e-6 {
		rev := s.reversed()
		if ccwSide(next, &rev) >= 0 {
			return math.Abs(t)
		}
		return -math.Abs(t)
	}
	return t
}

// ErrRound says that rounding corners changed more than corners.
var ErrRound = errors.New("rounding takes away or fills more than corners")

// Round fillets all concave corners with radius inner and all convex ones with
// radius outer (mm, 0 leaves them) by closing and opening: the points that a disc
// outside, or inside, can reach. Where a corner is nearer than the radius to
// another edge the fillet touches that too. It is an error if more than corners changes: if
// loops join or go, or if the outline moves farther than a fillet does at the
// sharpest corner, r·(1/cos(turn/2) − 1), or at a square one if none is
// as sharp. Then a neck, a tip or a gap is narrower than the disc.
func Round(r Region, inner, outer float64) (Region, error) {
	if !(inner >= 0) || !(outer >= 0) {
		return nil, fmt.Errorf("rounding radii %g and %g mm, must not be negative", inner, outer)
	}
	out := r.Clone()
	for _, d := range [2]float64{inner, -outer} {
		if d == 0 {
			continue
		}
		what := fmt.Sprintf("rounding concave corners with radius %g mm", d)
		if d < 0 {
			what = fmt.Sprintf("rounding convex corners with radius %g mm", -d)
		}
		o, err := Offset(out, d)
		if err != nil {
			return nil, err
		}
		next, err := Offset(o, -d)
		if err != nil {
			return nil, err
		}
		if len(next) != len(out) {
			return nil, fmt.Errorf("%s: %w: %d loops became %d", what, ErrRound, len(out), len(next))
		}
		limit := math.Abs(d)*filletReach(out, d < 0) + 10*Tol
		f := NewField(next)
		for i, l := range out {
			for j := range l {
				e := l.Edge(j)
				m, _ := e.At(0.5)
				for _, p := range [2]r2.Vec{e.A, m} {
					if x := math.Abs(f.Distance(p)); x > limit {
						return nil, fmt.Errorf("%s: %w: edge %d.%d at (%.6g, %.6g) mm moves by %.3g mm",
							what, ErrRound, i, j, p.X, p.Y, x)
					}
				}
			}
		}
		out = next
	}
	return out, nil
}

// filletReach returns 1/cos(turn/2) − 1 of the sharpest convex or concave corner.
func filletReach(r Region, convex bool) float64 {
	worst := math.Pi / 2
	for _, l := range r {
		for i := range l {
			in, out := l.Edge((i+len(l)-1)%len(l)).segs(), l.Edge(i).segs()
			t := turnAngle(&in[len(in)-1], &out[0])
			if !convex {
				t = -t
			}
			worst = math.Max(worst, t)
		}
	}
	return 1/math.Cos(worst/2) - 1
}
