package linkage

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts"
)

// Kind is a kind of joint.
type Kind int

// The kinds of joint.
const (
	Pin Kind = iota
	Slide
	Slot
	Rigid
)

// String returns the word of the file form.
func (k Kind) String() string { return [...]string{"pin", "slide", "slot", "rigid"}[k] }

// rows is the number of closure equations of each kind.
var rows = [...]int{Pin: 2, Slide: 2, Slot: 1, Rigid: 3}

// Body is one rigid body.
type Body struct {
	Name   string
	Ground bool
	col    int // first column of its pose among the unknowns; -1 for the spine
}

// Joint is one joint. A is the first body of a pin, or the body that carries a
// slide, slot or rigid connection; B is the other one.
type Joint struct {
	Name   string
	Kind   Kind
	A, B   int     // bodies
	PA, PB r2.Vec  // pin: its place on A and B; slot: PB the pin; slide: PA a point of the line; rigid: PA origin of B on A (mm)
	Axis   float64 // slide: direction of travel in A's frame (rad)
	Angle  float64 // slide, rigid: angle of B against A (rad)
	Path   *Path   // slot
	// Offset is the travel along the axis at which the slide coordinate is 0:
	// the tucked pose (mm). New finds it.
	Offset float64
	// Row is its first closure equation. The multipliers of a pin are the force
	// components (N, spine axes) that A exerts on B; of a slot the force along
	// the path's left normal on B; of a slide the force along the axis' left
	// normal at B's origin, and the couple (N·mm), on B.
	Row int

	cosAxis, sinAxis float64
	piece            int // start search: piece of the slot that is tried, from 1
}

// Rows returns the number of closure equations of the joint.
func (j *Joint) Rows() int { return rows[j.Kind] }

// Pose is the place and angle of a body's frame in the spine's: mm and rad.
type Pose struct{ X, Y, Theta float64 }

// Apply carries a point of the body's frame into the spine's.
func (p Pose) Apply(v r2.Vec) r2.Vec {
	s, c := math.Sincos(p.Theta)
	return r2.Vec{X: p.X + c*v.X - s*v.Y, Y: p.Y + s*v.X + c*v.Y}
}

// Turn carries a direction of the body's frame into the spine's.
func (p Pose) Turn(v r2.Vec) r2.Vec {
	s, c := math.Sincos(p.Theta)
	return r2.Vec{X: c*v.X - s*v.Y, Y: s*v.X + c*v.Y}
}

// Inverse carries a point of the spine's frame into the body's.
func (p Pose) Inverse(v r2.Vec) r2.Vec {
	s, c := math.Sincos(p.Theta)
	dx, dy := v.X-p.X, v.Y-p.Y
	return r2.Vec{X: c*dx + s*dy, Y: -s*dx + c*dy}
}

// Mechanism is the closure of a design. It is not changed after New and may be
// shared between goroutines; each of them needs its own Work.
type Mechanism struct {
	Bodies []Body
	Joints []Joint
	// Drive is the index of the driven slide in Joints, -1 if there is none.
	Drive  int
	Travel float64 // largest s (mm)
	Ground int
	// Start is the configuration of the tucked pose, s = 0.
	Start []float64
	// Mobility counts freedoms, the drive's included.
	Mobility Mobility
	// Scale is a length of the mechanism (mm) that makes angles comparable to
	// displacements in pivoting and ranks.
	Scale float64

	nq, nrow int
	rank     int // independent closure equations
}

// New builds the mechanism of a design, counts its mobility and finds the
// tucked pose. Errors: *InputError for data that make no mechanism,
// *MobilityError for a mechanism that can't move or needs other start angles,
// *ClosureError when the links do not reach.
func New(d *params.Design) (*Mechanism, error) {
	m, err := assemble(d)
	if err != nil {
		return nil, err
	}
	if err := m.findStart(d); err != nil {
		return nil, err
	}
	for i := range m.Joints {
		j := &m.Joints[i]
		if j.Kind != Slot {
			continue
		}
		u := m.Coord(m.Start, JointCoord(i))
		if u < -1e-6 || u > j.Path.Length()+1e-6 {
			return nil, &ClosureError{Joint: j.Name, Residual: math.Max(-u, u-j.Path.Length()),
				Reason: fmt.Sprintf("the pin stands outside its slot in the tucked pose: path coordinate %.3f mm of 0..%.3f mm", u, j.Path.Length())}
		}
	}
	return m, nil
}

// assemble reads bodies and joints.
func assemble(d *params.Design) (*Mechanism, error) {
	m := &Mechanism{Drive: -1, Ground: -1}
	for i, name := range d.Bodies.Names {
		b := Body{Name: name, Ground: d.Bodies.Values[i].Ground, col: -1}
		if b.Ground {
			if m.Ground >= 0 {
				return nil, &InputError{Path: "bodies." + name, Problem: "a second grounded body; only the spine stands still"}
			}
			m.Ground = i
		} else {
			b.col = m.nq
			m.nq += 3
		}
		m.Bodies = append(m.Bodies, b)
	}
	if m.Ground < 0 {
		return nil, &InputError{Path: "bodies", Problem: "no body is grounded; give the spine ground: true"}
	}
	for i, name := range d.Joints.Names {
		j, err := m.joint(name, &d.Joints.Values[i])
		if err != nil {
			return nil, err
		}
		if j.A == j.B {
			return nil, &InputError{Path: "joints." + name, Problem: "connects body " + m.Bodies[j.A].Name + " with itself"}
		}
		j.Name, j.Row = name, m.nrow
		j.sinAxis, j.cosAxis = math.Sincos(j.Axis)
		m.nrow += j.Rows()
		m.Joints = append(m.Joints, j)
	}
	m.Scale = m.size()
	if d.Drive.Joint != "" {
		k := m.JointIndex(d.Drive.Joint)
		if k < 0 || m.Joints[k].Kind != Slide {
			return nil, &InputError{Path: "drive.joint", Problem: fmt.Sprintf("%q is not a slide joint", d.Drive.Joint)}
		}
		m.Drive, m.Travel = k, d.Drive.Travel
	}
	return m, nil
}

