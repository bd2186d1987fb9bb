package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Coord names one scalar coordinate of a mechanism.
type Coord struct {
	Joint int // -1: the angle of Body
	Body  int
}

// JointCoord is the coordinate of a joint: the angle of the second body less
// the first's (pin, rad, unwrapped), the travel (slide, mm), the path
// coordinate (slot, mm). A rigid connection has none; it reads 0.
func JointCoord(joint int) Coord { return Coord{Joint: joint} }

// BodyAngle is a body's angle in the spine frame (rad).
func BodyAngle(body int) Coord { return Coord{Joint: -1, Body: body} }

// Target is a value that a coordinate shall take.
type Target struct {
	Coord Coord
	Value float64 // mm or rad
}

// angular reports whether the coordinate is in radians.
func (m *Mechanism) angular(c Coord) bool {
	return c.Joint < 0 || m.Joints[c.Joint].Kind == Pin
}

// Coord returns the value of a coordinate: mm, or rad without wrapping.
func (m *Mechanism) Coord(q []float64, c Coord) float64 {
	if c.Joint < 0 {
		return q[3*c.Body+2]
	}
	j := &m.Joints[c.Joint]
	a, b := m.Pose(q, j.A), m.Pose(q, j.B)
	switch j.Kind {
	case Pin:
		return b.Theta - a.Theta
	case Slide:
		u := a.Turn(r2.Vec{X: j.cosAxis, Y: j.sinAxis})
		return u.X*(b.X-a.X) + u.Y*(b.Y-a.Y) - (j.cosAxis*j.PA.X + j.sinAxis*j.PA.Y) - j.Offset
	case Slot:
		return j.Path.Project(a.Inverse(b.Apply(j.PB))).Coord
	}
	return 0
}

// Foot returns the foot of a slot joint's pin on its path, in the frame of the
// body that carries the slot.
func (m *Mechanism) Foot(q []float64, joint int) Foot {
	j := &m.Joints[joint]
	return j.Path.Project(m.Pose(q, j.A).Inverse(m.Pose(q, j.B).Apply(j.PB)))
}

// Gradient writes the derivatives of a coordinate with respect to the poses of
// all bodies into row (length Size; the spine's three stay 0).
func (m *Mechanism) Gradient(q []float64, c Coord, row []float64) {
	for i := range row {
		row[i] = 0
	}
	if c.Joint < 0 {
		m.add(row, c.Body, 0, 0, 1)
		return
	}
	j := &m.Joints[c.Joint]
	a, b := m.Pose(q, j.A), m.Pose(q, j.B)
	switch j.Kind {
	case Pin:
		m.add(row, j.A, 0, 0, -1)
		m.add(row, j.B, 0, 0, 1)
	case Slide:
		u := a.Turn(r2.Vec{X: j.cosAxis, Y: j.sinAxis})
		m.add(row, j.A, -u.X, -u.Y, -u.Y*(b.X-a.X)+u.X*(b.Y-a.Y))
		m.add(row, j.B, u.X, u.Y, 0)
	case Slot:
		arm := b.Turn(j.PB)
		w := a.Inverse(r2.Add(r2.Vec{X: b.X, Y: b.Y}, arm))
		f := j.Path.Project(w)
		t := a.Turn(r2.Scale(f.Stretch, f.Tangent))
		m.add(row, j.A, -t.X, -t.Y, -f.Stretch*r2.Dot(f.Tangent, perp(w)))
		m.add(row, j.B, t.X, t.Y, r2.Dot(t, perp(arm)))
	}
}

// add adds a body's three derivatives to a row; the spine has none.
func (m *Mechanism) add(row []float64, body int, dx, dy, dt float64) {
	if m.Bodies[body].col < 0 {
		return
	}
	r := row[3*body : 3*body+3]
	r[0] += dx
	r[1] += dy
	r[2] += dt
}

// PointGradient adds w·d(point)/dq to row (length Size): the generalised force
// of a force w (N) at a point fixed on a body, given in the spine frame (mm).
func (m *Mechanism) PointGradient(q []float64, body int, point, w r2.Vec, row []float64) {
	rx, ry := point.X-q[3*body], point.Y-q[3*body+1]
	m.add(row, body, w.X, w.Y, rx*w.Y-ry*w.X)
}

// TurnGradient adds w·dθ/dq of a body to row: the generalised force of a couple
// w (N·mm).
func (m *Mechanism) TurnGradient(body int, w float64, row []float64) { m.add(row, body, 0, 0, w) }

// wrap brings an angle into -π..π.
func wrap(a float64) float64 { return math.Remainder(a, 2*math.Pi) }
