package force

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Direction says on which side of its hook a clip arm has its root, seen from a
// post that comes to snap in.
type Direction int

const (
	// RootFirst: the post comes from the root's side and travels towards the
	// tip (+x); the entry face looks to the root, the retention face is the
	// arm's end face, and release pushes the arm. Tip rotation flattens the
	// entry and steepens the retention face, and the off-axis force eases entry
	// and hardens release: what a clip wants.
	RootFirst Direction = iota
	// TipFirst: the usual cantilever hook. The post comes from beyond the tip
	// and travels towards the root (−x); release pulls the arm. All the effects
	// change sign: the snap gets harder and the release softer.
	TipFirst
)

func (d Direction) String() string {
	switch d {
	case RootFirst:
		return "root first"
	case TipFirst:
		return "tip first"
	}
	return fmt.Sprintf("Direction(%d)", int(d))
}

// Clip is a cantilever arm with a hook at its tip, against a post.
//
// Arm frame: origin where the undeformed neutral axis meets the root face; x
// along the arm from root to hook peak; y across, towards the side the hook
// (and the post) is on. The inner surface of a straight arm is y = t/2 with t
// the tip thickness, the hook peak is at (Length, t/2 + Hook). A body that
// carries the arm mirrored maps points and forces into this frame.
type Clip struct {
	Arm Arm
	// The hook is a bump on the arm's inner face, as it is printed (parts.Bump).
	Hook      float64   // height of the hook peak above the inner surface, mm
	Nose      float64   // radius of the hook peak, mm
	Entry     float64   // entry face angle from the arm's axis, rad, (0, π/2)
	Retention float64   // retention face angle from the arm's axis, rad, (0, π/2)
	Direction Direction // of the arm
	Post      Post
	Mu        float64 // friction between hook and post
}

// Post is the body that a hook snaps over: round, or a flat with rounded edges.
type Post struct {
	Radius float64 // of the round post, or of its edges, mm, > 0
	Flat   float64 // length of the flat between the edge centres, mm, 0 for a round post
}

// Place is a pose of the post in the arm frame.
type Place struct {
	// P is the centre of the round post, or the middle between the edge centres.
	P r2.Vec
	// Tilt is the angle of the flat against the arm's x axis, rad; the flat
	// faces the arm (−y) at 0. It does nothing for a round post.
	Tilt float64
}

// Slip says which way the post slides over the hook.
type Slip int

const (
	Releasing Slip = -1 // from the latched side to the entry side
	Resting   Slip = 0  // no friction: the elastic potential
	Entering  Slip = 1  // from the entry side to the latched side
)

// ClipLaw is a Clip ready to be queried.
//
// The arm is a beam element with tip deflection v and rotation θ, stiffness
// from ArmLaw, inextensible: its tip comes nearer the root by ½∫v′² as it bends
// (that is the beam-column term). The hook rides on the tip as a rigid shape
// bounded by entry face, nose arc and retention face. A post pressed into it
// finds the (v, θ) of least elastic energy that clears it. That one condition
// holds all four effects: the offset curve (post radius + nose radius), the
// rotation of the faces, the axial force off the neutral axis, and the contact
// point that turns with the hook. Without friction the force on the post is
// minus the gradient of the energy, to rounding.
type ClipLaw struct {
	clip          Clip
	terms         Terms
	arm           *ArmLaw
	kvv, kvt, ktt float64 // tip stiffness
	svv, svt, stt float64 // shortening, zero without TermColumn
	dir           float64 // +1 RootFirst, −1 TipFirst
	tip           float64 // x of the undeformed hook peak
	nose          float64 // nose centre above the neutral axis
	r             float64 // nose + post radius
	post          float64 // post radius in the contact
	drop          float64 // lowering of the post centre (TermOffset off)
	left, right   r2.Vec  // outward normals of the faces on the −x and +x side
	inner         float64 // y of the arm's inner surface
	turn, lever   float64 // switches of TermTurning, TermOffAxis
	tilt          float64 // switch of TermTipRotation
}

