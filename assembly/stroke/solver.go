package stroke

import (
	"fmt"
	"math"

	"tuckfinger/assembly/linkage"
)

// solver holds one configuration and settles it. It allocates only when made.
type solver struct {
	x      *Model
	mech   *linkage.Mechanism
	w      *linkage.Work
	v      View
	loads  Loads
	blocks []block
	driven bool

	slips  []Slip    // rubbing joints, then elements, then blocks
	ref    []float64 // slip coordinates of the last settled state
	limits []float64 // friction bounds of rubbing joints
	loc    *local
	n      [][]float64 // passive directions, m × Size, per mm
	lambda []float64
	total  []float64 // whole generalised force

	dq, free, keep []float64
	gauge          []float64
	base           []law
}

// block stops the coordinate of a gate or joint while it is engaged.
type block struct {
	gate  Gate
	joint int // used without a gate
	on    bool
}

// SettleError says that no equilibrium was found.
type SettleError struct {
	S        float64 // slide coordinate (mm)
	Joint    string  // joint that moves most in the unsettled direction
	Residual float64 // unbalanced force (N)
	Reason   string
}

func (e *SettleError) Error() string {
	return fmt.Sprintf("no equilibrium at s = %.3f mm, joint %s, unbalanced force %.3g N: %s", e.S, e.Joint, e.Residual, e.Reason)
}

func view(m *linkage.Mechanism) *View {
	return &View{M: m, Q: make([]float64, m.Size()), sin: make([]float64, len(m.Bodies)), cos: make([]float64, len(m.Bodies)), ground: m.Ground}
}

// set copies a configuration into the view.
func (v *View) set(q []float64) {
	copy(v.Q, q)
	for b := range v.sin {
		if b == v.ground {
			v.sin[b], v.cos[b] = 0, 1
		} else {
			v.sin[b], v.cos[b] = math.Sincos(q[3*b+2])
		}
	}
}

// newSolver makes a solver; without driven the slide is a passive coordinate.
func newSolver(x *Model, driven bool, extra []rubbing, blocks []block) *solver {
	s := &solver{x: x, mech: x.Mech, driven: driven, blocks: blocks}
	var targets []linkage.Coord
	if driven {
		targets = append(targets, linkage.JointCoord(x.Mech.Drive))
	}
	s.w = x.Mech.NewWork(targets...)
	s.v = *view(x.Mech)
	size := x.Mech.Size()
	m := s.w.Freedom()
	s.loads.Q = make([]float64, size)
	s.lambda = make([]float64, len(s.w.Residual))
	s.total, s.dq, s.keep = make([]float64, size), make([]float64, size), make([]float64, size)
	s.free = make([]float64, m)
	for k := 0; k < m; k++ {
		s.n = append(s.n, make([]float64, size))
	}
	s.w.Set(x.Mech.Start)
	s.w.Eval()
	s.w.Factor(true)
	s.v.set(s.w.Q)
	s.loads.reset()
	for _, e := range x.Elements {
		e.Eval(&s.v, &s.loads)
	}
	ns := len(x.rubs) + len(s.loads.Slips) + len(blocks)
	s.slips = make([]Slip, ns)
	s.ref = make([]float64, ns)
	s.limits = make([]float64, len(x.rubs))
	for i := range x.rubs {
		s.limits[i] = x.rubs[i].drag
	}
	s.loc = newLocal(m, ns+len(s.loads.Contacts))
	s.base = newLocal(m, ns+len(s.loads.Contacts)).laws
	s.gauge = make([]float64, m)
	return s
}

// gather evaluates all elements at the closed configuration in w.
func (s *solver) gather() {
	s.v.set(s.w.Q)
	s.loads.reset()
	for _, e := range s.x.Elements {
		e.Eval(&s.v, &s.loads)
	}
	k := 0
	for i := range s.x.rubs {
		r := &s.x.rubs[i]
		sl := &s.slips[k]
		sl.X, sl.Grad = s.v.Joint(r.joint)
		sl.Out, sl.Back, sl.Rows = s.limits[i], s.limits[i], false
		k++
	}
	k += copy(s.slips[k:], s.loads.Slips)
	for i := range s.blocks {
		b := &s.blocks[i]
		sl := &s.slips[k]
		*sl = Slip{}
		if b.gate != nil {
			sl.X, sl.Grad, _ = b.gate.Gate(&s.v)
		} else {
			sl.X, sl.Grad = s.v.Joint(b.joint)
		}
		if b.on {
			sl.Out, sl.Back = blocked, blocked
		}
		k++
	}
	for k := range s.n {
		for j := range s.free {
			s.free[j] = 0
		}
		s.free[k] = 1
		if s.w.Free[k]%3 == 2 {
			s.free[k] = 1 / s.mech.Scale
		}
		s.w.Step(nil, s.free, s.n[k])
	}
}

