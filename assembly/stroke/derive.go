package stroke

import "math"

// differ is the step of finite differences along a passive coordinate (mm).
const differ = 1e-5

// linearise fills the local problem at the configuration gathered: forces, slips
// and contacts, and unless old ones may serve their derivatives along every passive
// coordinate.
func (s *solver) linearise(again bool) error {
	s.reduce()
	l := s.loc
	if !again && s.derived && equal(s.freeAt, s.w.Free) {
		return nil
	}
	d := &s.aside
	d.w.Adopt(s.w)
	d.w.Hold(true)
	copy(d.w.Targets, s.w.Targets)
	d.v.Floor = s.v.Floor
	m, first := l.m, len(s.x.rubs)
	s.hold(&s.frame, s.lambda0)
	for k := 0; k < m; k++ {
		for i := range d.w.Q {
			d.w.Q[i] = s.w.Q[i] + differ*s.n[k][i]
		}
		if r, ok := d.w.Close(closeTol*s.mech.Scale, s.dq); !ok {
			return s.closure(r)
		}
		s.load(d)
		s.hold(d, s.drift[k])
		for i, v := range s.lambda0 {
			s.drift[k][i] = (s.drift[k][i] - v) / differ
		}
		for j := 0; j < m; j++ {
			l.h[j*m+k] = (-dot(d.loads.Q, d.n[j]) - l.g[j]) / differ
		}
		for i := range d.loads.Slips {
			sl, b, w := &d.loads.Slips[i], &s.base[first+i], &l.laws[first+i]
			for j := 0; j < m; j++ {
				b.a[j] = sl.Grad.Dot(d.n[j])
			}
			pulls(sl, b, d.n)
			for j := 0; j < m; j++ {
				w.dOut[j*m+k] = quotient(b.out[j], w.out[j], differ)
				w.dBack[j*m+k] = quotient(b.back[j], w.back[j], differ)
			}
		}
	}
	s.derived = true
	copy(s.freeAt, s.w.Free)
	return nil
}

// chord is linearise after a move by δ along the one passive coordinate: it mends
// the derivatives by what the move has brought against what they had promised.
func (s *solver) chord() {
	l, first := s.loc, len(s.x.rubs)
	d := l.delta[0]
	for i := range s.loads.Slips {
		w, b := &l.laws[first+i], &s.base[first+i]
		b.out[0], b.back[0] = w.out[0]+w.dOut[0]*d, w.back[0]+w.dBack[0]*d
	}
	promised := l.g[0] + l.h[0]*d
	s.reduce()
	l.h[0] += (l.g[0] - promised) / d
	for i := range s.loads.Slips {
		w, b := &l.laws[first+i], &s.base[first+i]
		w.dOut[0] += quotient(w.out[0], b.out[0], d)
		w.dBack[0] += quotient(w.back[0], b.back[0], d)
	}
	s.hold(&s.frame, s.lambda0)
	for i, v := range s.lambda0 {
		s.drift[0][i] += (v - s.lambda[i]) / d
	}
}

// quotient is a difference quotient of a friction force; a block does not
// change. The bounds of joints follow their forces instead (balance).
func quotient(moved, here, by float64) float64 {
	if math.Abs(here) >= blocked/1e3 || math.Abs(moved) >= blocked/1e3 {
		return 0
	}
	return (moved - here) / by
}

func equal(a, b []int) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
