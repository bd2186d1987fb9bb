package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/profile"
)

// chamfer answers how far a point is from a body whose upper edges are cut off
// at 45°: with u the signed distance to a region, the points (q, t) with
// u(q) ≤ −max(0, t), t ≤ c, where t is the height above the foot of the chamfer.
//
// Its surface above the foot is t = −u(q): over the points whose nearest edge is
// a line a plane, over those nearest to an arc or a re-entrant corner a cone, and
// over points that are equally near to several edges, where those meet, a ridge.
// In (q, t) two planes meet in a line, a plane and a cone or two such cones in a
// conic, as the squares cancel, and three of them in at most two points. So the
// nearest point is found among the feet on every plane and cone, on every ridge of
// two, and the meets of three; a candidate counts if it belongs to the body, which
// u tells. Only conics need a search in one variable.
type chamfer struct {
	dist  *outline
	c     float64 // mm, height and width
	faces []face
}

// face is a plane or cone of the chamfer: the points (q, t) at which the distance
// to one edge or corner is t.
type face struct {
	seg segment
	// A plane: n·q − t = e. A cone about at: |q − at| = r + s·t, where s is 1 if
	// the material lies outside the arc (a corner is an arc of no radius), or −1.
	plane bool
	n, at r2.Vec
	e, r  float64
	s     float64
}

// segment bounds where an edge is: within the radius rad about mid.
type segment struct {
	mid r2.Vec
	rad float64
}

func newChamfer(r profile.Region, dist *outline, c float64) *chamfer {
	k := &chamfer{dist: dist, c: c}
	for _, l := range r {
		before := l.Edge(len(l) - 1)
		for i := range l {
			e := l.Edge(i)
			m, _ := e.At(0.5)
			seg := segment{m, max(r2.Norm(r2.Sub(e.A, m)), r2.Norm(r2.Sub(e.B, m)))}
			if e.IsLine() {
				d := r2.Sub(e.B, e.A)
				n := r2.Scale(1/r2.Norm(d), r2.Vec{X: -d.Y, Y: d.X})
				k.faces = append(k.faces, face{seg: seg, plane: true, n: n, e: r2.Dot(n, e.A)})
			} else {
				at, rad, _, sweep := e.Arc()
				k.faces = append(k.faces, face{seg: seg, at: at, r: rad, s: math.Copysign(1, -sweep)})
			}
			_, in := before.At(1)
			_, out := e.At(0)
			if r2.Cross(in, out) < 1e-9 && r2.Dot(in, out) < 1-1e-12 {
				k.faces = append(k.faces, face{seg: segment{e.A, 0}, at: e.A, s: 1})
			}
			before = e
		}
	}
	return k
}

// depth is the distance from q to the face's edge, or its continuation, towards the
// material.
func (f *face) depth(q r2.Vec) float64 {
	if f.plane {
		return r2.Dot(f.n, q) - f.e
	}
	return f.s * (r2.Norm(r2.Sub(q, f.at)) - f.r)
}

// query is a search for the nearest point to (p, w) with t between 0 and c.
type query struct {
	*chamfer
	p    r2.Vec
	w    float64
	best float64
}

// inBody is how far in mm a candidate may lie off the body.
const inBody = 1e-10

// distance returns the distance from (p, w), where w is the height over the foot
// of the chamfer and u the signed distance of p to the region. It is exact outside.
// Inside it is negative, and no more is said.
func (k *chamfer) distance(p r2.Vec, u, w float64) float64 {
	low := slope(u, w-k.c, k.c)
	if low <= 0 || w <= 0 || w <= u || u <= -k.c {
		return low // inside, or beside a wall, or above what is left of the face
	}
	// What the way to the nearest edge leads to is the nearest if it is there.
	at := k.dist.f.Nearest(p)
	in := r2.Scale(-1, at.Normal)
	if math.Abs(u) > 1e-9 {
		in = r2.Scale(-1/u, r2.Sub(p, at.Foot))
	}
	t := max(0, min(k.c, (w-u)/2))
	s := query{chamfer: k, p: p, w: w, best: math.Inf(1)}
	if s.try(r2.Add(at.Foot, r2.Scale(t, in)), t); s.best <= low+inBody {
		return low
	}
	s.best = min(s.best, math.Hypot(max(u, 0), w)) // the foot of the chamfer
	s.search()
	return max(low, s.best)
}

