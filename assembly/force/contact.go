package force

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// ClipState is a clip's answer to one place of the post. Vectors are in the arm
// frame.
type ClipState struct {
	// Touching is false, and all else zero, where the post clears the hook.
	Touching bool
	// Locked is set when sliding in the asked direction is impossible: the
	// friction force turns the contact force so far that it no longer bends the
	// arm out of the way. Forces are then not given (zero) and Energy is that of
	// the resting state.
	Locked bool
	// Failed is set when the equilibrium was not found; the place is then far
	// outside what an arm can follow (a post pushed into the root, say).
	Failed bool

	Deflection float64 // v of the tip, mm, negative away from the post
	Rotation   float64 // θ of the tip, rad, negative with a negative v
	Energy     float64 // stored in the arm, N·mm
	Normal     float64 // contact force, N, ≥ 0
	N, T       r2.Vec  // unit normal out of the hook, and tangent: N turned clockwise, near +x
	Contact    r2.Vec  // contact point
	Force      r2.Vec  // on the post, friction included
	// Moment on the post about Place.P by contact on a flat post's edge, N·mm,
	// counter-clockwise; friction included.
	Moment float64
	// RootMoment is the bending moment at the root face, N·mm, and Strain the
	// outer-fibre strain there from bending with its notch factor and from the
	// axial force.
	RootMoment, Strain float64
}

// At returns the contact for a post place. With slip Resting there is no
// friction: Force = −∂Energy/∂P and Moment = −∂Energy/∂Tilt, a conservative
// field a solver can use as a potential. With Entering or Releasing the arm is
// in equilibrium with a post that slides that way, friction μ·Normal against
// the post's slip. The friction part of the force is the difference of the two.
//
// There is no memory: which side of the hook the post touches follows from its
// place. A place is good while the post stays on the hook's side of the arm
// (above the neutral axis); a post under the arm would be seen as deep inside.
func (l *ClipLaw) At(p Place, slip Slip) ClipState {
	var c contact
	a, s := c.rest(l, p, nil)
	if slip != Resting && s.Touching && !s.Failed {
		s = c.slide(l, p, a, slip)
	}
	if s.Normal > 0 {
		l.strain(&s)
	}
	return s
}

// strain fills in what the root bears: the opposite of the force on the post, with
// its moment about the root face's centre in the bent shape.
func (l *ClipLaw) strain(s *ClipState) {
	s.RootMoment = -r2.Cross(s.Contact, s.Force)
	a := &l.arm.arm
	s.Strain = l.arm.StrainAt(s.RootMoment) + math.Abs(s.Force.X)/(a.E*a.Width*a.Thickness)
}

// ClipArms remembers where the arm was without friction, for a short search at a
// place near by. The zero value knows nothing.
type ClipArms struct {
	at    r2.Vec
	known bool
	rest  armTip
}

// armTip is an equilibrium: deflection and rotation of the tip, and contact force.
type armTip struct{ v, t, n float64 }

// nearby is how far (mm) a post may have gone for the arm to be looked for where it
// was.
const nearby = 0.05

// States returns what At does for Resting, Entering and Releasing at once, without
// what the root bears, at less than half the cost. It looks where last has the arm and leaves there where it
// finds it.
func (l *ClipLaw) States(p Place, last *ClipArms) (rest, enter, release ClipState) {
	var c contact
	if d := r2.Sub(p.P, last.at); r2.Norm2(d) > nearby*nearby {
		last.known = false
	}
	var from *armTip
	if last.known {
		from = &last.rest
	}
	a, rest := c.rest(l, p, from)
	if last.known = rest.Touching && !rest.Failed; !last.known {
		return rest, rest, rest
	}
	last.at, last.rest = p.P, a
	enter = c.slide(l, p, a, Entering)
	release = c.slide(l, p, a, Releasing)
	return rest, enter, release
}

// Gap returns how far a post at p is off the undeformed hook, mm; below 0 they
// touch.
func (l *ClipLaw) Gap(p Place) float64 {
	var c contact
	c.place(l, p)
	c.gap(l, 0, 0, false)
	return c.d
}

// graze is the gap (mm) above which a hook does not count as touched: less than a
// picometre is rounding, and would leave the sign of the force to chance.
const graze = -1e-9

