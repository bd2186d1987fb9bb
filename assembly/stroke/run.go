package stroke

import (
	"math"

	"tuckfinger/assembly/linkage"
)

// resolve is how finely events are located in s (mm), before the last step is
// interpolated.
const resolve = 0.01

// blockForce is the force (N) above which the drive counts as blocked.
const blockForce = 2e4

// finest is the smallest step (mm), for the peaks of the force curve.
const finest = resolve / 32

// runner steps a solver along its command: the slide coordinate, or the height
// of the floor. What it is commanded by is all that a stroke and a passive fold
// differ in.
type runner struct {
	s   *solver
	res *Result
	mem arena

	at      float64 // command (mm)
	back    bool
	command func(at float64) // puts the command into the solver
	effort  func() float64   // generalised force of the command (N)

	// The last settled state.
	q, dq, ddq []float64 // configuration, first and second differences per mm of command
	bent       bool      // ddq is known
	lastStep   float64
	force      float64
	energy     float64
	sigma      []float64
	rows       []Row // friction forces in use
	// The same of the state before.
	sigmas     []float64
	lastRows   []Row
	curve      []float64 // half the second derivative of the configuration, over a step
	x          []float64
	marks      []float64
	dmarks     []float64 // per mm of command
	moving     []bool
	limits     []float64
	dlimits    []float64
	slope      float64 // d(force)/d(command)
	growth     float64 // of the size of the force per mm
	turning    float64 // ≤ 0: change of that per mm
	drop       float64 // of that size below its line, when a step was last refused for it
	peak       float64 // largest size of the force in this direction
	tied       bool
	first      bool // nothing to extrapolate from
	turned     bool // the command has just been reversed, or begun
	work       float64
	lost, snap float64

	newMarks  []float64
	newMoving []bool
	quiet     []float64 // mm of command for which a joint has stood still
	newQuiet  []float64
	start     []float64          // configuration before a fall
	before    []Slip             // slips before a small step of a fall
	stop      func(*runner) bool // ends the run after a step
}

func newRunner(s *solver) *runner {
	n := len(s.slips)
	r := &runner{s: s, res: &Result{Model: s.x}}
	size := s.mech.Size()
	r.q, r.dq, r.ddq, r.start = make([]float64, size), make([]float64, size), make([]float64, size), make([]float64, size)
	r.dlimits = make([]float64, len(s.limits))
	r.sigma, r.x = make([]float64, n), make([]float64, n)
	r.rows, r.lastRows = make([]Row, n), make([]Row, n)
	r.sigmas, r.curve = make([]float64, n), make([]float64, size)
	r.before = make([]Slip, n)
	r.moving, r.newMoving = make([]bool, len(s.x.rubs)), make([]bool, len(s.x.rubs))
	r.limits = make([]float64, len(s.limits))
	r.quiet, r.newQuiet = make([]float64, len(s.x.rubs)), make([]float64, len(s.x.rubs))
	r.command = func(at float64) { s.w.Targets[0].Value = at }
	r.effort = s.drive
	r.first, r.turned, r.drop = true, true, math.Inf(1)
	r.res.Samples = make([]Sample, 0, 128)
	return r
}

// begin settles the configuration q at the command and records it.
func (r *runner) begin(q []float64, at float64) error {
	s := r.s
	s.w.Set(q)
	r.at = at
	r.command(at)
	if res, ok := s.w.Close(closeTol*s.mech.Scale, s.dq); !ok {
		return s.closure(res)
	}
	s.gather()
	s.mark()
	s.derived = false
	copy(r.q, s.w.Q)
	copy(r.limits, s.limits)
	copy(r.x, s.ref)
	r.energy = s.stored()
	if out, err := s.settle(math.Inf(1), 60); err != nil {
		return err
	} else if out != rest {
		// It falls to where it rests; that is before what is told of.
		if err := r.fall(0); err != nil {
			return err
		}
		r.lost, r.snap, r.work, r.res.Imbalance = 0, 0, 0, 0
	}
	r.take()
	r.marks = s.x.readMarks(&s.v, r.marks[:0])
	r.dmarks = make([]float64, len(r.marks))
	r.record()
	return nil
}

func (r *runner) unsettled(reason string) error {
	return &SettleError{S: r.s.position(), Joint: r.s.loosest(), Residual: norm(r.s.loc.push), Reason: reason}
}

// blocked tells what stands in the way of the drive's force (N): the hard ends that
// are met.
func (r *runner) blocked(force float64) error {
	e := &BlockedError{S: r.s.position(), Back: r.back, Force: force}
	for i := range r.marks {
		if end, ok := r.s.x.Elements[r.s.x.marks[i].element].(*endElement); ok && r.marks[i] > 0 {
			e.Ends = append(e.Ends, end.Name())
			e.Joint = r.s.mech.Joints[end.joint].Name
		}
	}
	if e.Joint == "" && r.s.mech.Drive >= 0 {
		e.Joint = r.s.mech.Joints[r.s.mech.Drive].Name
	}
	return e
}