func (m *Mechanism) joint(name string, in *params.Joint) (Joint, error) {
	body := func(key, n string) (int, error) {
		if k := m.BodyIndex(n); k >= 0 {
			return k, nil
		}
		return 0, &InputError{Path: "joints." + name + "." + key, Problem: fmt.Sprintf("no body %q", n)}
	}
	pair := func(kind, on, b string) (ia, ib int, err error) {
		if ia, err = body(kind+".on", on); err == nil {
			ib, err = body(kind+".body", b)
		}
		return ia, ib, err
	}
	var j Joint
	var err error
	switch {
	case in.Pin != nil:
		if in.Pin.At.Len() != 2 {
			return j, &InputError{Path: "joints." + name + ".pin.at", Problem: fmt.Sprintf("names %d bodies; a pin joins exactly two", in.Pin.At.Len())}
		}
		j.Kind, j.PA, j.PB = Pin, in.Pin.At.Values[0], in.Pin.At.Values[1]
		if j.A, err = body("pin.at", in.Pin.At.Names[0]); err == nil {
			j.B, err = body("pin.at", in.Pin.At.Names[1])
		}
	case in.Slide != nil:
		j.Kind, j.PA, j.Axis, j.Angle = Slide, in.Slide.Through, in.Slide.Axis, in.Slide.Angle
		j.A, j.B, err = pair("slide", in.Slide.On, in.Slide.Body)
	case in.Slot != nil:
		j.Kind, j.PB = Slot, in.Slot.At
		if j.A, j.B, err = pair("slot", in.Slot.On, in.Slot.Body); err != nil {
			return j, err
		}
		line, err := parts.NewSlotPath(in.Slot)
		if err != nil {
			return j, &InputError{Path: "joints." + name + ".slot.path", Problem: err.Error()}
		}
		j.Path = NewPath(line)
	case in.Rigid != nil:
		j.Kind, j.PA, j.Angle = Rigid, in.Rigid.At, in.Rigid.Angle
		j.A, j.B, err = pair("rigid", in.Rigid.On, in.Rigid.Body)
	default:
		err = &InputError{Path: "joints." + name, Problem: "has no kind; give one of pin, slide, slot, rigid"}
	}
	return j, err
}

// size is the root mean square distance of joint points from their body's
// origin, at least 1 mm.
func (m *Mechanism) size() float64 {
	sum, n := 0.0, 0
	for i := range m.Joints {
		for _, p := range [...]r2.Vec{m.Joints[i].PA, m.Joints[i].PB} {
			if p != (r2.Vec{}) {
				sum += r2.Norm2(p)
				n++
			}
		}
	}
	if n == 0 {
		return 1
	}
	return math.Max(1, math.Sqrt(sum/float64(n)))
}

// BodyIndex returns the index of a body, -1 if there is none of that name.
func (m *Mechanism) BodyIndex(name string) int {
	for i := range m.Bodies {
		if m.Bodies[i].Name == name {
			return i
		}
	}
	return -1
}

// JointIndex returns the index of a joint, -1 if there is none of that name.
func (m *Mechanism) JointIndex(name string) int {
	for i := range m.Joints {
		if m.Joints[i].Name == name {
			return i
		}
	}
	return -1
}

// Size returns the length of a configuration: three per body.
func (m *Mechanism) Size() int { return 3 * len(m.Bodies) }

// Poses writes the poses of a configuration into dst (grown as needed), in the
// order of Bodies, and returns it.
func (m *Mechanism) Poses(dst []Pose, q []float64) []Pose {
	dst = dst[:0]
	for i := range m.Bodies {
		dst = append(dst, Pose{q[3*i], q[3*i+1], q[3*i+2]})
	}
	return dst
}

// Pose returns one body's pose.
func (m *Mechanism) Pose(q []float64, body int) Pose {
	return Pose{q[3*body], q[3*body+1], q[3*body+2]}
}

// JointPoint returns the place of a joint in the spine frame: of the pin, or of
// the origin of the moving body of a slide or rigid connection.
func (m *Mechanism) JointPoint(q []float64, joint int) r2.Vec {
	j := &m.Joints[joint]
	p := j.PB
	if j.Kind == Slide || j.Kind == Rigid {
		p = r2.Vec{}
	}
	return m.Pose(q, j.B).Apply(p)
}

// Direction is a slide's unit direction of travel in the frame of A.
func (j *Joint) Direction() r2.Vec { return r2.Vec{X: j.cosAxis, Y: j.sinAxis} }

// Rooted reports whether a joint is on the grounded body or on the body that the
// drive moves.
func (m *Mechanism) Rooted(j *Joint) bool {
	if j.A == m.Ground || j.B == m.Ground {
		return true
	}
	if m.Drive < 0 {
		return false
	}
	c := m.Joints[m.Drive].B
	return j.A == c || j.B == c
}
