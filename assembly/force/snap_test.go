package force

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func mustSnap(t testing.TB, c Clip, terms Terms, overlap float64) Snap {
	t.Helper()
	l := mustClip(t, c, terms)
	s, err := l.Snap(circle(c, overlap), -1, 1)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// elasticaTip integrates the exact elastica of a uniform arm (bending only, no
// stretch) from the root under the force f on the hook at a known point, by
// Runge–Kutta: M(s) = (contact − r(s)) × f.
func elasticaTip(length, ei float64, contact, f r2.Vec) (x, y, theta float64) {
	type state [3]float64
	rate := func(s state) state {
		sin, cos := math.Sincos(s[2])
		m := (contact.X-s[0])*f.Y - (contact.Y-s[1])*f.X
		return state{cos, sin, m / ei}
	}
	add := func(a, b state, h float64) state {
		for i := range a {
			a[i] += h * b[i]
		}
		return a
	}
	var s state
	const n = 500
	h := length / n
	for range n {
		k1 := rate(s)
		k2 := rate(add(s, k1, h/2))
		k3 := rate(add(s, k2, h/2))
		k4 := rate(add(s, k3, h))
		for i := range s {
			s[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
		}
	}
	return s[0], s[1], s[2]
}

// The tip found by the law is where the exact elastica puts it under the law's
// own contact force, friction and all: within 2 % of the deflection.
func TestClipAgainstElastica(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	const beamOnly = AllTerms &^ (TermEnds | TermRootFillet | TermShear)
	for _, d := range []Direction{RootFirst, TipFirst} {
		l := mustClip(t, referenceClip(d), beamOnly)
		ei := 1800 * 4 * math.Pow(1.4, 3) / 12
		worst := 0.0
		for _, p := range places(rng, l, 300) {
			for _, slip := range []Slip{Resting, Entering, Releasing} {
				s := l.At(p, slip)
				if s.Locked {
					continue
				}
				x, y, th := elasticaTip(11, ei, s.Contact, r2.Scale(-1, s.Force))
				v := s.Deflection
				if math.Abs(v) < .05 {
					continue
				}
				worst = math.Max(worst, math.Abs(y-v)/math.Abs(v))
				near(t, "deflection", y, v, .02*math.Abs(v))
				near(t, "rotation", th, s.Rotation, .02*math.Abs(s.Rotation)+1e-3)
				near(t, "shortening", 11-x, (l.svv*v*v+2*l.svt*v*s.Rotation+l.stt*s.Rotation*s.Rotation)/2, 3e-3)
			}
		}
		t.Logf("%v: worst deflection difference %.2f %%", d, 100*worst)
	}
}

// No tip position that clears the post stores less energy.
func TestClipIsLeastEnergy(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	for _, post := range []Post{{Radius: .3}, {Radius: .75}, {Radius: .3, Flat: 1.2}} {
		c := referenceClip(RootFirst)
		c.Post = post
		l := mustClip(t, c, AllTerms)
		for _, p := range places(rng, l, 40) {
			s := l.At(p, Resting)
			var k contact
			k.place(l, p)
			for range 2000 {
				v := s.Deflection + .3*(rng.Float64()-.5)
				th := s.Rotation + .06*(rng.Float64()-.5)
				if k.gap(l, v, th, false); k.d >= 0 && l.energy(v, th) < s.Energy-1e-9 {
					t.Fatalf("%+v at %+v: (%g, %g) clears with %g, law stores %g", post, p, v, th, l.energy(v, th), s.Energy)
				}
			}
		}
	}
}

// The reference clip: strain about 1.7 % for overlap 0.8, with either post; the
// arm turned the usual way enters harder and releases softer.
func TestReferenceClip(t *testing.T) {
	pin := func(d Direction) Clip {
		c := referenceClip(d)
		c.Post.Radius, c.Hook, c.Retention = .75, 1, deg(48)
		return c
	}
	for _, make := range []func(Direction) Clip{referenceClip, pin} {
		good, usual := mustSnap(t, make(RootFirst), AllTerms, .8), mustSnap(t, make(TipFirst), AllTerms, .8)
		t.Logf("post %.2f: root first in %.2f out %.2f N, tip first in %.2f out %.2f N at 8 mm; strain %.4f",
			make(RootFirst).Post.Radius, good.Entry/8, good.Release/8, usual.Entry/8, usual.Release/8, good.Strain)
		near(t, "strain", good.Strain, .017, .0015)
		near(t, "deflection", good.Deflection, .8, .02)
		if !(good.Entry < .75*usual.Entry && good.Release > 1.5*usual.Release) {
			t.Errorf("direction hardly matters: %+v against %+v", good, usual)
		}
		// The wedge sum on the printed angles, for the usual arm.
		c := make(TipFirst)
		k := mustClip(t, c, AllTerms).Arm().Stiffness()
		if r := NaiveClip(k, .8, c.Retention, c.Mu) / (usual.Release / 8); r < 1.5 || r > 6 {
			t.Errorf("the naive wedge is %.2f times the release of the usual arm", r)
		}
		if !(good.Touch < good.EntryAt && good.EntryAt < good.SnapAt && good.SnapAt < good.ReleaseAt && good.ReleaseAt < good.Leave) {
			t.Errorf("events out of order: %+v", good)
		}
	}
}

// Each term moves entry and release the way mechanics says. Root first: post
// travels to the tip, release pushes the arm.
func TestClipTerms(t *testing.T) {
	for _, c := range []struct {
		off            Terms
		dir            Direction
		entry, release float64 // sign of (with − without)
	}{
		{TermOffset, RootFirst, 0, -1},
		{TermOffset, TipFirst, 0, -1},
		{TermTipRotation, RootFirst, -1, +1}, // entry flattens, retention steepens
		{TermTipRotation, TipFirst, +1, -1},
		{TermOffAxis, RootFirst, -1, +1}, // pull at entry and push at release, above the axis
		{TermOffAxis, TipFirst, +1, -1},
		{TermColumn, RootFirst, +1, -1}, // pull stiffens, push softens
		{TermColumn, TipFirst, -1, +1},
		{TermEnds, RootFirst, -1, -1}, // a longer arm is softer
		{TermRootFillet, RootFirst, +1, +1},
		{TermShear, RootFirst, -1, -1},
	} {
		with, without := mustSnap(t, referenceClip(c.dir), AllTerms, .8), mustSnap(t, referenceClip(c.dir), AllTerms&^c.off, .8)
		if c.entry != 0 && (with.Entry-without.Entry)*c.entry <= 0 {
			t.Errorf("term %b, %v: entry %.3f with, %.3f without", c.off, c.dir, with.Entry, without.Entry)
		}
		if (with.Release-without.Release)*c.release <= 0 {
			t.Errorf("term %b, %v: release %.3f with, %.3f without", c.off, c.dir, with.Release, without.Release)
		}
	}
	// The turning nose leaves the contact earlier or later, and is felt.
	with, without := mustSnap(t, referenceClip(RootFirst), AllTerms, .8), mustSnap(t, referenceClip(RootFirst), AllTerms&^TermTurning, .8)
	if math.Abs(with.ReleaseAt-without.ReleaseAt) < .005 {
		t.Errorf("the nose does not turn: release at %g and %g", with.ReleaseAt, without.ReleaseAt)
	}
}

// A retention face near 90° − φ locks; the direction moves the limit.
func TestClipLocks(t *testing.T) {
	c := referenceClip(RootFirst)
	height := c.Arm.Thickness/2 + c.Hook
	near(t, "on the neutral axis", mustClip(t, c, AllTerms).LockAngle(0), LockAngle(.3), 1e-9)
	// Closed form for a plain cantilever and a force near the axis: the hook gives
	// way as long as the moment of the axial part leaves something of the
	// deflection, tan(α+φ) < 2L/(3e).
	plain := mustClip(t, c, TermOffAxis|TermTipRotation)
	near(t, "a little off it", math.Tan(plain.LockAngle(.01)+math.Atan(.3)), 2*11/(3*.01), 8)
	root := mustClip(t, c, AllTerms).LockAngle(height)
	c.Direction = TipFirst
	tip := mustClip(t, c, AllTerms).LockAngle(height)
	if !(root < LockAngle(.3)-.05 && tip > LockAngle(.3)) {
		t.Errorf("lock at %.1f° root first, %.1f° tip first", root*180/math.Pi, tip*180/math.Pi)
	}
	for _, d := range []Direction{RootFirst, TipFirst} {
		c := referenceClip(d)
		limit := mustClip(t, c, AllTerms).LockAngle(height)
		c.Retention = math.Min(limit+deg(2), deg(89.9))
		if s := mustSnap(t, c, AllTerms, .8); !s.Locks || !math.IsInf(s.Release, 1) {
			t.Errorf("%v: a %.1f° retention face releases with %g", d, c.Retention*180/math.Pi, s.Release)
		}
		c.Retention = deg(45)
		if s := mustSnap(t, c, AllTerms, .8); s.Locks {
			t.Errorf("%v: a 45° retention face locks", d)
		}
	}
	// An entry face that locks is an error that says so.
	c = referenceClip(TipFirst)
	c.Entry = deg(84)
	l := mustClip(t, c, AllTerms)
	_, err := l.Snap(circle(c, .8), -1, 1)
	var lock *LockError
	if !errors.As(err, &lock) || !lock.Entering {
		t.Errorf("an 84° entry face gives %v", err)
	}
}

// What a snap cannot be asked.
func TestSnapErrors(t *testing.T) {
	c := referenceClip(RootFirst)
	l := mustClip(t, c, AllTerms)
	if _, err := l.Snap(circle(c, -.1), -1, 1); !errors.Is(err, ErrNoContact) {
		t.Errorf("a post that misses gives %v", err)
	}
	if _, err := l.Snap(circle(c, .8), 0, 1); err == nil {
		t.Error("a path that starts in contact is accepted")
	}
	if _, err := l.Snap(circle(c, .8), 1, -1); err == nil {
		t.Error("a path that runs backwards is accepted")
	}
	near(t, "overlap", l.Overlap(circle(c, .8).Pivot.Y-8), .8, 1e-12)
	near(t, "surface gap", l.SurfaceGap(Place{P: r2.Vec{X: 5, Y: circle(c, .8).Pivot.Y - 8}}), .1, 1e-12)
	bad := c
	bad.Retention, bad.Hook = deg(95), 0
	if _, err := bad.Law(AllTerms); err == nil {
		t.Error("an undercut hook of no height is accepted")
	}
}

// A stiff, long arm on a straight path with hardly any rotation is the ramp
// law: V·tan(α+φ) on either face.
func TestClipIsRampOnAStiffArm(t *testing.T) {
	c := Clip{
		Arm:  Arm{Material: Material{E: 2000, Nu: .35}, Length: 400, Thickness: 1, Width: 5},
		Hook: 1, Nose: .2, Entry: deg(20), Retention: deg(40), Post: Post{Radius: .5}, Mu: .25,
	}
	l := mustClip(t, c, AllTerms)
	k := l.Arm().Stiffness()
	for _, f := range []struct {
		x, angle float64
		slip     Slip
	}{{-1.2, deg(20), Entering}, {.6, deg(40), Releasing}} {
		p := Place{P: r2.Vec{X: 400 + f.x, Y: .5 + .5 + .6}}
		s := l.At(p, f.slip)
		v := k * -s.Deflection
		dir := float64(f.slip)
		rel(t, "axial force", -s.Force.X*dir, v*math.Tan(f.angle+math.Atan(.25)), .02)
		rel(t, "across", s.Force.Y, v, .02)
	}
}

func TestAtDoesNotAllocate(t *testing.T) {
	l := mustClip(t, referenceClip(RootFirst), AllTerms)
	p, _, _ := circle(l.clip, .8).At(0)
	r := referenceRamp(t, AllTerms)
	if n := testing.AllocsPerRun(100, func() { l.At(p, Releasing); r.At(.5) }); n != 0 {
		t.Errorf("%g allocations per query", n)
	}
}

func BenchmarkClipAt(b *testing.B) {
	for _, slip := range []Slip{Resting, Entering, Releasing} {
		b.Run(fmt.Sprintf("slip=%d", slip), func(b *testing.B) {
			l := mustClip(b, referenceClip(RootFirst), AllTerms)
			path := circle(l.clip, .8)
			var ps [64]Place
			for i := range ps {
				ps[i], _, _ = path.At(-.3 + .4*float64(i)/64)
			}
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				l.At(ps[i&63], slip)
			}
		})
	}
}

func BenchmarkRampAt(b *testing.B) {
	l := referenceRamp(b, AllTerms)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		l.At(-1 + 4*float64(i&63)/64)
	}
}