// reduce brings loads, slips and contacts onto the passive coordinates.
func (s *solver) reduce(g []float64, laws []law) {
	for k := range s.n {
		g[k] = -dot(s.loads.Q, s.n[k])
	}
	for i := range s.slips {
		sl, w := &s.slips[i], &laws[i]
		w.k, w.moves = 0, false
		for k := range s.n {
			a := sl.Grad.Dot(s.n[k])
			if math.Abs(a) < 1e-12 {
				a = 0
			}
			w.a[k] = a
			w.moves = w.moves || a != 0
		}
		s.pulls(sl, w)
		w.x = sl.X - s.ref[i]
	}
	for i := range s.loads.Contacts {
		c, w := &s.loads.Contacts[i], &laws[len(s.slips)+i]
		w.x, w.k = c.Gap, c.Stiffness
		for k := range s.n {
			w.a[k] = c.Grad.Dot(s.n[k])
		}
	}
}

// pulls fills the reduced friction forces of a slip.
func (s *solver) pulls(sl *Slip, w *law) {
	for k := range s.n {
		if sl.Rows {
			w.out[k], w.back[k] = sl.OutRow.Dot(s.n[k]), sl.BackRow.Dot(s.n[k])
		} else {
			w.out[k], w.back[k] = -sl.Out*w.a[k], sl.Back*w.a[k]
		}
	}
}

// differ is the step of finite differences along a passive coordinate (mm).
const differ = 1e-5

// linearise fills the local problem at the configuration in w: forces, their
// derivatives along every passive coordinate, slips and contacts.
func (s *solver) linearise() error {
	s.w.Hold(true)
	defer s.w.Hold(false)
	l := s.loc
	copy(s.keep, s.w.Q)
	m := l.m
	for k := 0; k < m; k++ {
		s.gather() // for n at the centre
		for i := range s.w.Q {
			s.w.Q[i] = s.keep[i] + differ*s.n[k][i]
		}
		if r, ok := s.w.Close(closeTol*s.mech.Scale, s.dq); !ok {
			return s.closure(r)
		}
		s.gather()
		s.reduce(s.gauge, s.base)
		for j := 0; j < m; j++ {
			l.h[j*m+k] = s.gauge[j]
			for i := range s.slips {
				l.laws[i].dOut[j*m+k], l.laws[i].dBack[j*m+k] = s.base[i].out[j], s.base[i].back[j]
			}
		}
		s.w.Set(s.keep)
		s.w.Eval()
		s.w.Factor(false)
	}
	s.gather()
	s.reduce(l.g, l.laws)
	for k := 0; k < m; k++ {
		for j := 0; j < m; j++ {
			l.h[j*m+k] = (l.h[j*m+k] - l.g[j]) / differ
			for i := range s.slips {
				w := &l.laws[i]
				w.dOut[j*m+k] = s.rate(i, w.dOut[j*m+k], w.out[j])
				w.dBack[j*m+k] = s.rate(i, w.dBack[j*m+k], w.back[j])
			}
		}
	}
	return nil
}

// rate is a difference quotient of a friction force; joints' bounds follow
// their forces instead, and blocks do not change.
func (s *solver) rate(slip int, moved, here float64) float64 {
	if slip < len(s.x.rubs) || math.Abs(here) >= blocked/1e3 || math.Abs(moved) >= blocked/1e3 {
		return 0
	}
	return (moved - here) / differ
}

// closeTol is the residual of the closure per mm of the mechanism's size.
const closeTol = 1e-13

