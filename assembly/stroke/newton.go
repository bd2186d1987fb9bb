package stroke

import "math"

// direction chooses the way downhill: Newton's step that leaves resting slides
// at rest where the problem is convex, steepest descent with steep.
func (l *local) direction(steep bool) bool {
	m := l.m
	// Slides that have friction to spare stay at rest.
	for _, i := range l.zero {
		l.laws[i].pinned = math.Abs(l.laws[i].sigma) < 1-1e-9
	}
	if steep {
		copy(l.p, l.res)
		for k := range l.p {
			l.p[k] = -l.p[k]
		}
		return norm(l.p) > 0
	}
	for range m {
		if !l.newton() {
			return l.direction(true)
		}
		// A slide at its limit may only go the way that the limit resists.
		again := false
		for _, i := range l.zero {
			w := &l.laws[i]
			if !w.pinned && w.sigma*dot(w.a, l.p) < -1e-9*norm(w.a)*norm(l.p) {
				w.pinned, again = true, true
			}
		}
		if !again {
			break
		}
	}
	if dot(l.p, l.res) < 0 {
		return true
	}
	return l.direction(true)
}

// newton solves [H Aᵀ; A 0]·[p; τ] = [−res; 0] with the pinned slides in A.
func (l *local) newton() bool {
	m, n := l.m, l.m
	for _, i := range l.zero {
		if l.laws[i].pinned && n < 2*m {
			n++
		}
	}
	a := l.mat[:n*(n+1)]
	for i := range a {
		a[i] = 0
	}
	for k := 0; k < m; k++ {
		for j := 0; j < m; j++ {
			a[k*(n+1)+j] = l.slope(k, j)
		}
		a[k*(n+1)+n] = -l.res[k]
	}
	r := m
	for _, i := range l.zero {
		if w := &l.laws[i]; w.pinned && r < n {
			size := norm(w.a)
			for k := 0; k < m; k++ {
				a[r*(n+1)+k] = w.a[k] / size
				a[k*(n+1)+r] = w.a[k] / size
			}
			r++
		}
	}
	if !gauss(a, n) {
		return false
	}
	for k := 0; k < m; k++ {
		l.p[k] = a[k*(n+1)+n]
	}
	return norm(l.p) > 1e-14
}

// gauss solves an n×n system with its right side in the last column; false if
// it is singular.
func gauss(a []float64, n int) bool {
	w := n + 1
	for k := 0; k < n; k++ {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*w+k]) > math.Abs(a[p*w+k]) {
				p = i
			}
		}
		if math.Abs(a[p*w+k]) < 1e-12 {
			return false
		}
		if p != k {
			for j := k; j <= n; j++ {
				a[k*w+j], a[p*w+j] = a[p*w+j], a[k*w+j]
			}
		}
		for i := 0; i < n; i++ {
			if i == k {
				continue
			}
			f := a[i*w+k] / a[k*w+k]
			if f == 0 {
				continue
			}
			for j := k; j <= n; j++ {
				a[i*w+j] -= f * a[k*w+j]
			}
		}
	}
	for k := 0; k < n; k++ {
		a[k*w+n] /= a[k*w+k]
	}
	return true
}
