package parts

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts/profile"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.Abs(got-want) > tol || math.IsNaN(got) {
		t.Errorf("%s: %.9g, want %.9g", what, got, want)
	}
}

func rad(deg float64) float64 { return deg * math.Pi / 180 }

// bumpArea is the area of a bump in closed form: the triangle over its two
// faces less what the rounding takes off the apex. A circle of radius r in a
// corner that turns by t = a + b takes off r²(tan(t/2) − t/2).
func bumpArea(b Bump) float64 {
	t := b.First + b.Last
	cotA, cotB := 1/math.Tan(b.First), 1/math.Tan(b.Last)
	apex := b.End() / (cotA + cotB) // height of the sharp apex over the wall
	return b.End()*apex/2 - b.Radius*b.Radius*(math.Tan(t/2)-t/2)
}

// Closed forms of plane geometry; no other source is needed.
func TestBump(t *testing.T) {
	for _, b := range []Bump{
		{Height: 1, First: rad(45), Last: rad(15), Radius: 0.3},
		{Height: 0.9, First: rad(15), Last: rad(45), Radius: 0.2},
		{Height: 0.6, First: rad(30), Last: rad(30), Radius: 0},
		{Height: 0.9, First: rad(20), Last: rad(90), Radius: 0.2},
	} {
		if err := b.Check(); err != nil {
			t.Fatal(err)
		}
		top, area := 0.0, profile.Loop{}
		area = append(area, b.outline()...)
		r, err := profile.FromLoop(area)
		if err != nil {
			t.Fatal(err)
		}
		if box, ok := r.Box(); ok {
			top = box.Max.Y
		}
		near(t, "height of the rounded peak", top, b.Height, 1e-12)
		near(t, "area", r.Area(), bumpArea(b), 1e-9)
	}
	// A right-angled sharp bump of height h at 45° is 2h wide.
	near(t, "width", Bump{Height: 2, First: rad(45), Last: rad(45)}.End(), 4, 1e-12)
	if (Bump{Height: 0.2, First: rad(45), Last: rad(15), Radius: 0.8}).Check() == nil {
		t.Error("a peak rounder than its faces is accepted")
	}
}

func straight(u0, u1 float64) *params.SlotJoint {
	return &params.SlotJoint{Path: []params.PathPoint{{At: r2.Vec{X: -2, Y: u0}}, {At: r2.Vec{X: -2, Y: u1}}}}
}

// A slot is a stadium; a ramp takes its own area off it, on the side that the
// file names: left of a path along −y is +x.
func TestSlotWithRamp(t *testing.T) {
	p, err := NewSlotPath(straight(20, -16))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "length", p.Length(), 36, 1e-12)
	const w = 3.1
	stadium := 36*w + math.Pi*w*w/4
	plain, err := slotRegion(p, w, nil, nil, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slot", plain.Area(), stadium, 1e-9)
	for _, wall := range []string{"left", "right"} {
		r := &params.Ramp{Wall: wall, At: 16.8, Rise: 1, First: rad(45), Last: rad(15), Peak: 0.3}
		got, err := slotRegion(p, w, []*params.Ramp{r}, []int32{2}, 1)
		if err != nil {
			t.Fatal(err)
		}
		near(t, wall+" ramp", stadium-got.Area(), bumpArea(RampBump(r)), 1e-9)
		// The peak stands in the slot, its height from the wall it belongs to.
		side := 1.0
		if wall == "right" {
			side = -1
		}
		peak := r2.Vec{X: -2 + side*(w/2-1), Y: 20 - 16.8 - RampBump(r).Peak()}
		f := profile.NewField(got)
		near(t, wall+" peak", f.Distance(peak), 0, 1e-9)
	}
	bad := &params.Ramp{Wall: "left", At: 34, Rise: 1, First: rad(45), Last: rad(15), Peak: 0.3}
	if _, err := slotRegion(p, w, []*params.Ramp{bad}, []int32{2}, 1); err == nil {
		t.Error("a ramp past the end of the straight part is accepted")
	}
}