// rest finds the state without friction; from is where to look first, or nil.
func (c *contact) rest(l *ClipLaw, p Place, from *armTip) (armTip, ClipState) {
	c.place(l, p)
	if c.gap(l, 0, 0, false); c.d >= graze {
		return armTip{}, ClipState{}
	}
	if from != nil {
		if a, ok := c.solve(l, *from, 0); ok && a.n >= 0 {
			return a, c.state(l, p, a, 0)
		}
	}
	a, ok := c.solve(l, c.guess(l), 0)
	if !ok || a.n < 0 {
		return a, ClipState{Touching: true, Failed: true}
	}
	return a, c.state(l, p, a, 0)
}

// slide finds the state of a post that slides, from the tip at rest.
func (c *contact) slide(l *ClipLaw, p Place, rest armTip, slip Slip) ClipState {
	mu := float64(slip) * l.dir * l.clip.Mu
	if mu == 0 {
		return c.state(l, p, rest, 0)
	}
	// Past locking there are states of an arm that is drawn towards the post instead,
	// which no post comes to.
	a, ok := c.solve(l, rest, mu)
	if !ok || a.n <= 0 || c.locked(l, mu) || a.v*rest.v < 0 {
		return ClipState{Touching: true, Locked: true, Deflection: rest.v, Rotation: rest.t, Energy: l.energy(rest.v, rest.t)}
	}
	return c.state(l, p, a, mu)
}

// state describes an equilibrium with a signed friction coefficient mu.
func (c *contact) state(l *ClipLaw, p Place, tip armTip, mu float64) ClipState {
	n := tip.n
	c.gap(l, tip.v, tip.t, false)
	s := ClipState{Touching: true, Deflection: tip.v, Rotation: tip.t, Energy: l.energy(tip.v, tip.t), Normal: n, N: c.n, T: r2.Vec{X: c.n.Y, Y: -c.n.X}}
	s.Contact = r2.Vec{X: c.p.X - l.post*c.n.X, Y: c.p.Y - l.post*c.n.Y}
	f := mu * n
	s.Force = r2.Vec{X: n*s.N.X - f*s.T.X, Y: n*s.N.Y - f*s.T.Y}
	if l.clip.Post.Flat > 0 {
		s.Moment = r2.Cross(r2.Sub(s.Contact, p.P), s.Force)
	}
	return s
}

func (l *ClipLaw) energy(v, t float64) float64 {
	return (l.kvv*v*v + 2*l.kvt*v*t + l.ktt*t*t) / 2
}

// contact is the gap between a post and the hook on a tip at (v, θ), with its
// derivatives; it lives on the stack.
type contact struct {
	a, b r2.Vec // edge centres of the post
	m    r2.Vec // normal of the flat, towards the post
	flat bool
	p    r2.Vec // the centre in contact

	d                  float64 // gap
	n                  r2.Vec  // normal out of the hook
	dv, dt             float64 // ∂gap/∂(v, θ)
	dvv, dvt, dtt      float64
	wv, wt             float64 // turning of the normal per v and θ
	tv, tt             float64 // tangential motion of the hook's material at the contact
	tvv, tvt, ttv, ttt float64
	qt                 float64 // moment of the normal force per N (lever switch included)
}

func (c *contact) place(l *ClipLaw, p Place) {
	c.a = p.P
	c.a.Y -= l.drop
	c.b = c.a
	if f := l.clip.Post.Flat / 2; f > 0 {
		sin, cos := math.Sincos(p.Tilt)
		c.flat = true
		c.m = r2.Vec{X: -sin, Y: cos}
		e := r2.Vec{X: f * cos, Y: f * sin}
		c.a, c.b = r2.Sub(c.a, e), r2.Add(c.a, e)
	}
}

