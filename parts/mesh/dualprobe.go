package mesh

import (
	"math"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// rootWithin is how near to the surface a lattice edge's crossing is found, in
// cells.
const rootWithin = 1e-5

// prober evaluates the field for one goroutine, counts, and keeps the first error.
type prober struct {
	g     *lattice
	evals int64
	err   error
}

// eval returns the field at any point; after an error it returns 1.
func (s *prober) eval(p r3.Vec) float64 {
	s.evals++
	v := s.g.field.Evaluate(sdf.V3(p))
	if v-v != 0 {
		if s.err == nil {
			s.err = s.g.undefined(v, p)
		}
		return 1
	}
	return v
}

// gradient returns the forward difference quotient of the field at p, where
// its value is f.
func (s *prober) gradient(p r3.Vec, f float64) r3.Vec {
	h := 1e-4 * s.g.cell
	return r3.Vec{
		X: (s.eval(r3.Vec{X: p.X + h, Y: p.Y, Z: p.Z}) - f) / h,
		Y: (s.eval(r3.Vec{X: p.X, Y: p.Y + h, Z: p.Z}) - f) / h,
		Z: (s.eval(r3.Vec{X: p.X, Y: p.Y, Z: p.Z + h}) - f) / h,
	}
}

// root finds the zero of the field between a and b, where it is fa and fb of
// different sign: by false position with halving (the Illinois rule), its
// second step along the parabola through the ends and the first point. It
// returns the point and the value there.
func (s *prober) root(a, b r3.Vec, fa, fb float64) (p r3.Vec, f float64) {
	tol := rootWithin * s.g.cell * s.g.lip
	way := r3.Sub(b, a)
	lo, hi := 0.0, 1.0
	fl, fh := fa, fb
	side := 0
	t := 0.0
	for n := range 60 {
		x := 0.5 * (lo + hi)
		if fl != fh {
			x = min(max(lo+(hi-lo)*fl/(fl-fh), lo), hi)
		}
		if n == 1 {
			// The parabola is fa + y·(fb−fa) + y·(y−1)·bend; Newton's steps on it.
			bend := (f - fa - t*(fb-fa)) / (t * (t - 1))
			y := t
			for range 3 {
				y -= (fa + y*(fb-fa) + y*(y-1)*bend) / (fb - fa + (2*y-1)*bend)
			}
			if y > lo && y < hi {
				x = y
			}
		}
		t = x
		p = r3.Add(a, r3.Scale(t, way))
		f = s.eval(p)
		if math.Abs(f) <= tol || hi-lo < 1e-9 {
			break
		}
		if (f < 0) == (fa < 0) {
			lo, fl = t, f
			if side == 1 {
				fh /= 2
			}
			side = 1
		} else {
			hi, fh = t, f
			if side == -1 {
				fl /= 2
			}
			side = -1
		}
	}
	return p, f
}

// steepest reports whether the field, f at p, rises along the unit vector n as
// fast as the Lipschitz bound allows: its gradient is then n times the bound,
// to a thousandth, for along any other the rise is the cosine's.
func (s *prober) steepest(p r3.Vec, f float64, n r3.Vec) bool {
	h := 1e-4 * s.g.cell
	return s.eval(r3.Add(p, r3.Scale(h, n)))-f >= h*s.g.lip*(1-1e-6)
}

// meet returns where the surface passes between a and b, where the field is fa
// and fb of different sign. guess is a unit vector that may be the normal, or zero.
func (s *prober) meet(a, b r3.Vec, fa, fb float64, guess r3.Vec) hermite {
	if s.err == nil && s.g.tooSteep(a, b, fa, fb) {
		s.err = s.g.steep(a, b, fa, fb)
	}
	p, f := s.root(a, b, fa, fb)
	if guess != (r3.Vec{}) && s.steepest(p, f, guess) {
		return hermite{p, guess}
	}
	h := hermite{p: p}
	if g := s.gradient(p, f); r3.Norm2(g) > 0 {
		h.n = r3.Unit(g)
	}
	return h
}

// fit places the vertex of one sheet in the cell with low corner lo, from the
// points and normals where the sheet meets the cell's edges: it minimises the
// squared distances from the planes there. Where that is not on the surface,
// as on a fillet smaller than the cell, the vertex is moved onto it.
//
// An edge or corner of the solid that the lattice resolves poorly may lie up
// to a cell beyond the wall that holds the vertex back. With free set, the
// vertex goes there if the planes agree on it and it is on the surface; loose
// is then true, and the caller must see to crossings.
func (s *prober) fit(lo r3.Vec, at []hermite, free bool) (p r3.Vec, loose bool) {
	var mean, normal r3.Vec
	for _, h := range at {
		mean = r3.Add(mean, h.p)
		normal = r3.Add(normal, h.n)
	}
	mean = r3.Scale(1/float64(len(at)), mean)
	x, e, held := minimise(at, r3.Sub(mean, lo), lo, s.g.cell, cellMargin, 1-cellMargin)
	tol := surfaceWithin / 2 * s.g.cell * s.g.lip
	if free && held && e > 1e-6 {
		if y, ey, _ := minimise(at, r3.Sub(mean, lo), lo, s.g.cell, -1, 2); ey < e/10 {
			if p := r3.Add(lo, r3.Scale(s.g.cell, y)); math.Abs(s.eval(p)) <= tol {
				return p, true
			}
		}
	}
	best := s.g.clamp(lo, r3.Add(lo, r3.Scale(s.g.cell, x)))
	fBest := s.eval(best)
	for try := 0; try < 4 && math.Abs(fBest) > tol; try++ {
		// First along the mean normal, which costs no evaluation.
		g := r3.Scale(s.g.lip/math.Sqrt(r3.Norm2(normal)), normal)
		if try > 0 {
			g = s.gradient(best, fBest)
		}
		g2 := r3.Norm2(g)
		if !(g2 > 0) {
			continue
		}
		p := s.g.clamp(lo, r3.Sub(best, r3.Scale(fBest/g2, g)))
		f := s.eval(p)
		if math.Abs(f) >= math.Abs(fBest) && try > 0 {
			break
		}
		if math.Abs(f) < math.Abs(fBest) {
			best, fBest = p, f
		}
	}
	return best, false
}
