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

// rawOffset returns the chain of all strips and sectors of a loop.
func rawOffset(l Loop, d, miter float64) Loop {
	type item struct {
		seg
		tag int32
	}
	var es []item
	for i := range l {
		e := l.Edge(i)
		if dist2(e.A, e.B) == 0 {
			continue
		}
		for _, s := range e.segs() {
			es = append(es, item{s, e.Tag})
		}
	}
	out := make(Loop, 0, 2*len(es))
	line := func(p r2.Vec, tag int32) { out = append(out, Vertex{P: p, Tag: tag}) }
	for i := range es {
		s, next := &es[i], &es[(i+1)%len(es)]
		n := right(s.ta)
		line(r2.Add(s.a, r2.Scale(d, n)), s.tag)
		if s.k < 0 && -1/s.k <= d {
			// The strip of a hollow arc ends at its centre.
			line(r2.Add(s.a, r2.Scale(-1/s.k, n)), s.tag)
		} else {
			out[len(out)-1].Bulge = math.Tan(s.sweep / 4)
		}
		p, q := r2.Add(s.b, r2.Scale(d, right(s.tb))), r2.Add(s.b, r2.Scale(d, right(next.ta)))
		if dist2(p, q) <= Tol*Tol/16 {
			continue // smooth: the next strip starts here
		}
		turn := turnAngle(&s.seg, &next.seg)
		line(p, s.tag)
		switch {
		case turn < 0:
			line(s.b, s.tag)
		case miter > 1 && math.Cos(turn/2)*miter >= 1:
			line(r2.Add(p, r2.Scale(d*math.Tan(turn/2), s.tb)), s.tag)
		default:
			out[len(out)-1].Bulge = math.Tan(turn / 4)
		}
		// The next strip starts at q.
	}
	return out
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
var ErrRound = errors.New("rounding removes or joins a part of the outline")

// Round fillets all concave corners with radius inner and all convex ones with
// radius outer (mm, 0 leaves them) by closing and opening: the points that a disc
// outside, or inside, can reach. Where a corner is nearer than the radius to
// another edge the fillet touches that too. It is an error if the number of loops changes,
// which means that a neck or a gap narrower than the disc has gone.
func Round(r Region, inner, outer float64) (Region, error) {
	if !(inner >= 0) || !(outer >= 0) {
		return nil, fmt.Errorf("rounding radii %g and %g mm, must not be negative", inner, outer)
	}
	out := r
	for _, d := range []float64{inner, -outer} {
		if d == 0 {
			continue
		}
		o, err := Offset(out, d)
		if err != nil {
			return nil, err
		}
		if out, err = Offset(o, -d); err != nil {
			return nil, err
		}
	}
	if len(out) != len(r) {
		return nil, fmt.Errorf("radii %g inner, %g outer mm: %w: %d loops became %d", inner, outer, ErrRound, len(r), len(out))
	}
	return out.Clone(), nil
}
