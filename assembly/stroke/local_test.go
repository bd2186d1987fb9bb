package stroke

import (
	"math"
	"math/rand"
	"testing"
)

// convex makes a random convex local problem and its cost: the function whose
// least value is the state of rest.
func convex(rng *rand.Rand, m int) (*local, func(d []float64) float64) {
	const slips, contacts = 4, 2
	l := newLocal(m, slips+contacts)
	// H = BBᵀ + 0.1.
	b := make([]float64, m*m)
	for i := range b {
		b[i] = rng.NormFloat64()
	}
	for i := 0; i < m; i++ {
		l.g[i] = 3 * rng.NormFloat64()
		for j := 0; j < m; j++ {
			for k := 0; k < m; k++ {
				l.h[i*m+j] += b[i*m+k] * b[j*m+k]
			}
		}
		l.h[i*m+i] += 0.1
	}
	var out, back []float64
	for i := range l.laws {
		w := &l.laws[i]
		w.x, w.moves = rng.NormFloat64(), true
		if i == 0 {
			w.x = 0
		}
		fo, fb := rng.Float64()*2, rng.Float64()*2
		out, back = append(out, fo), append(back, fb)
		for k := range w.a {
			w.a[k] = rng.NormFloat64()
			w.out[k], w.back[k] = -fo*w.a[k], fb*w.a[k]
		}
		if i >= slips {
			w.k = 200
		}
	}
	return l, func(d []float64) float64 {
		c := dot(l.g, d)
		for i := 0; i < m; i++ {
			for j := 0; j < m; j++ {
				c += d[i] * l.h[i*m+j] * d[j] / 2
			}
		}
		for i := range l.laws {
			w := &l.laws[i]
			x := w.at(d)
			switch {
			case w.k > 0:
				c += w.k * min(x, 0) * min(x, 0) / 2
			case x > 0:
				c += out[i] * x
			default:
				c -= back[i] * x
			}
		}
		return c
	}
}

// On convex problems rest is the least of stored energy plus friction work: no
// nearby point and no random one costs less.
func TestLocalProblemIsLeast(t *testing.T) {
	rng := rand.New(rand.NewSource(7))
	for m := 1; m <= 3; m++ {
		for n := 0; n < 400; n++ {
			l, cost := convex(rng, m)
			l.solve(1e3)
			if l.far {
				t.Fatalf("m = %d, problem %d: far", m, n)
			}
			best := cost(l.delta)
			d := make([]float64, m)
			for k := 0; k < 400; k++ {
				size := math.Pow(10, -6*rng.Float64()) * 3
				for i := range d {
					d[i] = l.delta[i] + size*rng.NormFloat64()
				}
				if c := cost(d); c < best-1e-9*(1+math.Abs(best)) {
					t.Fatalf("m = %d, problem %d: %v costs %.12g, %v only %.12g", m, n, l.delta, best, d, c)
				}
			}
		}
	}
}

// The scalar walk and the general code agree.
func TestScalarWalkAgreesWithGeneral(t *testing.T) {
	rng := rand.New(rand.NewSource(9))
	for n := 0; n < 500; n++ {
		a, _ := convex(rng, 1)
		a.solve(1e3)
		one := a.delta[0]
		// The same problem with a second coordinate that nothing moves.
		b := newLocal(2, len(a.laws))
		b.g[0], b.h[0], b.h[3] = a.g[0], a.h[0], 1
		for i := range a.laws {
			v, w := &a.laws[i], &b.laws[i]
			w.x, w.k, w.moves = v.x, v.k, v.moves
			w.a[0], w.out[0], w.back[0] = v.a[0], v.out[0], v.back[0]
		}
		b.solve(1e3)
		near(t, "δ", b.delta[0], one, 1e-7*(1+math.Abs(one)))
		near(t, "the other δ", b.delta[1], 0, 1e-7)
	}
}

// A barrier is not crossed: from δ = 0 downhill to the nearest rest, though a
// deeper one lies behind.
func TestNoJumpOverABarrier(t *testing.T) {
	l := newLocal(1, 1)
	l.g[0], l.h[0] = -1, -0.5 // downhill towards +δ, ever steeper
	w := &l.laws[0]
	w.x, w.k, w.a[0] = 0.3, 1000, -1 // a wall at δ = 0.3
	l.solve(10)
	near(t, "rest at the wall", l.delta[0], 0.3+1.15/999.5, 1e-6)
	l.solve(0.1)
	if !l.far || math.Abs(l.delta[0]-0.1) > 1e-12 {
		t.Errorf("beyond the reach: far %v, δ %g", l.far, l.delta[0])
	}
}
