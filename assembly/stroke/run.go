package stroke

import "math"

// resolve is how finely events are located in s (mm), before the last step is
// interpolated.
const resolve = 0.01

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
	rate       []float64 // size of each joint's motion over the last step (mm per mm of command)
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

	newMarks []float64
	newRate  []float64
	start    []float64          // configuration before a fall
	before   []Slip             // slips before a small step of a fall
	stop     func(*runner) bool // ends the run after a step
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
	r.rate, r.newRate = make([]float64, len(s.x.rubs)), make([]float64, len(s.x.rubs))
	r.limits = make([]float64, len(s.limits))
	r.command = func(at float64) { s.w.Targets[0].Value = at }
	r.effort = s.drive
	r.first, r.turned, r.drop = true, true, math.Inf(1)
	r.res.Samples = make([]Sample, 0, 384)
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
	r.record(false)
	return nil
}

func (r *runner) unsettled(reason string) error {
	return &SettleError{S: r.s.position(), Joint: r.s.loosest(), Residual: norm(r.s.loc.push), Reason: reason}
}

// blocked says that the drive does not get on against a force (N).
func (r *runner) blocked(force float64) error {
	return &BlockedError{S: r.s.position(), Force: force}
}

// take makes the solver's state the last settled one.
func (r *runner) take() {
	s := r.s
	copy(r.q, s.w.Q)
	r.force, r.energy = r.effort(), s.stored()
	r.keep()
	copy(r.limits, s.limits)
}

// restore puts the last settled state back into the solver.
func (r *runner) restore() {
	s := r.s
	s.w.Set(r.q)
	copy(s.limits, r.limits)
	copy(s.ref, r.x)
}

func (r *runner) record(fell bool) {
	r.res.Samples = append(r.res.Samples, Sample{
		S: r.s.position(), Back: r.back, Force: r.force,
		Stored: r.energy, Work: r.work, Friction: r.lost, Snap: r.snap,
		Q: r.mem.copy(r.q), Lambda: r.mem.copy(r.s.lambda), Sigma: r.mem.copy(r.sigma),
		imbalance: r.res.Imbalance, at: r.at, fell: fell,
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
		if math.Abs(r.force) > jamForce {
			return r.blocked(math.Abs(r.force))
		}
		if r.stop != nil && r.stop(r) {
			return nil
		}
	}
	return nil
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
