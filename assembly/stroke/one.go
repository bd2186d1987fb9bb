package stroke

import "math"

// With one passive coordinate, by far the usual case, the local problem is a
// monotone walk along a line; this is the same as the general code, in scalars.

// solveOne is solve for m = 1.
func (l *local) solveOne(reach float64) {
	l.delta[0], l.far = 0, false
	for it := 0; it < 60; it++ {
		r := l.residualOne()
		l.res[0] = r
		if it == 0 {
			l.push[0] = r
		}
		if math.Abs(r) < resTol {
			return
		}
		t, hit := l.walkOne(-sign(r), reach)
		l.delta[0] += t
		if !hit {
			l.far = true
			l.res[0] = l.residualOne()
			return
		}
		if math.Abs(t) < moveTol {
			return
		}
	}
}

// forceAt is a slip's force at δ while its slide grows (up) or falls.
func (w *law) forceAt(up bool, d float64) float64 {
	if up {
		return w.out[0] + w.dOut[0]*d
	}
	return w.back[0] + w.dBack[0]*d
}

// residualOne returns the residual at δ, with the shares of resting slides.
func (l *local) residualOne() float64 {
	d := l.delta[0]
	r := l.g[0] + l.h[0]*d
	l.zero = l.zero[:0]
	for i := range l.laws {
		w := &l.laws[i]
		x := w.x + w.a[0]*d
		switch {
		case w.k > 0:
			if x < 0 {
				r += w.k * x * w.a[0]
			}
		case x > w.rest:
			w.sigma = 1
			r -= w.out[0] + w.dOut[0]*d
		case x < -w.rest:
			w.sigma = -1
			r -= w.back[0] + w.dBack[0]*d
		default:
			w.sigma, w.pinned = 0, false
			if w.moves {
				l.zero = append(l.zero, i)
			}
		}
	}
	if len(l.zero) == 0 || r == 0 {
		return r
	}
	// All resting slides take the same share of their friction.
	up := r < 0
	total := 0.0
	for _, i := range l.zero {
		w := &l.laws[i]
		total += math.Abs(w.forceAt(up == (w.a[0] > 0), d))
	}
	if total == 0 {
		return r
	}
	s := min(1, math.Abs(r)/total)
	for _, i := range l.zero {
		w := &l.laws[i]
		grows := up == (w.a[0] > 0)
		if w.sigma = s; !grows {
			w.sigma = -s
		}
		r -= s * w.forceAt(grows, d)
	}
	return r
}

// walkOne goes from δ in direction p = ±1 to where the residual is no longer
// downhill, at most to the reach.
func (l *local) walkOne(p, reach float64) (move float64, hit bool) {
	d := l.delta[0]
	end := max(0, reach-math.Abs(d))
	r, slope := (l.g[0]+l.h[0]*d)*p, l.h[0]
	for i := range l.laws {
		w := &l.laws[i]
		ap := w.a[0] * p
		x := w.x + w.a[0]*d
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
			if w.passed = true; ap == 0 {
				continue
			}
			up = ap > 0
		}
		r -= w.forceAt(up, d) * p
		if up {
			slope -= w.dOut[0]
		} else {
			slope -= w.dBack[0]
		}
	}
	for t := 0.0; ; {
		if r >= 0 {
			return t * p, true
		}
		next, at := math.Inf(1), -1
		for i := range l.laws {
			w := &l.laws[i]
			if w.passed {
				continue
			}
			if tk := -(w.x + w.a[0]*d) / (w.a[0] * p); tk < next {
				next, at = max(tk, t), i
			}
		}
		if stop := min(next, end); slope > 0 && r+slope*(stop-t) >= 0 {
			return (t - r/slope) * p, true
		}
		if next >= end {
			return end * p, false
		}
		r += slope * (next - t)
		t = next
		w := &l.laws[at]
		w.passed = true
		ap := w.a[0] * p
		if w.k > 0 {
			if ap > 0 {
				slope -= w.k * ap * ap
			} else {
				slope += w.k * ap * ap
			}
			continue
		}
		// The slide turns: it fell while ap > 0.
		was, now := w.back[0]+w.dBack[0]*(d+t*p), w.out[0]+w.dOut[0]*(d+t*p)
		dw, dn := w.dBack[0], w.dOut[0]
		if ap < 0 {
			was, now, dw, dn = now, was, dn, dw
		}
		r += (was - now) * p
		slope += dw - dn
	}
}
