package stroke

import "math"

// balance solves the local problem and lets the friction of joints and contacts
// follow their forces. It returns the largest relative change that the last round
// asked for. From the second round on it takes the secant through the last two
// along the way they differ (Anderson's method of depth 1), which also damps
// friction that swings.
func (s *solver) balance(reach float64, rounds int) float64 {
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
			turn := d - s.asked[k]
			along += d * turn
			size += turn * turn
			s.wanted[k] = d
		}
		if change < frictionTol {
			break
		}
		mix := 0.0
		if r > 0 && size > 0 {
			mix = min(0.75, max(-2, along/size))
		}
		for k := range s.bounds {
			i := s.bounds[k].slip
			sl := &s.slips[i]
			d, was := s.wanted[k], s.asked[k]
			step := d - mix*(d-was+s.taken[k])
			s.asked[k] = d
			b := max(0, sl.Out+step)
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
const frictionTol = 1e-5

// forces computes the multipliers for the present shares of friction.
func (s *solver) forces() {
	copy(s.total, s.loads.Q)
	for i := range s.slips {
		// A block that the local problem has not reached has no force yet.
		if !s.slips[i].saturated(s.loc.laws[i].sigma) {
			s.addFriction(i, s.total, 1)
		}
	}
	for i := range s.loads.Contacts {
		c := &s.loads.Contacts[i]
		if x := s.loc.laws[len(s.slips)+i].at(s.loc.delta); x < 0 {
			c.Grad.AddTo(s.total, -c.Stiffness*x)
		}
	}
	s.w.Multipliers(s.total, s.lambda)
}

// addFriction adds w times the friction force of a slip.
func (s *solver) addFriction(i int, q []float64, w float64) {
	sl, sg := &s.slips[i], s.loc.laws[i].sigma
	switch {
	case sg == 0:
	case sl.Rows && sg > 0:
		sl.OutRow.AddTo(q, w*sg)
	case sl.Rows:
		sl.BackRow.AddTo(q, -w*sg)
	case sg > 0:
		sl.Grad.AddTo(q, -w*sg*sl.Out)
	default:
		sl.Grad.AddTo(q, -w*sg*sl.Back)
	}
}
