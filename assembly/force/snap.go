package force

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Path is a way of a post in the arm frame, by one coordinate s that rises from
// the entry side to the latched side.
type Path interface {
	// At returns the place at s, and its rates dP/ds and dTilt/ds.
	At(s float64) (p Place, rate r2.Vec, turn float64)
}

// Circle is the path of a post on a link pivoted at a point of the arm's body:
// P = Pivot + Radius·(cos, sin)(Start + Sense·s), s in rad. The resistance along
// it is a torque about the pivot, N·mm.
type Circle struct {
	Pivot  r2.Vec
	Radius float64 // pivot to post centre, mm
	Start  float64 // angle at s = 0, rad
	Sense  float64 // +1 counter-clockwise in the arm frame, −1 clockwise
	Tilt   float64 // of a flat post at s = 0, rad; it turns with the link
}

// At implements Path.
func (c Circle) At(s float64) (Place, r2.Vec, float64) {
	sin, cos := math.Sincos(c.Start + c.Sense*s)
	return Place{
			P:    r2.Vec{X: c.Pivot.X + c.Radius*cos, Y: c.Pivot.Y + c.Radius*sin},
			Tilt: c.Tilt + c.Sense*s,
		},
		r2.Vec{X: -c.Radius * c.Sense * sin, Y: c.Radius * c.Sense * cos}, c.Sense
}

// Straight is a path along a line, s in mm: P = From + s·Along. The resistance
// along it is a force, N.
type Straight struct {
	From  r2.Vec
	Along r2.Vec // unit vector
	Tilt  float64
}

// At implements Path.
func (p Straight) At(s float64) (Place, r2.Vec, float64) {
	return Place{P: r2.Add(p.From, r2.Scale(s, p.Along)), Tilt: p.Tilt}, p.Along, 0
}

// Snap sums up a post's way over a hook and back. Efforts are generalised
// forces along the path: N on a Straight path, N·mm about the pivot on a Circle.
type Snap struct {
	Touch, Leave float64 // s at which contact begins on the entry side and ends on the latched side

	Entry   float64 // largest effort to enter
	EntryAt float64 // s of it
	// SnapAt is the s from which the clip pulls the post on by itself, friction
	// included; a post held at a slowly moving s jumps from here.
	SnapAt float64

	// Release is the largest effort to release, +Inf if the retention face locks
	// on the way (Locks); ReleaseAt is its s, or that of the lock.
	Release   float64
	ReleaseAt float64
	Locks     bool

	Deflection float64 // largest of the arm, mm, ≥ 0
	Strain     float64 // largest at the root
	Energy     float64 // largest stored, N·mm
}

// ErrNoContact reports that a post passes a clip without touching the hook.
var ErrNoContact = errors.New("force: the post passes the clip without touching the hook")

// Effort returns what it takes to move the post along the path at s: towards
// rising s with Entering, falling s with Releasing, and the elastic resistance
// towards rising s with Resting. ok is false where it locks or fails; a place
// without contact costs 0.
func (l *ClipLaw) Effort(path Path, s float64, slip Slip) (effort float64, ok bool) {
	p, rate, turn := path.At(s)
	c := l.At(p, slip)
	if c.Locked || c.Failed {
		return math.Inf(1), false
	}
	e := -(r2.Dot(c.Force, rate) + c.Moment*turn)
	if slip == Releasing {
		e = -e
	}
	return e, true
}

// Snap follows a path from s = from (entry side, clear of the hook) to s = to
// (latched side, clear of the hook) and back. It returns ErrNoContact if the
// post never touches, or an error that names s if it is still in contact at an
// end or the arm cannot follow.
func (l *ClipLaw) Snap(path Path, from, to float64) (Snap, error) {
	if !(to > from) {
		return Snap{}, errors.New("force: snap path must run from the entry side to the latched side, to > from")
	}
	touching := func(s float64) bool {
		p, _, _ := path.At(s)
		return l.At(p, Resting).Touching
	}
	const n = 200
	at := func(i int) float64 { return from + (to-from)*float64(i)/n }
	first, last := -1, -1
	for i := range n + 1 {
		if touching(at(i)) {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	switch {
	case first < 0:
		return Snap{}, ErrNoContact
	case first == 0 || last == n:
		return Snap{}, errors.New("force: the post touches the hook at an end of its path")
	}
	r := Snap{
		Touch: bisect(touching, at(first), at(first-1)),
		Leave: bisect(touching, at(last), at(last+1)),
	}
	r.SnapAt = r.Leave
	failed := math.NaN()
	enter := func(s float64) float64 {
		e, ok := l.Effort(path, s, Entering)
		if !ok {
			failed = s
		}
		return e
	}
	r.EntryAt, r.Entry = goldenMax(enter, r.Touch, r.Leave, n)
	if math.IsInf(r.Entry, 1) {
		p, _, _ := path.At(failed)
		return r, &LockError{Entering: true, At: failed, Failed: l.At(p, Entering).Failed}
	}
	pushes := func(s float64) bool { return enter(s) > 0 }
	for i := range n + 1 {
		s := r.EntryAt + (r.Leave-r.EntryAt)*float64(i)/n
		if !pushes(s) {
			r.SnapAt = bisect(pushes, math.Max(r.EntryAt, s-(r.Leave-r.EntryAt)/n), s)
			break
		}
	}
	// Release starts from the latched side and stops at the first lock.
	r.ReleaseAt = r.Leave
	top := r.Touch // where the search for the peak may stop
	for i := range n + 1 {
		s := r.Leave + (r.Touch-r.Leave)*float64(i)/n
		e, ok := l.Effort(path, s, Releasing)
		if !ok {
			r.Release, r.ReleaseAt, r.Locks = math.Inf(1), s, true
			break
		}
		if e < 0 {
			top = s // over the peak: from here the post leaves by itself
			break
		}
	}
	if !r.Locks {
		release := func(s float64) float64 {
			e, _ := l.Effort(path, s, Releasing)
			return e
		}
		r.ReleaseAt, r.Release = goldenMax(release, top, r.Leave, n)
	}
	for i := range n + 1 {
		s := r.Touch + (r.Leave-r.Touch)*float64(i)/n
		p, _, _ := path.At(s)
		for _, slip := range [...]Slip{Entering, Releasing} {
			c := l.At(p, slip)
			if c.Failed {
				return r, &LockError{Entering: slip == Entering, At: s, Failed: true}
			}
			r.Deflection = math.Max(r.Deflection, math.Abs(c.Deflection))
			r.Strain = math.Max(r.Strain, c.Strain)
			r.Energy = math.Max(r.Energy, c.Energy)
		}
	}
	return r, nil
}

// LockError reports that a post cannot pass a clip.
type LockError struct {
	Entering bool    // direction asked for
	At       float64 // s of the place
	Failed   bool    // no equilibrium was found, rather than a lock by friction
}

func (e *LockError) Error() string {
	way, why := "release", "locks by friction"
	if e.Entering {
		way = "entry"
	}
	if e.Failed {
		why = "has no equilibrium of the arm"
	}
	return "force: clip " + way + " " + why + " at s = " + formatFloat(e.At)
}