// gap measures the hook at (v, θ); deriv asks for the derivatives too.
func (c *contact) gap(l *ClipLaw, v, t float64, deriv bool) {
	sin, cos := math.Sincos(t)
	// Tip, nose centre and their derivatives. Without TermTurning the nose stays
	// above the tip.
	s1, s2 := l.svv*v+l.svt*t, l.svt*v+l.stt*t
	tip := r2.Vec{X: l.tip - (l.svv*v*v+2*l.svt*v*t+l.stt*t*t)/2, Y: v}
	ns, nc := sin*l.turn, cos*l.turn+(1-l.turn)
	centre := r2.Vec{X: tip.X - l.nose*ns, Y: tip.Y + l.nose*nc}
	// Faces turned by the tip.
	fs, fc := sin*l.tilt, cos*l.tilt+(1-l.tilt)
	left := r2.Vec{X: fc*l.left.X - fs*l.left.Y, Y: fs*l.left.X + fc*l.left.Y}
	right := r2.Vec{X: fc*l.right.X - fs*l.right.Y, Y: fs*l.right.X + fc*l.right.Y}

	const (
		arc = iota
		face
		edge
	)
	kind := arc
	w := r2.Sub(c.a, centre)
	d, n, k := hookGap(w, left, right)
	c.p = c.a
	if c.flat {
		wb := r2.Sub(c.b, centre)
		db, nb, kb := hookGap(wb, left, right)
		e := r2.Sub(c.b, c.a)
		switch {
		case r2.Dot(n, e) >= 0: // the gap grows from a
		case r2.Dot(nb, e) <= 0:
			c.p, w, d, n, k = c.b, wb, db, nb, kb
		default:
			kind, n = edge, c.m
			d = r2.Dot(w, n)
			// The touching point of the flat is across the nose centre.
			u := -r2.Dot(w, e) / r2.Dot(e, e)
			c.p = r2.Add(c.a, r2.Scale(u, e))
		}
	}
	if kind != edge && k == 0 {
		kind = face
	}
	c.d, c.n = d-l.r, n
	if !deriv {
		return
	}
	// w = P − centre.
	wv := r2.Vec{X: s1, Y: -1}
	wt := r2.Vec{X: s2 + l.nose*l.turn*cos, Y: l.nose * l.turn * sin}
	wtt := r2.Vec{X: l.stt - l.nose*l.turn*sin, Y: l.nose * l.turn * cos}
	ccw := r2.Vec{X: -n.Y, Y: n.X}
	c.dv, c.dt = r2.Dot(n, wv), r2.Dot(n, wt)
	c.dvv, c.dvt, c.dtt = n.X*l.svv, n.X*l.svt, r2.Dot(n, wtt)
	c.wv, c.wt = 0, 0
	switch kind {
	case arc:
		a, b := r2.Dot(ccw, wv), r2.Dot(ccw, wt)
		c.dvv, c.dvt, c.dtt = c.dvv+k*a*a, c.dvt+k*a*b, c.dtt+k*b*b
		c.wv, c.wt = k*a, k*b
	case face:
		g := l.tilt * r2.Dot(w, ccw)
		c.dt += g
		c.dvt += l.tilt * r2.Dot(wv, ccw)
		c.dtt += l.tilt * (2*r2.Dot(wt, ccw) - r2.Dot(w, n))
		c.wt = l.tilt
	}
	// Material of the hook at the contact: tip motion plus rotation about it.
	r := r2.Vec{X: c.p.X - l.post*n.X - tip.X, Y: (c.p.Y - l.post*n.Y - tip.Y) * l.lever}
	// In −x the tip moves by s1, s2 per v, θ.
	mv, mt := r2.Vec{X: -s1, Y: 1}, r2.Vec{X: -s2 - r.Y, Y: r.X}
	cw := r2.Vec{X: n.Y, Y: -n.X}
	c.qt = -r2.Dot(n, mt)
	c.tv, c.tt = r2.Dot(cw, mv), r2.Dot(cw, mt)
	// d(cw) = n·dω; r changes by the normal's turn and the tip's motion.
	drv := r2.Vec{X: -l.post*ccw.X*c.wv + s1, Y: (-l.post*ccw.Y*c.wv - 1) * l.lever}
	drt := r2.Vec{X: -l.post*ccw.X*c.wt + s2, Y: -l.post * ccw.Y * c.wt * l.lever}
	c.tvv = c.wv*r2.Dot(n, mv) - cw.X*l.svv
	c.tvt = c.wt*r2.Dot(n, mv) - cw.X*l.svt
	c.ttv = c.wv*r2.Dot(n, mt) + cw.X*(-l.svt-drv.Y) + cw.Y*drv.X
	c.ttt = c.wt*r2.Dot(n, mt) + cw.X*(-l.stt-drt.Y) + cw.Y*drt.X
}

