package solid

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/profile"
)

// zTol is the difference in mm below which two heights are the same height.
const zTol = 1e-6

// Slab is the material between two heights over one plane region.
//
// With chamfers its section at height z is the region less a border of width
//
//	max(0, ChamferBottom − (z − Z0), ChamferTop − (Z1 − z)),
//
// that is, all edges of the lower or upper face are cut off at 45°. A border
// may swallow a narrow arm or part the region; chamfers may be wider than half
// a wall and may meet in the middle of the height.
type Slab struct {
	Z0, Z1                    float64 // mm, Z0 < Z1
	Region                    profile.Region
	ChamferBottom, ChamferTop float64 // mm, 0 for sharp edges
	// SharpBottom and SharpTop are holes of Region, each given as the filled
	// hole, whose edge on that face keeps its full size: the hole of a boss goes
	// on in the plate that the boss stands on.
	SharpBottom, SharpTop profile.Region
}

// Layered is a solid made of slabs. It is canonical: every slab's region is
// connected, no two slabs that touch could be one slab, and they are in the
// order of Z0, Z1, then leftmost vertex. It does not change once made.
type Layered struct {
	slabs  []Slab
	bodies []body
	box    r3.Box
	cuts   []float64 // all different Z0 and Z1 in order
}

// body is a slab with what is derived from it. Between za and zb the section is
// region; from there it shrinks to lower at Z0 and to upper at Z1.
type body struct {
	*Slab
	region         profile.Region
	keepB, keepT   profile.Region // region with the sharp holes filled
	lower, upper   profile.Region
	cb, ct, za, zb float64
	dist           *outline // of region
	distB, distT   *outline // of keepB, keepT
	sharp          []*outline
	// How far the chamfers are from outside; nil without.
	chamferB, chamferT *chamfer
	lo, hi             r2.Vec // bounds of region
}

// NewLayered makes a solid of slabs. Slabs may touch in horizontal faces and
// may lie in the same z range when their regions are apart; any other overlap
// of two slabs is for the caller to avoid (see Builder) and is reported. The
// solid of no slabs is the empty solid.
//
// It returns an error for a slab without height or with a negative chamfer or
// number that is not finite, for two slabs that overlap, for a sharp hole that
// is not a hole at least one chamfer away from other edges, or when a chamfer
// could not be computed.
func NewLayered(slabs ...Slab) (*Layered, error) {
	var in []Slab
	for i, s := range slabs {
		for _, x := range []float64{s.Z0, s.Z1, s.ChamferBottom, s.ChamferTop} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return nil, fmt.Errorf("solid: slab %d has a number that is not finite", i)
			}
		}
		if s.Z1-s.Z0 <= zTol {
			return nil, fmt.Errorf("solid: slab %d reaches from z = %g to %g mm; its top must lie above its bottom", i, s.Z0, s.Z1)
		}
		if s.ChamferBottom < 0 || s.ChamferTop < 0 {
			return nil, fmt.Errorf("solid: slab %d has chamfers of %g and %g mm; they must not be negative", i, s.ChamferBottom, s.ChamferTop)
		}
		in = append(in, components(s)...)
	}
	in = mergeSlabs(in)
	l := &Layered{slabs: in}
	if err := disjoint(in); err != nil {
		return nil, err
	}
	var kept []Slab
	for i := range in {
		b, err := newBody(&in[i])
		if err != nil {
			return nil, fmt.Errorf("solid: slab z %g to %g mm: %w", in[i].Z0, in[i].Z1, err)
		}
		if !b.region.IsEmpty() {
			kept = append(kept, in[i])
			l.bodies = append(l.bodies, b)
		}
	}
	l.slabs = kept
	for i := range l.bodies {
		l.bodies[i].Slab = &kept[i]
	}
	l.bound()
	l.ridges()
	return l, nil
}

// distinct sorts heights and leaves one of those within zTol.
func distinct(z []float64) []float64 {
	slices.Sort(z)
	return slices.CompactFunc(z, func(a, b float64) bool { return math.Abs(b-a) <= zTol })
}

// Slabs returns the slabs in canonical order. They are shared: do not change them.
func (l *Layered) Slabs() []Slab { return l.slabs }

// IsEmpty reports whether the solid holds no material.
func (l *Layered) IsEmpty() bool { return len(l.slabs) == 0 }

// Box returns the bounds in mm: exact, for a face that a chamfer has eaten up to
// 1e-9 mm. The box of the empty solid is the zero box.
func (l *Layered) Box() r3.Box { return l.box }

