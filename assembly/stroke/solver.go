package stroke

import (
	"math"

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
		a := math.Abs(s.slips[i].Grad.Dot(s.n[k])) * s.x.rubs[i].unit(s.mech.Scale)
		if a > best {
			best, name = a, s.mech.Joints[s.x.rubs[i].joint].Name
		}
	}
	return name
}