// try counts a candidate. One that is a hair outside the body is as good as the
// nearest that is not.
func (s *query) try(q r2.Vec, t float64) {
	if !(t >= -inBody && t <= s.c+inBody) {
		return
	}
	if d := math.Hypot(r2.Norm(r2.Sub(q, s.p)), s.w-t); d < s.best && s.dist.signed(q) <= -t+inBody {
		s.best = d
	}
}

// bound is less than the distance to what the edge of a face is nearest to.
func (s *query) bound(f *face) float64 {
	a := f.depth(s.p)
	t := max(0, min(s.c, (a+s.w)/2))
	low := math.Hypot(t-a, s.w-t)
	// The way to the edge is no longer than that to the point and on to the edge.
	away := r2.Norm(r2.Sub(s.p, f.seg.mid)) - f.seg.rad
	t = min(s.c, max((away+s.w)/2, s.w))
	return max(low, math.Hypot(max(0, away-t), s.w-t))
}

func (s *query) search() {
	type near struct {
		*face
		low float64
	}
	var buf [24]near
	fs := buf[:0]
	for i := range s.faces {
		f := &s.faces[i]
		if low := s.bound(f); low < s.best {
			fs = append(fs, near{f, low})
			s.foot(f)
		}
	}
	for i, f := range fs {
		for _, g := range fs[:i] {
			if max(f.low, g.low) < s.best {
				s.ridge(f.face, g.face)
			}
		}
	}
	lid := plane3{n: r3.Vec{Z: 1}, e: s.c}
	for i, f := range fs {
		for j, g := range fs[:i] {
			if max(f.low, g.low) >= s.best {
				continue
			}
			s.meet(f.face, g.face, nil, lid)
			for _, h := range fs[:j] {
				if h.low < s.best {
					s.meet(f.face, g.face, h.face, plane3{})
				}
			}
		}
	}
}

// foot tries the nearest point of a face.
func (s *query) foot(f *face) {
	a := f.depth(s.p)
	t := max(0, min(s.c, (a+s.w)/2))
	way := f.n
	if !f.plane {
		d := r2.Sub(s.p, f.at)
		if f.s < 0 {
			s.try(f.at, f.r) // the tip
		}
		l := r2.Norm(d)
		if l == 0 {
			d, l = r2.Vec{X: 1}, 1 // all ways are alike
		}
		way = r2.Scale(f.s/l, d)
	}
	s.try(r2.Add(s.p, r2.Scale(t-a, way)), t)
}

// plane3 is n·(q, t) = e.
type plane3 struct {
	n r3.Vec
	e float64
}

// shared returns the plane that holds the points that belong to both faces, about
// the origin o. For a plane and a cone it is the plane; else the difference of
// the equations, squared for cones: 2q·(b−a) − 2t(r₁s₁−r₂s₂) = r₁²−r₂²+b²−a².
func shared(f, g *face, o r2.Vec) plane3 {
	if g.plane {
		f, g = g, f
	}
	if f.plane {
		return plane3{r3.Vec{X: f.n.X, Y: f.n.Y, Z: -1}, f.e - r2.Dot(f.n, o)}
	}
	a, b := r2.Sub(f.at, o), r2.Sub(g.at, o)
	n := r3.Vec{X: 2 * (b.X - a.X), Y: 2 * (b.Y - a.Y), Z: 2 * (g.r*g.s - f.r*f.s)}
	e := (f.r-g.r)*(f.r+g.r) + r2.Dot(r2.Sub(b, a), r2.Add(b, a))
	l := r3.Norm(n)
	if l == 0 {
		return plane3{}
	}
	return plane3{r3.Scale(1/l, n), e / l}
}

// line is where two planes meet; ok is false if they are parallel.
func line(a, b plane3) (o, d r3.Vec, ok bool) {
	d = r3.Cross(a.n, b.n)
	l2 := r3.Norm2(d)
	if !(l2 > 1e-24*r3.Norm2(a.n)*r3.Norm2(b.n)) {
		return o, d, false
	}
	o = r3.Scale(1/l2, r3.Add(r3.Scale(a.e, r3.Cross(b.n, d)), r3.Scale(b.e, r3.Cross(d, a.n))))
	return o, d, true
}

