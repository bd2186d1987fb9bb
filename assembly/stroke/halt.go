package stroke

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"tuckfinger/assembly/linkage"
)

// Halt tells where and why one half of a stroke ends before its travel does.
// That is a property of the design, not a failure of the computation.
type Halt struct {
	S     float64  // slide coordinate (mm)
	To    float64  // where this half should have ended (mm)
	Back  bool     // on the way back
	Force float64  // slide force that does not move it on (N): that of the stalled motor
	Joint string   // one whose hard end is met, whose links end, or the drive
	Ends  []string // stops, slot ends and pads that are met
	Gates []string // ramps, clips and holds that are engaged
	Locks []string // those of Gates that friction locks, whatever the force
	// Change is the path in the finger file of what to lower so that it goes on.
	Change string
	// Err is what the run met: *linkage.ClosureError or *linkage.DeadPointError
	// where the links end, else the drive is blocked.
	Err error
}

// Kinds of event that end a half of the stroke.
const (
	DriveBlocked Kind = "drive blocked"
	LinksEnd     Kind = "links end"
)

// Unwrap returns what the run met.
func (h *Halt) Unwrap() error { return h.Err }

// Error says what stands in the way.
func (h *Halt) Error() string {
	half := "out"
	if h.Back {
		half = "back"
	}
	if h.kind() == LinksEnd {
		return fmt.Sprintf("the way %s ends at s = %.3f mm: %v", half, h.S, h.Err)
	}
	var why []string
	if len(h.Ends) > 0 {
		why = append(why, strings.Join(h.Ends, " and ")+" met")
	}
	if len(h.Locks) > 0 {
		why = append(why, strings.Join(h.Locks, " and ")+" locked by friction")
	} else if len(h.Gates) > 0 {
		why = append(why, strings.Join(h.Gates, " and ")+" engaged")
	}
	if len(why) == 0 {
		why = append(why, "the links jam")
	}
	return fmt.Sprintf("the drive is blocked on the way %s at s = %.3f mm, against up to %.0f N: %s", half, h.S, h.Force, strings.Join(why, ", "))
}

func (h *Halt) kind() Kind {
	var (
		closure *linkage.ClosureError
		dead    *linkage.DeadPointError
	)
	if errors.As(h.Err, &closure) || errors.As(h.Err, &dead) {
		return LinksEnd
	}
	return DriveBlocked
}

// Halt returns why a half of the stroke ends early, or nil.
func (r *Result) Halt(back bool) *Halt {
	for i := range r.Halts {
		if r.Halts[i].Back == back {
			return &r.Halts[i]
		}
	}
	return nil
}

// Halted returns why the stroke is not whole, as an error; nil if it is.
func (r *Result) Halted() error {
	if len(r.Halts) == 0 {
		return nil
	}
	return &r.Halts[0]
}

// half runs to the end of one half of the stroke, or to what ends it before.
func (r *runner) half(to float64) error {
	from := len(r.res.Samples) - 1
	err := r.run(to)
	if why := r.ended(err); why != nil {
		r.res.Halts = append(r.res.Halts, r.halt(from, to, why))
		err = nil
	}
	r.motions(from)
	return err
}

// ended returns why a run that ended with err has come to an end that is the
// design's; nil for one that is whole, or did not converge.
func (r *runner) ended(err error) error {
	var (
		closure *linkage.ClosureError
		dead    *linkage.DeadPointError
		blocked *BlockedError
		settle  *SettleError
	)
	switch {
	case err == nil && r.last().Resistance() > jamForce:
		return r.blocked(r.last().Resistance())
	case errors.As(err, &closure), errors.As(err, &dead), errors.As(err, &blocked),
		errors.As(err, &settle) && math.Abs(r.force) > jamForce/10:
		return err
	}
	return nil
}

// easy is the share of the motor's rated force to which a blocked drive is
// followed, so that what is said of the rest of the stroke is not about forcing
// it: the usual motor margin. Common practice, no source.
const easy = 1 / 1.5

