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
