package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// outline answers distance queries to a region's boundary.
type outline struct {
	r profile.Region
	e []curve
}

type curve struct {
	a, b, c    r2.Vec
	radius     float64
	u0, u1     r2.Vec // unit directions of an arc's ends from its centre
	left, line bool
	big        bool // sweeps more than half a turn
	ux, uy, l  float64
	lo, hi     r2.Vec // bounds
}

func newOutline(r profile.Region) *outline {
	o := &outline{r: r}
	r.Edges(func(_, _ int, e profile.Edge) {
		k := curve{a: e.A, b: e.B, line: e.IsLine()}
		if k.line {
			d := r2.Sub(e.B, e.A)
			k.l = r2.Norm(d)
			k.ux, k.uy = d.X/k.l, d.Y/k.l
		} else {
			var sweep float64
			k.c, k.radius, _, sweep = e.Arc()
			k.left, k.big = sweep > 0, math.Abs(sweep) > math.Pi
			k.u0, k.u1 = r2.Sub(e.A, k.c), r2.Sub(e.B, k.c)
		}
		bb, _ := profile.Region{{{P: e.A, Bulge: e.Bulge}, {P: e.B}}}.Box()
		k.lo, k.hi = bb.Min, bb.Max
		o.e = append(o.e, k)
	})
	return o
}

// foot returns the nearest point of the curve to p and the squared distance.
func (k *curve) foot(p r2.Vec) (r2.Vec, float64) {
	if k.line {
		t := (p.X-k.a.X)*k.ux + (p.Y-k.a.Y)*k.uy
		t = max(0, min(k.l, t))
		q := r2.Vec{X: k.a.X + t*k.ux, Y: k.a.Y + t*k.uy}
		return q, r2.Norm2(r2.Sub(p, q))
	}
	w := r2.Sub(p, k.c)
	u, v := k.u0, k.u1
	if !k.left {
		u, v = v, u
	}
	after, before := r2.Cross(u, w) >= 0, r2.Cross(w, v) >= 0
	in := after && before
	if k.big {
		in = after || before
	}
	if n := r2.Norm(w); in && n > 0 {
		q := r2.Add(k.c, r2.Scale(k.radius/n, w))
		return q, (n - k.radius) * (n - k.radius)
	} else if in {
		return k.a, k.radius * k.radius
	}
	da, db := r2.Norm2(r2.Sub(p, k.a)), r2.Norm2(r2.Sub(p, k.b))
	if da < db {
		return k.a, da
	}
	return k.b, db
}

// nearest returns the squared distance of p from the boundary and the nearest
// point. hint is the number of a curve that is likely near; it becomes that of
// the nearest.
func (o *outline) nearest(p r2.Vec, hint *int32) (d2 float64, foot r2.Vec) {
	foot, d2 = o.e[*hint].foot(p)
	for i := range o.e {
		k := &o.e[i]
		dx := max(0, k.lo.X-p.X, p.X-k.hi.X)
		dy := max(0, k.lo.Y-p.Y, p.Y-k.hi.Y)
		if dx*dx+dy*dy >= d2 {
			continue
		}
		if q, e := k.foot(p); e < d2 {
			foot, d2, *hint = q, e, int32(i)
		}
	}
	return d2, foot
}

// away returns the distance of p from the boundary in mm, without a sign.
func (o *outline) away(p r2.Vec, hint *int32) float64 {
	d2, _ := o.nearest(p, hint)
	return math.Sqrt(d2)
}

// distance returns the signed distance of p in mm, negative inside, and the
// nearest boundary point.
func (o *outline) distance(p r2.Vec) (d float64, foot r2.Vec) {
	var hint int32
	best, foot := o.nearest(p, &hint)
	d = math.Sqrt(best)
	if o.r.Contains(p) {
		d = -d
	}
	return d, foot
}

// ridge moves p away from its nearest boundary point to where another boundary
// point is equally near, at most to the distance c, and returns where and the
// distance there. It shrinks a disc that touches the boundary at the foot until
// it is empty (J. Ma, S. Bae, S. Choi, 3D medial axis point approximation using
// nearest neighbors and the normal field, 2012).
func (o *outline) ridge(p r2.Vec, c float64) (r2.Vec, float64) {
	d, q := o.distance(p)
	if d >= -1e-12 {
		return p, 0
	}
	n := r2.Scale(-1/d, r2.Sub(p, q))
	rho := c
	for range 60 {
		m := r2.Add(q, r2.Scale(rho, n))
		dm, f := o.distance(m)
		if -dm >= rho-1e-9 {
			break
		}
		w := r2.Sub(f, q)
		s := 2 * r2.Dot(n, w)
		if s <= 0 {
			break
		}
		next := r2.Norm2(w) / s
		if next >= rho {
			break
		}
		rho = next
	}
	if rho < -d {
		return p, -d
	}
	return r2.Add(q, r2.Scale(rho, n)), rho
}

// inset returns the points of r at least d mm from its boundary.
func inset(r profile.Region, d float64) (profile.Region, error) { return profile.Offset(r, -d) }
