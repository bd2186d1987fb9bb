package stroke

import "math"

// law is a slip or contact reduced to the passive coordinates.
type law struct {
	x         float64   // slide since the last settled state, or gap
	a         []float64 // derivatives, m
	out, back []float64 // force on the passive coordinates while x grows, falls
	// Derivatives of these forces, m×m, by finite difference.
	dOut, dBack []float64
	sigma       float64 // share of the friction in use: +1 x grows, −1 falls
	k           float64 // contact: stiffness; 0 marks a slip
	rest        float64 // slip: size of x up to which it counts as resting
	moves       bool    // some derivative is not 0
	passed      bool    // its kink lies behind on the present walk
	pinned      bool    // rests, and stays at rest on the present walk
}

// local is the linearised incremental problem of one configuration: find the
// change δ of the passive coordinates at which
//
//	g + H·δ − Σ friction(δ) − Σ contact(δ) = 0
//
// with friction that jumps where a slide reverses, and contacts that push on one
// side. It is followed downhill from δ = 0, exactly from kink to kink, so that
// it ends in the nearest state of rest and not beyond a barrier.
type local struct {
	m     int
	g     []float64
	h     []float64 // m×m
	laws  []law
	delta []float64

	res, p []float64
	mat    []float64
	zero   []int
	// far is set when no state of rest lies within the reach.
	far  bool
	push []float64 // residual at δ = 0
}

const (
	slipTol = 1e-11 // mm or rad: a slide that has not moved,
	restTol = 2e-8  // nor has one that has moved less than by this much (mm) of the passive coordinates
	resTol  = 1e-8  // N: residual at rest
	moveTol = 1e-13
)

func newLocal(m, n int) *local {
	l := &local{m: m}
	f := func(k int) []float64 { return make([]float64, k) }
	l.g, l.h, l.delta, l.res, l.p, l.push = f(m), f(m*m), f(m), f(m), f(m), f(m)
	l.laws = make([]law, n)
	for i := range l.laws {
		l.laws[i] = law{rest: slipTol, a: f(m), out: f(m), back: f(m), dOut: f(m * m), dBack: f(m * m)}
	}
	l.zero = make([]int, 0, n)
	l.mat = f((m + n) * (m + n + 1))
	return l
}

// at returns x after the move δ.
func (w *law) at(delta []float64) float64 {
	x := w.x
	for k, a := range w.a {
		x += a * delta[k]
	}
	return x
}

// pull returns component k of a slip's force in a direction, at δ.
func (w *law) pull(k, m int, up bool, delta []float64) float64 {
	f, d := w.out[k], w.dOut
	if !up {
		f, d = w.back[k], w.dBack
	}
	for j := 0; j < m; j++ {
		f += d[k*m+j] * delta[j]
	}
	return f
}

// solve finds δ within reach.
func (l *local) solve(reach float64) {
	if l.m == 1 {
		l.solveOne(reach)
		return
	}
	m := l.m
	for k := range l.delta {
		l.delta[k] = 0
	}
	l.far = false
	for it := 0; it < 60; it++ {
		l.residual()
		if it == 0 {
			copy(l.push, l.res)
		}
		if norm(l.res) < resTol || !l.direction(false) {
			return
		}
		t, hit := l.walk(reach)
		if hit && t*norm(l.p) < moveTol && l.direction(true) {
			t, hit = l.walk(reach)
		}
		for k := 0; k < m; k++ {
			l.delta[k] += t * l.p[k]
		}
		if !hit {
			l.far = true
			l.residual()
			return
		}
		if t*norm(l.p) < moveTol {
			return
		}
	}
}

// residual fills res at δ with the friction of resting slides chosen to make it
// least, and sigma.
func (l *local) residual() {
	m := l.m
	l.zero = l.zero[:0]
	for k := 0; k < m; k++ {
		r := l.g[k]
		for j := 0; j < m; j++ {
			r += l.h[k*m+j] * l.delta[j]
		}
		l.res[k] = r
	}
	for i := range l.laws {
		w := &l.laws[i]
		x := w.at(l.delta)
		if w.k > 0 {
			if x < 0 {
				for k := range l.res {
					l.res[k] += w.k * x * w.a[k]
				}
			}
			continue
		}
		switch {
		case x > w.rest:
			w.sigma = 1
		case x < -w.rest:
			w.sigma = -1
		default:
			w.sigma, w.pinned = 0, false
			if w.moves {
				l.zero = append(l.zero, i)
			}
			continue
		}
		for k := range l.res {
			l.res[k] -= w.pull(k, m, x > 0, l.delta)
		}
	}
	l.share()
}

// share finds the shares of resting slides that leave the least residual, by
// coordinate descent on a convex problem.
func (l *local) share() {
	for sweep := 0; sweep < 200; sweep++ {
		change := 0.0
		for _, i := range l.zero {
			w := &l.laws[i]
			old := w.sigma
			l.addShare(w, old, 1)
			best, bestS := norm2(l.res), 0.0
			for _, up := range [...]bool{true, false} {
				num, den := 0.0, 0.0
				for k := range l.res {
					b := w.pull(k, l.m, up, l.delta)
					num += b * l.res[k]
					den += b * b
				}
				if den == 0 || num <= 0 {
					continue
				}
				s := min(1, num/den)
				if v := norm2(l.res) - 2*s*num + s*s*den; v < best {
					best, bestS = v, s
					if !up {
						bestS = -s
					}
				}
			}
			w.sigma = bestS
			l.addShare(w, bestS, -1)
			change = max(change, math.Abs(bestS-old))
		}
		if change < 1e-12 {
			return
		}
	}
}

