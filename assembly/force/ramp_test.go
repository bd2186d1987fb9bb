package force

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

func mustCurve(t testing.TB, b Bump, pin float64) *Graph {
	t.Helper()
	g, err := b.Curve(pin)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func mustRamp(t testing.TB, r Ramp, terms Terms) *RampLaw {
	t.Helper()
	l, err := r.Law(terms)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// distance from a pin centre to the printed shape, found without any offset:
// sampled wall, faces and peak.
func bumpDistance(b Bump, x, y float64) float64 {
	best := math.Inf(1)
	try := func(px, py float64) { best = math.Min(best, math.Hypot(px-x, py-y)) }
	printed, err := b.Curve(0)
	if err != nil {
		panic(err)
	}
	const n = 40000
	for i := range n + 1 {
		px := x - 4 + 8*float64(i)/n
		h, _ := printed.At(px)
		try(px, h)
	}
	return best
}

// The pin touches the printed shape everywhere on its curve: the distance from
// centre to shape is the pin radius, for faces, arcs, valleys and corners.
func TestCurveIsOffset(t *testing.T) {
	for _, b := range []Bump{
		{Height: 1, Steep: deg(45), Shallow: deg(15), PeakRadius: .3},
		{Height: .6, Steep: deg(45), Shallow: deg(15), PeakRadius: .3},
		{Height: .4, Steep: deg(60), Shallow: deg(20), PeakRadius: .2, GroundRadius: .5},
		{Height: .4, Steep: deg(60), Shallow: deg(20), PeakRadius: .2, GroundRadius: 2.5},
		{Height: 1, Steep: deg(30), Shallow: deg(15), PeakRadius: .3, GroundRadius: 2},
	} {
		const r = 1.5
		g := mustCurve(t, b, r)
		from, to := g.Span()
		for i := range 41 {
			x := from + (to-from)*float64(i)/40
			h, _ := g.At(x)
			near(t, "distance to the printed shape", bumpDistance(b, x, h+r), r, 2e-6)
		}
		cs := g.Corners()
		for i := 1; i+1 < len(cs); i++ {
			a, _ := g.At(cs[i] - 1e-9)
			c, _ := g.At(cs[i])
			near(t, "continuity", a, c, 1e-7)
		}
		_, h := crest(g)
		near(t, "crest", h, b.Height, 1e-9)
	}
}

// On a 0.6 mm ramp with a 3 mm pin the 45° face acts over 0.07 mm only.
func TestRemains(t *testing.T) {
	steep, shallow, err := Bump{Height: .6, Steep: deg(45), Shallow: deg(15), PeakRadius: .3}.Remains(1.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "45° face", steep.Run, .6-1.8*(1-math.Cos(deg(45))), 1e-12)
	near(t, "45° face", steep.Run, .07, .005)
	near(t, "15° face rise", shallow.Rise, .6-1.8*(1-math.Cos(deg(15))), 1e-12)
	steep, _, err = Bump{Height: .4, Steep: deg(45), Shallow: deg(15), PeakRadius: .3}.Remains(1.5)
	if err != nil {
		t.Fatal(err)
	}
	if steep.Rise != 0 || steep.Run != 0 || steep.Printed <= 0 {
		t.Errorf("a 0.4 mm ramp leaves %+v of its 45° face", steep)
	}
	// What is left then is the arc where it meets the wall.
	near(t, "angle of the arc at the wall", steep.Angle, math.Acos(1-.4/1.8), 1e-12)
}

// A curve given as edges of an exact profile is the same curve.
func TestGraphFromEdges(t *testing.T) {
	b := Bump{Height: 1, Steep: deg(45), Shallow: deg(15), PeakRadius: .3, GroundRadius: 2}
	g := mustCurve(t, b, 1.5)
	var edges []profile.Edge
	for _, p := range g.pieces {
		h0, _ := p.at(p.x0)
		h1, _ := p.at(p.x1)
		e := profile.Edge{A: r2.Vec{X: p.x0, Y: h0}, B: r2.Vec{X: p.x1, Y: h1}}
		if p.r > 0 {
			chord := math.Hypot(p.x1-p.x0, h1-h0)
			e.Bulge = -p.up * math.Tan(math.Asin(chord/2/p.r)/2)
		}
		edges = append(edges, e)
	}
	e, err := NewGraph(edges)
	if err != nil {
		t.Fatal(err)
	}
	from, to := g.Span()
	for i := range 200 {
		x := from + (to-from)*(float64(i)+.5)/200
		h, m := g.At(x)
		eh, em := e.At(x)
		near(t, "height", eh, h, 1e-9)
		near(t, "slope", em, m, 1e-7)
	}
	edges[1].A.Y += .1
	if _, err := NewGraph(edges); err == nil {
		t.Error("edges that do not meet are accepted")
	}
	if _, err := NewGraph(edges[2:]); err == nil {
		t.Error("a curve that starts above the wall is accepted")
	}
	if _, err := NewGraph(nil); err == nil {
		t.Error("no edges are accepted")
	}
	back := profile.Edge{A: r2.Vec{X: 1}, B: r2.Vec{X: 0}}
	if _, err := NewGraph([]profile.Edge{back}); err == nil {
		t.Error("an edge towards −x is accepted")
	}
}

// referenceRamp is the ramp of the reference finger: 1.0 mm, 45°/15°, peak 0.3 in
// the middle of a 36 mm rail, 1.6 thick, layer 5, pin 3 with play 0.1.
func referenceRamp(t testing.TB, terms Terms) *RampLaw {
	b := Bump{Height: 1, Steep: deg(45), Shallow: deg(15), PeakRadius: .3}
	return mustRamp(t, Ramp{Curve: mustCurve(t, b, 1.5), Wall: referenceRail(t, terms),
		Origin: 18, Play: .1, Mu: .3, MuWall: .3}, terms)
}

func referenceRail(t testing.TB, terms Terms) *RailLaw {
	b := Bump{Height: 1, Steep: deg(45), Shallow: deg(15), PeakRadius: .3}
	from, to := b.Foot()
	return mustRail(t, Rail{Material: Material{E: 1800, Nu: .38}, Length: 36, Thickness: 1.6, Width: 5,
		EndA: RailEndDefault, EndB: RailEndDefault, RampFrom: 18 + from, RampTo: 18 + to, RampHeight: 1, Fillet: .5}, terms)
}

// Energy: dU/dx against central differences, and the work of a pass against
// stored plus lost, by integrating the force a user would feel.
func TestRampEnergy(t *testing.T) {
	l := referenceRamp(t, AllTerms)
	from, to := l.Span()
	rng := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		x := from + (to-from)*rng.Float64()
		if nearCorner(l, x, 1e-3) {
			continue
		}
		d := (l.At(x+1e-5).U - l.At(x-1e-5).U) / 2e-5
		near(t, "dU/dx", l.At(x).DU, d, 1e-6*math.Max(1, math.Abs(d)))
	}
	for _, out := range []bool{true, false} {
		p := l.Pass(out)
		work, pull := 0.0, 0.0
		const n = 400000
		for i := range n {
			s := l.At(from + (to-from)*(float64(i)+.5)/n)
			f := s.DU + s.Out
			if !out {
				f = s.Back - s.DU
			}
			work += f * (to - from) / n
			pull = math.Max(pull, -f)
		}
		// Stored energy comes back: the work of the whole pass is what is lost.
		rel(t, "work of a pass", work, p.Lost, 1e-5)
		near(t, "pull", p.Pull, pull, 1e-4)
		if p.Lost <= 0 || p.Stored <= 0 {
			t.Errorf("pass loses %g, stores %g N·mm", p.Lost, p.Stored)
		}
	}
	// Up to the crest: work is stored plus lost.
	cx, _ := l.Crest()
	work, lost := 0.0, 0.0
	const n = 400000
	for i := range n {
		s := l.At(from + (cx-from)*(float64(i)+.5)/n)
		work += (s.DU + s.Out) * (cx - from) / n
		lost += s.Out * (cx - from) / n
	}
	rel(t, "work to the crest", work, l.At(cx).U+lost, 1e-5)
}

func nearCorner(l *RampLaw, x, tol float64) bool {
	for _, c := range l.breakpoint {
		if math.Abs(c-x) < tol {
			return true
		}
	}
	a, b, _ := l.Lifts()
	return math.Abs(x-a) < tol || math.Abs(x-b) < tol
}

// The force is V·[tan(α+φ)+μ] with V = k(h−play).
func TestRampLaw(t *testing.T) {
	b := Bump{Height: 1, Steep: deg(45), Shallow: deg(15), PeakRadius: .3}
	l := mustRamp(t, Ramp{Curve: mustCurve(t, b, 1.5), Wall: Constant(10), Play: .1, Mu: .3, MuWall: .25}, AllTerms)
	for _, c := range []struct{ x, angle float64 }{{-1.4, deg(45)}, {2, -deg(15)}} {
		s := l.At(c.x)
		v := 10 * s.Deflection
		near(t, "slope", s.Slope, math.Tan(c.angle), 1e-9)
		near(t, "out", s.DU+s.Out, v*(math.Tan(c.angle+math.Atan(.3))+.25), 1e-9)
		near(t, "back", s.Back-s.DU, v*(math.Tan(-c.angle+math.Atan(.3))+.25), 1e-9)
		// Normal force: the squeeze is its share across less the friction's.
		near(t, "normal", s.NormalOut*(math.Cos(c.angle)-.3*math.Sin(c.angle)), v, 1e-9)
	}
	// A face at the locking angle.
	steep := mustCurve(t, Bump{Height: 2, Steep: deg(75), Shallow: deg(15)}, .5)
	l = mustRamp(t, Ramp{Curve: steep, Wall: Constant(10), Mu: .3}, AllTerms)
	if p := l.Pass(true); !math.IsInf(p.Peak, 1) {
		t.Errorf("a 75° face at mu .3 passes with %g N", p.Peak)
	}
	if p := l.Pass(false); math.IsInf(p.Peak, 1) {
		t.Error("the 15° face locks")
	}
}

// On a 0.6 mm ramp with a 3 mm pin a wedge sum on the printed angles (no play)
// promises 19 N out and 6 N back where the truth is near 6 and 6.
func TestNaiveRampAgainstLaw(t *testing.T) {
	b := Bump{Height: .6, Steep: deg(45), Shallow: deg(15), PeakRadius: .3}
	const k = 17
	near(t, "naive out", NaiveRamp(k, .6, deg(45), .3), 19, .5)
	near(t, "naive back", NaiveRamp(k, .6, deg(15), .3), 6, .5)
	r := Ramp{Curve: mustCurve(t, b, 1.5), Wall: Constant(k), Play: .1, Mu: .3, MuWall: .3}
	l := mustRamp(t, r, AllTerms)
	out, back := l.Pass(true).Peak, l.Pass(false).Peak
	t.Logf("0.6 mm ramp on %d N/mm: out %.2f N, back %.2f N", k, out, back)
	near(t, "out", out, 6, 1.5)
	near(t, "back", back, 6, 1.5)
	without := mustRamp(t, r, AllTerms&^TermOppositeWall)
	if a := without.Pass(true).Peak; a >= out {
		t.Errorf("the opposite wall costs nothing: %g N without, %g with", a, out)
	}
}

// The reference rail at the crest: strain about 1.7 %.
func TestReferenceRamp(t *testing.T) {
	l := referenceRamp(t, AllTerms)
	out, back := l.Pass(true), l.Pass(false)
	x, d := l.Crest()
	near(t, "deflection", d, .9, 1e-9)
	s := l.ramp.Wall.(*RailLaw).Stress(l.ramp.Origin+x, d)
	k, _ := l.ramp.Wall.Stiffness(18)
	t.Logf("rail %.2f N/mm, out %.2f N at %.2f, back %.2f N at %.2f, strain %.4f at %.2f", k, out.Peak, out.PeakAt, back.Peak, back.PeakAt, s.Strain, s.At)
	if out.Peak <= back.Peak {
		t.Error("the steep face costs less than the shallow one")
	}
	near(t, "rail strain", s.Strain, .017, .002)
}

// Terms of the ramp and of its rail, each switched off alone: the opposite wall
// costs force both ways, a softer rail takes less, and the bent rail tilts the
// face.
func TestRampTerms(t *testing.T) {
	all := referenceRamp(t, AllTerms)
	out, back := all.Pass(true).Peak, all.Pass(false).Peak
	for _, c := range []struct {
		off       Terms
		out, back float64 // sign of (with − without)
	}{
		{TermOppositeWall, +1, +1},
		{TermEnds, -1, -1}, // rotating roots make the rail softer
		{TermShear, -1, -1},
		{TermRampStiffening, +1, +1},
	} {
		l := referenceRamp(t, AllTerms&^c.off)
		if o := l.Pass(true).Peak; (out-o)*c.out <= 1e-6 {
			t.Errorf("term %b, out: %.4f N with, %.4f N without", c.off, out, o)
		}
		if b := l.Pass(false).Peak; (back-b)*c.back <= 1e-6 {
			t.Errorf("term %b, back: %.4f N with, %.4f N without", c.off, back, b)
		}
	}
	// The bent rail's slope under a load V is ½V·d(1/k)/dx (Maxwell–Betti); the
	// steep face lies off the middle, where the rail gets softer towards the
	// middle, so that the wall falls away in front of the pin there.
	with, without := all, referenceRamp(t, AllTerms&^TermRailSlope)
	const x = -1.2
	a, b := with.At(x), without.At(x)
	k := func(x float64) float64 { v, _ := with.ramp.Wall.Stiffness(with.ramp.Origin + x); return v }
	const h = 1e-4
	near(t, "slope of the rail", a.Slope-b.Slope, -a.Squeeze/2*(1/k(x+h)-1/k(x-h))/(2*h), 1e-6)
	if a.Slope == b.Slope {
		t.Error("the rail's slope is not felt")
	}
	// Without it the force is no longer the slope of the energy.
	du := (without.At(x+h).U - without.At(x-h).U) / (2 * h)
	if math.Abs(du-b.DU) < 1e-4*b.DU {
		t.Errorf("dU/dx %.6f N, force %.6f N without the slope", du, b.DU)
	}
	// The pin's radius is in the curve: a pin of no radius finds the printed face.
	bump := Bump{Height: 1, Steep: deg(45), Shallow: deg(15), PeakRadius: .3}
	sharp := mustRamp(t, Ramp{Curve: mustCurve(t, bump, 0), Wall: referenceRail(t, AllTerms), Origin: 18, Play: .1, Mu: .3, MuWall: .3}, AllTerms)
	if s := sharp.Pass(true).Peak; s < 1.2*out {
		t.Errorf("a pin without radius: %.2f N, of 1.5 mm %.2f N", s, out)
	}
}

// Root fillet and notch of an arm, each alone: 0.66 radii shorter, and
// 1 + 0.115 t/r at the root.
func TestArmTerms(t *testing.T) {
	a := Arm{Material: Material{E: 1800, Nu: .38}, Length: 11, Thickness: 1.4, Width: 4, Fillet: .5}
	short := a
	short.Length -= .66 * .5
	rel(t, "root fillet", mustArm(t, a, TermRootFillet).FF, mustArm(t, short, 0).FF, 1e-12)
	long := a
	long.Length += .43 * 1.4
	rel(t, "root rotation", mustArm(t, a, TermEnds).FF, mustArm(t, long, 0).FF, 1e-12)
	// 1.2·L/(G·A) of shear.
	rel(t, "shear", mustArm(t, a, TermShear).FF-mustArm(t, a, 0).FF, 1.2*11/(a.G()*1.4*4), 1e-9)
	near(t, "notch", RootNotch(1.4, .5), 1+.115*1.4/.5, 1e-12)
}