// hookGap returns the distance of a point w (from the nose centre) to the nose
// centre measured along the hook's normal, that normal, and its curvature: the
// largest w·n over the normals between both faces. It is convex in w.
func hookGap(w, left, right r2.Vec) (d float64, n r2.Vec, k float64) {
	// w lies to the left of the left normal, or to the right of the right one.
	switch {
	case r2.Cross(left, w) > 0 && r2.Dot(w, left) >= r2.Dot(w, right):
		return r2.Dot(w, left), left, 0
	case r2.Cross(right, w) < 0:
		return r2.Dot(w, right), right, 0
	}
	d = math.Hypot(w.X, w.Y)
	return d, r2.Vec{X: w.X / d, Y: w.Y / d}, 1 / d
}

// guess lowers the undeformed hook straight down until it clears the post, and
// adds the rotation that an end load would bring.
func (c *contact) guess(l *ClipLaw) armTip {
	lower := func(p r2.Vec) float64 {
		u := p.X - l.tip
		var h float64
		switch {
		case u < l.r*l.left.X:
			h = (l.r - u*l.left.X) / l.left.Y
		case u > l.r*l.right.X:
			h = (l.r - u*l.right.X) / l.right.Y
		default:
			h = math.Sqrt(l.r*l.r - u*u)
		}
		return p.Y - l.nose - h
	}
	v := math.Min(lower(c.a), lower(c.b))
	return armTip{v: v, t: v * l.arm.FM / l.arm.FF}
}

// solve finds the tip at which the hook just clears the post, bent by a contact
// force with friction of signed coefficient mu along the clockwise tangent.
// Newton's method on K·q = N·Q(q), gap(q) = 0.
func (c *contact) solve(l *ClipLaw, from armTip, mu float64) (tip armTip, ok bool) {
	scale := l.r + l.nose
	v, t, n := from.v, from.t, 0.0
	for it := range 40 {
		c.gap(l, v, t, true)
		qv, qt := c.dv+mu*c.tv, c.qt+mu*c.tt
		kv, kt := l.kvv*v+l.kvt*t, l.kvt*v+l.ktt*t
		if it == 0 {
			// Least squares for the first N.
			n = (kv*qv + kt*qt/(scale*scale)) / (qv*qv + qt*qt/(scale*scale))
		}
		rv, rt := kv-n*qv, kt-n*qt
		// [H −Q; D 0]·[dv dt dn] = −[r; d]
		hvv := l.kvv - n*(c.dvv+mu*c.tvv)
		hvt := l.kvt - n*(c.dvt+mu*c.tvt)
		htv := l.kvt - n*(c.dvt+mu*c.ttv)
		htt := l.ktt - n*(c.dtt+mu*c.ttt)
		det := hvv*htt - hvt*htv
		// Solve for the response to r and to Q.
		av, at := (htt*rv-hvt*rt)/det, (hvv*rt-htv*rv)/det
		bv, bt := (htt*qv-hvt*qt)/det, (hvv*qt-htv*qv)/det
		den := c.dv*bv + c.dt*bt
		dn := (c.dv*av + c.dt*at - c.d) / den
		dv, dt := -av+dn*bv, -at+dn*bt
		if math.IsNaN(dv) || math.IsNaN(dt) || math.IsInf(dn, 0) {
			return armTip{v, t, n}, false
		}
		// Keep the step within what the normals can follow.
		step := math.Max(math.Abs(dv)/(0.5*scale), math.Abs(dt)/0.2)
		if step > 1 {
			dv, dt, dn = dv/step, dt/step, dn/step
		}
		v, t, n = v+dv, t+dt, n+dn
		// The error after a step of Newton's method is of the order of its square.
		if math.Abs(dv) < 1e-8*scale && math.Abs(dt) < 1e-8 {
			return armTip{v, t, n}, true
		}
	}
	return armTip{v, t, n}, false
}

// locked reports whether a little more contact force no longer opens the gap, at
// the tip that solve has found.
func (c *contact) locked(l *ClipLaw, mu float64) bool {
	qv, qt := c.dv+mu*c.tv, c.qt+mu*c.tt
	a := l.arm
	bv, bt := a.FF*qv+a.FM*qt, a.FM*qv+a.MM*qt
	return c.dv*bv+c.dt*bt <= 0
}
