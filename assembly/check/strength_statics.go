package check

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
)

// pull is a force (N) at a point and a couple (N·mm) on one body, spine frame.
type pull struct {
	at     r2.Vec
	force  r2.Vec
	couple float64
	joint  int // the joint that it comes through, −1 for none
	clip   int // the clip, −1 for none
}

// instant is one settled state with every force on every body.
type instant struct {
	at    At
	poses []linkage.Pose
	// bodies are the pulls on each, in the order of Mechanism.Bodies.
	bodies [][]pull
	// slots are the forces of the slot walls on the pins of slot joints, by joint.
	slots []r2.Vec
	// clips are the forces of the hooks on the posts, by clip.
	clips []r2.Vec
	// lack is the largest force that the bodies' equilibrium leaves over, N.
	lack float64
}

// statics finds the forces on every body from equilibrium alone.
//
// The stroke gives the multipliers of the joints. What force elements and
// friction do follows from what the bodies lack: a couple on every pin, a force
// on the pin of a slot, along every slide, between hook and post, across pads.
// They are solved for by least squares, six equations and fewer unknowns per
// link; what is left over must vanish and says whether the stroke's forces are in
// balance.
type statics struct {
	in    *Input
	hooks []hook
	stops []stopFace
	col   []int // place in the spine-less list of bodies
	nrow  int
	a     []float64
	b     []float64
	cols  []unknown
}

// unknown is a force of a given direction, or a couple, between two bodies.
type unknown struct {
	on, from int // bodies
	pull     pull
	slot     int // slot joint that it belongs to, −1
	stop     int // pin joint whose couple it is, −1
}

// stopFace is where two bodies meet at a stop of a pin joint.
type stopFace struct {
	joint int
	angle float64
	body  int // in whose frame At is
	at    r2.Vec
}

func newStatics(in *Input) (*statics, error) {
	st := &statics{in: in, hooks: in.hooks(), col: make([]int, len(in.Mechanism.Bodies))}
	for i, b := range in.Mechanism.Bodies {
		st.col[i] = -1
		if !b.Ground {
			st.col[i] = st.nrow
			st.nrow += 3
		}
	}
	var err error
	st.stops, err = in.stopFaces()
	return st, err
}

// solve returns the forces in sample i of a stroke, all of them times scale.
func (st *statics) solve(res *stroke.Result, i int, at At, scale float64) instant {
	in, m := st.in, st.in.Mechanism
	out := instant{at: at, poses: res.Poses(nil, i), bodies: make([][]pull, len(m.Bodies)),
		slots: make([]r2.Vec, len(m.Joints)), clips: make([]r2.Vec, in.Design.Clips.Len())}
	st.cols = st.cols[:0]
	add := func(on, from int, p pull) {
		out.bodies[on] = append(out.bodies[on], p)
		p.force, p.couple = r2.Scale(-1, p.force), -p.couple
		out.bodies[from] = append(out.bodies[from], p)
	}
	free := func(on, from, slot, stop int, p pull) {
		st.cols = append(st.cols, unknown{on, from, p, slot, stop})
	}
	for k := range m.Joints {
		j := &m.Joints[k]
		f := res.JointForce(i, k)
		a, b := out.poses[j.A], out.poses[j.B]
		p := pull{at: m.JointPoint(res.Samples[i].Q, k), joint: k, clip: -1}
		switch j.Kind {
		case linkage.Pin:
			p.force = r2.Vec{X: f[0], Y: f[1]}
			add(j.B, j.A, p)
			free(j.B, j.A, -1, k, pull{at: p.at, couple: m.Scale, joint: k, clip: -1})
		case linkage.Slot:
			foot := j.Path.Project(a.Inverse(p.at))
			n, t := a.Turn(foot.Normal), a.Turn(foot.Tangent)
			p.force = r2.Scale(f[0], n)
			add(j.B, j.A, p)
			out.slots[k] = p.force
			free(j.B, j.A, k, -1, pull{at: p.at, force: t, joint: k, clip: -1})
			if in.rampOn(j.Name) {
				free(j.B, j.A, k, -1, pull{at: p.at, force: n, joint: k, clip: -1})
			}
		case linkage.Slide:
			u := a.Turn(j.Direction())
			p.force, p.couple = r2.Scale(f[0], r2.Vec{X: -u.Y, Y: u.X}), f[1]
			if k == m.Drive {
				p.force = r2.Add(p.force, r2.Scale(res.Samples[i].Force, u))
			}
			add(j.B, j.A, p)
			free(j.B, j.A, -1, -1, pull{at: p.at, force: u, joint: k, clip: -1})
		case linkage.Rigid:
			p.at = r2.Vec{X: b.X, Y: b.Y}
			p.force, p.couple = r2.Vec{X: f[0], Y: f[1]}, f[2]
			add(j.B, j.A, p)
		}
	}
	st.given(res, &out)
	for c := range st.hooks {
		if l := &st.hooks[c]; l.near(out.poses) {
			for _, e := range [...]r2.Vec{{X: 1}, {Y: 1}} {
				free(l.post, l.arm, -1, -1, pull{at: out.poses[l.post].Apply(l.at), force: e, joint: -1, clip: c})
			}
		}
	}
	if p, ok := res.Press(i); ok {
		free(p.Upper, p.Lower, -1, -1, pull{at: p.At, force: p.Normal, joint: -1, clip: -1})
	}
	st.fit(&out, add)
	for b := range out.bodies {
		for k := range out.bodies[b] {
			p := &out.bodies[b][k]
			p.force, p.couple = r2.Scale(scale, p.force), scale*p.couple
		}
	}
	for k := range out.slots {
		out.slots[k] = r2.Scale(scale, out.slots[k])
	}
	for c := range out.clips {
		out.clips[c] = r2.Scale(scale, out.clips[c])
	}
	return out
}

