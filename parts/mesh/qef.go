package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// minimise returns the point x of the cube [lo, hi]³, in units of cell from
// origin, that minimises Σ (nᵢ·(x − pᵢ))² and of such points is nearest to
// mean (relative to origin, in mm). It takes three steps of the proximal-point
// iteration: a term ε|x − x′|² about the previous point x′, one millionth of
// the sum's trace, settles the directions that the planes leave open, is far
// below what an edge of 1° contributes, and fades from step to step where it
// would keep x off the planes. It also returns the sum, in cells², and whether
// a wall of the cube holds x.
func minimise(at []hermite, mean, origin r3.Vec, cell, lo, hi float64) (p r3.Vec, sum float64, held bool) {
	inv := 1 / cell
	m := [3]float64{mean.X * inv, mean.Y * inv, mean.Z * inv}
	var a [3][3]float64
	var b [3]float64
	for _, h := range at {
		n := [3]float64{h.n.X, h.n.Y, h.n.Z}
		d := inv * r3.Dot(h.n, r3.Sub(h.p, origin))
		for i := range 3 {
			for j := range 3 {
				a[i][j] += n[i] * n[j]
			}
			b[i] += n[i] * d
		}
	}
	e := 1e-6*(a[0][0]+a[1][1]+a[2][2]) + 1e-12
	for i := range 3 {
		a[i][i] += e
	}
	x := m
	for range 3 {
		c := b
		for i := range 3 {
			c[i] += e * x[i]
		}
		y := inCube(&a, &c, lo, hi)
		d := max(math.Abs(y[0]-x[0]), math.Abs(y[1]-x[1]), math.Abs(y[2]-x[2]))
		if x = y; d < 1e-8 {
			break
		}
	}
	for _, v := range x {
		held = held || v == lo || v == hi
	}
	p = r3.Vec{X: x[0], Y: x[1], Z: x[2]}
	for _, h := range at {
		d := r3.Dot(h.n, r3.Sub(p, r3.Scale(inv, r3.Sub(h.p, origin))))
		sum += d * d
	}
	return p, sum, held
}

// inCube minimises xᵀax − 2bᵀx over the cube. a is positive definite, so of all
// choices of coordinates held at a wall exactly one gives a feasible
// stationary point where every wall pushes inward.
func inCube(a *[3][3]float64, b *[3]float64, lo, hi float64) [3]float64 {
	best, found := [3]float64{}, math.Inf(1)
	var choice [3]int
	for choice[0] = 0; choice[0] < 3; choice[0]++ {
		for choice[1] = 0; choice[1] < 3; choice[1]++ {
			for choice[2] = 0; choice[2] < 3; choice[2]++ {
				x, ok := stationary(a, b, choice, lo, hi)
				if !ok {
					continue
				}
				f, push := 0.0, true
				for i, c := range choice {
					g := a[i][0]*x[0] + a[i][1]*x[1] + a[i][2]*x[2]
					f += x[i] * (g - 2*b[i])
					push = push && (c == 0 || c == 1 && g >= b[i] || c == 2 && g <= b[i])
				}
				if push {
					return x
				}
				// Rounding can hide the push; the least sum then decides.
				if f < found {
					best, found = x, f
				}
			}
		}
	}
	return best
}

// stationary solves for the coordinates with choice 0, the others held at lo
// (1) or hi (2). ok is false when a free one leaves [lo, hi].
func stationary(a *[3][3]float64, b *[3]float64, choice [3]int, lo, hi float64) (x [3]float64, ok bool) {
	var free []int
	var buf [3]int
	free = buf[:0]
	for i, c := range choice {
		switch c {
		case 0:
			free = append(free, i)
		case 1:
			x[i] = lo
		case 2:
			x[i] = hi
		}
	}
	// Cholesky of the free part; it is positive definite.
	var l [3][3]float64
	var y [3]float64
	for p, i := range free {
		r := b[i]
		for j, c := range choice {
			if c != 0 {
				r -= a[i][j] * x[j]
			}
		}
		for q := range p {
			v := a[i][free[q]]
			for k := range q {
				v -= l[p][k] * l[q][k]
			}
			l[p][q] = v / l[q][q]
			r -= l[p][q] * y[q]
		}
		d := a[i][i]
		for k := range p {
			d -= l[p][k] * l[p][k]
		}
		if !(d > 0) {
			return x, false
		}
		l[p][p] = math.Sqrt(d)
		y[p] = r / l[p][p]
	}
	for p := len(free) - 1; p >= 0; p-- {
		v := y[p]
		for q := p + 1; q < len(free); q++ {
			v -= l[q][p] * x[free[q]]
		}
		x[free[p]] = v / l[p][p]
		if !(x[free[p]] >= lo && x[free[p]] <= hi) {
			return x, false
		}
	}
	return x, true
}
