package profile

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// seg is an edge that sweeps at most half a turn, in the form all computing is
// done in: ends, end tangents and curvature. No centre is stored, so a line is
// the arc of curvature 0 and a nearly flat arc loses no digits.
//
// The implicit curve through a seg is
//
//	g(p) = k/2·|p−a|² − ta×(p−a)
//
// which is zero on it, negative to its left and has a unit gradient on it. The
// signed distance to the whole line or circle follows without a centre:
// d = 2g / (1 + √(1+2kg)).
type seg struct {
	a, b   r2.Vec
	ta, tb r2.Vec  // unit tangents at the ends
	k      float64 // curvature, 1/mm, positive when turning left
	sweep  float64 // signed turn, rad
}

// newSeg makes a seg of one edge; |bulge| ≤ 1 is needed for distances.
func newSeg(a, b r2.Vec, bulge float64) seg {
	dx, dy := b.X-a.X, b.Y-a.Y
	l := math.Sqrt(dx*dx + dy*dy)
	if l == 0 {
		return seg{a: a, b: b, ta: r2.Vec{X: 1}, tb: r2.Vec{X: 1}}
	}
	ux, uy := dx/l, dy/l
	if bulge == 0 {
		t := r2.Vec{X: ux, Y: uy}
		return seg{a: a, b: b, ta: t, tb: t}
	}
	// The tangents stand half the sweep off the chord.
	q := 1 + bulge*bulge
	sn, cs := 2*bulge/q, (1-bulge*bulge)/q
	return seg{
		a: a, b: b,
		ta:    r2.Vec{X: ux*cs + uy*sn, Y: uy*cs - ux*sn},
		tb:    r2.Vec{X: ux*cs - uy*sn, Y: uy*cs + ux*sn},
		k:     2 * sn / l,
		sweep: 4 * math.Atan(bulge),
	}
}

// segs returns the edge as one seg, or as two halves if it sweeps over half a turn.
func (e Edge) segs() []seg {
	if math.Abs(e.Bulge) <= 1 {
		return []seg{newSeg(e.A, e.B, e.Bulge)}
	}
	m, b := e.halve()
	return []seg{newSeg(e.A, m, b), newSeg(m, e.B, b)}
}

// halve returns the middle of the edge and the bulge of either half.
func (e Edge) halve() (mid r2.Vec, bulge float64) {
	// The sagitta is bulge/2 chords to the right of the chord.
	mid = r2.Vec{
		X: 0.5*(e.A.X+e.B.X) + 0.5*e.Bulge*(e.B.Y-e.A.Y),
		Y: 0.5*(e.A.Y+e.B.Y) - 0.5*e.Bulge*(e.B.X-e.A.X),
	}
	return mid, e.Bulge / (1 + math.Sqrt(1+e.Bulge*e.Bulge))
}

func (s *seg) reversed() seg {
	return seg{a: s.b, b: s.a, ta: neg(s.tb), tb: neg(s.ta), k: -s.k, sweep: -s.sweep}
}

func (s *seg) chord() float64 { return dist(s.a, s.b) }

func (s *seg) length() float64 {
	return s.chord() / sinc(s.sweep/2)
}

// at returns the point at fraction t of the length.
func (s *seg) at(t float64) r2.Vec {
	switch {
	case t <= 0:
		return s.a
	case t >= 1:
		return s.b
	case s.sweep == 0:
		return r2.Vec{X: s.a.X + t*(s.b.X-s.a.X), Y: s.a.Y + t*(s.b.Y-s.a.Y)}
	}
	// The chord of the first part, seen from a.
	h := 0.5 * s.sweep * t
	l := s.length() * t * sinc(h)
	sn, cs := math.Sincos(h)
	return r2.Vec{
		X: s.a.X + l*(s.ta.X*cs-s.ta.Y*sn),
		Y: s.a.Y + l*(s.ta.Y*cs+s.ta.X*sn),
	}
}

func (s *seg) mid() r2.Vec {
	b := math.Tan(s.sweep / 4)
	m, _ := Edge{A: s.a, B: s.b, Bulge: b}.halve()
	return m
}

