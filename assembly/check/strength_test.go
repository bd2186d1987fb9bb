package check

import (
	"bytes"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/params/finding"
	"tuckfinger/parts"
	"tuckfinger/parts/profile"
)

// input reads a finger of testdata with changed dimensions and computes all
// that checks need, without weights.
func input(t *testing.T, file string, change map[string]float64) *Input {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"pin", "width", "rate", "wall_x", "floor_y", "tip", "above", "object"} {
		if v, ok := change[name]; ok {
			if data, err = params.SetDimension(data, name, v); err != nil {
				t.Fatal(err)
			}
		}
	}
	if change["facing"] == 1 {
		data = bytes.Replace(data, []byte("switch: beside"), []byte("switch: facing"), 1)
	}
	d, err := params.Parse(file, data, nil)
	if err != nil {
		t.Fatal(err)
	}
	in := &Input{Design: d}
	if in.Parts, err = parts.Build(d); err != nil {
		t.Fatal(err)
	}
	if in.Items, err = parts.Hardware(d, in.Parts); err != nil {
		t.Fatal(err)
	}
	if in.Mechanism, err = linkage.New(d); err != nil {
		t.Fatal(err)
	}
	model, err := stroke.With(in.Mechanism, d, stroke.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if in.Stroke, err = model.Run(); err != nil {
		t.Fatal(err)
	}
	if in.Drive, err = model.Drive(in.Stroke); err != nil {
		t.Fatal(err)
	}
	if d.Grasp != nil {
		if in.Grasp, err = model.Grasp(in.Stroke); err != nil {
			t.Fatal(err)
		}
	}
	for i := range in.Stroke.Samples {
		in.S = append(in.S, in.Stroke.Samples[i].S)
		in.Cycle = append(in.Cycle, in.Stroke.Poses(nil, i))
	}
	in.Jumps = make([]bool, len(in.S))
	in.Turn = in.Stroke.Turn + 1
	return in
}

func strengthIn(t *testing.T, in *Input, check, subject string) Strength {
	t.Helper()
	all, err := Strengths(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		if s.Check == check && s.Subject == subject {
			return s
		}
	}
	t.Fatalf("no %s of %s in %v", check, subject, all)
	return Strength{}
}

func relative6(t *testing.T, what string, got, want float64) {
	t.Helper()
	close(t, what, got, want, 1e-6*math.Abs(want))
}

// TestPinBeam: a clevis with a 3 mm pin under 300 N, cheeks of 4 mm, eye of
// 5 mm, gaps of 0.3 mm. M = F/2(t/2 + e/4 + g) = 532.5 N·mm, 200.889 MPa; shear
// F/(2A) = 21.2207 MPa (machine design textbooks).
func TestPinBeam(t *testing.T) {
	fork := &pinBeam{diameter: 3, holders: []holder{
		{spans: [][2]float64{{0, 4}, {9.6, 13.6}}, press: true},
		{spans: [][2]float64{{4.3, 9.3}}},
	}}
	fork.prepare()
	f := []r2.Vec{{X: -180, Y: -240}, {X: 180, Y: 240}}
	shear, bend, planes, _ := fork.peaks(f)
	close(t, "bending moment", bend, 532.5, 1e-9)
	close(t, "bending stress", roundBending(bend, 3), 200.889, 1e-3)
	close(t, "shear stress", force.PinShear(shear, 3, 1), 21.2207, 1e-3)
	if planes != 2 {
		t.Errorf("%d shear planes, want 2", planes)
	}
	if _, _, _, more := fork.peaks([]r2.Vec{{X: -18, Y: -24}, {X: 18, Y: 24}}); more {
		t.Error("a tenth of the load is not more than all of it")
	}
	p, _ := fork.edgePressure(0, f)
	close(t, "pressure of the cheeks", p, 300/8.0, 1e-9)

	// One cheek and an eye beside it: at their common face the whole force, 4/A =
	// 42.4413 MPa; inside the cheek, whose pressure F(1/4 + 3u/4) keeps the pin
	// from tilting, the shear F[(u+2)/4 + 3(u²−4)/8] is 25/24 of it at u = −1/3.
	lap := &pinBeam{diameter: 3, holders: []holder{
		{spans: [][2]float64{{0, 4}}, press: true},
		{spans: [][2]float64{{4, 8}}},
	}}
	lap.prepare()
	face := 0
	for k, z := range lap.z {
		if z == 4 {
			face = k
		}
	}
	close(t, "shear in the face", force.PinShear(300*math.Abs(lap.v[1][face]), 3, 1), 42.4413, 1e-3)
	shear, _, planes, _ = lap.peaks(f)
	close(t, "shear in the cheek", shear, 300*25/24.0, 0.1)
	if planes != 1 {
		t.Errorf("%d shear planes, want 1", planes)
	}
	p, _ = lap.edgePressure(0, f)
	close(t, "edge pressure", p, 300*(1/4.0+3*2/4.0), 1e-9)
}

