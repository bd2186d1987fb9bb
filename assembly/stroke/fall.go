package stroke

import "math"

// longestFall is the number of small steps after which a fall is given up.
const longestFall = 4000

// fall follows the mechanism from the last settled state at the new command,
// downhill in small steps, until it rests.
func (r *runner) fall(ds float64) error {
	s := r.s
	r.restore()
	copy(r.start, r.q)
	s.w.Eval()
	s.w.Factor(false)
	s.gather()
	copy(r.before, s.slips)
	r.command(r.at + ds)
	if !r.first {
		for i := range s.w.Q {
			s.w.Q[i] += ds * r.dq[i]
		}
	}
	if res, ok := s.w.Close(closeTol*s.mech.Scale, s.dq); !ok {
		return s.closure(res)
	}
	var way, gone, lost float64 // passive travel, the last step's, friction work
	calm, reach := 0, fallStep
	for k := 0; k < longestFall; k++ {
		s.gather()
		if k > 0 {
			s.mark() // where it has got to is where it would rest
		}
		if k > 0 && len(s.n) == 1 && gone > fallStep/2 && equal(s.freeAt, s.w.Free) {
			s.chord()
		} else if err := s.linearise(true); err != nil {
			return err
		}
		rounds := 6
		if calm > 0 {
			rounds = 40
		}
		reach = min(fallStep, 2*reach)
		change := s.balance(reach, rounds, 2*fallStep)
		// What holds here and slides there comes to rest between.
		for change > swingTol && reach > settleTol {
			reach /= 4
			change = s.balance(reach, 40, 2*fallStep)
		}
		d := norm(s.loc.delta)
		if k > 0 {
			lost += r.slid()
		}
		if calm++; d >= settleTol {
			calm = 0
		}
		// Friction that goes on swinging by little at rest is no motion.
		if calm > 0 && change < 1e-3 || calm > 5 && change < swingTol || calm > 0 && reach <= settleTol {
			if change >= 1e-3 {
				r.res.Swinging++
			}
			work := r.force * ds
			if way < reachMin {
				work = (r.force + r.effort()) / 2 * ds // it has not fallen at all
			}
			// Stored energy and the command set free what friction and motion that
			// turns into heat share.
			free := work + r.energy - s.stored()
			lost = max(0, min(lost, free))
			r.work += work
			r.lost += lost
			r.snap += max(0, free-lost)
			r.res.Imbalance += max(0, -free)
			return nil
		}
		if k > 0 {
			r.carry()
			way += gone
		}
		gone = d
		if err := s.move(); err != nil {
			return err
		}
	}
	return r.unsettled("the fall does not end")
}

// carry keeps the configuration of a fall, with its slips, for the work of the
// next small step.
func (r *runner) carry() {
	copy(r.q, r.s.w.Q)
	copy(r.before, r.s.slips)
}

// slid is the work lost in sliding over a small step of a fall.
func (r *runner) slid() float64 {
	s := r.s
	for i := range s.dq {
		s.dq[i] = s.w.Q[i] - r.q[i]
	}
	loss := 0.0
	for i := range s.slips {
		a, b := &r.before[i], &s.slips[i]
		if dx := b.X - a.X; math.Abs(dx) > slipTol && b.Out < blocked && b.Back < blocked {
			ra, rb := a.full(dx > 0), b.full(dx > 0)
			loss -= (ra.Dot(s.dq) + rb.Dot(s.dq)) / 2
		}
	}
	return loss
}