func (s *seg) tangent(t float64) r2.Vec {
	if s.sweep == 0 {
		return s.ta
	}
	return rot(s.ta, s.sweep*t)
}

// param returns the fraction of the length at a point on the seg.
func (s *seg) param(p r2.Vec) float64 {
	ux, uy := p.X-s.a.X, p.Y-s.a.Y
	if s.sweep == 0 {
		dx, dy := s.b.X-s.a.X, s.b.Y-s.a.Y
		return (ux*dx + uy*dy) / (dx*dx + dy*dy)
	}
	// The turn of the tangent is good to rounding even where p is off the curve by
	// as much as it is away from a, which the direction a→p is not.
	tx, ty := s.ta.X-s.k*uy, s.ta.Y+s.k*ux
	turn := math.Atan2(s.ta.X*ty-s.ta.Y*tx, s.ta.X*tx+s.ta.Y*ty) / s.sweep
	if turn < 0 && math.Abs(turn*s.sweep) > math.Pi/2 {
		turn += 2 * math.Pi / math.Abs(s.sweep) // past half a turn
	}
	return turn
}

// implicit evaluates g.
func (s *seg) implicit(p r2.Vec) float64 {
	ux, uy := p.X-s.a.X, p.Y-s.a.Y
	return 0.5*s.k*(ux*ux+uy*uy) - (s.ta.X*uy - s.ta.Y*ux)
}

// beside reports whether the foot of p lies between the ends. The normals at the
// ends bound the sector of an arc up to half a turn, and the strip of a line.
func (s *seg) beside(p r2.Vec) bool {
	return s.ta.X*(p.X-s.a.X)+s.ta.Y*(p.Y-s.a.Y) >= 0 &&
		s.tb.X*(p.X-s.b.X)+s.tb.Y*(p.Y-s.b.Y) <= 0
}

// dist returns the distance from p.
func (s *seg) dist(p r2.Vec) float64 {
	if !s.beside(p) {
		return math.Sqrt(math.Min(dist2(p, s.a), dist2(p, s.b)))
	}
	g := s.implicit(p)
	if s.k == 0 {
		return math.Abs(g)
	}
	// g = (m²−1)/2k, where m is how far p is from the centre, in radii.
	return math.Abs(2 * g / (1 + math.Sqrt(r2.Norm2(s.gradient(p)))))
}

// gradient returns that of g: its length is 1 on the curve, and on a circle the
// distance from the centre in radii. √(1+2kg) would be the same, but near the centre
// good to half the digits only.
func (s *seg) gradient(p r2.Vec) r2.Vec {
	return r2.Vec{X: s.ta.Y + s.k*(p.X-s.a.X), Y: -s.ta.X + s.k*(p.Y-s.a.Y)}
}

// foot returns the point of the seg nearest to p.
func (s *seg) foot(p r2.Vec) r2.Vec {
	if !s.beside(p) {
		if dist2(p, s.a) <= dist2(p, s.b) {
			return s.a
		}
		return s.b
	}
	g, n := s.implicit(p), s.gradient(p)
	m := math.Sqrt(r2.Norm2(n))
	if m < 1e-14 { // at the centre every point is nearest
		return s.mid()
	}
	return r2.Sub(p, r2.Scale(2*g/(1+m)/m, n))
}

// box returns exact bounds.
func (s *seg) box() (lo, hi r2.Vec) {
	lo, hi = minVec(s.a, s.b), maxVec(s.a, s.b)
	if s.sweep == 0 {
		return lo, hi
	}
	// Over half a turn at most, a coordinate has at most one extreme: where its
	// component of the tangent changes sign.
	if s.ta.X*s.tb.X < 0 {
		x := s.a.X + s.rise(s.ta.X, s.ta.Y)
		lo.X, hi.X = math.Min(lo.X, x), math.Max(hi.X, x)
	}
	if s.ta.Y*s.tb.Y < 0 {
		y := s.a.Y + s.rise(s.ta.Y, -s.ta.X)
		lo.Y, hi.Y = math.Min(lo.Y, y), math.Max(hi.Y, y)
	}
	return lo, hi
}

