package solid

import (
	"math"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// BoreWall is the thinnest wall between a bore and another surface.
type BoreWall struct {
	Width float64 // mm
	P, Q  sdf.V3  // on the bore and on the other surface
	End   bool    // whether P is on a flat end of the bore
	Other int     // the bore on the other side, −1 if it is the solid's own surface
	Tag   int32   // of the edge at Q, 0 on a chamfer and on a face along the layers
}

const (
	wallCell = 0.5  // mm between the places at which walls around bores are looked for
	rimCell  = 0.05 // mm, the same where it ends or meets a surface
	wallStep = 1e-7 // mm, to which the thinnest is refined
)

// BoreWall returns the thinnest wall, below limit mm, between the bore with index
// i and the nearest other surface of the solid with all bores cut: along the
// normal of the bore, or of its flat ends, to the surface that faces it within
// profile.MaxWedge, or to an edge of the other surface that comes nearest. Edges
// where a bore meets a surface are no walls, unless the wedge between the two is
// sharper than that. Chamfers count. What
// faces it over less than 0.1 mm may be overlooked. ok is false without such a wall.
func (l *Layered) BoreWall(bores []Bore, i int, limit float64) (w BoreWall, ok bool) {
	s := &boreSearch{l: l, i: i, best: BoreWall{Width: limit, Other: -1}}
	for _, b := range bores {
		s.bores = append(s.bores, newTube(b))
	}
	s.seeds()
	s.rims()
	s.lattice()
	if !s.found {
		return s.best, false
	}
	s.name()
	return s.best, true
}

// tube is a bore with its frame: x along the axis, y in the plane, z up from it.
type tube struct {
	from  r2.Vec
	along r2.Vec
	z     float64
	l, r  float64
}

func newTube(b Bore) tube {
	way := r2.Sub(b.To, b.From)
	return tube{b.From, r2.Unit(way), b.Z, r2.Norm(way), b.Diameter / 2}
}

func (t *tube) vector(x, y, z float64) sdf.V3 {
	return sdf.V3{X: x*t.along.X - y*t.along.Y, Y: x*t.along.Y + y*t.along.X, Z: z}
}

func (t *tube) point(x, y, z float64) sdf.V3 {
	return t.vector(x, y, z).Add(sdf.V3{X: t.from.X, Y: t.from.Y, Z: t.z})
}

// distance is the signed distance to the tube's surface, mm, negative inside.
func (t *tube) distance(p sdf.V3) float64 {
	d := r2.Sub(r2.Vec{X: p.X, Y: p.Y}, t.from)
	x := r2.Dot(d, t.along)
	side := math.Hypot(r2.Cross(t.along, d), p.Z-t.z) - t.r
	end := max(-x, x-t.l)
	if side > 0 && end > 0 {
		return math.Hypot(side, end)
	}
	return max(side, end)
}

// place is a place on a bore: on its surface rolled out, (along, around), or on a
// flat end, (y, z), all mm.
type place struct {
	face int // 0 around, 1 and 2 the ends
	a, b float64
}

func (p place) moved(da, db float64) place { return place{p.face, p.a + da, p.b + db} }

// at returns a place with the normal there, into the material around; ok is false
// outside the face.
func (t *tube) at(p place) (at, dir sdf.V3, ok bool) {
	switch p.face {
	case 0:
		sin, cos := math.Sincos(p.b / t.r)
		return t.point(p.a, t.r*cos, t.r*sin), t.vector(0, cos, sin), p.a >= 0 && p.a <= t.l
	case 1:
		return t.point(0, p.a, p.b), t.vector(-1, 0, 0), math.Hypot(p.a, p.b) <= t.r
	}
	return t.point(t.l, p.a, p.b), t.vector(1, 0, 0), math.Hypot(p.a, p.b) <= t.r
}

// facing returns the place of a bore that a point in its frame lies over.
func (t *tube) facing(x, y, z float64) (place, bool) {
	far := math.Hypot(y, z)
	switch {
	case x >= 0 && x <= t.l:
		return place{0, x, t.r * math.Atan2(z, y)}, far > t.r
	case x < 0:
		return place{1, y, z}, far <= t.r
	}
	return place{2, y, z}, far <= t.r
}

// boreSearch is a search for the thinnest wall around a bore.
type boreSearch struct {
	l     *Layered
	bores []tube
	i     int
	best  BoreWall
	found bool
}

// material is the signed distance to the solid without the bore in question: the
// distance itself inside, by the construction of Difference.
func (s *boreSearch) material(p sdf.V3) float64 {
	d := s.l.Evaluate(p)
	for i := range s.bores {
		if i != s.i {
			d = max(d, -s.bores[i].distance(p))
		}
	}
	return d
}

// ray is the way from a place on a bore through material to the next surface.
type ray struct {
	p, q   sdf.V3
	width  float64
	facing bool // the surface at q faces the bore
}

// ray follows a ray; ok is false outside the bore's face, where there is no
// material, or where it goes on beyond limit.
func (s *boreSearch) ray(at place, limit float64) (r ray, ok bool) {
	p, dir, ok := s.bores[s.i].at(at)
	if !ok {
		return r, false
	}
	const (
		most = 60   // steps; a ray that needs more runs along a surface
		on   = 1e-9 // mm
		h    = 1e-5 // mm
	)
	field := func(u float64) float64 { return s.material(p.Add(dir.MulScalar(u))) }
	u := 10 * profile.Tol
	d := field(u)
	if d >= -on {
		return r, false
	}
	for k := 0; d < -on; k++ {
		if u -= d; u > limit || k == most {
			return r, false
		}
		d = field(u)
	}
	slope := (field(u+h) - field(u-h)) / (2 * h)
	return ray{p, p.Add(dir.MulScalar(u)), u, slope >= math.Cos(profile.MaxWedge)}, true
}

// seeds looks at all places over which the other surfaces may come nearest: over
// points of the edges of all slabs, over what crosses the axis, over other bores.
func (s *boreSearch) seeds() {
	own := &s.bores[s.i]
	into := profile.Rigid(0, r2.Scale(-1, own.from)).Then(profile.Rigid(-math.Atan2(own.along.Y, own.along.X), r2.Vec{}))
	over := func(x, y, z float64) {
		if p, ok := own.facing(x, y, z); ok {
			s.descend(p, 0.01)
		}
	}
	ends := []float64{0, own.l}
	cross := []float64{0, own.l} // where edges cross the axis
	for i := range s.l.bodies {
		b := &s.l.bodies[i]
		see := func(p r2.Vec) {
			for _, z := range [3]float64{b.Z0, min(max(own.z, b.Z0), b.Z1), b.Z1} {
				over(p.X, p.Y, z-own.z)
			}
		}
		b.region.Transform(into).Edges(func(_, _ int, e profile.Edge) {
			see(e.A)
			across := profile.Rigid(math.Pi/2, r2.Vec{}) // so that x takes the place of y
			turned := profile.Edge{A: across.Apply(e.A), B: across.Apply(e.B), Bulge: e.Bulge}
			for _, p := range crossings(e, 0) {
				see(p)
				cross = append(cross, p.X)
			}
			for _, x := range ends {
				for _, p := range crossings(turned, x) {
					see(across.Inverse().Apply(p))
				}
			}
			if !e.IsLine() {
				c, r, start, sweep := e.Arc()
				for _, side := range [2]float64{-1, 1} {
					if passes(side*math.Pi/2, start, sweep) {
						see(r2.Vec{X: c.X, Y: c.Y + side*r})
					}
				}
			}
		})
	}
	for k := range s.bores {
		if k == s.i {
			continue
		}
		o := &s.bores[k]
		a, b := into.Apply(o.from), into.Apply(r2.Add(o.from, r2.Scale(o.l, o.along)))
		axis := profile.Edge{A: a, B: b}
		points := []r2.Vec{a, b, r2.Scale(0.5, r2.Add(a, b))}
		points = append(points, crossings(axis, 0)...)
		for _, p := range points {
			over(p.X, p.Y, o.z-own.z)
			cross = append(cross, p.X)
		}
		const around = 64
		for j := range around { // the edges of its ends
			sin, cos := math.Sincos(2 * math.Pi * float64(j) / around)
			for _, x := range [2]float64{0, o.l} {
				q := o.point(x, o.r*cos, o.r*sin)
				p := into.Apply(r2.Vec{X: q.X, Y: q.Y})
				over(p.X, p.Y, q.Z-own.z)
			}
		}
	}
	cross = distinct(cross)
	for k := range cross[1:] {
		x := (cross[k] + cross[k+1]) / 2
		over(x, 0, 2*own.r)
		over(x, 0, -2*own.r)
	}
}

// crossings returns the points of an edge at the given y.
func crossings(e profile.Edge, y float64) []r2.Vec {
	var out []r2.Vec
	if e.IsLine() {
		if (e.A.Y-y)*(e.B.Y-y) < 0 {
			t := (y - e.A.Y) / (e.B.Y - e.A.Y)
			out = append(out, r2.Vec{X: e.A.X + t*(e.B.X-e.A.X), Y: y})
		}
		return out
	}
	c, r, start, sweep := e.Arc()
	if h := (y - c.Y) / r; math.Abs(h) < 1 {
		for _, angle := range [2]float64{math.Asin(h), math.Pi - math.Asin(h)} {
			if passes(angle, start, sweep) {
				out = append(out, r2.Vec{X: c.X + r*math.Cos(angle), Y: y})
			}
		}
	}
	return out
}

// lattice looks at places all over the bore, from which walls that close like
// wedges are followed.
func (s *boreSearch) lattice() {
	own := &s.bores[s.i]
	for face, size := range [3][4]float64{
		{0, own.l, 0, 2 * math.Pi * own.r}, {-own.r, own.r, -own.r, own.r}, {-own.r, own.r, -own.r, own.r},
	} {
		na, nb := max(3, math.Ceil((size[1]-size[0])/wallCell)), max(8, math.Ceil((size[3]-size[2])/wallCell))
		da, db := (size[1]-size[0])/na, (size[3]-size[2])/nb
		for i := range int(na) {
			for j := range int(nb) {
				s.cell(place{face, size[0] + (float64(i)+0.5)*da, size[2] + (float64(j)+0.5)*db}, da/2, db/2)
			}
		}
	}
}

// rims looks along the ends of the bore's round face, where walls that close like
// wedges are thinnest.
func (s *boreSearch) rims() {
	own := &s.bores[s.i]
	round := 2 * math.Pi * own.r
	n := math.Ceil(round / rimCell)
	for _, a := range [2]float64{0, own.l} {
		for k := range int(n) {
			p := place{0, a, float64(k) * round / n}
			if r, ok := s.ray(p, s.best.Width); ok && r.facing {
				s.descend(p, rimCell)
			}
		}
	}
}

// cell looks at a place and, where the bore meets a surface within (±ha, ±hb) mm of
// it, closer and closer: there knife edges may be.
func (s *boreSearch) cell(p place, ha, hb float64) {
	h := max(ha, hb)
	if r, ok := s.ray(p, s.best.Width+2*h*math.Tan(profile.MaxWedge)); ok && r.facing {
		s.descend(p, h)
	}
	at, _, _ := s.bores[s.i].at(p)
	if h < rimCell || math.Abs(s.material(at)) > math.Hypot(ha, hb) {
		return
	}
	for _, a := range [2]float64{-ha / 2, ha / 2} {
		for _, b := range [2]float64{-hb / 2, hb / 2} {
			s.cell(p.moved(a, b), ha/2, hb/2)
		}
	}
}

// descend goes from a place in steps of h mm and less to the least width near it.
func (s *boreSearch) descend(p place, h float64) {
	const (
		close = 0.01 // mm: steps from which on only what gets below the best is followed
		open  = 1e-4 // mm: an edge of the other surface that is no farther ends in the bore
	)
	r, ok := s.ray(p, s.best.Width+2*h)
	if !ok {
		return
	}
	bound := r.facing // then only walls that face each other are compared
	for ; h > wallStep; h /= 2 {
		for moved := true; moved; {
			moved = false
			for _, d := range [8][2]float64{{h, 0}, {-h, 0}, {0, h}, {0, -h}, {h, h}, {-h, -h}, {h, -h}, {-h, h}} {
				q := p.moved(d[0], d[1])
				if n, ok := s.ray(q, r.width); ok && n.width < r.width-wallStep && (n.facing || !bound) {
					r, p, moved = n, q, true
				}
			}
		}
		if r.width > s.best.Width+h || h < close && r.width >= s.best.Width-wallStep || !bound && r.width < open {
			return
		}
	}
	if bound || s.nearest(p, r.width) {
		s.best.Width, s.best.P, s.best.Q, s.best.End, s.found = r.width, r.p, r.q, p.face > 0, true
	}
}

// nearest reports whether material begins all around a place and no wall there is
// thinner: then the other surface has an edge there that points to the bore.
func (s *boreSearch) nearest(p place, width float64) bool {
	const h = 1e-3 // mm
	for k := range 8 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 4)
		q := p.moved(h*cos, h*sin)
		at, dir, ok := s.bores[s.i].at(q)
		if !ok || s.material(at.Add(dir.MulScalar(10*profile.Tol))) >= 0 {
			return false
		}
		if n, ok := s.ray(q, width); ok && n.width < width-10*wallStep {
			return false
		}
	}
	return true
}

// name finds what is on the other side of the best wall.
func (s *boreSearch) name() {
	const on = 1e-5 // mm
	q := s.best.Q
	for i := range s.bores {
		if i != s.i && math.Abs(s.bores[i].distance(q)) < on {
			s.best.Other = i
			return
		}
	}
	for i := range s.l.bodies {
		b := &s.l.bodies[i]
		if q.Z > b.Z0-on && q.Z < b.Z1+on {
			if n := b.dist.f.Nearest(r2.Vec{X: q.X, Y: q.Y}); math.Abs(n.Distance) < on {
				s.best.Tag = n.Tag
				return
			}
		}
	}
}
