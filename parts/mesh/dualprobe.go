package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// prober evaluates the field for one goroutine, counts, and keeps the first error.
type prober struct {
	g     *lattice
	evals int64
	err   error
}

// eval returns the field at any point; after an error it returns 1.
func (s *prober) eval(p r3.Vec) float64 {
	s.evals++
	v, err := s.g.eval(p)
	if err != nil {
		if s.err == nil {
			s.err = err
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
// different sign, by false position with halving (the Illinois rule). It
// returns the point and the value there.
func (s *prober) root(a, b r3.Vec, fa, fb float64) (r3.Vec, float64) {
	lo, hi := 0.0, 1.0
	tol := 1e-6 * s.g.cell * s.g.lip
	side := 0
	p, f := a, fa
	for range 60 {
		t := 0.5 * (lo + hi)
		if fa != fb {
			t = min(max(lo+(hi-lo)*fa/(fa-fb), lo), hi)
		}
		p = r3.Add(a, r3.Scale(t, r3.Sub(b, a)))
		f = s.eval(p)
		if math.Abs(f) <= tol || hi-lo < 1e-9 {
			break
		}
		if (f < 0) == (fa < 0) {
			lo, fa = t, f
			if side == 1 {
				fb /= 2
			}
			side = 1
		} else {
			hi, fb = t, f
			if side == -1 {
				fa /= 2
			}
			side = -1
		}
	}
	return p, f
}

// meet returns where the surface passes between a and b, where the field is fa
// and fb of different sign.
func (s *prober) meet(a, b r3.Vec, fa, fb float64) hermite {
	if s.err == nil && s.g.tooSteep(a, b, fa, fb) {
		s.err = s.g.steep(a, b, fa, fb)
	}
	p, f := s.root(a, b, fa, fb)
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