func (x *Model) readMarks(v *View, dst []float64) []float64 {
	for _, e := range x.Elements {
		dst = e.Marks(v, dst)
	}
	return dst
}

// readMarks reads the marks of the solver's configuration; one that has fallen by
// less than its band stays positive.
func (r *runner) readMarks() {
	x := r.s.x
	r.newMarks = x.readMarks(&r.s.v, r.newMarks[:0])
	for i, v := range r.newMarks {
		if v <= 0 && r.marks[i] > 0 && v > -x.marks[i].Band {
			r.newMarks[i] = tiny
		}
	}
}

// tiny is a mark that is just positive.
const tiny = 1e-15

// take makes the solver's state the last settled one.
func (r *runner) take() {
	s := r.s
	copy(r.q, s.w.Q)
	r.force, r.energy = r.effort(), s.stored()
	r.keep()
	copy(r.limits, s.limits)
}

// frictionRow is the friction force of a slip in use.
func (s *solver) frictionRow(i int) Row {
	sl, sg := &s.slips[i], s.loc.laws[i].sigma
	switch {
	case sg == 0:
		return Row{}
	case sl.Rows && sg > 0:
		return sl.OutRow.Scaled(sg)
	case sl.Rows:
		return sl.BackRow.Scaled(-sg)
	case sg > 0:
		return sl.Grad.Scaled(-sg * sl.Out)
	}
	return sl.Grad.Scaled(-sg * sl.Back)
}

// restore puts the last settled state back into the solver.
func (r *runner) restore() {
	s := r.s
	s.w.Set(r.q)
	copy(s.limits, r.limits)
	copy(s.ref, r.x)
}

func (r *runner) record() {
	r.res.Samples = append(r.res.Samples, Sample{
		S: r.s.position(), Back: r.back, Force: r.force,
		Stored: r.energy, Work: r.work, Friction: r.lost, Snap: r.snap,
		Q: r.mem.copy(r.q), Lambda: r.mem.copy(r.s.lambda), Sigma: r.mem.copy(r.sigma),
		imbalance: r.res.Imbalance,
	})
}

// run steps to the command value to.
func (r *runner) run(to float64) error {
	dir := 1.0
	if to < r.at {
		dir = -1
	}
	ds, refused := resolve, false
	for math.Abs(to-r.at) > 1e-9 {
		ds = min(ds, r.s.x.Options.Step)
		step := min(ds, math.Abs(to-r.at))
		next, err := r.step(dir*step, step <= resolve*1.0001)
		if err != nil {
			return err
		}
		if next < 0 {
			ds, refused = max(-next, finest), true
			continue
		}
		// What has refused the longer step is still ahead.
		if ds = max(next, finest); refused {
			ds = min(ds, max(step, finest))
		}
		refused = false
		if math.Abs(r.force) > blockForce {
			return r.blocked(math.Abs(r.force))
		}
		if r.stop != nil && r.stop(r) {
			return nil
		}
	}
	return nil
}