// plateWithHole is a bar of width 10 and thickness 4 with a 3 mm hole 6 mm from
// its end.
func plateWithHole(t *testing.T) []slabField {
	t.Helper()
	r, err := profile.Rect(r2.Vec{X: -30, Y: -5}, r2.Vec{X: 6, Y: 5}, 1)
	if err != nil {
		t.Fatal(err)
	}
	hole, err := profile.Circle(r2.Vec{}, 1.5, 2)
	if err != nil {
		t.Fatal(err)
	}
	if r, err = profile.Subtract(r, hole); err != nil {
		t.Fatal(err)
	}
	return []slabField{{0, 4, profile.NewField(r)}}
}

// TestLug: F/(2t(e − d/2)) = 8.33333 MPa and F/((w−d)t) = 10.71429 MPa for 300 N,
// d 3, t 4, e 6, w 10; Kt 2.34909 at d/w = 0.3 (Roark/Peterson, net section).
func TestLug(t *testing.T) {
	l := &lug{radius: 1.5, layers: plateWithHole(t)}
	s := l.stress(r2.Vec{X: 300})
	close(t, "tear-out", s.tear, 8.33333, 1e-4)
	close(t, "edge", s.edge, 6, 1e-9)
	close(t, "concentration", s.kt, 2.34909, 1e-5)
	close(t, "net section", s.net/s.kt, 10.71429, 1e-4)
	if s.tearTag != 1 {
		t.Errorf("the edge in front is tag %d", s.tearTag)
	}
	// Into the bar there is nothing to tear the end off.
	if s := l.stress(r2.Vec{X: -300}); s.net != 0 || math.Abs(s.edge-30) > 1e-9 {
		t.Errorf("pushed into the bar: net %g, edge %g", s.net, s.edge)
	}
}

// TestCut: areas and second moments of a 10 x 4 bar, bh and bh³/12, and of the
// same with a hole, b(h−d) and b(h³−d³)/12; a bar of two layers of different
// width by the parallel axis theorem.
func TestCut(t *testing.T) {
	plate := plateWithHole(t)
	at := func(x float64) section {
		c, ok := cut(plate, r2.Vec{X: x, Y: 0.7}, r2.Vec{X: 1})
		if !ok {
			t.Fatal("no section")
		}
		return c
	}
	c := at(-10)
	close(t, "area", c.area, 40, 1e-9)
	close(t, "centre", c.centre, -0.7, 1e-9)
	close(t, "second moment", c.second, 4*1000/12.0, 1e-9)
	c = at(0)
	close(t, "area at the hole", c.area, 28, 1e-6)
	close(t, "second moment at the hole", c.second, 4*(1000-27)/12.0, 1e-5)
	close(t, "fibres", c.hi-c.lo, 10, 1e-9)
	if _, ok := cut(plate, r2.Vec{X: 7}, r2.Vec{X: 1}); ok {
		t.Error("a section beside the plate")
	}
	two := append(plate, slabField{4, 6, profile.NewField(mustRect(t, -30, 1, 6, 5))})
	c, _ = cut(two, r2.Vec{X: -10}, r2.Vec{X: 1})
	a1, a2, v2 := 40.0, 8.0, 3.0
	v := a2 * v2 / (a1 + a2)
	close(t, "centre of two layers", c.centre, v, 1e-9)
	close(t, "second moment of two layers", c.second, 4*1000/12.0+a1*v*v+2*64/12.0+a2*(v2-v)*(v2-v), 1e-9)
}