// given adds weights, point loads and springs, which need no solving.
func (st *statics) given(res *stroke.Result, out *instant) {
	m, d := st.in.Mechanism, st.in.Design
	sin, cos := math.Sincos(d.Attitude)
	on := func(body int, at, f r2.Vec) {
		if body >= 0 {
			out.bodies[body] = append(out.bodies[body], pull{at: out.poses[body].Apply(at), force: f, joint: -1, clip: -1})
		}
	}
	for _, w := range res.Model.Options.Weights {
		g := w.Mass / 1000 * gravity
		on(m.BodyIndex(w.Body), w.Centre, r2.Vec{X: g * cos, Y: g * sin})
	}
	for _, l := range res.Model.Options.Loads {
		on(m.BodyIndex(l.Body), l.At, l.Force)
	}
	for i := range d.Springs.Values {
		l := d.Springs.Values[i].Linear
		if l == nil {
			continue
		}
		a, b := m.BodyIndex(l.From.Body), m.BodyIndex(l.To.Body)
		d := r2.Sub(out.poses[b].Apply(l.To.At), out.poses[a].Apply(l.From.At))
		n := r2.Norm(d)
		f := l.Rate * (n - l.Free)
		if n == 0 || l.Slack && f < 0 {
			continue
		}
		on(a, l.From.At, r2.Scale(f/n, d))
		on(b, l.To.At, r2.Scale(-f/n, d))
	}
}