// balance solves the local problem and lets the joints' friction follow their
// forces. It returns the largest relative change of friction in the last round.
func (s *solver) balance(reach float64, rounds int) float64 {
	change := 0.0
	for r := 0; r < rounds; r++ {
		s.loc.solve(reach)
		s.forces()
		change = 0
		scale := 1e-3
		for i := range s.x.rubs {
			rb := &s.x.rubs[i]
			b := rb.limit(&s.mech.Joints[rb.joint], s.lambda)
			change = math.Max(change, math.Abs(b-s.limits[i])/(math.Abs(b)+scale))
			s.limits[i] = b
			sl := &s.slips[i]
			sl.Out, sl.Back = b, b
			s.pulls(sl, &s.loc.laws[i])
		}
		if change < frictionTol {
			break
		}
	}
	return change
}

// frictionTol is the relative change of joint friction that ends its iteration.
const frictionTol = 1e-6

// forces computes the multipliers for the present shares of friction.
func (s *solver) forces() {
	copy(s.total, s.loads.Q)
	for i := range s.slips {
		s.addFriction(i, s.total, 1)
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

// outcome is how a settling ended.
type outcome int

const (
	rest    outcome = iota // at rest
	distant                // no rest within the limit
	astray                 // no convergence
)

// settle moves the configuration in w to rest at the present targets. limit is
// how far (mm of the passive coordinates) it may go.
func (s *solver) settle(limit float64) (outcome, error) {
	m := s.loc.m
	reach := limit
	last := math.Inf(1)
	moved := 0.0
	for it := 0; it < 40; it++ {
		if err := s.linearise(); err != nil {
			return astray, err
		}
		change := s.balance(reach, 8)
		d := norm(s.loc.delta)
		if d < settleTol && (change < 1e-4 || m == 0) {
			if s.loc.far {
				return distant, nil
			}
			return rest, nil
		}
		if moved += d; moved > 3*limit || s.loc.far && it > 3 {
			return distant, nil
		}
		if d > 0.7*last {
			reach = math.Max(reach/2, settleTol)
		}
		last = d
		if err := s.move(); err != nil {
			return astray, err
		}
	}
	return astray, nil
}

// settleTol is a move of the passive coordinates that counts as none (mm).
const settleTol = 1e-7

// move goes by δ and closes.
func (s *solver) move() error {
	copy(s.keep, s.w.Q)
	for i := range s.w.Q {
		for k := range s.n {
			s.w.Q[i] += s.loc.delta[k] * s.n[k][i]
		}
	}
	if r, ok := s.w.Close(closeTol*s.mech.Scale, s.dq); !ok {
		return s.closure(r)
	}
	return nil
}

func (s *solver) closure(r float64) error {
	if ratio := s.w.Factor(true); ratio < 1e-5 {
		return &linkage.DeadPointError{S: s.position(), Joint: s.w.Weakest(), Ratio: ratio}
	}
	return &linkage.ClosureError{S: s.position(), Joint: s.w.Worst(), Residual: r, Reason: "the links do not reach any further"}
}

// position is s at the configuration in w.
func (s *solver) position() float64 {
	return s.mech.Coord(s.w.Q, linkage.JointCoord(s.mech.Drive))
}

// drive is the force of the motor on the slide, positive along growing s (N).
func (s *solver) drive() float64 {
	if !s.driven {
		return 0
	}
	return s.lambda[len(s.lambda)-1]
}

// stored is the elastic, weight and contact energy (N·mm).
func (s *solver) stored() float64 {
	e := s.loads.Energy
	for i := range s.loads.Contacts {
		if c := &s.loads.Contacts[i]; c.Gap < 0 {
			e += c.Stiffness * c.Gap * c.Gap / 2
		}
	}
	return e
}

// mark takes the present slips as reference.
func (s *solver) mark() {
	for i := range s.slips {
		s.ref[i] = s.slips[i].X
	}
}

// loosest names the joint that turns or slides most along the passive
// coordinate with the largest residual.
func (s *solver) loosest() string {
	if len(s.n) == 0 {
		return s.mech.Joints[s.mech.Drive].Name
	}
	k := 0
	for j := range s.loc.res {
		if math.Abs(s.loc.res[j]) > math.Abs(s.loc.res[k]) {
			k = j
		}
	}
	best, name := -1.0, ""
	for i := range s.x.rubs {
		a := math.Abs(s.slips[i].Grad.Dot(s.n[k]))
		if s.x.rubs[i].kind == linkage.Pin {
			a *= s.mech.Scale
		}
		if a > best {
			best, name = a, s.mech.Joints[s.x.rubs[i].joint].Name
		}
	}
	return name
}
