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
	x := [3]float64{mean.X * inv, mean.Y * inv, mean.Z * inv}
	var a [3][3]float64
	var b [3]float64
	for i := range at {
		n := at[i].n
		d := inv * r3.Dot(n, r3.Sub(at[i].p, origin))
		a[0][0] += n.X * n.X
		a[1][0] += n.Y * n.X
		a[1][1] += n.Y * n.Y
		a[2][0] += n.Z * n.X
		a[2][1] += n.Z * n.Y
		a[2][2] += n.Z * n.Z
		b[0] += n.X * d
		b[1] += n.Y * d
		b[2] += n.Z * d
	}
	a[0][1], a[0][2], a[1][2] = a[1][0], a[2][0], a[2][1]
	e := 1e-6*(a[0][0]+a[1][1]+a[2][2]) + 1e-12
	for i := range 3 {
		a[i][i] += e
	}
	for range 3 {
		c := [3]float64{b[0] + e*x[0], b[1] + e*x[1], b[2] + e*x[2]}
		y := inCube(&a, &c, lo, hi)
		d := max(math.Abs(y[0]-x[0]), math.Abs(y[1]-x[1]), math.Abs(y[2]-x[2]))
		if x = y; d < 1e-5 {
			break
		}
	}
	for _, v := range x {
		held = held || v == lo || v == hi
	}
	p = r3.Vec{X: x[0], Y: x[1], Z: x[2]}
	for i := range at {
		d := r3.Dot(at[i].n, r3.Sub(p, r3.Scale(inv, r3.Sub(at[i].p, origin))))
		sum += d * d
	}
	return p, sum, held
}

// inCube minimises xᵀax − 2bᵀx over the cube. a is positive definite, so of all
// choices of coordinates held at a wall exactly one gives a feasible
// stationary point where every wall pushes inward.
func inCube(a *[3][3]float64, b *[3]float64, lo, hi float64) [3]float64 {
	// Mostly no wall holds, or those that the free minimum lies beyond.
	x := solve(a, b)
	if min(x[0], x[1], x[2]) >= lo && max(x[0], x[1], x[2]) <= hi {
		return x
	}
	var choice [3]int
	beyond(&x, &choice, lo, hi)
	for range 2 {
		x, ok := stationary(a, b, &choice, lo, hi)
		if ok {
			if _, push := pushed(a, b, &x, &choice); push {
				return x
			}
			break
		}
		beyond(&x, &choice, lo, hi)
	}
	best, found := [3]float64{}, math.Inf(1)
	for choice[0] = 0; choice[0] < 3; choice[0]++ {
		for choice[1] = 0; choice[1] < 3; choice[1]++ {
			for choice[2] = 0; choice[2] < 3; choice[2]++ {
				x, ok := stationary(a, b, &choice, lo, hi)
				if !ok {
					continue
				}
				f, push := pushed(a, b, &x, &choice)
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

// beyond has the coordinates of x outside [lo, hi] held at the wall they passed.
func beyond(x *[3]float64, choice *[3]int, lo, hi float64) {
	for i, v := range x {
		if v < lo {
			choice[i] = 1
		} else if v > hi {
			choice[i] = 2
		}
	}
}

// pushed returns the value at x of what inCube minimises and whether the walls
// that choice names push inward.
func pushed(a *[3][3]float64, b, x *[3]float64, choice *[3]int) (f float64, push bool) {
	push = true
	for i, c := range choice {
		g := a[i][0]*x[0] + a[i][1]*x[1] + a[i][2]*x[2]
		f += x[i] * (g - 2*b[i])
		push = push && (c == 0 || c == 1 && g >= b[i] || c == 2 && g <= b[i])
	}
	return f, push
}

// stationary solves for the coordinates with choice 0, the others held at lo
// (1) or hi (2). ok is false when a free one leaves [lo, hi].
func stationary(a *[3][3]float64, b *[3]float64, choice *[3]int, lo, hi float64) (x [3]float64, ok bool) {
	var free [3]int
	n := 0
	r := *b
	for i, c := range choice {
		if c == 0 {
			free[n] = i
			n++
			continue
		}
		if x[i] = lo; c == 2 {
			x[i] = hi
		}
		for j := range r {
			r[j] -= a[j][i] * x[i]
		}
	}
	// Cramer's rule on the free part; it is positive definite.
	i, j := free[0], free[1]
	switch n {
	case 1:
		x[i] = r[i] / a[i][i]
	case 2:
		d := a[i][i]*a[j][j] - a[i][j]*a[i][j]
		x[i] = (r[i]*a[j][j] - r[j]*a[i][j]) / d
		x[j] = (r[j]*a[i][i] - r[i]*a[i][j]) / d
	case 3:
		x = solve(a, &r)
	}
	for _, i := range free[:n] {
		if !(x[i] >= lo && x[i] <= hi) {
			return x, false
		}
	}
	return x, true
}

// solve returns a⁻¹b by Cholesky's method; a is positive definite.
func solve(a *[3][3]float64, b *[3]float64) (x [3]float64) {
	l0 := 1 / math.Sqrt(a[0][0])
	l10, l20 := a[1][0]*l0, a[2][0]*l0
	l1 := 1 / math.Sqrt(a[1][1]-l10*l10)
	l21 := (a[2][1] - l20*l10) * l1
	l2 := 1 / math.Sqrt(a[2][2]-l20*l20-l21*l21)
	y0 := b[0] * l0
	y1 := (b[1] - l10*y0) * l1
	y2 := (b[2] - l20*y0 - l21*y1) * l2
	x[2] = y2 * l2
	x[1] = (y1 - l21*x[2]) * l1
	x[0] = (y0 - l10*x[1] - l20*x[2]) * l0
	return x
}
