package stroke

import "math"

// frictionRow is the friction force of a slip in use.
func (s *solver) frictionRow(i int) Row {
	share := s.loc.laws[i].sigma
	if share == 0 {
		return Row{}
	}
	return s.slips[i].full(share > 0).Scaled(math.Abs(share))
}

// books are the energies of a step (N·mm).
type books struct {
	work float64 // of the command
	loss float64 // in sliding
	gap  float64 // work that neither is stored nor lost: an error of the step, or a fall
	// trust is the multiple of the step at which the error would still do.
	trust float64
}

// books draws up the energies of a step to rest.
func (r *runner) books(ds float64) books {
	b := books{work: r.input(ds), loss: r.friction(ds)}
	b.gap = b.work - (r.s.stored() - r.energy) - b.loss
	// The error of the work falls with the square of the step, per mm.
	b.trust = 0.8 * math.Sqrt(gapTol*(1+math.Abs(r.force))*max(math.Abs(ds), 0.02)/(math.Abs(b.gap)+1e-9))
	return b
}

// enter adds the books of a step to the run's.
func (r *runner) enter(b books) {
	r.lost += b.loss
	r.work += b.work
	r.res.Imbalance += math.Abs(b.gap)
	if r.s.swung {
		r.res.Swinging++
	}
}

// friction is the work lost in sliding since the last settled state: by the
// parabola through three states of a slide that goes on, by the new force of a
// slide that has turned.
func (r *runner) friction(ds float64) float64 {
	s := r.s
	for i := range s.dq {
		s.dq[i] = s.w.Q[i] - r.q[i]
		r.curve[i] = (s.dq[i]/ds - r.dq[i]) / (ds + r.lastStep)
	}
	loss := 0.0
	for i := range s.slips {
		if s.slips[i].X == r.x[i] {
			continue
		}
		row := s.frictionRow(i)
		w := -row.Dot(s.dq)
		if r.sigma[i]*s.loc.laws[i].sigma > 0 {
			was := -r.rows[i].Dot(s.dq)
			if r.bent && r.sigmas[i]*r.sigma[i] > 0 {
				// ∫f·dq less the trapezium, with f and q quadratic in the command.
				bend := r.bend(was+r.lastRows[i].Dot(s.dq), w-was, ds)
				loss -= ds * ds / 6 * (row.Dot(r.curve) - r.rows[i].Dot(r.curve) + bend)
			}
			w = (w + was) / 2
		}
		loss += w
	}
	return loss
}

// bend is the second divided difference of what has changed by the amounts before
// and now in the last step and this one.
func (r *runner) bend(before, now, ds float64) float64 {
	return (now/ds - before/r.lastStep) / (ds + r.lastStep)
}

// input is the work of the command over a step, by the parabola through three
// states; after a turn the force of before does not count.
func (r *runner) input(ds float64) float64 {
	f := r.effort()
	if r.turned {
		return f * ds
	}
	w := (f + r.force) / 2 * ds
	if r.bent {
		w -= ds * ds * ds / 6 * r.bend(r.slope*r.lastStep, f-r.force, ds)
	}
	return w
}
