package stroke

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
)

// solver holds one configuration and settles it. It allocates only when made.
type solver struct {
	frame
	aside  frame // displaced, for differences
	x      *Model
	mech   *linkage.Mechanism
	blocks []block
	driven bool

	ref    []float64 // slip coordinates of the last settled state
	held   []bool    // slips that are blocked
	limits []float64 // friction bounds of rubbing joints
	loc    *local
	bounds []bounding
	// Change of each bound that this and the last round asked for, and what it got.
	step, turn, asked, taken []float64
	lambda                   []float64
	total                    []float64   // whole generalised force
	drift                    [][]float64 // change of lambda per mm of each passive coordinate, at the same friction bounds and contact forces
	lambda0                  []float64

	dq, free []float64
	base     []law
	// The derivatives in loc belong to the independent columns freeAt.
	derived bool
	swung   bool // the last rest has friction that still swings
	freeAt  []int
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

// BlockedError says that the drive pushes against something that does not give
// way: the travel is longer than the mechanism, or a clip or ramp locks.
type BlockedError struct {
	S     float64  // slide coordinate (mm)
	Back  bool     // on the way back
	Force float64  // of the slide when it was given up (N)
	Joint string   // one whose end is met, or the drive
	Ends  []string // stops and slot ends that are met
}

func (e *BlockedError) Error() string {
	half, why := "out", "nothing gives way: a ramp or clip locks, or the links jam; lower its face angle or the friction"
	if e.Back {
		half = "back"
	}
	if len(e.Ends) > 0 {
		why = strings.Join(e.Ends, " and ") + " is met; end the travel before, move them, or let what is between give way"
	}
	return fmt.Sprintf("the drive is blocked on the way %s at s = %.3f mm, with more than %.0f N: %s", half, e.S, blockForce, why)
}

func view(m *linkage.Mechanism) *View {
	n := len(m.Joints)
	v := &View{M: m, Q: make([]float64, m.Size()), sin: make([]float64, len(m.Bodies)), cos: make([]float64, len(m.Bodies)), ground: m.Ground,
		known: make([]bool, n), feet: make([]linkage.Foot, n), pins: make([]r2.Vec, n),
		asked: make([]bool, n), joints: make([]float64, n), rows: make([]Row, n)}
	for i := range m.Joints {
		if j := &m.Joints[i]; j.Kind == linkage.Pin {
			v.Couple(&v.rows[i], j.A, -1)
			v.Couple(&v.rows[i], j.B, 1)
		}
	}
	return v
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
	v.forget()
}

// take copies the configuration that a kernel has evaluated last.
func (v *View) take(w *linkage.Work) {
	copy(v.Q, w.Q)
	sin, cos := w.Trig()
	copy(v.sin, sin)
	copy(v.cos, cos)
	v.forget()
}

func (v *View) forget() {
	clear(v.known)
	clear(v.asked)
}

// newSolver makes a solver; without driven the slide is a passive coordinate.
func newSolver(x *Model, driven bool, blocks []block) *solver {
	s := &solver{x: x, mech: x.Mech, driven: driven, blocks: blocks}
	s.frame, s.aside = newFrame(x, driven), newFrame(x, driven)
	size, m := x.Mech.Size(), s.w.Freedom()
	s.lambda = make([]float64, len(s.w.Residual))
	s.total, s.dq = make([]float64, size), make([]float64, size)
	s.lambda0 = make([]float64, len(s.lambda))
	for range m {
		s.drift = append(s.drift, make([]float64, len(s.lambda)))
	}
	s.free, s.freeAt = make([]float64, m), make([]int, m)
	ns := len(x.rubs) + len(s.loads.Slips) + len(blocks)
	s.slips, s.aside.slips = make([]Slip, ns), make([]Slip, ns)
	s.ref, s.held = make([]float64, ns), make([]bool, ns)
	s.limits = make([]float64, len(x.rubs))
	for i := range x.rubs {
		s.limits[i] = x.rubs[i].drag
	}
	for i := range s.limits {
		s.bounds = append(s.bounds, bounding{i, -1})
	}
	for i := range s.loads.Slips {
		if c := s.loads.Slips[i].Contact; c > 0 {
			s.bounds = append(s.bounds, bounding{len(s.limits) + i, c - 1})
		}
	}
	s.step = make([]float64, len(s.bounds))
	s.turn, s.asked, s.taken = make([]float64, len(s.bounds)), make([]float64, len(s.bounds)), make([]float64, len(s.bounds))
	s.loc = newLocal(m, ns+len(s.loads.Contacts))
	s.base = newLocal(m, ns+len(s.loads.Contacts)).laws
	return s
}

// gather evaluates all elements at the closed configuration in w.
func (s *solver) gather() {
	s.load(&s.frame)
	for i := range s.x.rubs {
		sl := &s.slips[i]
		var row *Row
		sl.X, row = s.v.Joint(s.x.rubs[i].joint)
		sl.Grad = *row
		sl.Out, sl.Back = s.limits[i], s.limits[i]
	}
	k := len(s.x.rubs) + copy(s.slips[len(s.x.rubs):], s.loads.Slips)
	for i := range s.blocks {
		b := &s.blocks[i]
		sl := &s.slips[k+i]
		*sl = Slip{}
		if b.gate != nil {
			sl.X, sl.Grad, _ = b.gate.Gate(&s.v)
		} else {
			var row *Row
			sl.X, row = s.v.Joint(b.joint)
			sl.Grad = *row
		}
		if b.on {
			sl.Out, sl.Back = blocked, blocked
		}
	}
}

// reduce brings loads, slips and contacts onto the passive coordinates.
func (s *solver) reduce() {
	for k := range s.n {
		s.loc.g[k] = -dot(s.loads.Q, s.n[k])
	}
	for i := range s.slips {
		sl, w := &s.slips[i], &s.loc.laws[i]
		w.k, w.moves, w.rest = 0, false, slipTol
		for k := range s.n {
			a := sl.Grad.Dot(s.n[k])
			// A slide that the passive coordinate hardly moves is the command's.
			if math.Abs(a) < 1e-6 {
				a = 0
			}
			w.a[k] = a
			w.moves = w.moves || a != 0
			w.rest += restTol * math.Abs(a)
		}
		pulls(sl, w, s.n)
		w.x = sl.X - s.ref[i]
	}
	for i := range s.loads.Contacts {
		c, w := &s.loads.Contacts[i], &s.loc.laws[len(s.slips)+i]
		w.x, w.k = c.Gap, c.Stiffness
		for k := range s.n {
			w.a[k] = c.Grad.Dot(s.n[k])
		}
	}
}

// pulls fills the reduced friction forces of a slip.
func pulls(sl *Slip, w *law, n [][]float64) {
	for k := range n {
		if sl.Rows {
			w.out[k], w.back[k] = sl.OutRow.Dot(n[k]), sl.BackRow.Dot(n[k])
		} else {
			w.out[k], w.back[k] = -sl.Out*w.a[k], sl.Back*w.a[k]
		}
	}
}

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
				w.dOut[j*m+k] = quotient(b.out[j], w.out[j])
				w.dBack[j*m+k] = quotient(b.back[j], w.back[j])
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
		if math.Abs(w.out[0]) < blocked/1e3 && math.Abs(b.out[0]) < blocked/1e3 {
			w.dOut[0] += (w.out[0] - b.out[0]) / d
		}
		if math.Abs(w.back[0]) < blocked/1e3 && math.Abs(b.back[0]) < blocked/1e3 {
			w.dBack[0] += (w.back[0] - b.back[0]) / d
		}
	}
	s.hold(&s.frame, s.lambda0)
	for i, v := range s.lambda0 {
		s.drift[0][i] += (v - s.lambda[i]) / d
	}
}

