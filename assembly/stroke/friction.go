package stroke

import "math"

// balance solves the local problem and lets the friction of joints and contacts
// follow their forces. It returns the largest relative change that the last round
// asked for. It takes the secant through the last two rounds, also of the problem
// before, along the way they differ (Anderson's method of depth 1), which also damps
// friction that swings. One round is enough where the links have farther to go than
// far (mm) and the friction is right to a tenth.
func (s *solver) balance(reach float64, rounds int, far float64) float64 {
	change := 0.0
	for r := 0; r < rounds; r++ {
		s.loc.solve(reach)
		s.forces()
		change = 0
		const scale = 1e-3
		along, size := 0.0, 0.0
		for k := range s.bounds {
			b := s.bounds[k].limit(s)
			d := b - s.slips[s.bounds[k].slip].Out
			change = max(change, math.Abs(d)/(math.Abs(b)+scale))
			if r > 0 {
				s.step[k], s.turn[k] = s.taken[k], d-s.asked[k]
			}
			along += d * s.turn[k]
			size += s.turn[k] * s.turn[k]
			s.asked[k] = d
		}
		if change < frictionTol || change < 0.1 && norm(s.loc.delta) > far {
			break
		}
		mix := 0.0
		if size > 0 {
			mix = min(0.75, max(-2, along/size))
		}
		for k := range s.bounds {
			i := s.bounds[k].slip
			sl := &s.slips[i]
			b := max(0, sl.Out+s.asked[k]-mix*(s.step[k]+s.turn[k]))
			s.taken[k] = b - sl.Out
			sl.Out, sl.Back = b, b
			if i < len(s.limits) {
				s.limits[i] = b
			}
			pulls(sl, &s.loc.laws[i], s.n)
		}
	}
	return change
}

// bounding is a slip whose bound follows a force: of a joint or of a contact.
type bounding struct{ slip, contact int }

// limit is the bound by the present forces.
func (b bounding) limit(s *solver) float64 {
	if b.contact < 0 {
		r := &s.x.rubs[b.slip]
		return min(blocked, r.limit(&s.mech.Joints[r.joint], s.lambda))
	}
	c := &s.loads.Contacts[b.contact]
	return s.slips[b.slip].Mu * c.Stiffness * max(0, -s.loc.laws[len(s.slips)+b.contact].at(s.loc.delta))
}

// frictionTol is the relative change of joint friction that ends its iteration.
const frictionTol = 2e-6

// forces computes the multipliers for the present shares of friction at δ.
func (s *solver) forces() {
	copy(s.total, s.loads.Q)
	for i := range s.slips {
		s.slips[i].rub(s.loc.laws[i].sigma, s.total)
	}
	for i := range s.loads.Contacts {
		c := &s.loads.Contacts[i]
		if x := s.loc.laws[len(s.slips)+i].at(s.loc.delta); x < 0 {
			c.Grad.AddTo(s.total, -c.Stiffness*x)
		}
	}
	s.w.Multipliers(s.total, s.lambda)
	for k, d := range s.loc.delta {
		for i, v := range s.drift[k] {
			s.lambda[i] += d * v
		}
	}
}

// hold computes the multipliers at a frame near by: its geometry and elements
// with the friction bounds and shares, and the contact forces, of here.
func (s *solver) hold(f *frame, lambda []float64) {
	copy(s.total, f.loads.Q)
	first := len(s.x.rubs)
	for i := range s.x.rubs {
		if sg := s.loc.laws[i].sigma; sg != 0 && !s.slips[i].saturated(sg) {
			_, row := f.v.Joint(s.x.rubs[i].joint)
			row.AddTo(s.total, -sg*s.slips[i].Out)
		}
	}
	for i := range f.loads.Slips {
		f.loads.Slips[i].rub(s.loc.laws[first+i].sigma, s.total)
	}
	for i := range f.loads.Contacts {
		if gap := s.loads.Contacts[i].Gap; gap < 0 {
			c := &f.loads.Contacts[i]
			c.Grad.AddTo(s.total, -c.Stiffness*gap)
		}
	}
	f.w.Multipliers(s.total, lambda)
}

// rub adds the friction force for a share of it. A block that the local problem
// has not reached has no force yet.
func (sl *Slip) rub(share float64, q []float64) {
	switch {
	case share == 0 || sl.saturated(share):
	case sl.Rows && share > 0:
		sl.OutRow.AddTo(q, share)
	case sl.Rows:
		sl.BackRow.AddTo(q, -share)
	case share > 0:
		sl.Grad.AddTo(q, -share*sl.Out)
	default:
		sl.Grad.AddTo(q, -share*sl.Back)
	}
}
