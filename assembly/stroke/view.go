package stroke

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
)

// Row is a sparse row over a configuration: derivatives of a coordinate, or a
// generalised force. It touches two bodies at most.
type Row struct {
	n    int32
	body [2]int32
	v    [2][3]float64
}

// add adds a body's three entries: per mm of x and y, per rad of θ. Entries of
// the grounded body are left out by View.
func (r *Row) add(body int, dx, dy, dt float64) {
	r.body[r.n], r.v[r.n] = int32(body), [3]float64{dx, dy, dt}
	r.n++
}

// Dot is the row times a configuration change.
func (r *Row) Dot(q []float64) float64 {
	s := 0.0
	for k := range r.n {
		v, p := &r.v[k], q[3*r.body[k]:]
		_ = p[2]
		s += v[0]*p[0] + v[1]*p[1] + v[2]*p[2]
	}
	return s
}

// AddTo adds w times the row to a dense vector.
func (r *Row) AddTo(q []float64, w float64) {
	for k := range r.n {
		v, p := &r.v[k], q[3*r.body[k]:]
		_ = p[2]
		p[0] += w * v[0]
		p[1] += w * v[1]
		p[2] += w * v[2]
	}
}

// Scaled returns the row times w.
func (r Row) Scaled(w float64) Row {
	for k := range r.n {
		v := &r.v[k]
		v[0], v[1], v[2] = v[0]*w, v[1]*w, v[2]*w
	}
	return r
}

// View is one closed configuration as elements see it.
type View struct {
	M *linkage.Mechanism
	Q []float64 // configuration (mm, rad)
	// Floor is the height of the floor in the spine frame (mm); it is used by
	// the passive fold only.
	Floor float64

	sin, cos []float64
	ground   int
	// What has been asked for at this configuration: feet of slots and their
	// pins, and joint coordinates with their derivatives.
	known, asked []bool
	feet         []linkage.Foot
	pins         []r2.Vec
	joints       []float64
	rows         []Row
	// Where the clips' arms were last; see force.ClipLaw.States.
	arms []force.ClipArms
}

func view(m *linkage.Mechanism) *View {
	n := len(m.Joints)
	v := &View{M: m, Q: make([]float64, m.Size()), sin: make([]float64, len(m.Bodies)), cos: make([]float64, len(m.Bodies)), ground: m.Ground,
		known: make([]bool, n), feet: make([]linkage.Foot, n), pins: make([]r2.Vec, n),
		asked: make([]bool, n), joints: make([]float64, n), rows: make([]Row, n)}
	for i := range m.Joints {
		if j := &m.Joints[i]; j.Kind == linkage.Pin {
			v.Couple(&v.rows[i], j.A, -1)
			v.Couple(&v.rows[i], j.B, 1)
		}
	}
	return v
}

// set copies a configuration into the view.
func (v *View) set(q []float64) {
	copy(v.Q, q)
	for b := range v.sin {
		if b == v.ground {
			v.sin[b], v.cos[b] = 0, 1
		} else {
			v.sin[b], v.cos[b] = math.Sincos(q[3*b+2])
		}
	}
	v.forget()
}

// take copies the configuration that a kernel has evaluated last.
func (v *View) take(w *linkage.Work) {
	copy(v.Q, w.Q)
	sin, cos := w.Trig()
	copy(v.sin, sin)
	copy(v.cos, cos)
	v.forget()
}

func (v *View) forget() {
	clear(v.known)
	clear(v.asked)
}

// arm returns the memory of a clip by its number.
func (v *View) arm(clip int) *force.ClipArms {
	for len(v.arms) <= clip {
		v.arms = append(v.arms, force.ClipArms{})
	}
	return &v.arms[clip]
}

// Local carries a point of a body's frame into the spine's.
func (v *View) Local(body int, p r2.Vec) r2.Vec {
	s, c := v.sin[body], v.cos[body]
	return r2.Vec{X: v.Q[3*body] + c*p.X - s*p.Y, Y: v.Q[3*body+1] + s*p.X + c*p.Y}
}

// Turn carries a direction of a body's frame into the spine's.
func (v *View) Turn(body int, p r2.Vec) r2.Vec {
	s, c := v.sin[body], v.cos[body]
	return r2.Vec{X: c*p.X - s*p.Y, Y: s*p.X + c*p.Y}
}

// Into carries a point of the spine's frame into a body's.
func (v *View) Into(body int, p r2.Vec) r2.Vec {
	s, c := v.sin[body], v.cos[body]
	dx, dy := p.X-v.Q[3*body], p.Y-v.Q[3*body+1]
	return r2.Vec{X: c*dx + s*dy, Y: -s*dx + c*dy}
}

// Force adds to row the generalised force of a force f (N) on a body at a point;
// both in the spine frame.
func (v *View) Force(row *Row, body int, at, f r2.Vec) {
	if body == v.ground {
		return
	}
	row.add(body, f.X, f.Y, (at.X-v.Q[3*body])*f.Y-(at.Y-v.Q[3*body+1])*f.X)
}

// Couple adds a couple (N·mm) on a body.
func (v *View) Couple(row *Row, body int, c float64) {
	if body != v.ground {
		row.add(body, 0, 0, c)
	}
}

// Between returns the generalised force of f on body b at a point, with the
// opposite force on body a at the same point.
func (v *View) Between(a, b int, at, f r2.Vec) Row {
	var r Row
	v.Force(&r, a, at, r2.Vec{X: -f.X, Y: -f.Y})
	v.Force(&r, b, at, f)
	return r
}

// Joint returns a joint's coordinate (rad for a pin, mm for a slide or slot)
// and its derivatives, which are good until the view takes the next configuration.
func (v *View) Joint(joint int) (float64, *Row) {
	if !v.asked[joint] {
		v.asked[joint] = true
		if j := &v.M.Joints[joint]; j.Kind == linkage.Pin {
			v.joints[joint] = v.Q[3*j.B+2] - v.Q[3*j.A+2] // its row never changes
		} else {
			v.joints[joint], v.rows[joint] = v.coordinate(j, joint)
		}
	}
	return v.joints[joint], &v.rows[joint]
}

// coordinate is Joint for a joint that is no pin.
func (v *View) coordinate(j *linkage.Joint, joint int) (float64, Row) {
	switch j.Kind {
	case linkage.Slide:
		u := v.Turn(j.A, j.Direction())
		d := r2.Vec{X: v.Q[3*j.B] - v.Q[3*j.A], Y: v.Q[3*j.B+1] - v.Q[3*j.A+1]}
		o := r2.Vec{X: v.Q[3*j.B], Y: v.Q[3*j.B+1]}
		return r2.Dot(u, d) - r2.Dot(j.Direction(), j.PA) - j.Offset, v.Between(j.A, j.B, o, u)
	case linkage.Slot:
		f, at := v.Foot(joint)
		t := v.Turn(j.A, r2.Scale(f.Stretch, f.Tangent))
		return f.Coord, v.Between(j.A, j.B, at, t)
	}
	return 0, Row{}
}

// Foot returns the place of a slot's pin on its path (path frame) and the pin
// centre in the spine frame.
func (v *View) Foot(joint int) (linkage.Foot, r2.Vec) {
	if !v.known[joint] {
		j := &v.M.Joints[joint]
		v.pins[joint] = v.Local(j.B, j.PB)
		v.feet[joint] = j.Path.Project(v.Into(j.A, v.pins[joint]))
		v.known[joint] = true
	}
	return v.feet[joint], v.pins[joint]
}