// addShare adds sign × the force of a share to res.
func (l *local) addShare(w *law, s, sign float64) {
	if s == 0 {
		return
	}
	for k := range l.res {
		l.res[k] += sign * math.Abs(s) * w.pull(k, l.m, s > 0, l.delta)
	}
}

// slope is the derivative of residual k with respect to δ_j at δ.
func (l *local) slope(k, j int) float64 {
	m := l.m
	s := l.h[k*m+j]
	for i := range l.laws {
		w := &l.laws[i]
		if w.k > 0 {
			if w.at(l.delta) < 0 {
				s += w.k * w.a[k] * w.a[j]
			}
			continue
		}
		if w.sigma > 0 {
			s -= w.sigma * w.dOut[k*m+j]
		} else if w.sigma < 0 {
			s += w.sigma * w.dBack[k*m+j]
		}
	}
	return s
}

// change is the size of the change of elastic and contact forces by the move δ
// (N), along the passive coordinates.
func (l *local) change() float64 {
	m := l.m
	sum := 0.0
	for k := 0; k < m; k++ {
		c := 0.0
		for j := 0; j < m; j++ {
			c += l.h[k*m+j] * l.delta[j]
		}
		for i := range l.laws {
			if w := &l.laws[i]; w.k > 0 {
				if x := w.at(l.delta); x < 0 || w.x < 0 {
					c += w.k * (min(x, 0) - min(w.x, 0)) * w.a[k]
				}
			}
		}
		sum += c * c
	}
	return math.Sqrt(sum)
}

// walk goes from δ along p to where the residual along p is no longer downhill.
// It returns how far; hit is false if the reach ends first.
func (l *local) walk(reach float64) (t float64, hit bool) {
	m := l.m
	size := norm(l.p)
	end := reach / size
	if used := norm(l.delta); used > 0 {
		end = max(0, (reach-used)/size)
	}
	// Residual along p and its slope just after t = 0.
	r, slope := 0.0, 0.0
	for k := 0; k < m; k++ {
		r += l.g[k] * l.p[k]
		for j := 0; j < m; j++ {
			r += l.h[k*m+j] * l.delta[j] * l.p[k]
			slope += l.h[k*m+j] * l.p[j] * l.p[k]
		}
	}
	for i := range l.laws {
		w := &l.laws[i]
		x, ap := w.at(l.delta), dot(w.a, l.p)
		w.passed = ap == 0 || x*ap >= 0
		if w.k > 0 {
			if x < 0 || x == 0 && ap < 0 {
				r += w.k * x * ap
				slope += w.k * ap * ap
			}
			continue
		}
		up := x > 0
		if math.Abs(x) <= w.rest {
			w.passed = true
			if ap == 0 || w.pinned {
				// Stays at rest: its share is what residual found.
				if w.sigma != 0 {
					for k := 0; k < m; k++ {
						r -= math.Abs(w.sigma) * w.pull(k, m, w.sigma > 0, l.delta) * l.p[k]
					}
				}
				continue
			}
			up = ap > 0
		}
		f, df := l.along(w, up)
		r -= f
		slope -= df
	}
	for {
		if r >= 0 {
			return t, true
		}
		// The next kink.
		next, at := math.Inf(1), -1
		for i := range l.laws {
			w := &l.laws[i]
			if w.passed {
				continue
			}
			if tk := -w.at(l.delta) / dot(w.a, l.p); tk < next {
				next, at = max(tk, t), i
			}
		}
		stop := min(next, end)
		if slope > 0 && r+slope*(stop-t) >= 0 {
			return t - r/slope, true
		}
		if next >= end {
			return end, false
		}
		r += slope * (next - t)
		t = next
		w := &l.laws[at]
		w.passed = true
		ap := dot(w.a, l.p)
		if w.k > 0 {
			if ap < 0 {
				slope += w.k * ap * ap
			} else {
				slope -= w.k * ap * ap
			}
			continue
		}
		f0, d0 := l.along(w, ap < 0)
		f1, d1 := l.along(w, ap > 0)
		r += f0 + d0*t - f1 - d1*t
		slope += d0 - d1
	}
}

// along is a slip's force along p at δ, and its derivative along p.
func (l *local) along(w *law, up bool) (f, df float64) {
	m := l.m
	d := w.dOut
	if !up {
		d = w.dBack
	}
	for k := 0; k < m; k++ {
		f += w.pull(k, m, up, l.delta) * l.p[k]
		for j := 0; j < m; j++ {
			df += d[k*m+j] * l.p[j] * l.p[k]
		}
	}
	return f, df
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, x := range a {
		s += x * b[i]
	}
	return s
}

func norm2(a []float64) float64 { return dot(a, a) }
func norm(a []float64) float64  { return math.Sqrt(norm2(a)) }

func sign(x float64) float64 {
	if x < 0 {
		return -1
	}
	return 1
}