// components splits a slab into slabs of connected regions: each outer loop
// with the holes in it.
func components(s Slab) []Slab {
	var outer []Slab
	for _, lp := range s.Region {
		if lp.Area() > 0 {
			o := s
			o.Region, o.SharpBottom, o.SharpTop = profile.Region{lp}, nil, nil
			outer = append(outer, o)
		}
	}
	// The loop a hole belongs to is the smallest that surrounds it: outer loops
	// may lie in holes of others.
	home := func(lp profile.Loop) int {
		p, _ := lp.Edge(0).At(0.5)
		best := -1
		for i := range outer {
			o := outer[i].Region[0]
			if (profile.Region{o}).Contains(p) && (best < 0 || o.Area() < outer[best].Region[0].Area()) {
				best = i
			}
		}
		return best
	}
	for _, lp := range s.Region {
		if lp.Area() < 0 {
			if i := home(lp); i >= 0 {
				outer[i].Region = append(outer[i].Region, lp)
			}
		}
	}
	for _, lp := range s.SharpBottom {
		if i := home(lp); i >= 0 {
			outer[i].SharpBottom = append(outer[i].SharpBottom, lp)
		}
	}
	for _, lp := range s.SharpTop {
		if i := home(lp); i >= 0 {
			outer[i].SharpTop = append(outer[i].SharpTop, lp)
		}
	}
	return outer
}

// mergeSlabs sorts slabs and joins those with equal regions that meet in an
// unchamfered face.
func mergeSlabs(in []Slab) []Slab {
	slices.SortStableFunc(in, func(a, b Slab) int {
		p, q := a.Region[0][0].P, b.Region[0][0].P
		return cmp.Or(cmp.Compare(a.Z0, b.Z0), cmp.Compare(a.Z1, b.Z1), cmp.Compare(p.X, q.X), cmp.Compare(p.Y, q.Y))
	})
	out := in[:0]
next:
	for _, s := range in {
		for i := range out {
			o := &out[i]
			if math.Abs(o.Z1-s.Z0) <= zTol && o.ChamferTop == 0 && s.ChamferBottom == 0 && sameRegion(o.Region, s.Region) {
				o.Z1, o.ChamferTop, o.SharpTop = s.Z1, s.ChamferTop, s.SharpTop
				continue next
			}
		}
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b Slab) int {
		p, q := a.Region[0][0].P, b.Region[0][0].P
		return cmp.Or(cmp.Compare(a.Z0, b.Z0), cmp.Compare(a.Z1, b.Z1), cmp.Compare(p.X, q.X), cmp.Compare(p.Y, q.Y))
	})
	return out
}

// sameRegion reports whether two canonical regions have the same loops.
func sameRegion(a, b profile.Region) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if len(a[i]) != len(b[i]) {
			return false
		}
		for j, v := range a[i] {
			w := b[i][j]
			if math.Abs(v.P.X-w.P.X) > 2*profile.Tol || math.Abs(v.P.Y-w.P.Y) > 2*profile.Tol || math.Abs(v.Bulge-w.Bulge) > 1e-9 {
				return false
			}
		}
	}
	return true
}

// disjoint reports slabs that share more than a boundary.
func disjoint(in []Slab) error {
	for i := range in {
		bi, _ := in[i].Region.Box()
		for j := i + 1; j < len(in); j++ {
			if in[j].Z0 > in[i].Z1-zTol || in[i].Z0 > in[j].Z1-zTol {
				continue
			}
			bj, _ := in[j].Region.Box()
			if bi.Max.X < bj.Min.X || bj.Max.X < bi.Min.X || bi.Max.Y < bj.Min.Y || bj.Max.Y < bi.Min.Y {
				continue
			}
			x, err := profile.Intersect(in[i].Region, in[j].Region)
			if err != nil {
				return err
			}
			if !x.IsEmpty() {
				p := x[0][0].P
				return fmt.Errorf("solid: slabs z %g to %g and %g to %g mm overlap near (%.4g, %.4g)",
					in[i].Z0, in[i].Z1, in[j].Z0, in[j].Z1, p.X, p.Y)
			}
		}
	}
	return nil
}

var errEmptyRegion = errors.New("solid: the region is empty")

var errSharpMeets = errors.New("chamfers of both faces meet although holes are kept sharp on one face; make the chamfers smaller")