// ridge tries the nearest points of the curve in which two faces meet.
func (s *query) ridge(f, g *face) {
	if f.plane && g.plane {
		a, b := shared(f, f, s.p), shared(g, g, s.p)
		if o, d, ok := line(a, b); ok {
			x := r3.Scale(r3.Dot(d, r3.Sub(r3.Vec{Z: s.w}, o))/r3.Norm2(d), d)
			x = r3.Add(o, x)
			s.try(r2.Add(s.p, r2.Vec{X: x.X, Y: x.Y}), x.Z)
		}
		return
	}
	if f.plane || !g.plane && g.r < f.r {
		f, g = g, f // f is a cone, the smaller
	}
	pl := shared(f, g, f.at)
	// The point of the curve in the direction a from the cone's axis.
	point := func(a float64) (q r2.Vec, t float64) {
		sin, cos := math.Sincos(a)
		k := pl.n.X*cos + pl.n.Y*sin
		t = (pl.e - f.r*k) / (f.s*k + pl.n.Z)
		l := f.r + f.s*t
		return r2.Vec{X: f.at.X + l*cos, Y: f.at.Y + l*sin}, t
	}
	off := func(a float64) float64 {
		q, t := point(a)
		if d := r2.Norm2(r2.Sub(q, s.p)) + (s.w-t)*(s.w-t); d == d {
			return d
		}
		return math.Inf(1)
	}
	// Directions in which the curve may be near enough.
	d := r2.Sub(s.p, f.at)
	mid, half := math.Atan2(d.Y, d.X), math.Pi
	if l := r2.Norm(d); l > s.best {
		half = math.Asin(s.best/l) + 1e-9
	}
	const n = 48
	step := 2 * half / n
	a, b, c := off(mid-half-step), off(mid-half), 0.0
	for i := range n + 1 {
		x := mid - half + float64(i)*step
		c = off(x + step)
		if b <= a && b <= c && !math.IsInf(b, 1) {
			s.try(point(least(off, x-step, x+step)))
		}
		a, b = b, c
	}
}

// least returns where a function with one minimum between a and b has it (golden
// section).
func least(f func(float64) float64, a, b float64) float64 {
	const g = 0.6180339887498949
	x, y := b-g*(b-a), a+g*(b-a)
	fx, fy := f(x), f(y)
	for b-a > 1e-10 {
		if fx < fy {
			b, y, fy = y, x, fx
			x = b - g*(b-a)
			fx = f(x)
		} else {
			a, x, fx = x, y, fy
			y = a + g*(b-a)
			fy = f(y)
		}
	}
	return (a + b) / 2
}

// meet tries the points in which three faces meet, or two and the plane lid if h
// is nil.
func (s *query) meet(f, g, h *face, lid plane3) {
	three := [3]*face{f, g, h}
	var cone *face
	for _, x := range three {
		if x != nil && !x.plane {
			cone = x
		}
	}
	o := s.p
	if cone != nil {
		o = cone.at
	}
	var pl [3]plane3
	n := 0
	for _, x := range three {
		switch {
		case x == nil:
			pl[n] = lid
			n++
		case x.plane:
			pl[n] = shared(x, x, o)
			n++
		case x != cone:
			pl[n] = shared(cone, x, o)
			n++
		}
	}
	from, d, ok := line(pl[0], pl[1])
	if !ok {
		return
	}
	at := func(k float64) {
		x := r3.Add(from, r3.Scale(k, d))
		s.try(r2.Add(o, r2.Vec{X: x.X, Y: x.Y}), x.Z)
	}
	if cone == nil {
		if k := r3.Dot(pl[2].n, d); k != 0 {
			at((pl[2].e - r3.Dot(pl[2].n, from)) / k)
		}
		return
	}
	// |q|² = (r + s·t)² along the line.
	l := cone.r + cone.s*from.Z
	qa := d.X*d.X + d.Y*d.Y - d.Z*d.Z
	qb := from.X*d.X + from.Y*d.Y - l*cone.s*d.Z
	qc := from.X*from.X + from.Y*from.Y - l*l
	disc := max(0, qb*qb-qa*qc) // a touch may round to less
	root := -(qb + math.Copysign(math.Sqrt(disc), qb))
	if qa != 0 {
		at(root / qa)
	}
	if root != 0 {
		at(qc / root)
	}
}
