package solid

import (
	"math"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// Evaluate returns the signed distance of p to the surface in mm, negative
// inside, +Inf for the empty solid. It is exact to rounding, near conical chamfers
// to 1e-9 mm.
//
// Derivation. Inside a region the distance u to its outline grows at rate 1 along
// the way to the outline, so the way from an inside point to the nearest point
// outside a slab lies in the plane of that way and z, where the slab is the
// polygon u ≤ −border(z), and its length is a distance in that plane. The
// complement of the solid is the union over all heights of what the slabs leave,
// hence the distance the least over those. From outside the same plane gives a
// bound, and the distance itself where the slab has no chamfers, for it is then a
// product of sets, or where the point that the bound leads to belongs to the slab;
// for the rest see chamfer.
func (l *Layered) Evaluate(p sdf.V3) float64 {
	q := r2.Vec{X: p.X, Y: p.Y}
	out, in := math.Inf(1), false
	var stack [16]span
	over := stack[:0]
	depth := math.Inf(1)
	for i := range l.bodies {
		b := &l.bodies[i]
		// From outside, a slab farther than what is found already matters not;
		// from inside every slab over p does.
		dz := max(b.Z0-p.Z, p.Z-b.Z1, 0)
		far := b.boxDistance(q)
		if far > 0 && math.Hypot(far, dz) >= out {
			continue
		}
		u, ub, ut := b.widths(q)
		out = min(out, b.outside(q, u, ub, ut, p.Z, out))
		in = in || out <= 0
		if u < 0 {
			over = append(over, span{b.Z0, b.Z1})
			depth = min(depth, b.inside(q, u, ub, ut, p.Z))
		}
	}
	if !in {
		return out
	}
	// Heights over q without material.
	return -min(depth, gapDistance(over, p.Z))
}

type span struct{ lo, hi float64 }

// gapDistance returns how far z is from the nearest height that no span covers.
// Spans are in the order of their lower ends.
func gapDistance(spans []span, z float64) float64 {
	best := math.Inf(1)
	top := math.Inf(-1)
	for _, s := range spans {
		if s.lo > top+zTol {
			best = min(best, max(top-z, z-s.lo, 0)) // the gap from top to s.lo
		}
		top = max(top, s.hi)
	}
	return min(best, max(top-z, 0))
}

// BoundingBox returns the bounds in mm.
func (l *Layered) BoundingBox() sdf.Box3 {
	return sdf.Box3{
		Min: sdf.V3{X: l.box.Min.X, Y: l.box.Min.Y, Z: l.box.Min.Z},
		Max: sdf.V3{X: l.box.Max.X, Y: l.box.Max.Y, Z: l.box.Max.Z},
	}
}

// Lipschitz returns 1: the field never changes faster than distance.
func (l *Layered) Lipschitz() float64 { return 1 }

// Precision returns Exact.
func (l *Layered) Precision() Precision { return Exact }

func (b *body) boxDistance(q r2.Vec) float64 {
	return math.Hypot(max(b.lo.X-q.X, q.X-b.hi.X, 0), max(b.lo.Y-q.Y, q.Y-b.hi.Y, 0))
}

// widths returns the signed distances of q to the region and to what the
// chamfers of either face are borders of.
func (b *body) widths(q r2.Vec) (u, ub, ut float64) {
	u = b.dist.signed(q)
	ub, ut = u, u
	if b.distB != b.dist {
		ub = b.distB.signed(q)
	}
	if b.distT != b.dist {
		ut = b.distT.signed(q)
	}
	return u, ub, ut
}

// outside returns the distance from outside, and 0 or less inside. Where it is
// not less than limit it may be any number from limit on.
func (b *body) outside(q r2.Vec, u, ub, ut, z, limit float64) float64 {
	d := beyond(u, max(b.Z0-z, z-b.Z1))
	// One of the two leads on: the slab is widest between them.
	if b.cb > 0 {
		if low := slope(ub, b.Z0-z, b.cb); low >= d && low < limit && z < b.za {
			d = max(d, b.chamferB.distance(q, ub, b.za-z))
		} else {
			d = max(d, low)
		}
	}
	if b.ct > 0 {
		if low := slope(ut, z-b.Z1, b.ct); low >= d && low < limit && z > b.zb {
			d = max(d, b.chamferT.distance(q, ut, z-b.zb))
		} else {
			d = max(d, low)
		}
	}
	return d
}

// beyond is the distance to the quadrant u ≤ 0, z ≤ 0, negative inside.
func beyond(u, z float64) float64 {
	if u > 0 && z > 0 {
		return math.Sqrt(u*u + z*z)
	}
	return max(u, z)
}

// slope is the distance to the quadrant u ≤ 0, z ≤ 0 with its corner cut off
// from (−c, 0) to (0, −c), negative inside.
func slope(u, z, c float64) float64 {
	if k := u + z + c; k > 0 {
		// Along the cut, t runs from 0 at (0, −c) to c at (−c, 0).
		t := (z + c - u) / 2
		switch {
		case t < 0:
			return math.Hypot(max(u, 0), max(z+c, 0))
		case t > c:
			return math.Hypot(max(u+c, 0), max(z, 0))
		}
		return k / math.Sqrt2
	}
	return max(u, z, (u+z+c)/math.Sqrt2)
}

// inside returns the distance from (q, z), with q over the region, to the
// nearest point at the slab's heights that is not in the slab, without those
// above and below it.
func (b *body) inside(q r2.Vec, u, ub, ut, z float64) float64 {
	// The wall.
	d := math.Hypot(u, max(b.za-z, z-b.zb, 0))
	if b.cb > 0 {
		d = min(d, cutAway(ub, b.Z0-z, b.cb))
	}
	if b.ct > 0 {
		d = min(d, cutAway(ut, z-b.Z1, b.ct))
	}
	// Sharp holes have walls over the whole height.
	dz := max(b.Z0-z, z-b.Z1, 0)
	for _, s := range b.sharp {
		d = min(d, math.Hypot(max(s.signed(q), 0), dz))
	}
	return d
}

// cutAway is the distance from (u, z) with u ≤ 0 to the triangle that a chamfer
// cuts away: corners (0, 0), (−c, 0), (0, −c).
func cutAway(u, z, c float64) float64 {
	if z >= 0 {
		return math.Hypot(max(-c-u, 0), z)
	}
	if u+z+c >= 0 && z >= -c {
		return 0
	}
	// The nearest point of the slope, or the triangle's lower corner.
	t := max(0, min(c, (z+c-u)/2))
	return math.Hypot(u+t, z+c-t)
}

// Plane is the signed distance in the plane of a region as an sdfx field, exact
// to rounding, so that sdfx's extrusions and revolutions can use it.
type Plane struct {
	dist *outline
	box  sdf.Box2
}

// NewPlane returns the field of a region. An empty region has no field.
func NewPlane(r profile.Region) (*Plane, error) {
	b, ok := r.Box()
	if !ok {
		return nil, errEmptyRegion
	}
	return &Plane{newOutline(r), sdf.Box2{Min: sdf.V2{X: b.Min.X, Y: b.Min.Y}, Max: sdf.V2{X: b.Max.X, Y: b.Max.Y}}}, nil
}

// Evaluate returns the signed distance of p in mm, negative inside.
func (f *Plane) Evaluate(p sdf.V2) float64 { return f.dist.signed(r2.Vec{X: p.X, Y: p.Y}) }

// BoundingBox returns the bounds of the region in mm.
func (f *Plane) BoundingBox() sdf.Box2 { return f.box }