func mustRect(t *testing.T, x0, y0, x1, y1 float64) profile.Region {
	t.Helper()
	r, err := profile.Rect(r2.Vec{X: x0, Y: y0}, r2.Vec{X: x1, Y: y1}, 3)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// lever is the loading of testdata/strength-lever.yaml at one angle, by hand.
type lever struct {
	spring, lift, fork r2.Vec // forces on the lever
	theta              float64
}

func handLever(in *Input, k int) lever {
	l := lever{theta: in.Cycle[k][in.Mechanism.BodyIndex("lever")].Theta}
	sin, cos := math.Sincos(l.theta)
	end := r2.Vec{X: 40 * cos, Y: 40 * sin}
	d := r2.Sub(r2.Vec{X: 30, Y: -60}, end)
	n := r2.Norm(d)
	l.spring = r2.Scale(0.4*(n-10)/n, d)
	l.lift = r2.Vec{Y: -r2.Cross(end, l.spring) / (20 * cos)}
	l.fork = r2.Scale(-1, r2.Add(l.spring, l.lift))
	return l
}

// worstOf is the largest value of a hand formula over the stroke.
func worstOf(in *Input, f func(l lever) float64) float64 {
	w := 0.0
	for k := range in.Cycle {
		w = math.Max(w, f(handLever(in, k)))
	}
	return w
}

// TestLeverByHand compares a whole finger with hand calculations: statics of a
// lever, F/(2A), F/(dt), F/2(t/2+e/4+g), F/(2t(e−r)), N/A + Mc/I, Hertz.
func TestLeverByHand(t *testing.T) {
	in := input(t, "testdata/strength-lever.yaml", nil)
	fork := worstOf(in, func(l lever) float64 { return r2.Norm(l.fork) })
	lift := worstOf(in, func(l lever) float64 { return r2.Norm(l.lift) })
	area := math.Pi * 9 / 4
	relative6(t, "pin shear", strengthIn(t, in, nPinShear, "pin A").Stress, fork/2/area)
	relative6(t, "pin bending", strengthIn(t, in, nPinBending, "pin A").Stress, 32*fork/2*(2+1+0.2)/(math.Pi*27))
	relative6(t, "bearing of the eye", strengthIn(t, in, nBearing, "lever on pin A").Stress, fork/(3*4))
	relative6(t, "bearing of the fork", strengthIn(t, in, nBearing, "spine on pin A").Stress, fork/(3*8))
	relative6(t, "bearing of the slot pin", strengthIn(t, in, nBearing, "lever on pin P").Stress, lift/(3*4))
	// Pressure 1/4 + 4.2·u/(4³/12), largest at the end of the 4 mm hole, u = 2.
	relative6(t, "tilt of the slot pin", strengthIn(t, in, nTilt, "lever on pin P").Stress, lift*(1/4.0+4.2*2*12/64)/3)

	var eye, press float64
	for _, p := range in.Parts {
		for _, h := range p.Holes {
			switch {
			case p.Name == "lever" && h.Joint == "A":
				eye = h.Nominal + h.Clearance
			case p.Name == "lever" && h.Joint == "P":
				press = h.Nominal + h.Clearance
			}
		}
	}
	// The eye sits in the round end of a 10 mm bar: 5 mm to the edge, farther only
	// towards the bar.
	relative6(t, "tear-out of the eye", strengthIn(t, in, nTearOut, "lever on pin A").Stress, worstOf(in, func(l lever) float64 {
		f := l.fork
		u := unturn(linkage.Pose{Theta: l.theta}, r2.Scale(1/r2.Norm(f), f))
		e := 5.0
		if u.X > 0 {
			e = math.Min(5/math.Abs(u.Y), 1e3)
		}
		return r2.Norm(f) / (2 * 4 * (e - eye/2))
	}))
	// Beyond the slot pin only the spring pulls, 20 mm away; on its near side the
	// pin's force along the lever comes in.
	got := strengthIn(t, in, nLink, "lever")
	want := worstOf(in, func(l lever) float64 {
		p := linkage.Pose{Theta: l.theta}
		s, n := unturn(p, l.spring), unturn(p, l.fork)
		return math.Max(math.Abs(s.X), math.Abs(n.X))/(4*(10-press)) + force.LinkBending(20*s.Y, 10, 4, press)
	})
	close(t, "link stress", got.Stress, want, 1e-4*want)
	// Steel on PETG: 1/E* from the typical moduli, p = √(F E*/(π L R)).
	steel, petg := in.Design.Lib.Materials.Get("steel"), in.Design.Material("carriage")
	e := 1 / ((1-steel.Poisson.Typical*steel.Poisson.Typical)/steel.Modulus.Typical +
		(1-petg.Poisson.Typical*petg.Poisson.Typical)/petg.Modulus.Typical)
	relative6(t, "slot wall", strengthIn(t, in, nSlotWall, "slot P").Stress, math.Sqrt(lift*e/(math.Pi*4*1.5)))

	relative6(t, "allowed", strengthIn(t, in, nBearing, "lever on pin A").Allowed, petg.StrengthXY.Low)
	c, err := in.stresses()
	if err != nil {
		t.Fatal(err)
	}
	close(t, "balance", c.lack, 0, 1e-6)
}

// TestBalanceSeesWrongForces: a joint force that is off by 1 N does not close.
func TestBalanceSeesWrongForces(t *testing.T) {
	in := input(t, "testdata/strength-lever.yaml", nil)
	j := &in.Mechanism.Joints[in.Mechanism.JointIndex("A")]
	in.Stroke.Samples[10].Lambda[j.Row] += 1
	c, err := in.stresses()
	if err != nil {
		t.Fatal(err)
	}
	if c.lack < 0.1 {
		t.Errorf("left over %g N, want a good part of 1 N", c.lack)
	}
}

// failing returns the failed findings of a finger as "check: subject".
func failing(t *testing.T, in *Input) map[string]bool {
	t.Helper()
	list, err := Do(in)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]bool{}
	for _, f := range list {
		if f.Status == finding.Fail {
			out[f.Check+": "+f.Subject] = true
		}
	}
	return out
}