// rise returns how far the coordinate whose tangent component is u still goes
// before it turns; v is the component along which the left normal points back.
func (s *seg) rise(u, v float64) float64 {
	r := math.Copysign(1/s.k, u)
	v = math.Copysign(v, v*u*s.k)
	if v > 0 { // 1−v without cancellation
		return r * u * u / (1 + v)
	}
	return r * (1 - v)
}

// about returns g as h·|d|² + w·d + c in d = p − o.
func (s *seg) about(o r2.Vec) (h float64, w r2.Vec, c float64) {
	h = 0.5 * s.k
	dx, dy := s.a.X-o.X, s.a.Y-o.Y
	nx, ny := s.ta.Y, -s.ta.X
	return h, r2.Vec{X: nx - s.k*dx, Y: ny - s.k*dy}, h*(dx*dx+dy*dy) - (nx*dx + ny*dy)
}

// meet returns up to two points common to the full curves of p and q, not
// trimmed to the segs. Curves that touch, pass within tol, or cross twice and
// stay within tol between, give the one point halfway. Coincident curves give none.
func meet(p, q *seg, tol float64) (pts [2]r2.Vec, n int) {
	if math.Abs(q.k) > math.Abs(p.k) {
		p, q = q, p
	}
	return meetAbout(p, q, p.a, false, tol, 0)
}

// meetShared is meet for segs that start at the same point; that point is not
// among the results. A second common point nearer than clear, with the curves
// within tol up to there, is passed over: they touch.
func meetShared(p, q *seg, tol, clear float64) (pts [2]r2.Vec, n int) {
	if math.Abs(q.k) > math.Abs(p.k) {
		p, q = q, p
	}
	return meetAbout(p, q, p.a, true, tol, clear)
}

func meetAbout(p, q *seg, o r2.Vec, shared bool, tol, clear float64) (pts [2]r2.Vec, n int) {
	h1, w1, c1 := p.about(o)
	h2, w2, c2 := q.about(o)
	if shared {
		c1, c2 = 0, 0
	}
	// Eliminate |d|²: what is left is the common chord's line w·d + c = 0.
	w, c := w2, c2
	if h2 != 0 {
		f := h2 / h1
		w = r2.Vec{X: w2.X - f*w1.X, Y: w2.Y - f*w1.Y}
		c = c2 - f*c1
	}
	l := math.Sqrt(w.X*w.X + w.Y*w.Y)
	if l < 1e-13 {
		return pts, 0
	}
	ux, uy := -w.Y/l, w.X/l
	fx, fy := -c*w.X/(l*l), -c*w.Y/(l*l)
	b := w1.X*ux + w1.Y*uy
	cc := h1*(fx*fx+fy*fy) + w1.X*fx + w1.Y*fy + c1
	put := func(t float64) {
		pts[n] = r2.Vec{X: o.X + fx + t*ux, Y: o.Y + fy + t*uy}
		n++
	}
	if h1 == 0 {
		if math.Abs(b) > 1e-13 && !shared {
			put(-cc / b)
		}
		return pts, n
	}
	// Halfway between the common points (or where they would be) the curves lie
	// disc/4|h1| and h2/h1 times that from the chord, to the same side or to opposite ones.
	disc := b*b - 4*h1*cc
	t := -b / (2 * h1)
	fx, fy = fx+t*ux, fy+t*uy
	n1 := r2.Vec{X: w1.X + 2*h1*fx, Y: w1.Y + 2*h1*fy}
	n2 := r2.Vec{X: w2.X + 2*h2*fx, Y: w2.Y + 2*h2*fy}
	g1 := -disc / (4 * h1)
	g2 := g1 * h2 / h1
	apart := math.Abs(g1 - math.Copysign(g2, g2*(n1.X*n2.X+n1.Y*n2.Y)))
	// Only for short stretches is that the distance of the curves.
	thin := apart <= tol && math.Abs(g1*h1) < 1e-3
	if shared {
		if x := 2 * t; !thin || math.Abs(x) > clear {
			pts[0], n = r2.Vec{X: o.X + x*ux, Y: o.Y + x*uy}, 1
		}
		return pts, n
	}
	if thin {
		// Between the two curves, not on the chord.
		s1, s2 := 0.5*g1/r2.Norm2(n1), 0.5*g2/r2.Norm2(n2)
		pts[0] = r2.Vec{X: o.X + fx - s1*n1.X - s2*n2.X, Y: o.Y + fy - s1*n1.Y - s2*n2.Y}
		return pts, 1
	}
	if disc < 0 {
		return pts, 0
	}
	fx, fy = fx-t*ux, fy-t*uy
	s := -0.5 * (b + math.Copysign(math.Sqrt(disc), b))
	put(s / h1)
	if s != 0 {
		put(cc / s)
	}
	return pts, n
}