// Law checks the clip and prepares it with the given terms.
func (c Clip) Law(terms Terms) (*ClipLaw, error) {
	err := errors.Join(positive("hook height", c.Hook), notNegative("nose radius", c.Nose),
		positive("post radius", c.Post.Radius), notNegative("post flat", c.Post.Flat),
		notNegative("clip friction", c.Mu))
	for _, a := range []struct {
		name string
		v    float64
	}{{"entry angle", c.Entry}, {"retention angle", c.Retention}} {
		if !(a.v > 0 && a.v < math.Pi/2) {
			err = errors.Join(err, fmt.Errorf("force: %s is %g rad, must be between 0 and π/2", a.name, a.v))
		}
	}
	if c.Direction != RootFirst && c.Direction != TipFirst {
		err = errors.Join(err, fmt.Errorf("force: unknown clip direction %d", int(c.Direction)))
	}
	arm, armErr := c.Arm.Law(terms)
	if err = errors.Join(err, armErr); err != nil {
		return nil, err
	}
	l := &ClipLaw{clip: c, terms: terms, arm: arm, dir: 1, tip: c.Arm.Length}
	if c.Direction == TipFirst {
		l.dir = -1
	}
	det := arm.FF*arm.MM - arm.FM*arm.FM
	l.kvv, l.kvt, l.ktt = arm.MM/det, -arm.FM/det, arm.FF/det
	if terms.Has(TermColumn) {
		l.svv, l.svt, l.stt = arm.shortening[0], arm.shortening[1], arm.shortening[2]
	}
	l.inner = arm.arm.TipThickness / 2
	l.r, l.post = c.Nose+c.Post.Radius, c.Post.Radius
	l.nose = l.inner + c.Hook - c.Nose
	if !terms.Has(TermOffset) {
		// A sharp peak against the post's lowest point; a radius of a micron
		// keeps the normal defined.
		l.r, l.post, l.drop = 1e-3, 0, c.Post.Radius
		l.nose = l.inner + c.Hook - l.r
	}
	face := func(side, a float64) r2.Vec { return r2.Vec{X: side * math.Sin(a), Y: math.Cos(a)} }
	l.left, l.right = face(-1, c.Entry), face(1, c.Retention)
	if l.dir < 0 {
		l.left, l.right = face(-1, c.Retention), face(1, c.Entry)
	}
	on := func(t Terms) float64 {
		if terms.Has(t) {
			return 1
		}
		return 0
	}
	l.tilt, l.turn, l.lever = on(TermTipRotation), on(TermTurning), on(TermOffAxis)
	return l, nil
}

// Arm returns the law of the clip's arm.
func (l *ClipLaw) Arm() *ArmLaw { return l.arm }

// Peak returns the undeformed hook peak in the arm frame.
func (l *ClipLaw) Peak() r2.Vec { return r2.Vec{X: l.tip, Y: l.inner + l.clip.Hook} }

// Overlap returns how far the hook reaches over the post (mm) when the centre
// passes the undeformed hook at height y: the deflection needed to pass, were
// there no rotation.
func (l *ClipLaw) Overlap(y float64) float64 {
	return l.inner + l.clip.Hook - (y - l.clip.Post.Radius)
}

// SurfaceGap returns how far a post at p stays off the undeformed inner surface
// of the arm, mm. Where it is negative between root and hook the post rubs on
// the arm itself, which the law does not count.
func (l *ClipLaw) SurfaceGap(p Place) float64 {
	low := p.P.Y - l.clip.Post.Flat/2*math.Abs(math.Sin(p.Tilt))
	return low - l.clip.Post.Radius - l.inner
}

// LockAngle returns the retention angle (rad) from which a hook that is touched
// at the given height above the neutral axis (mm) cannot be released by a small
// force, because friction turns the force so far that the hook does not give
// way: π/2 − φ for a force on the neutral axis, less for RootFirst, more for
// TipFirst. A release that has to bend the arm first may lock somewhat earlier
// (see Snap). It is π/2 if no face locks.
func (l *ClipLaw) LockAngle(height float64) float64 {
	a, phi := l.arm, math.Atan(l.clip.Mu)
	e := height * l.lever * l.dir
	opens := func(face float64) bool {
		sa, ca := math.Sincos(face)
		sb, cb := math.Sincos(face + phi)
		// Opening speed of the gap per unit of contact force on the hook.
		return ca*(a.FF*cb-a.FM*e*sb)+e*sa*(a.MM*e*sb-a.FM*cb) > 0
	}
	const n = 900
	for i := 1; i <= n; i++ {
		if !opens(math.Pi / 2 * float64(i) / n) {
			return bisect(opens, math.Pi/2*float64(i-1)/n, math.Pi/2*float64(i)/n)
		}
	}
	return math.Pi / 2
}

// NaiveClip returns the force along the post's travel that a wedge sum on the
// printed angle promises for entry or release: k·overlap·tan(a+φ), k the arm's
// stiffness. It knows neither radius nor direction: on a TipFirst clip it
// overstates release two times and more, on a RootFirst clip it may be near or
// below the truth. It is kept for comparison in reports only.
func NaiveClip(k, overlap, a, mu float64) float64 { return k * overlap * InclinePush(a, mu) }
