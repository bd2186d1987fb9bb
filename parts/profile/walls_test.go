package profile

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestThicknessOfKnownShapes(t *testing.T) {
	must := must1[Region](t)
	min := func(r Region) Wall {
		t.Helper()
		w, ok, err := MinThickness(r, 0.5)
		if err != nil || !ok {
			t.Fatal("no wall", err)
		}
		return w
	}
	near(t, "plate", min(must(Rect(vec(0, 0), vec(20, 3), 1))).Width, 3, 1e-12)
	near(t, "ring", min(must(Annulus(vec(0, 0), 4, 5.2, 1))).Width, 1.2, 1e-12)
	// An eccentric hole: the thinnest place is on the line of centres.
	e := must(Subtract(must(Circle(vec(0, 0), 5, 1)), must(Circle(vec(0.3, 0.4), 4, 2))))
	w := min(e)
	near(t, "eccentric ring", w.Width, 0.5, 1e-9)
	if w.Tag+w.OtherTag != 3 {
		t.Errorf("tags %d %d", w.Tag, w.OtherTag)
	}
	// Wall between a hole and a straight side, and between two holes.
	p := must(Subtract(must(Rect(vec(0, 0), vec(40, 20), 1)), must(Circle(vec(6, 4), 3.3, 2)), must(Circle(vec(20, 10), 3, 3)), must(Circle(vec(27, 10), 3.5, 4))))
	w = min(p)
	near(t, "between two holes", w.Width, 0.5, 1e-9)
	if w.Tag+w.OtherTag != 7 {
		t.Errorf("tags %d %d", w.Tag, w.OtherTag)
	}
	// A 60° corner is no thin wall: all walls of an equilateral triangle are left out.
	if ws, err := Thickness(must(Polygon([]r2.Vec{vec(0, 0), vec(10, 0), vec(5, 5*math.Sqrt(3))}, 1)), 0.1); err != nil || len(ws) != 0 {
		t.Errorf("triangle: %v %v", ws, err)
	}
	// A taper of 10° is one, and a square plate with a chamfer is as thick as the plate.
	c := must(Polygon([]r2.Vec{vec(0, 0), vec(20, 0), vec(20, 5), vec(2, 5), vec(0, 3)}, 1))
	if w := min(c); w.Width < 3 {
		t.Errorf("chamfered plate: %v", w)
	}
	if _, err := Thickness(p, 0); err == nil {
		t.Error("spacing 0: no error")
	}
}

func TestGaps(t *testing.T) {
	must := must1[Region](t)
	r := must(Subtract(must(Rect(vec(0, 0), vec(40, 20), 1)), must(Bar(vec(5, 10), vec(30, 10), 0.8, 2)), must(Circle(vec(35, 5), 1, 3))))
	g, ok, err := MinGap(r, 0.5)
	if err != nil || !ok {
		t.Fatal(err)
	}
	near(t, "slit", g.Width, 0.8, 1e-12)
	if g.Tag != 2 || g.OtherTag != 2 {
		t.Errorf("tags %d %d", g.Tag, g.OtherTag)
	}
	if _, ok, _ := MinGap(must(Rect(vec(0, 0), vec(1, 1), 1)), 0.1); ok {
		t.Error("a plain plate has no gap")
	}
}

// rampWall is one wall of a slot, material below: level, a ramp of given height
// and face angles, level again.
func rampWall(t testing.TB, height, steep, shallow, radius float64) Region {
	x1 := 10 + height/math.Tan(steep)
	x2 := x1 + height/math.Tan(shallow)
	return must1[Region](t)(Filleted([]Corner{
		{P: vec(0, -5)}, {P: vec(40, -5)}, {P: vec(40, 0)}, {P: vec(x2, 0), Tag: 7},
		{P: vec(x1, height), Radius: radius, Tag: 8, FilletTag: 9}, {P: vec(10, 0), Tag: 6}, {P: vec(0, 0)},
	}))
}

