package stroke

import "math"

// step tries one step. It returns the next step to take, negative if this one
// was refused and shall be tried smaller.
func (r *runner) step(ds float64, last bool) (float64, error) {
	s := r.s
	size := math.Abs(ds)
	if refusal, err := r.aim(ds, last); refusal != 0 || err != nil {
		return refusal, err
	}
	tries := 16
	if last {
		tries = 60
	}
	out, err := s.settle(reachPerMM*size+reachMin, tries)
	settled := err == nil && out == rest
	if !settled && !last {
		s.derived = false
		return -size / 4, nil
	}
	if err == nil && !settled && len(s.n) == 0 {
		// Nothing is free but friction: it grows with the forces that it causes.
		return 0, r.blocked(math.Inf(1))
	}
	var b books
	if settled {
		if b = r.books(ds); b.trust < 0.8 && !last {
			return -size * max(0.25, min(b.trust, 0.5)), nil
		}
	}
	// A corner of the force curve within the step explains part of the gap. Links
	// that the command alone places have nowhere to fall.
	fell := !settled || len(s.n) > 0 && b.gap > jumpTol+math.Abs(r.effort()-r.force)*size/2
	if fell {
		if err := r.fall(ds); err != nil {
			return 0, err
		}
	} else if size > finest && r.corner(size) {
		return -size / 2, nil
	}
	r.drop = math.Inf(1)
	// Events decide whether the step was too long.
	r.readMarks()
	frac := r.crossing(size)
	if frac < 1 && !last {
		return -shorter(frac, size), nil
	}
	if !fell {
		r.enter(b)
	}
	prior := r.slope
	r.accept(ds, fell, frac < 1)
	if fell || frac < 1 {
		s.derived = false
		r.slope = 0
		return 2 * resolve, nil
	}
	return r.stride(size, prior, b.trust), nil
}

// aim puts the solver at a step, closed and where the last steps point to. It
// returns a refusal where the links do not close, or meet an event on the way.
func (r *runner) aim(ds float64, last bool) (refusal float64, err error) {
	s := r.s
	size := math.Abs(ds)
	r.restore()
	if !r.first {
		r.extrapolate(ds)
	}
	r.command(r.at + ds)
	if res, ok := s.w.Close(closeTol*s.mech.Scale, s.dq); !ok {
		if !last {
			return -size / 4, nil
		}
		r.restore()
		s.w.Eval()
		return 0, s.closure(res)
	}
	if !r.first && !last {
		// An event that the extrapolation already meets needs no settling.
		s.v.take(s.w)
		r.readMarks()
		if frac := r.crossed(ds); frac < 1 {
			return -shorter(frac, size), nil
		}
	}
	return 0, nil
}

// growthOver is the change of the size of the force per mm over a step.
func (r *runner) growthOver(size float64) float64 {
	return (math.Abs(r.effort()) - math.Abs(r.force)) / size
}

// corner reports whether a step hides a corner of the force curve near its peak,
// where it stops growing: peaks are what margins are made of. A drop that is as
// large over half the step is no corner, and one that the bend of before explains
// hides an eighth of itself at most.
func (r *runner) corner(size float64) bool {
	drop := (r.growth - r.growthOver(size)) * size
	miss := max(drop+r.turning*(size+math.Abs(r.lastStep))/2*size, drop/8)
	if r.growth > 0 && math.Abs(r.force) > nearPeak*r.peak && miss > peakTol*(1+math.Abs(r.force)) && drop < 0.75*r.drop {
		r.drop = drop
		return true
	}
	return false
}

// stride is the length of the next step by the bend and rise of the force curve and
// by how far the books are to be trusted.
func (r *runner) stride(size, prior, trust float64) float64 {
	bend := math.Abs(r.slope-prior) * size
	grow := math.Sqrt(bendTol * (1 + math.Abs(r.force)) / (bend + 1e-9))
	grow = min(grow, riseTol*(5+math.Abs(r.force))/(math.Abs(r.slope)*size+1e-9), trust)
	return max(size*min(4, max(0.4, grow)), min(2*size, resolve))
}

// extrapolate puts the solver where the last two steps point to: states of rest
// move smoothly between events.
func (r *runner) extrapolate(ds float64) {
	s := r.s
	bend := ds * (ds + r.lastStep) / 2
	var line, curve float64
	for i := range r.dq {
		line, curve = max(line, math.Abs(ds*r.dq[i])), max(curve, math.Abs(bend*r.ddq[i]))
	}
	// A bend of the size of the way itself is not smooth: nothing may hold the
	// links there.
	if curve > line/2 {
		bend = 0
	}
	for i := range s.w.Q {
		s.w.Q[i] += ds*r.dq[i] + bend*r.ddq[i]
	}
	for i := range s.limits {
		s.limits[i] = max(0, s.limits[i]+ds*r.dlimits[i])
	}
}

// accept makes the solver's state the last settled one and records it with its
// events.
func (r *runner) accept(ds float64, fell, event bool) {
	s := r.s
	size, stepBefore := math.Abs(ds), math.Abs(r.lastStep)
	growth, began := r.growthOver(size), r.turned
	// A second difference needs two steps without an event.
	r.bent = !r.first && !fell && !event
	for i := range r.dq {
		d := (s.w.Q[i] - r.q[i]) / ds
		if fell {
			d = 0
		}
		r.ddq[i] = 0
		if r.bent {
			r.ddq[i] = 2 * (d - r.dq[i]) / (ds + r.lastStep)
		}
		r.dq[i] = d
	}
	for i := range r.dlimits {
		if r.dlimits[i] = (s.limits[i] - r.limits[i]) / ds; fell {
			r.dlimits[i] = 0
		}
	}
	r.lastStep = ds
	before := r.force
	r.report(fell)
	r.take()
	r.at += ds
	r.first, r.turned = fell, false
	if !fell {
		copy(r.rate, r.newRate)
	}
	for i, v := range r.newMarks {
		r.dmarks[i] = (v - r.marks[i]) / ds
		r.marks[i] = v
	}
	r.record(fell)
	r.slope = (r.force - before) / ds
	r.peak = max(r.peak, math.Abs(r.force))
	r.turning = 0
	if r.bent && !began {
		r.turning = min(0, 2*(growth-r.growth)/(size+stepBefore))
	}
	if r.growth = growth; began {
		r.growth = 0 // friction has only begun to act
	}
}

const (
	reachPerMM = 40.0  // passive travel allowed per mm of command
	reachMin   = 0.02  // and in any case (mm)
	gapTol     = 1e-2  // N·mm per N and mm: energy error of a step
	jumpTol    = 5e-3  // N·mm: energy lost in a smallest step that makes it a jump
	bendTol    = 0.05  // share of the force by which its curve may leave a line
	peakTol    = 0.01  // share of the force by which a peak may be missed
	nearPeak   = 0.9   // share of the largest force so far
	riseTol    = 0.4   // share of the force (and 5 N) by which it may grow in a step
	fallStep   = 0.1   // mm of passive travel per step of a fall
	tieForce   = 0.01  // N: resistances below are a tie
	tieReach   = 0.5   // mm over which they must stay below
	jumpAngle  = 0.005 // rad or share of the mechanism's size worth reporting
)