// step tries one step. It returns the next step to take, negative if this one
// was refused and shall be tried smaller.
func (r *runner) step(ds float64, last bool) (float64, error) {
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
	tries := 16
	if last {
		tries = 60
	}
	out, err := s.settle(reachPerMM*size+reachMin, tries)
	if (err != nil || out != rest) && !last {
		s.derived = false
		return -size / 4, nil
	}
	if err == nil && out != rest && len(s.n) == 0 {
		// Nothing is free but friction: it grows with the forces that it causes.
		return 0, r.blocked(math.Inf(1))
	}
	var loss, work, gap float64
	trust := math.Inf(1)
	if err == nil && out == rest {
		loss = r.friction(ds)
		work = r.input(ds)
		gap = work - (s.stored() - r.energy) - loss
		// The error of the work falls with the square of the step, per mm.
		trust = 0.8 * math.Sqrt(gapTol*(1+math.Abs(r.force))*max(size, 0.02)/(math.Abs(gap)+1e-9))
		if trust < 0.8 && !last {
			return -size * max(0.25, min(trust, 0.5)), nil
		}
	}
	// A corner of the force curve within the step explains part of the gap. Links
	// that the command alone places have nowhere to fall.
	fell := err != nil || out != rest || len(s.n) > 0 && gap > jumpTol+math.Abs(r.effort()-r.force)*size/2
	if fell {
		if err := r.fall(ds); err != nil {
			return 0, err
		}
	}
	// Where the force is near its peak and stops growing, a corner of its curve is
	// looked at closely: peaks are what margins are made of. A drop that is as large
	// over half the step is no corner, and one that the bend of before explains hides
	// an eighth of itself at most.
	growth := (math.Abs(r.effort()) - math.Abs(r.force)) / size
	drop := (r.growth - growth) * size
	miss := max(drop+r.turning*(size+math.Abs(r.lastStep))/2*size, drop/8)
	if !fell && size > finest && r.growth > 0 && math.Abs(r.force) > nearPeak*r.peak &&
		miss > peakTol*(1+math.Abs(r.force)) && drop < 0.75*r.drop {
		r.drop = drop
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
		r.lost += loss
		r.work += work
		r.res.Imbalance += math.Abs(gap)
		if s.swung {
			r.res.Swinging++
		}
	}
	prior, began, before := r.slope, r.turned, math.Abs(r.lastStep)
	r.accept(ds, fell, frac < 1)
	turning := 0.0
	if r.bent && !began {
		turning = 2 * (growth - r.growth) / (size + before)
	}
	r.turning = min(0, turning)
	if r.growth = growth; began {
		r.growth = 0 // friction has only begun to act
	}
	if fell || frac < 1 {
		s.derived = false
		r.slope = 0
		return 2 * resolve, nil
	}
	// The bend of the force curve sets the next step.
	bend := math.Abs(r.slope-prior) * size
	grow := math.Sqrt(bendTol * (1 + math.Abs(r.force)) / (bend + 1e-9))
	grow = min(grow, riseTol*(5+math.Abs(r.force))/(math.Abs(r.slope)*size+1e-9))
	next := size * min(4, max(0.4, min(grow, trust)))
	return max(next, min(2*size, resolve)), nil
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
	r.report(ds, fell)
	r.take()
	r.at += ds
	r.first, r.turned = fell, false
	copy(r.moving, r.newMoving)
	copy(r.quiet, r.newQuiet)
	for i, v := range r.newMarks {
		r.dmarks[i] = (v - r.marks[i]) / ds
		r.marks[i] = v
	}
	r.record()
	r.slope = (r.force - before) / ds
	r.peak = max(r.peak, math.Abs(r.force))
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
	startRate  = 1e-2  // mm of a joint per mm of command that counts as starting
	restRate   = 2e-3  // and as standing still,
	restSpan   = 0.02  // mm of command, if it lasts
	tieForce   = 0.01  // N: resistances below are a tie
	tieReach   = 0.5   // mm over which they must stay below
	jumpAngle  = 0.005 // rad or share of the mechanism's size worth reporting
)

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

// shorter is the step that ends just before an event expected at a share of it.
func shorter(frac, size float64) float64 {
	return max(resolve, min(frac*size-resolve/2, 0.8*size))
}

// crossed returns the share of a step at which the first mark changes sign; 1
// without any. With ahead, the size of an extrapolated step, only marks count that
// have been on their way to it: a stop in contact only seems to open.
func (r *runner) crossed(ahead float64) float64 {
	frac := 1.0
	for i, v := range r.newMarks {
		old := r.marks[i]
		if (old > 0) == (v > 0) || ahead != 0 && (old > 0) == (old+ahead*r.dmarks[i] > 0) {
			continue
		}
		f := old / (old - v)
		if f > 1-1e-6 || math.Abs(old) == 1 && math.Abs(v) == 1 {
			f = 0.5
		}
		frac = min(frac, f)
	}
	return frac
}

// crossing compares marks and motions with the last settled state and returns
// the share of the step at which the first change is expected; 1 without any.
func (r *runner) crossing(size float64) float64 {
	s := r.s
	frac := r.crossed(0)
	for i := range s.x.rubs {
		unit := 1.0
		if s.x.rubs[i].kind == linkage.Pin {
			unit = s.mech.Scale
		}
		slid := math.Abs(s.slips[i].X - r.x[i])
		rate := slid * unit / size
		if r.newQuiet[i] = r.quiet[i] + size; rate > restRate {
			r.newQuiet[i] = 0
		}
		// A joint that only turns back is slow for a moment and has not stopped.
		if r.moving[i] {
			r.newMoving[i] = r.newQuiet[i] < restSpan
		} else if r.newMoving[i] = rate > startRate; r.newMoving[i] {
			frac = min(frac, 0.3)
		}
	}
	return frac
}

// keep makes the slips the reference of the next step.
func (r *runner) keep() {
	s := r.s
	s.mark()
	copy(r.x, s.ref)
	r.sigma, r.sigmas = r.sigmas, r.sigma
	r.rows, r.lastRows = r.lastRows, r.rows
	for i := range s.slips {
		r.sigma[i] = s.loc.laws[i].sigma
		r.rows[i] = s.frictionRow(i)
	}
}
