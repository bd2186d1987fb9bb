package parts

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts/profile"
)

// letIn is how far an arm's outline is let into the block at its root, mm, so that
// the two are one solid also where the block's corner is rounded as it suits the arm.
func letIn(a *params.Arm) float64 { return math.Max(0.8, a.Thickness/2) }

// ArmFrame maps an arm's own frame to its body's: x runs from the root to the
// hook, y to the side where the hook stands, the origin is the hook's peak.
type ArmFrame struct {
	Peak, X, Y r2.Vec
	Mirrored   bool
}

// NewArmFrame returns the frame of a clip's arm in its body.
func NewArmFrame(a *params.Arm) ArmFrame {
	x := r2.Vec{X: math.Cos(a.Direction), Y: math.Sin(a.Direction)}
	f := ArmFrame{Peak: a.Hook, X: x, Y: r2.Vec{X: -x.Y, Y: x.X}}
	if a.Side == "right" {
		f.Y, f.Mirrored = r2.Scale(-1, f.Y), true
	}
	return f
}

// At maps a point of the arm's frame to the body's.
func (f ArmFrame) At(x, y float64) r2.Vec {
	return r2.Add(f.Peak, r2.Add(r2.Scale(x, f.X), r2.Scale(y, f.Y)))
}

// loop maps a counter-clockwise loop of the arm's frame to the body's.
func (f ArmFrame) loop(l profile.Loop) profile.Loop {
	out := l.Clone()
	for i, v := range l {
		out[i].P = f.At(v.P.X, v.P.Y)
		if f.Mirrored {
			out[i].Bulge = -v.Bulge
		}
	}
	if f.Mirrored {
		return out.Reverse()
	}
	return out
}

// Hook returns the hook of an arm as a bump on the arm's inner face: its first
// face is the entry face, its last the retention face.
func Hook(a *params.Arm) Bump {
	return Bump{Height: a.Height, First: a.Entry, Last: a.Retention, Radius: a.Nose}
}

// armLoop draws an arm with its hook, deflected by drop at the hook (mm, away
// from the post; the arm is turned about its root, which is close enough for
// the room that it needs).
func armLoop(a *params.Arm, drop float64) (profile.Loop, error) {
	hook := Hook(a)
	if err := hook.Check(); err != nil {
		return nil, err
	}
	h, t, rf := a.Height, a.Thickness, a.RootFillet
	root, inner := -a.Length, -a.Length-letIn(a)
	tipT := t * a.Tip
	foot, end := -hook.Peak(), hook.End()-hook.Peak()
	if foot <= root+rf {
		return nil, fmt.Errorf("the entry face is %.2f mm long along the arm and meets the root fillet; the arm needs more than %.2f mm from root to hook, or a steeper entry face", hook.Peak(), hook.Peak()+rf)
	}
	v := func(x, y float64) profile.Vertex { return profile.Vertex{P: r2.Vec{X: x, Y: y}} }
	l := profile.Loop{v(inner, -h-t-rf)}
	quarter := -math.Tan(math.Pi / 8)
	if rf > 0 {
		l = append(l, v(root, -h-t-rf), v(root+rf, -h-t))
		l[1].Bulge = quarter
	} else {
		l = append(l, v(root, -h-t))
	}
	l = append(l, v(end, -h-tipT))
	// The bump's outline runs from foot to end; the loop takes it backwards.
	bump := hook.outline()
	for i := len(bump) - 1; i >= 0; i-- {
		w := v(bump[i].P.X-hook.Peak(), bump[i].P.Y-h)
		if i > 0 {
			w.Bulge = -bump[i-1].Bulge
		}
		l = append(l, w)
	}
	if rf > 0 {
		w := v(root+rf, -h)
		w.Bulge = quarter
		l = append(l, w, v(root, -h+rf))
	} else {
		l = append(l, v(root, -h))
	}
	l = append(l, v(inner, -h+rf))
	if drop != 0 {
		sin, cos := math.Sincos(-drop / a.Length)
		for i := range l {
			if p := l[i].P; p.X > root {
				dx := p.X - root
				l[i].P = r2.Vec{X: root + cos*dx - sin*(p.Y+h), Y: sin*dx + cos*(p.Y+h) - h}
			}
		}
	}
	return NewArmFrame(a).loop(l), nil
}

// DeflectedArm draws the free part of a clip's arm, from a thickness past the
// root to the hook, pushed aside by drop mm at the hook, in its body's frame.
func DeflectedArm(a *params.Arm, drop float64) (profile.Region, error) {
	loop, err := armLoop(a, drop)
	if err != nil {
		return nil, err
	}
	f := NewArmFrame(a)
	x0, x1 := -a.Length+a.Thickness+a.RootFillet, a.Length
	reach := 2 * (a.Height + a.Thickness + a.RootFillet + drop)
	free := f.loop(profile.Loop{{P: r2.Vec{X: x0, Y: -reach}}, {P: r2.Vec{X: x1, Y: -reach}}, {P: r2.Vec{X: x1, Y: reach}}, {P: r2.Vec{X: x0, Y: reach}}})
	return profile.Intersect(profile.Region{loop}, profile.Region{free})
}