// quotient is a difference quotient of a friction force; a block does not
// change. The bounds of joints follow their forces instead (balance).
func quotient(moved, here float64) float64 {
	if math.Abs(here) >= blocked/1e3 || math.Abs(moved) >= blocked/1e3 {
		return 0
	}
	return (moved - here) / differ
}

func equal(a, b []int) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// closeTol is the residual of the closure per mm of the mechanism's size.
const closeTol = 1e-13

// outcome is how a settling ended.
type outcome int

const (
	rest    outcome = iota // at rest
	distant                // no rest within the limit
	astray                 // no convergence
)

// settle moves the configuration in w to rest at the present targets. limit is
// how far (mm of the passive coordinates) it may go, tries how often.
func (s *solver) settle(limit float64, tries int) (outcome, error) {
	reach := limit
	last, slow, mended, bounces := math.Inf(1), false, false, 0
	moved := 0.0
	s.swung = false
	for it := 0; it < tries; it++ {
		// Derivatives of the step before serve as long as they converge fast.
		s.gather()
		again := slow || it == 1 && last > staleTol
		if again && !mended && it > 0 && len(s.n) == 1 && last > 1e-6 && s.derived && equal(s.freeAt, s.w.Free) {
			s.chord()
			mended = true
		} else {
			if err := s.linearise(again); err != nil {
				return astray, err
			}
			mended = false
		}
		rounds := 3
		if bounces > 0 {
			rounds = 40 // two states of friction take turns: let it decide
		}
		change := s.balance(reach, rounds, staleTol/10)
		d := norm(s.loc.delta)
		if d < settleTol && (s.loc.change() < pushTol || it > 8) {
			if change > frictionTol {
				change = s.balance(reach, 30, reach)
				d = norm(s.loc.delta)
			}
			if d < settleTol && s.loc.far {
				return distant, nil
			}
			if d < settleTol {
				if change > 1e-3 && it > 10 && change < swingTol {
					s.swung = true
					return rest, nil
				}
				if change > 1e-3 || norm(s.loc.res) > 1e-4*(1+norm(s.loc.g)) {
					return astray, nil
				}
				return rest, nil
			}
		}
		if moved += d; moved > 3*limit || s.loc.far && it > 3 {
			return distant, nil
		}
		if it >= 5 && d > slowTol && it >= tries/4 {
			return astray, nil
		}
		if d > 0.7*last {
			if bounces++; bounces > 2 {
				reach = max(reach/2, settleTol)
			}
		}
		slow, last = d > slowRatio*last, d
		if err := s.move(); err != nil {
			return astray, err
		}
	}
	return astray, nil
}

// settleTol is a move of the passive coordinates that counts as none (mm).
const settleTol = 1e-7

// swingTol is the relative change of joint friction that is borne where it does
// not converge.
const swingTol = 0.05

// slowRatio is the convergence above which the derivatives are made anew.
const slowRatio = 0.3

// slowTol is a move (mm) that after a quarter of the tries is too far from rest.
const slowTol = 1e-4

// staleTol is a first move (mm) after which old derivatives are not trusted.
const staleTol = 1e-2

// pushTol is the force that the last move may still change (N); at stiff stops it
// asks for more than settleTol.
const pushTol = 2e-7

// move goes by δ and closes.
func (s *solver) move() error {
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

// mark takes the present slips as reference. What is blocked keeps the place
// where it was caught.
func (s *solver) mark() {
	for i := range s.slips {
		held := s.slips[i].Out >= blocked && s.slips[i].Back >= blocked
		if !held || !s.held[i] {
			s.ref[i] = s.slips[i].X
		}
		s.held[i] = held
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
