package stroke

import (
	"tuckfinger/assembly/linkage"
)

// Sample is one settled state.
type Sample struct {
	S     float64 // slide coordinate (mm)
	Back  bool    // on the way back
	Force float64 // of the motor on the slide, positive along growing s (N)
	// Stored is the elastic, weight and contact energy, Work what the motor has
	// put in since the start, Friction and Snap what was lost in sliding and in
	// jumps (N·mm).
	Stored, Work, Friction, Snap float64
	// Q is the configuration, Lambda the multipliers of linkage.Joint.Row, the
	// drive's last. Sigma is the share of friction in use per slip: −1..1.
	Q, Lambda, Sigma []float64

	imbalance float64 // Result.Imbalance up to here (N·mm)
	at        float64 // command (mm): S, or the height of the floor
	fell      bool    // the links have fallen to here
}

// Resistance is the force against the motion (N): what the motor must give,
// negative where it must hold back.
func (s *Sample) Resistance() float64 {
	if s.Back {
		return -s.Force
	}
	return s.Force
}

// Event is something that happened on the stroke.
type Event struct {
	Kind    Kind
	Subject string  // element or joint
	S       float64 // slide coordinate (mm)
	Back    bool
	Force   float64 // slide force there (N)
	// Size of a jump: the change of the joint's coordinate at fixed s (rad or
	// mm). Other is a second subject of a tie.
	Size  float64
	Other string
	// Sample is the index of the sample at or just after the event.
	Sample int
}

// Result is a stroke.
type Result struct {
	Model   *Model
	Samples []Sample
	Events  []Event
	Turn    int    // index of the last sample of the way out
	Halts   []Halt // halves that end early, none for a whole stroke
	// Imbalance is the energy that integration does not account for (N·mm): the
	// sum of the sizes of its steps' errors, and in falls what would have to come
	// from nowhere. Snap is what falls set free beyond friction.
	Imbalance float64
	// Swinging counts the steps at which joint friction and joint forces did not
	// agree to the last digits but to a few percent: high friction, loads that
	// hardly move.
	Swinging int
}

// Poses writes the poses of sample i into dst and returns it.
func (r *Result) Poses(dst []linkage.Pose, i int) []linkage.Pose {
	return r.Model.Mech.Poses(dst, r.Samples[i].Q)
}

// JointForce returns the force (N) that the first body of a joint exerts on the
// second, and for slides and rigid joints the couple (N·mm), in sample i.
func (r *Result) JointForce(i, joint int) []float64 {
	j := &r.Model.Mech.Joints[joint]
	return r.Samples[i].Lambda[j.Row : j.Row+j.Rows()]
}

// Find returns the first event of a kind and subject on one half of the stroke,
// or nil. An empty subject fits all.
func (r *Result) Find(kind Kind, subject string, back bool) *Event {
	for i := range r.Events {
		e := &r.Events[i]
		if e.Kind == kind && e.Back == back && (subject == "" || e.Subject == subject) {
			return e
		}
	}
	return nil
}

// Peak returns the largest resistance on each half (N).
func (r *Result) Peak() (out, back float64) {
	for i := range r.Samples {
		s := &r.Samples[i]
		if v := s.Resistance(); s.Back && v > back {
			back = v
		} else if !s.Back && v > out {
			out = v
		}
	}
	return out, back
}

// arena hands out slices of one large block after another.
type arena struct{ block []float64 }

func (a *arena) copy(v []float64) []float64 {
	if len(a.block)+len(v) > cap(a.block) {
		a.block = make([]float64, 0, max(min(2*cap(a.block), 1<<14), 1<<11, len(v)))
	}
	n := len(a.block)
	a.block = append(a.block, v...)
	return a.block[n:len(a.block):len(a.block)]
}