// fit solves for the unknowns and adds them to the bodies.
func (st *statics) fit(out *instant, add func(on, from int, p pull)) {
	n := len(st.cols)
	scale := st.in.Mechanism.Scale
	b := st.wrench(out, scale)
	if n > 0 {
		a := mat.NewDense(st.nrow, n, nil)
		for c := range st.cols {
			u := &st.cols[c]
			for _, side := range [...]struct {
				body int
				sign float64
			}{{u.on, 1}, {u.from, -1}} {
				if r := st.col[side.body]; r >= 0 {
					o := out.poses[side.body]
					a.Set(r, c, a.At(r, c)+side.sign*u.pull.force.X)
					a.Set(r+1, c, a.At(r+1, c)+side.sign*u.pull.force.Y)
					a.Set(r+2, c, a.At(r+2, c)+side.sign*moment(u.pull, r2.Vec{X: o.X, Y: o.Y})/scale)
				}
			}
		}
		// Normal equations with a ridge far below anything that matters: what
		// statics does not determine gets the smallest forces.
		var ata mat.SymDense
		ata.SymOuterK(1, a.T())
		for c := range n {
			ata.SetSym(c, c, ata.At(c, c)+1e-10)
		}
		var atb, x mat.VecDense
		atb.MulVec(a.T(), mat.NewVecDense(st.nrow, b))
		var chol mat.Cholesky
		if chol.Factorize(&ata) {
			_ = chol.SolveVecTo(&x, &atb) // an ill condition shows in what is left over
		} else {
			x.ReuseAsVec(n)
		}
		for c := range st.cols {
			u := &st.cols[c]
			p := u.pull
			p.force, p.couple = r2.Scale(-x.AtVec(c), p.force), -x.AtVec(c)*p.couple
			if u.slot >= 0 {
				out.slots[u.slot] = r2.Add(out.slots[u.slot], p.force)
			}
			if p.clip >= 0 {
				out.clips[p.clip] = r2.Add(out.clips[p.clip], p.force)
			}
			if u.stop >= 0 && st.atStop(out, u.stop, p, add) {
				continue
			}
			add(u.on, u.from, p)
		}
	}
	for _, v := range st.wrench(out, scale) {
		out.lack = math.Max(out.lack, math.Abs(v))
	}
}

// wrench returns the sum of the pulls on every moving body: force, and moment
// about its origin over scale.
func (st *statics) wrench(out *instant, scale float64) []float64 {
	b := make([]float64, st.nrow)
	for k, pulls := range out.bodies {
		r := st.col[k]
		if r < 0 {
			continue
		}
		o := r2.Vec{X: out.poses[k].X, Y: out.poses[k].Y}
		for _, p := range pulls {
			b[r] += p.force.X
			b[r+1] += p.force.Y
			b[r+2] += moment(p, o) / scale
		}
	}
	return b
}

// moment returns the moment of a pull about a point, N·mm.
func moment(p pull, about r2.Vec) float64 {
	return p.couple + r2.Cross(r2.Sub(p.at, about), p.force)
}

// atStop replaces the couple of a joint that stands at its stop by the forces
// that make it: one on the faces that meet, square to the lever, the opposite
// one on the pin. It reports whether the joint is at a stop.
func (st *statics) atStop(out *instant, joint int, p pull, add func(on, from int, p pull)) bool {
	const reached = 1e-3 // rad
	m := st.in.Mechanism
	j := &m.Joints[joint]
	angle := math.Remainder(out.poses[j.B].Theta-out.poses[j.A].Theta, 2*math.Pi)
	for _, s := range st.stops {
		if s.joint != joint || math.Abs(math.Remainder(angle-s.angle, 2*math.Pi)) > reached {
			continue
		}
		face := out.poses[s.body].Apply(s.at)
		lever := r2.Sub(face, p.at)
		l2 := r2.Norm2(lever)
		if l2 < 1 { // mm²: faces on the pin make no stop
			return false
		}
		f := r2.Scale(p.couple/l2, r2.Vec{X: -lever.Y, Y: lever.X})
		add(j.B, j.A, pull{at: face, force: f, joint: -1, clip: -1})
		add(j.B, j.A, pull{at: p.at, force: r2.Scale(-1, f), joint: joint, clip: -1})
		return true
	}
	return false
}

// pinForce is the whole force (N) that a pin joint puts on its second body.
func (out *instant) pinForce(joint, body int) r2.Vec {
	var f r2.Vec
	for _, p := range out.bodies[body] {
		if p.joint == joint {
			f = r2.Add(f, p.force)
		}
	}
	return f
}

// unturn carries a direction of the spine's frame into a body's.
func unturn(p linkage.Pose, v r2.Vec) r2.Vec {
	s, c := math.Sincos(p.Theta)
	return r2.Vec{X: c*v.X + s*v.Y, Y: -s*v.X + c*v.Y}
}
