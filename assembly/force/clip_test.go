package force

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func mustClip(t testing.TB, c Clip, terms Terms) *ClipLaw {
	t.Helper()
	l, err := c.Law(terms)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// referenceClip is the clip of the reference finger: arm 11 mm, 1.4 thick,
// layer 4, root fillet 0.5, hook 0.9, nose 0.2, entry 15°, retention 45°.
func referenceClip(d Direction) Clip {
	return Clip{
		Arm: Arm{Material: Material{E: 1800, Nu: .35}, Length: 11, Thickness: 1.4,
			Width: 4, Fillet: .5},
		Hook: .9, Nose: .2, Entry: deg(15), Retention: deg(45), Direction: d,
		Post: Post{Radius: .3}, Mu: .3,
	}
}

// circle puts the post's pivot inside of the hook: overlap 0.8 where the post
// passes straight under the pivot, 8 mm from it.
func circle(c Clip, overlap float64) Circle {
	y := c.Arm.Thickness/2 + c.Hook - overlap + c.Post.Radius + 8
	p := Circle{Pivot: r2.Vec{X: c.Arm.Length, Y: y}, Radius: 8, Start: -math.Pi / 2, Sense: 1}
	if c.Direction == TipFirst {
		p.Sense = -1
	}
	return p
}

func places(rng *rand.Rand, l *ClipLaw, n int) []Place {
	var ps []Place
	for len(ps) < n {
		p := Place{P: r2.Vec{
			X: l.tip - 2.5 + 4*rng.Float64(),
			Y: l.inner + l.clip.Post.Radius + l.clip.Hook*(.1+.9*rng.Float64()),
		}, Tilt: .2 * (rng.Float64() - .5)}
		if s := l.At(p, Resting); s.Touching && s.Deflection > -1 {
			ps = append(ps, p)
		}
	}
	return ps
}

// The force on the post is minus the gradient of the stored energy, the tip is
// in equilibrium, and the hook clears the post.
func TestClipEnergy(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, d := range []Direction{RootFirst, TipFirst} {
		for _, post := range []Post{{Radius: .3}, {Radius: .75}, {Radius: .3, Flat: 1.5}} {
			c := referenceClip(d)
			c.Post = post
			l := mustClip(t, c, AllTerms)
			for _, p := range places(rng, l, 400) {
				s := l.At(p, Resting)
				if s.Failed || s.Normal <= 0 {
					t.Fatalf("%v %+v at %+v: %+v", d, post, p, s)
				}
				const h = 1e-5
				u := func(dx, dy, dt float64) float64 {
					q := p
					q.P.X, q.P.Y, q.Tilt = q.P.X+dx, q.P.Y+dy, q.Tilt+dt
					return l.At(q, Resting).Energy
				}
				tol := 1e-6 * math.Max(1, s.Normal)
				near(t, "Fx", s.Force.X, -(u(h, 0, 0)-u(-h, 0, 0))/(2*h), tol)
				near(t, "Fy", s.Force.Y, -(u(0, h, 0)-u(0, -h, 0))/(2*h), tol)
				near(t, "moment", s.Moment, -(u(0, 0, h)-u(0, 0, -h))/(2*h), 10*tol)
				var k contact
				k.place(l, p)
				k.gap(l, s.Deflection, s.Rotation, true)
				near(t, "gap", k.d, 0, 1e-9)
				near(t, "qt", k.qt, k.dt, 1e-9)
			}
		}
	}
}

// The derivatives that Newton's method uses, against differences, for every
// subset of the terms.
func TestClipDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, off := range []Terms{0, TermTipRotation, TermOffAxis, TermTurning, TermColumn} {
		l := mustClip(t, referenceClip(RootFirst), AllTerms&^off)
		for _, p := range places(rng, l, 100) {
			v, th := -.5*rng.Float64(), -.1*rng.Float64()
			var c, a, b contact
			for _, k := range []*contact{&c, &a, &b} {
				k.place(l, p)
			}
			const h = 1e-6
			c.gap(l, v, th, true)
			a.gap(l, v-h, th, true)
			b.gap(l, v+h, th, true)
			if math.Abs(b.wt-a.wt)+math.Abs(b.wv-a.wv) > 1e-3 {
				continue // across a joint of face and nose
			}
			diff := func(name string, got, lo, hi float64) {
				t.Helper()
				near(t, name, got, (hi-lo)/(2*h), 1e-5*math.Max(1, math.Abs(got)))
			}
			diff("dv", c.dv, a.d, b.d)
			diff("dvv", c.dvv, a.dv, b.dv)
			diff("dvt", c.dvt, a.dt, b.dt)
			diff("tvv", c.tvv, a.tv, b.tv)
			diff("ttv", c.ttv, a.tt, b.tt)
			a.gap(l, v, th-h, true)
			b.gap(l, v, th+h, true)
			if math.Abs(b.wt-a.wt)+math.Abs(b.wv-a.wv) > 1e-3 {
				continue
			}
			diff("dt", c.dt, a.d, b.d)
			diff("dtt", c.dtt, a.dt, b.dt)
			diff("tvt", c.tvt, a.tv, b.tv)
			diff("ttt", c.ttt, a.tt, b.tt)
		}
	}
}

// Entering and back: the work of the post against the clip is what is lost to
// friction, normal force times friction times slip of the post on the hook.
func TestClipWork(t *testing.T) {
	for _, d := range []Direction{RootFirst, TipFirst} {
		l := mustClip(t, referenceClip(d), AllTerms)
		path := circle(l.clip, .8)
		for _, slip := range []Slip{Entering, Releasing} {
			const n = 40000
			from, to := -.6, .6
			if slip == Releasing {
				from, to = to, from
			}
			var work, lost float64
			var old ClipState
			var oldP Place
			for i := range n + 1 {
				s := from + (to-from)*float64(i)/n
				p, _, _ := path.At(s)
				c := l.At(p, slip)
				if c.Locked || c.Failed {
					t.Fatalf("%v slip %d locks at %g", d, slip, s)
				}
				if i > 0 && c.Touching && old.Touching {
					f := r2.Scale(.5, r2.Add(c.Force, old.Force))
					work -= r2.Dot(f, r2.Sub(p.P, oldP.P))
					// Slip: post against the hook's material at the contact.
					lost += l.clip.Mu * (c.Normal + old.Normal) / 2 * slipOf(l, old, c, oldP.P, p.P)
				}
				old, oldP = c, p
			}
			rel(t, "work", work, lost, 1e-3)
			if lost <= 0 {
				t.Errorf("lost %g N·mm", lost)
			}
		}
	}
}

// slipOf returns how far a post slides over the hook between two neighbouring
// states: the motion of the post less that of the hook's material at the
// contact, along the tangent. A post that keeps its attitude.
func slipOf(l *ClipLaw, a, b ClipState, pa, pb r2.Vec) float64 {
	tip := func(s ClipState) r2.Vec {
		v, th := s.Deflection, s.Rotation
		return r2.Vec{X: l.tip - (l.svv*v*v+2*l.svt*v*th+l.stt*th*th)/2, Y: v}
	}
	r := r2.Sub(a.Contact, tip(a))
	turn := b.Rotation - a.Rotation
	hook := r2.Add(r2.Sub(tip(b), tip(a)), r2.Vec{X: -turn * r.Y, Y: turn * r.X})
	return math.Abs(r2.Dot(r2.Sub(r2.Sub(pb, pa), hook), r2.Scale(.5, r2.Add(a.T, b.T))))
}