func TestSlotPathAroundACorner(t *testing.T) {
	// A quarter circle of radius 10 between two straights of 5.
	p, err := NewSlotPath(&params.SlotJoint{Path: []params.PathPoint{
		{At: r2.Vec{X: 0, Y: 0}}, {At: r2.Vec{X: 5, Y: 0}, Sweep: math.Pi / 2}, {At: r2.Vec{X: 15, Y: 10}}, {At: r2.Vec{X: 15, Y: 15}}}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "length", p.Length(), 10+5*math.Pi, 1e-9)
	at, dir := p.At(5 + 2.5*math.Pi)
	near(t, "x half way round", at.X, 5+10*math.Sin(math.Pi/4), 1e-9)
	near(t, "y half way round", at.Y, 10-10*math.Cos(math.Pi/4), 1e-9)
	near(t, "direction", math.Atan2(dir.Y, dir.X), math.Pi/4, 1e-9)
	if p.Straight(1, 4) != 0 || p.Straight(4, 6) != -1 {
		t.Error("straight parts are not told from curves")
	}
}

// The arm's area: bar, hook, end below the hook's last face, and two fillets of
// (1 − π/4) r² and the block that joins the root.
func TestArm(t *testing.T) {
	a := &params.Arm{Hook: r2.Vec{X: 3, Y: -4}, Direction: rad(170), Length: 11, Thickness: 1.4, Tip: 1, RootFillet: 0.5,
		Height: 0.9, Nose: 0.2, Entry: rad(15), Retention: rad(45)}
	for _, side := range []string{"left", "right"} {
		a.Side = side
		loop, err := armLoop(a, 0)
		if err != nil {
			t.Fatal(err)
		}
		r, err := profile.FromLoop(loop)
		if err != nil {
			t.Fatal(err)
		}
		hook := Hook(a)
		long := a.Length + hook.End() - hook.Peak()
		want := long*1.4 + bumpArea(hook) + 2*(1-math.Pi/4)*0.25 + 0.8*(1.4+2*0.5)
		near(t, side+" area", r.Area(), want, 1e-9)
		if loop.Area() < 0 {
			t.Errorf("%s: the loop runs clockwise", side)
		}
		near(t, side+" peak on the boundary", profile.NewField(r).Distance(a.Hook), 0, 1e-9)
	}
	a.Length = 3
	if _, err := armLoop(a, 0); err == nil {
		t.Error("an entry face longer than its arm is accepted")
	}
}

// ISO 53 (basic rack): pitch π·m, tooth and gap equal at the pitch line, flanks
// at 20°; the area of a tooth of height 2.25 m is π·m/2 · 2.25 m less the
// flanks' shift between root and tip about the pitch line at 1.25 m.
func TestRack(t *testing.T) {
	const m = 1.0
	r, err := rackRegion(&params.Rack{From: r2.Vec{X: 4, Y: 65}, To: r2.Vec{X: 4, Y: 33}, Module: m}, 1)
	if err != nil {
		t.Fatal(err)
	}
	teeth := math.Floor(32 / (math.Pi * m))
	mid := math.Pi*m/2 - 2*(2.25/2-1.25)*m*math.Tan(rad(20)) // width half way up
	near(t, "area", r.Area(), teeth*(2.25*m*mid+0.5*m*math.Pi*m), 1e-9)
	box, _ := r.Box()
	near(t, "tip", box.Max.X, 4+2.25*m, 1e-12) // left of a line along −y is +x
}

func TestHexagon(t *testing.T) {
	r := hexagon(r2.Vec{X: 1, Y: 2}, 8, 0, 1)
	near(t, "area", r.Area(), 8*8*math.Sqrt(3)/2, 1e-9) // √3/2·s², s across flats
	box, _ := r.Box()
	near(t, "corners along the angle", box.Max.X-box.Min.X, 8*2/math.Sqrt(3), 1e-12)
	near(t, "flats across it", box.Max.Y-box.Min.Y, 8, 1e-12)
}

// The root of a thick arm reaches past a corner of its block that is rounded as
// much as the arm is thick, so that no sliver is left between the two.
func TestThickArmReachesIntoItsBlock(t *testing.T) {
	for _, thick := range []float64{1.4, 4, 14} {
		a := &params.Arm{Length: 10 * thick, Thickness: thick, Tip: 1, RootFillet: 0.3 * thick, Height: 0.7 * thick,
			Nose: 0.15 * thick, Entry: math.Pi / 12, Retention: math.Pi / 4, Side: "left"}
		loop, err := armLoop(a, 0)
		if err != nil {
			t.Fatal(err)
		}
		low := math.Inf(1)
		for _, v := range loop {
			low = math.Min(low, v.P.X)
		}
		if in := -a.Length - low; in < 0.4*thick || in > math.Max(0.8, 0.6*thick) {
			t.Errorf("an arm %g mm thick is let in by %g mm", thick, in)
		}
	}
}
