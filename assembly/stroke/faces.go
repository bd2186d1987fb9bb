package stroke

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/params"
	"tuckfinger/parts"
)

// Face is what a pin or post finds of one printed face of a ramp or hook.
type Face struct {
	Element string // ramp or clip
	Name    string // first_face, last_face, entry or retention
	Path    string // in the finger file
	Printed float64
	Touch   parts.Face // what the pin or post can touch of it
	// Limit is the angle (rad) from which the face locks.
	Limit float64
	// Force is the largest force along ramp or arm that climbing the face takes by
	// the force laws (N), Wedge what a wedge sum on the printed angle promises;
	// +Inf where it locks. Both are NaN for a hook that its post does not pass.
	Force, Wedge float64
	Radius       float64 // of the pin or post (mm)
	// Releases is true for the face of a hook that holds the latched post.
	Releases bool
	// Against is true for a hook on an arm whose root the post comes to last: its
	// tip's rotation and the off-axis force work against the clip.
	Against bool
}

// Faces returns the faces of all ramps and hooks that are part of a stroke, two
// of each, in the order of the model's elements.
func (x *Model) Faces(r *Result) ([]Face, error) {
	b := builder{x: x, m: x.Mech, d: x.Design, terms: x.Options.Terms}
	var out []Face
	for _, e := range x.Elements {
		var two [2]Face
		var err error
		switch e := e.(type) {
		case *rampElement:
			two, err = b.rampFaces(e)
		case *clipElement:
			two, err = b.hookFaces(e, r)
		default:
			continue
		}
		if err != nil {
			return out, err
		}
		out = append(out, two[:]...)
	}
	return out, nil
}

func (b *builder) rampFaces(e *rampElement) ([2]Face, error) {
	in := b.d.Ramps.Get(e.name)
	path := "ramps." + e.name
	slot := b.d.Joints.Get(in.Slot).Slot
	f := [2]Face{{Name: "first_face", Printed: in.First}, {Name: "last_face", Printed: in.Last}}
	ramp, err := b.ramp(path, in, slot)
	if err != nil {
		return f, err
	}
	law, err := ramp.Law(b.terms)
	if err != nil {
		return f, err
	}
	radius := b.pinDiameter(slot) / 2
	if f[0].Touch, f[1].Touch, err = parts.RampBump(in).Faces(radius); err != nil {
		return f, err
	}
	k, _ := ramp.Wall.Stiffness(ramp.Origin)
	for i := range f {
		f[i].Element, f[i].Path, f[i].Radius = e.name, path+"."+f[i].Name, radius
		f[i].Limit = force.LockAngle(ramp.Mu)
		f[i].Force = law.Pass(i == 0).Peak
		f[i].Wedge = force.NaiveRamp(k, in.Rise, f[i].Printed, ramp.Mu)
	}
	return f, b.err
}

func (b *builder) hookFaces(e *clipElement, r *Result) ([2]Face, error) {
	in := b.d.Clips.Get(e.name)
	a := &in.Arm
	f := [2]Face{{Name: "entry", Printed: a.Entry}, {Name: "retention", Printed: a.Retention}}
	var err error
	if f[0].Touch, f[1].Touch, err = parts.Hook(a).Faces(in.Post.Radius); err != nil {
		return f, err
	}
	mu := b.hookFriction(in)
	for i := range f {
		f[i].Element, f[i].Path, f[i].Radius = e.name, "clips."+e.name+".arm."+f[i].Name, in.Post.Radius
		f[i].Limit, f[i].Force, f[i].Wedge, f[i].Against = force.LockAngle(mu), math.NaN(), math.NaN(), e.enter < 0
	}
	// The face that release climbs bends the arm by a force off its axis.
	release := 1
	if e.enter < 0 {
		release = 0
	}
	f[release].Limit, f[release].Releases = e.law.LockAngle(e.peak.Y), true
	y, passes := e.passes(b.x, r)
	if !passes {
		return f, nil
	}
	reach := parts.Hook(a).End() + 2*in.Post.Radius + a.Thickness
	snap, err := e.law.Snap(force.Straight{From: r2.Vec{X: e.peak.X - e.enter*reach, Y: y}, Along: r2.Vec{X: e.enter}}, 0, 2*reach)
	if err != nil {
		return f, nil // a post that does not pass on a straight line has no force along it
	}
	k, overlap := e.law.Arm().Stiffness(), e.law.Overlap(y)
	f[1-release].Force, f[release].Force = snap.Entry, snap.Release
	for i := range f {
		f[i].Wedge = force.NaiveClip(k, overlap, f[i].Printed, mu)
	}
	return f, nil
}

// passes returns the height over the arm's axis at which the post first passes the
// hook's peak on a stroke.
func (e *clipElement) passes(x *Model, r *Result) (y float64, ok bool) {
	v := view(x.Mech)
	var last r2.Vec
	for i := range r.Samples {
		v.set(r.Samples[i].Q)
		p, _ := e.place(v)
		a, b := last.X-e.peak.X, p.X-e.peak.X
		if i > 0 && (a > 0) != (b > 0) {
			if y = last.Y + a/(a-b)*(p.Y-last.Y); y > 0 && e.law.Overlap(y) > 0 {
				return y, true
			}
		}
		last = p
	}
	return 0, false
}

// hookFriction is the friction between a hook and its post.
func (b *builder) hookFriction(in *params.Clip) float64 {
	return b.friction(nil, in.Arm.Body, in.Post.Standard != "" && in.Post.Standard != "printed")
}