// halt takes off the end of a run that forces a blocked drive, where it asks for
// more than the run needed before and the motor gives easily, and tells what
// stands in the way. from is the last sample of before.
func (r *runner) halt(from int, to float64, why error) Halt {
	x, all := r.s.x, r.res.Samples
	rated, stall := x.motorForces()
	last := len(all) - 1
	k := last
	for k > from && all[k].Resistance() > easy*rated {
		k--
	}
	needed := 0.0
	for i := from; i <= k; i++ {
		needed = max(needed, all[i].Resistance())
	}
	for k < last && all[k+1].Resistance() <= min(needed, stall) {
		k++
	}
	pressed := k // a sample that is pressed with what the motor can
	for pressed < last && all[pressed].Resistance() < stall {
		pressed++
	}
	h := Halt{S: all[k].S, To: to, Back: r.back, Force: min(stall, all[last].Resistance()), Err: why}
	var jam *BlockedError
	if errors.As(why, &jam) && math.IsInf(jam.Force, 1) {
		h.Force = stall
	}
	x.inTheWay(&h, &all[pressed])

	r.res.Samples = all[:k+1]
	for n := len(r.res.Events); n > 0 && r.res.Events[n-1].Sample > k; n-- {
		r.res.Events = r.res.Events[:n-1]
	}
	r.work, r.lost, r.snap, r.res.Imbalance = all[k].Work, all[k].Friction, all[k].Snap, all[k].imbalance
	r.res.Events = append(r.res.Events, Event{Kind: h.kind(), Subject: h.Joint, S: h.S, Back: h.Back, Force: all[k].Force, Sample: k})
	return h
}

// motorForces are the slide forces (N) of the motor at its rating and at stall;
// at most what counts as blocked.
func (x *Model) motorForces() (rated, stall float64) {
	motor, err := x.motor()
	if err != nil {
		return jamForce, jamForce
	}
	if motor.Linear != nil {
		return min(motor.Linear.Rated, jamForce), min(motor.Linear.Stall, jamForce)
	}
	drive, err := x.drive(false)
	if err != nil {
		return jamForce, jamForce
	}
	return min(reachable(drive, motor.Rotary.Rated), jamForce), min(reachable(drive, motor.Rotary.Stall), jamForce)
}

// inTheWay fills in what is met, engaged and locked at a sample, and what to
// change.
func (x *Model) inTheWay(h *Halt, s *Sample) {
	h.Joint = x.Mech.Joints[x.Mech.Drive].Name
	h.Change = "drive.travel"
	if h.Back {
		h.Change = "joints"
	}
	v := view(x.Mech)
	v.set(s.Q)
	l := Loads{Q: make([]float64, x.Mech.Size())}
	slip := len(x.rubs)
	var gate, lock string // paths
	for _, e := range x.Elements {
		l.reset()
		e.Eval(v, &l)
		for i := range l.Contacts {
			if l.Contacts[i].Gap < 0 {
				h.Ends = append(h.Ends, e.Name())
				if end, ok := e.(*endElement); ok {
					h.Joint = x.Mech.Joints[end.joint].Name
				}
				break
			}
		}
		if g, ok := e.(Gate); ok {
			if _, _, on := g.Gate(v); on {
				h.Gates = append(h.Gates, e.Name())
				gate = x.face(g, v)
				for i := range l.Slips {
					sl, share := &l.Slips[i], s.Sigma[slip+i]
					if share > 0 && sl.Out >= blocked || share < 0 && sl.Back >= blocked {
						h.Locks = append(h.Locks, e.Name())
						lock = gate
					}
				}
			}
		}
		slip += len(l.Slips)
	}
	var (
		closure *linkage.ClosureError
		dead    *linkage.DeadPointError
	)
	switch {
	case errors.As(h.Err, &closure):
		h.Joint = closure.Joint
	case errors.As(h.Err, &dead):
		h.Joint = dead.Joint
	case lock != "":
		h.Change = lock
	case h.Back && gate != "":
		h.Change = gate
	}
}

// face is the path in the finger file of what makes an engaged gate give way
// later.
func (x *Model) face(g Gate, v *View) string {
	switch e := g.(type) {
	case *rampElement:
		if f, _ := v.Foot(e.joint); f.Coord < e.crest {
			return "ramps." + e.name + ".first_face"
		}
		return "ramps." + e.name + ".last_face"
	case *clipElement:
		// The faces have their names from an arm whose root is ahead of the post.
		p, _ := e.place(v)
		if p.X > e.peak.X {
			return "clips." + e.name + ".arm.retention"
		}
		return "clips." + e.name + ".arm.entry"
	}
	return "holds." + g.Name() + ".torque"
}

// resume begins the way back where the way out has ended early; false if it does
// not rest there.
func (r *runner) resume() bool {
	at := r.last()
	for i := range r.s.x.rubs {
		j := &r.s.mech.Joints[r.s.x.rubs[i].joint]
		r.s.limits[i] = min(blocked, r.s.x.rubs[i].limit(j, at.Lambda))
	}
	if err := r.begin(at.Q, at.S); err != nil {
		h := Halt{S: at.S, Back: true, Force: at.Resistance(), Err: err}
		r.s.x.inTheWay(&h, at)
		r.res.Halts = append(r.res.Halts, h)
		return false
	}
	return true
}