func TestPinPathOverARamp(t *testing.T) {
	const height, r, peak = 1.0, 1.5, 0.3
	steep, shallow := 45*math.Pi/180, 15*math.Pi/180
	wall := rampWall(t, height, steep, shallow, peak)
	c, err := wall.Chain(vec(39, 0), vec(1, 0))
	if err != nil {
		t.Fatal(err)
	}
	path, err := c.Offset(r)
	if err != nil {
		t.Fatal(err)
	}
	h, err := NewHeight(path, vec(0, 0), vec(1, 0))
	if err != nil {
		t.Fatal(err)
	}
	from, to := h.Span()
	near(t, "from", from, 1, 1e-9)
	near(t, "to", to, 39, 1e-9)
	// Against its meaning: the lowest place of a disc that rests on the wall at x.
	var pts []r2.Vec
	for _, e := range c {
		for k := range 4000 {
			p, _ := e.At(float64(k) / 4000)
			pts = append(pts, p)
		}
	}
	maxSlope := 0.0
	for x := 3.0; x < 37; x += 0.0731 {
		y, slope, _, ok := h.At(x)
		if !ok {
			t.Fatalf("no height at %g", x)
		}
		want := 0.0
		for _, p := range pts {
			if d := p.X - x; math.Abs(d) < r {
				want = math.Max(want, p.Y+math.Sqrt(r*r-d*d))
			}
		}
		near(t, "pin centre", y, want, 2e-5)
		y1, _, _, _ := h.At(x + 1e-6)
		y0, _, _, _ := h.At(x - 1e-6)
		if fd := (y1 - y0) / 2e-6; math.Abs(fd-slope) > 1e-5 {
			brk := false
			for _, b := range h.Breaks() {
				brk = brk || math.Abs(b-x) < 2e-6
			}
			if !brk {
				t.Errorf("slope at %g is %g, by differences %g", x, slope, fd)
			}
		}
		maxSlope = math.Max(maxSlope, math.Abs(slope))
	}
	near(t, "steepest", maxSlope, 1, 1e-3)
	// Over the peak the path is an arc of radius r + peak with the tag of the fillet.
	top := 0.0
	for _, e := range path {
		if e.Tag == 9 {
			if _, rad, _, _ := e.Arc(); math.Abs(rad-(r+peak)) > 1e-9 {
				t.Errorf("peak radius %g", rad)
			}
			top++
		}
	}
	if top == 0 {
		t.Error("the path has no arc over the peak")
	}
	// What the pin leaves of the 45° face: its straight part is shorter than the
	// face by the fillets of radius peak above and r·tan(45°/2) below.
	face := height/math.Sin(steep) - peak*math.Tan((steep+shallow)/2) - r*math.Tan(steep/2)
	got := 0.0
	for _, e := range path {
		if e.IsLine() && e.Tag == 8 {
			got += e.Length()
		}
	}
	near(t, "straight part of the steep face", got, face, 1e-9)
	// It is a part of the boundary of the wall's offset.
	o, err := Offset(wall, r)
	if err != nil {
		t.Fatal(err)
	}
	f := NewField(o)
	for _, e := range path {
		p, _ := e.At(0.37)
		near(t, "offset boundary", f.Distance(p), 0, 1e-7)
	}
	// Inside a narrow slot the other wall does not matter, but a disc cannot pass
	// through a pocket's mouth and come out: inside radius as a hollow arc.
	in, err := c.Offset(-0.5)
	if err != nil {
		t.Fatal(err)
	}
	fw := NewField(wall)
	for _, e := range in {
		p, _ := e.At(0.5)
		near(t, "inner path", fw.Distance(p), -0.5, 1e-7)
	}
}

func TestHeightRefusesTurningBack(t *testing.T) {
	c := Chain{{A: vec(0, 0), B: vec(2, 0)}, {A: vec(2, 0), B: vec(1, 1)}, {A: vec(1, 1), B: vec(3, 1)}}
	if _, err := NewHeight(c, vec(0, 0), vec(1, 0)); err == nil {
		t.Error("a chain that turns back has a height")
	}
}
