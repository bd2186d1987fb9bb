package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/profile"
)

// Move returns the solid moved in the plane by t and lifted by dz mm.
func (l *Layered) Move(t profile.Transform, dz float64) *Layered { return l.placed(t, false, dz) }

// Lift returns the solid moved by dz mm along z.
func (l *Layered) Lift(dz float64) *Layered { return l.placed(profile.Identity(), false, dz) }

// Flip returns the solid turned over: by half a turn about the y axis, so that
// (x, y, z) becomes (−x, y, −z). What was the top lies on the bed.
func (l *Layered) Flip() *Layered {
	return l.placed(profile.Transform{C: 1, Mirror: true}, true, 0)
}

// ZRange returns the lowest and highest z in mm, both 0 for the empty solid.
func (l *Layered) ZRange() (lo, hi float64) { return l.box.Min.Z, l.box.Max.Z }

// placed moves what was computed; nothing is computed again but bounds.
func (l *Layered) placed(t profile.Transform, over bool, dz float64) *Layered {
	out := &Layered{slabs: make([]Slab, len(l.slabs)), bodies: make([]body, len(l.bodies))}
	up := func(z0, z1 float64) (float64, float64) {
		if over {
			z0, z1 = -z1, -z0
		}
		return z0 + dz, z1 + dz
	}
	for i := range l.bodies {
		at := i
		if over {
			at = len(l.bodies) - 1 - i
		}
		o, n, s := &l.bodies[i], &out.bodies[at], &out.slabs[at]
		moved := map[*profile.Loop]profile.Region{}
		move := func(r profile.Region) profile.Region {
			if len(r) == 0 {
				return nil
			}
			if m, ok := moved[&r[0]]; ok && len(m) == len(r) {
				return m
			}
			m := r.Transform(t)
			moved[&r[0]] = m
			return m
		}
		*s = *o.Slab
		s.Region = move(o.Slab.Region)
		s.SharpBottom, s.SharpTop = move(o.SharpBottom), move(o.SharpTop)
		s.Z0, s.Z1 = up(o.Z0, o.Z1)
		*n = body{
			Slab: s, region: move(o.region), cb: o.cb, ct: o.ct,
			keepB: move(o.keepB), keepT: move(o.keepT), lower: move(o.lower), upper: move(o.upper),
		}
		n.za, n.zb = up(o.za, o.zb)
		if over {
			s.ChamferBottom, s.ChamferTop = s.ChamferTop, s.ChamferBottom
			s.SharpBottom, s.SharpTop = s.SharpTop, s.SharpBottom
			n.cb, n.ct = n.ct, n.cb
			n.keepB, n.keepT, n.lower, n.upper = n.keepT, n.keepB, n.upper, n.lower
		}
		n.index()
	}
	out.bound()
	out.box.Min.Z, out.box.Max.Z = up(l.box.Min.Z, l.box.Max.Z)
	return out
}

// index prepares the distances to a body's outlines.
func (b *body) index() {
	bb, _ := b.region.Box()
	b.lo, b.hi = bb.Min, bb.Max
	b.dist = newOutline(b.region)
	b.distB, b.distT = b.dist, b.dist
	if len(b.SharpBottom) > 0 && b.cb > 0 {
		b.distB = newOutline(b.keepB)
	}
	if len(b.SharpTop) > 0 && b.ct > 0 {
		b.distT = newOutline(b.keepT)
	}
	if b.cb > 0 {
		b.chamferB = newChamfer(b.keepB, b.distB, b.cb)
	}
	if b.ct > 0 {
		b.chamferT = newChamfer(b.keepT, b.distT, b.ct)
	}
	for _, r := range []profile.Region{b.SharpBottom, b.SharpTop} {
		if len(r) > 0 {
			b.sharp = append(b.sharp, newOutline(r))
		}
	}
}

// bound gathers the heights and the bounds of the bodies.
func (l *Layered) bound() {
	for i := range l.bodies {
		b := &l.bodies[i]
		l.cuts = append(l.cuts, b.Z0, b.Z1)
		lo := r3.Vec{X: b.lo.X, Y: b.lo.Y, Z: b.Z0}
		hi := r3.Vec{X: b.hi.X, Y: b.hi.Y, Z: b.Z1}
		if i == 0 {
			l.box = r3.Box{Min: lo, Max: hi}
			continue
		}
		l.box.Min = r3.Vec{X: min(l.box.Min.X, lo.X), Y: min(l.box.Min.Y, lo.Y), Z: min(l.box.Min.Z, lo.Z)}
		l.box.Max = r3.Vec{X: max(l.box.Max.X, hi.X), Y: max(l.box.Max.Y, hi.Y), Z: max(l.box.Max.Z, hi.Z)}
	}
	l.cuts = distinct(l.cuts)
}

// ridges corrects the bounds for faces that a chamfer leaves nothing of: they
// end in a ridge below the slab's height.
func (l *Layered) ridges() {
	if len(l.bodies) == 0 {
		return
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range l.bodies {
		b := &l.bodies[i]
		z0, z1 := b.Z0, b.Z1
		if b.lower.IsEmpty() {
			z0 = b.za - b.inradius()
		}
		if b.upper.IsEmpty() {
			z1 = b.zb + b.inradius()
		}
		lo, hi = min(lo, z0), max(hi, z1)
	}
	l.box.Min.Z, l.box.Max.Z = lo, hi
}