// left reports whether p is left of the chord a→b. A point on the chord is
// taken as if moved up by an infinitesimal, and right by a smaller one, which
// agrees with the half-open rule of crossings.
func left(a, b, p r2.Vec) bool {
	dx, dy := b.X-a.X, b.Y-a.Y
	o := dx*(p.Y-a.Y) - dy*(p.X-a.X)
	return o > 0 || o == 0 && (dx > 0 || dx == 0 && dy < 0)
}

// crossings returns the signed number of times the edge crosses the ray from p
// to +x: the edge's share of the winding number around p. It is the share of the
// chord, plus the turn around the circular segment that holds p.
func crossings(a, b r2.Vec, bulge float64, p r2.Vec) int {
	n := 0
	up, down := a.Y <= p.Y && p.Y < b.Y, b.Y <= p.Y && p.Y < a.Y
	if bulge == 0 {
		if up && left(a, b, p) {
			n = 1
		} else if down && !left(a, b, p) {
			n = -1
		}
		return n
	}
	lft := left(a, b, p)
	if up && lft {
		n = 1
	} else if down && !lft {
		n = -1
	}
	if lft == (bulge < 0) {
		// Inscribed angle: p is inside when it sees the chord wider than the arc does.
		ax, ay, bx, by := a.X-p.X, a.Y-p.Y, b.X-p.X, b.Y-p.Y
		o := math.Abs(ax*by - ay*bx)
		if o*(1-bulge*bulge)+2*math.Abs(bulge)*(ax*bx+ay*by) < 0 {
			if bulge > 0 {
				n++
			} else {
				n--
			}
		}
	}
	return n
}

func dist2(p, q r2.Vec) float64 {
	dx, dy := p.X-q.X, p.Y-q.Y
	return dx*dx + dy*dy
}

func dist(p, q r2.Vec) float64 { return math.Sqrt(dist2(p, q)) }

func neg(v r2.Vec) r2.Vec { return r2.Vec{X: -v.X, Y: -v.Y} }

// right is the normal to the right of a tangent: outward from material.
func right(t r2.Vec) r2.Vec { return r2.Vec{X: t.Y, Y: -t.X} }

func rot(v r2.Vec, angle float64) r2.Vec {
	sn, cs := math.Sincos(angle)
	return r2.Vec{X: v.X*cs - v.Y*sn, Y: v.X*sn + v.Y*cs}
}

func sinc(x float64) float64 {
	if math.Abs(x) < 1e-4 {
		return 1 - x*x/6
	}
	return math.Sin(x) / x
}

func minVec(a, b r2.Vec) r2.Vec { return r2.Vec{X: math.Min(a.X, b.X), Y: math.Min(a.Y, b.Y)} }
func maxVec(a, b r2.Vec) r2.Vec { return r2.Vec{X: math.Max(a.X, b.X), Y: math.Max(a.Y, b.Y)} }

func finite(v r2.Vec) bool {
	return !math.IsNaN(v.X) && !math.IsInf(v.X, 0) && !math.IsNaN(v.Y) && !math.IsInf(v.Y, 0)
}
