// Package linktest builds small designs in code for tests of the mechanism
// packages. Angles are degrees here, as in a finger file.
package linktest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
)

// Rad turns degrees into radians.
func Rad(deg float64) float64 { return deg * math.Pi / 180 }

// Polar is the vector of a length and an angle in degrees.
func Polar(r, deg float64) r2.Vec {
	s, c := math.Sincos(Rad(deg))
	return r2.Vec{X: r * c, Y: r * s}
}

// Vec is shorthand for a point.
func Vec(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }

// Builder adds bodies and joints to a design.
type Builder struct{ D params.Design }

// Ground adds the spine.
func (b *Builder) Ground(name string) { b.D.Bodies.Add(name, params.Body{Ground: true}) }

// Start adds a body with an exact start angle.
func (b *Builder) Start(name string, deg float64) {
	b.D.Bodies.Add(name, params.Body{Start: &params.Stance{Angle: Rad(deg)}})
}

// Near adds a body with a rough start angle.
func (b *Builder) Near(name string, deg float64) {
	b.D.Bodies.Add(name, params.Body{Near: &params.Stance{Angle: Rad(deg)}})
}

// Body adds a body of unknown angle.
func (b *Builder) Body(name string) { b.D.Bodies.Add(name, params.Body{}) }

// Pin joins two bodies at a point of each.
func (b *Builder) Pin(name, a string, pa r2.Vec, c string, pc r2.Vec) *params.PinJoint {
	p := &params.PinJoint{Diameter: 3}
	p.At.Add(a, pa)
	p.At.Add(c, pc)
	b.D.Joints.Add(name, params.Joint{Pin: p})
	return p
}

// Slide lets body translate on another.
func (b *Builder) Slide(name, body, on string, through r2.Vec, axis float64) *params.SlideJoint {
	s := &params.SlideJoint{Body: body, On: on, Through: through, Axis: Rad(axis), Length: 40, Play: 0.2}
	b.D.Joints.Add(name, params.Joint{Slide: s})
	return s
}

// Slot keeps a point of body on a path of another: straight between points.
func (b *Builder) Slot(name, body string, at r2.Vec, on string, path ...r2.Vec) *params.SlotJoint {
	s := &params.SlotJoint{Body: body, At: at, On: on, Play: 0.1}
	for _, p := range path {
		s.Path = append(s.Path, params.PathPoint{At: p})
	}
	b.D.Joints.Add(name, params.Joint{Slot: s})
	return s
}

// Rigid fixes body on another.
func (b *Builder) Rigid(name, body, on string, at r2.Vec, angle float64) {
	b.D.Joints.Add(name, params.Joint{Rigid: &params.RigidJoint{Body: body, On: on, At: at, Angle: Rad(angle)}})
}

// Finger is the kinematics of the rack lifter: four links and one slide.
func Finger() *Builder {
	b := &Builder{}
	b.Ground("spine")
	b.Body("carriage")
	b.Start("tip", -90)
	b.Near("lower", 90)
	b.Near("middle", 80)
	b.Start("upper", -90)
	b.Pin("A", "spine", Vec(3, 0), "tip", Vec(0, 0))
	b.Pin("E", "tip", Polar(7, 205), "lower", Vec(0, 0))
	b.Pin("C", "lower", Vec(38, 0), "middle", Vec(0, 0))
	b.Slot("guide", "lower", Vec(38, 0), "spine", Vec(-2, 47), Vec(-2, 30)).Shares = "C"
	b.Pin("K", "middle", Vec(24, 0), "upper", Polar(5, 45))
	b.Pin("B", "carriage", Vec(0, 0), "upper", Vec(0, 0))
	b.Slide("slide", "carriage", "spine", Vec(-1, 0), -90)
	b.D.Drive = params.Drive{Joint: "slide", Travel: 18.5, Speed: 5}
	return b
}