// newBody works out the sections that bound the slab.
func newBody(s *Slab) (b body, err error) {
	h := s.Z1 - s.Z0
	b = body{Slab: s, region: s.Region, cb: s.ChamferBottom, ct: s.ChamferTop}
	// Where the chamfers leave no wall, the widest section takes the place of
	// the region: a border of a border is a border.
	var d float64
	switch {
	case b.cb-b.ct >= h:
		d = b.cb - h
	case b.ct-b.cb >= h:
		d = b.ct - h
	default:
		d = max(0, (b.cb+b.ct-h)/2)
	}
	if d > 0 {
		if len(s.SharpBottom)+len(s.SharpTop) > 0 {
			return b, errSharpMeets
		}
		if b.region, err = inset(s.Region, d); err != nil {
			return b, err
		}
		b.cb, b.ct = max(0, b.cb-d), max(0, b.ct-d)
		if b.region.IsEmpty() {
			return b, nil
		}
	}
	b.za, b.zb = s.Z0+b.cb, s.Z1-b.ct
	if b.zb-b.za < zTol {
		b.zb = b.za
	}
	if b.keepB, b.lower, err = b.face(b.cb, s.SharpBottom); err != nil {
		return b, err
	}
	if b.cb == b.ct && len(s.SharpBottom)+len(s.SharpTop) == 0 {
		b.keepT, b.upper = b.keepB, b.lower
	} else if b.keepT, b.upper, err = b.face(b.ct, s.SharpTop); err != nil {
		return b, err
	}
	b.index()
	return b, nil
}

// face returns the region whose border the chamfer c cuts, the section that
// remains on the face.
func (b *body) face(c float64, sharp profile.Region) (keep, left profile.Region, err error) {
	if c == 0 {
		return b.region, b.region, nil
	}
	keep = b.region
	if len(sharp) > 0 {
		if keep, err = profile.UnionAll(b.region, sharp); err != nil {
			return
		}
		if len(keep) != len(b.region)-len(sharp) {
			return keep, nil, errors.New("a sharp hole is not a hole of the region")
		}
	}
	if left, err = inset(keep, c); err != nil {
		return
	}
	if len(sharp) > 0 {
		var out profile.Region
		if out, err = profile.Subtract(sharp, left); err != nil {
			return
		}
		if !out.IsEmpty() {
			return keep, nil, fmt.Errorf("a hole that must stay sharp lies within the %g mm chamfer of another edge", c)
		}
		left, err = profile.Subtract(left, sharp)
	}
	return keep, left, err
}

// borders returns the widths of the borders that the chamfers of either face cut
// off at height z within the slab.
func (b *body) borders(z float64) (lower, upper float64) {
	return max(0, b.cb-(z-b.Z0)), max(0, b.ct-(b.Z1-z))
}

// section returns the region at height z, Z0 ≤ z ≤ Z1.
func (b *body) section(z float64) (profile.Region, error) {
	db, dt := b.borders(z)
	switch {
	case db > 0:
		return insetKeeping(b.keepB, b.SharpBottom, db)
	case dt > 0:
		return insetKeeping(b.keepT, b.SharpTop, dt)
	}
	return b.region, nil
}

func insetKeeping(keep, sharp profile.Region, d float64) (profile.Region, error) {
	r, err := inset(keep, d)
	if err == nil && len(sharp) > 0 {
		return profile.Subtract(r, sharp)
	}
	return r, err
}

// Section returns the region of material at height z; on a height where slabs
// end or begin it is that of the material just above, and at the very top that
// just below.
func (l *Layered) Section(z float64) (profile.Region, error) {
	if n := len(l.cuts); n > 0 && z == l.cuts[n-1] {
		z = math.Nextafter(z, math.Inf(-1))
	}
	var parts []profile.Region
	for i := range l.bodies {
		b := &l.bodies[i]
		if z < b.Z0 || z >= b.Z1 {
			continue
		}
		r, err := b.section(z)
		if err != nil {
			return nil, err
		}
		parts = append(parts, r)
	}
	switch len(parts) {
	case 0:
		return nil, nil
	case 1:
		return parts[0], nil
	}
	return profile.UnionAll(parts...)
}

// inradius is the largest distance in mm of a point of the region from its
// boundary.
func (b *body) inradius() float64 {
	lo, hi := 0.0, 0.0
	bb, _ := b.region.Box()
	hi = min(bb.Max.X-bb.Min.X, bb.Max.Y-bb.Min.Y) / 2
	for hi-lo > 1e-9 {
		m := (lo + hi) / 2
		r, err := inset(b.region, m)
		if err != nil || r.IsEmpty() {
			hi = m
		} else {
			lo = m
		}
	}
	return hi
}