// newFailures are those that a change of dimensions brings.
func newFailures(t *testing.T, file string, change map[string]float64) []string {
	t.Helper()
	before := failing(t, input(t, file, nil))
	var out []string
	for k := range failing(t, input(t, file, change)) {
		if !before[k] {
			out = append(out, k)
		}
	}
	return out
}

// TestFailures: a dimension past its limit fails what it should, nothing else.
func TestFailures(t *testing.T) {
	const lever, jaws = "testdata/strength-lever.yaml", "testdata/place-jaws.yaml"
	for _, c := range []struct {
		file string
		name string
		to   float64
		want []string
	}{
		{lever, "width", 5.6, []string{nLink + ": lever"}},
		{lever, "rate", 0.8, []string{nTilt + ": lever on pin P"}},
		{lever, "wall_x", -5.2, []string{"switching: to the wall", "blade: to the wall"}},
		{lever, "floor_y", -39.8, []string{"switching: to the floor"}},
		{jaws, "object", 25.5, []string{"approach: opening", "approach: along z"}},
		{jaws, "tip", 2.6, []string{"stack: tip thickness"}},
		{jaws, "above", 5.2, []string{"switching: to what is above the object"}},
	} {
		got := newFailures(t, c.file, map[string]float64{c.name: c.to})
		same := len(got) == len(c.want)
		for _, w := range c.want {
			found := false
			for _, g := range got {
				found = found || g == w
			}
			same = same && found
		}
		if !same {
			t.Errorf("%s = %g: new failures %q, want %q", c.name, c.to, got, c.want)
		}
	}
}
