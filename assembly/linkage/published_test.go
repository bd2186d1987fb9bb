package linkage

import (
	"math"
	"testing"

	. "tuckfinger/assembly/linkage/linktest"
)

// Published kinematic values. "Norton" is R. L. Norton, Design of Machinery, from
// memory and derived again by an independent closed form; the others are closed
// forms as named.

// fourBar has ground d along +x, crank a, coupler b and rocker c.
func fourBar(a, b, c, d, crank, coupler, rocker float64) *Builder {
	x := &Builder{}
	x.Ground("ground")
	x.Start("crank", crank)
	x.Near("coupler", coupler)
	x.Near("rocker", rocker)
	x.Pin("O2", "ground", Vec(0, 0), "crank", Vec(0, 0))
	x.Pin("A", "crank", Vec(a, 0), "coupler", Vec(0, 0))
	x.Pin("B", "coupler", Vec(b, 0), "rocker", Vec(c, 0))
	x.Pin("O4", "ground", Vec(d, 0), "rocker", Vec(0, 0))
	return x
}

func TestFourBar(t *testing.T) {
	// Norton, Ex. 4-1; velocities at 25 rad/s of Ex. 6-7.
	for _, row := range []struct {
		name           string
		g3, g4         float64
		th3, th4       float64
		w3, w4         float64
		bx, by, interm float64
	}{
		{"open", 20, 60, 20.2979, 57.3249, -4.12091, 6.99799, 143.1900, 67.3396, 37.0270},
		{"crossed", -60, -100, -60.9780, -98.0050, -9.25877, -20.37767, math.NaN(), 0, 37.0270},
	} {
		m := build(t, fourBar(40, 120, 80, 100, 40, row.g3, row.g4))
		near(t, row.name+" θ3", deg(m.Start[3*2+2]), row.th3, 1e-3)
		near(t, row.name+" θ4", deg(m.Start[3*3+2]), row.th4, 1e-3)
		b := m.JointPoint(m.Start, 2)
		if row.bx == row.bx {
			near(t, "B x", b.X, row.bx, 1e-3)
			near(t, "B y", b.Y, row.by, 1e-3)
		}
		dq, err := m.Sensitivity(m.Start, BodyAngle(1))
		if err != nil {
			t.Fatal(err)
		}
		near(t, row.name+" ω3", 25*dq[0][3*2+2], row.w3, 1e-4)
		near(t, row.name+" ω4", 25*dq[0][3*3+2], row.w4, 1e-4)
		a := m.JointPoint(m.Start, 1)
		// Transmission angle: |θ3−θ4| folded.
		near(t, "transmission angle", deg(TransmissionAngle(b, a, Vec(100, 0))), row.interm, 1e-3)
	}
	// With crank and ground in line: acos((b²+c²−(d∓a)²)/2bc).
	m := build(t, fourBar(40, 120, 80, 100, 40, 20, 60))
	for th2, want := range map[float64]float64{0: 26.3843, 180: 86.4167} {
		q, err := m.Move(m.Start, Target{BodyAngle(1), Rad(th2)})
		if err != nil {
			t.Fatal(err)
		}
		a, b := m.JointPoint(q, 1), m.JointPoint(q, 2)
		near(t, "transmission angle, crank on ground", deg(TransmissionAngle(b, a, Vec(100, 0))), want, 1e-3)
	}
}

// Grashof's condition and the inversions: which links turn right round, by trying it.
func TestGrashof(t *testing.T) {
	for _, row := range []struct {
		a, b, c, d   float64
		crank, other bool // the input, the output turns fully
	}{
		{40, 120, 80, 100, true, false},  // ground 100: crank-rocker
		{40, 100, 80, 120, true, false},  // ground 120: crank-rocker
		{120, 80, 100, 40, true, true},   // ground 40: double crank
		{120, 40, 100, 80, false, false}, // ground 80, shortest is the coupler: double rocker
		{50, 60, 70, 100, false, false},  // 150 > 130: not Grashof
	} {
		// Start from a pose that surely closes: crank at 80°, rocker by closed form.
		th2 := 80.0
		ax, ay := row.a*math.Cos(Rad(th2)), row.a*math.Sin(Rad(th2))
		dx, dy := row.d-ax, -ay
		l := math.Hypot(dx, dy)
		cosB := (row.b*row.b + l*l - row.c*row.c) / (2 * row.b * l)
		if math.Abs(cosB) > 1 {
			t.Fatalf("%v: does not close at %g°", row, th2)
		}
		th3 := deg(math.Atan2(dy, dx) + math.Acos(cosB))
		bx, by := ax+row.b*math.Cos(Rad(th3)), ay+row.b*math.Sin(Rad(th3))
		th4 := deg(math.Atan2(by, bx-row.d))
		m := build(t, fourBar(row.a, row.b, row.c, row.d, th2, th3, th4))
		_, err := m.Move(m.Start, Target{BodyAngle(1), Rad(th2 + 360)})
		if (err == nil) != row.crank {
			t.Errorf("%v: crank turns fully %v, want %v (%v)", row, err == nil, row.crank, err)
		}
		_, err = m.Move(m.Start, Target{BodyAngle(3), m.Start[3*3+2] + 2*math.Pi})
		if (err == nil) != row.other {
			t.Errorf("%v: rocker turns fully %v, want %v (%v)", row, err == nil, row.other, err)
		}
	}
}

func sliderCrank(crank float64, branch string) *Builder {
	b := &Builder{}
	b.Ground("ground")
	b.Start("crank", crank)
	if branch == "near" {
		b.Near("coupler", 150)
	} else {
		b.Near("coupler", 30)
	}
	b.Body("slider")
	b.Pin("O", "ground", Vec(0, 0), "crank", Vec(0, 0))
	b.Pin("A", "crank", Vec(40, 0), "coupler", Vec(120, 0))
	b.Pin("wrist", "coupler", Vec(0, 0), "slider", Vec(0, 0))
	b.Slide("line", "slider", "ground", Vec(0, -20), 0)
	return b
}

func TestSliderCrank(t *testing.T) {
	// Norton, Ex. 4-2; analytic rates.
	for _, row := range []struct {
		branch            string
		d, th3, w3, speed float64
	}{
		{"near", 126.8380, 152.9131, -1.871993, -448.6978},
		{"far", -86.8380, 27.0869, 1.871993, -244.1226},
	} {
		m := build(t, sliderCrank(60, row.branch))
		near(t, "d", m.Start[3*3], row.d, 1e-3)
		near(t, "θ3", deg(m.Start[3*2+2]), row.th3, 1e-3)
		dq, err := m.Sensitivity(m.Start, BodyAngle(1))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "ω3", 10*dq[0][3*2+2], row.w3, 1e-3)
		near(t, "slider speed", 10*dq[0][3*3], row.speed, 1e-3)
	}
	// Stroke: sqrt((b+a)²−c²) − sqrt((b−a)²−c²). Time ratio: (180+D)/(180−D).
	m := build(t, sliderCrank(60, "near"))
	turns := extremes(t, m, BodyAngle(1), JointCoord(m.JointIndex("line")))
	if len(turns) != 2 {
		t.Fatalf("%d dead centres in a turn, want 2", len(turns))
	}
	near(t, "stroke", math.Abs(turns[0].value-turns[1].value), 81.2854, 1e-4)
	arc := deg(math.Abs(turns[1].at - turns[0].at))
	near(t, "time ratio", math.Max(arc, 360-arc)/math.Min(arc, 360-arc), 1.084501, 1e-5)
	near(t, "imbalance", math.Abs(180-arc), 7.29676, 1e-4)
}

type extreme struct{ at, value float64 }

// extremes turns the driver once and finds where a coordinate turns back.
func extremes(t *testing.T, m *Mechanism, driver, c Coord) []extreme {
	t.Helper()
	rate := func(q []float64) float64 {
		dq, err := m.Sensitivity(q, driver)
		if err != nil {
			t.Fatal(err)
		}
		return m.Rate(q, dq[0], c)
	}
	to := func(q []float64, v float64) []float64 {
		q, err := m.Move(q, Target{driver, v})
		if err != nil {
			t.Fatal(err)
		}
		return q
	}
	var out []extreme
	q := m.Start
	v0 := m.Coord(q, driver)
	for i := 1; i <= 72; i++ {
		next := to(q, v0+2*math.Pi*float64(i)/72)
		if rate(q)*rate(next) < 0 {
			lo, hi := q, next
			for k := 0; k < 45; k++ {
				mid := to(lo, (m.Coord(lo, driver)+m.Coord(hi, driver))/2)
				if rate(lo)*rate(mid) <= 0 {
					hi = mid
				} else {
					lo = mid
				}
			}
			out = append(out, extreme{m.Coord(lo, driver), m.Coord(lo, c)})
		}
		q = next
	}
	return out
}

// Kutzbach counts.
func TestMobilityCounts(t *testing.T) {
	for _, row := range []struct {
		name         string
		links, pins  int
		slots, count int
	}{
		{"four-bar", 4, 4, 0, 1}, {"five-bar", 5, 5, 0, 2}, {"three-bar truss", 3, 3, 0, 0},
		{"pin in slot, Geneva", 3, 2, 1, 1}, {"Watt or Stephenson six-bar", 6, 7, 0, 1}, {"third parallel crank", 5, 6, 0, 0},
	} {
		b := &Builder{}
		b.Ground("l0")
		name := func(i int) string { return string(rune('a' + i)) }
		for i := 1; i < row.links; i++ {
			b.Near(name(i), 0)
		}
		body := func(i int) string {
			if i%row.links == 0 {
				return "l0"
			}
			return name(i % row.links)
		}
		for i := 0; i < row.pins; i++ {
			b.Pin("p"+name(i), body(i), Vec(0, 0), body(i+1+i/row.links), Vec(10, 0))
		}
		for i := 0; i < row.slots; i++ {
			b.Slot("s"+name(i), body(1), Vec(5, 0), body(2), Vec(0, 0), Vec(9, 0))
		}
		m, err := assemble(&b.D)
		if err != nil {
			t.Fatal(err)
		}
		if got := m.kutzbach(); got != row.count {
			t.Errorf("%s: count %d, want %d", row.name, got, row.count)
		}
	}
	if m := build(t, sliderCrank(60, "near")); m.Mobility.Kutzbach != 1 || m.Mobility.Freedoms != 1 {
		t.Errorf("slider-crank: %+v, want 1", m.Mobility)
	}
}

// second returns d²c/d(driver)² by a central difference of the first derivative.
func second(t *testing.T, m *Mechanism, q []float64, driver, c Coord) float64 {
	t.Helper()
	const h = 1e-4
	var r [2]float64
	for i, sg := range [2]float64{-1, 1} {
		p, err := m.Move(q, Target{driver, m.Coord(q, driver) + sg*h})
		if err != nil {
			t.Fatal(err)
		}
		dq, err := m.Sensitivity(p, driver)
		if err != nil {
			t.Fatal(err)
		}
		r[i] = m.Rate(p, dq[0], c)
	}
	return (r[1] - r[0]) / (2 * h)
}

func yoke(th, beta float64) *Builder {
	b := &Builder{}
	b.Ground("frame")
	b.Start("crank", th)
	b.Body("yoke")
	b.Pin("O", "frame", Vec(0, 0), "crank", Vec(0, 0))
	b.Slide("way", "yoke", "frame", Vec(0, 0), 0)
	lo, hi := Polar(30, 90+beta), Polar(30, 270+beta)
	b.Slot("cross", "crank", Vec(12, 0), "yoke", lo, hi)
	return b
}

func TestScotchYoke(t *testing.T) {
	// Scotch yoke: x = r cos θ, ω = 10 rad/s.
	for _, row := range [][4]float64{{30, 10.3923, -60, -1039.230}, {60, 6, -103.923, -600}, {135, -8.48528, -84.8528, 848.528}} {
		m := build(t, yoke(row[0], 0))
		c := JointCoord(m.JointIndex("way"))
		near(t, "x", m.Start[3*2], row[1], 1e-3)
		dq, err := m.Sensitivity(m.Start, BodyAngle(1))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "v", 10*m.Rate(m.Start, dq[0], c), row[2], 1e-3)
		near(t, "a", 100*second(t, m, m.Start, BodyAngle(1), c), row[3], 1e-2)
	}
	// Its slot tilted: x = r cos(θ−β)/cos β.
	m := build(t, yoke(50, 20))
	near(t, "x, tilted slot", m.Start[3*2], 11.05926, 1e-4)
}

// slotted is a crank at the origin whose pin runs in a straight slot of a
// follower pivoted at (−d, 0); Geneva wheels have their pivot at +C.
func slotted(r, pivot, th, nearF float64) *Builder {
	b := &Builder{}
	b.Ground("frame")
	b.Start("crank", th)
	b.Near("follower", nearF)
	b.Pin("O", "frame", Vec(0, 0), "crank", Vec(0, 0))
	b.Pin("P", "frame", Vec(pivot, 0), "follower", Vec(0, 0))
	b.Slot("groove", "crank", Vec(r, 0), "follower", Vec(0, 0), Vec(3*(r+math.Abs(pivot)), 0))
	return b
}

func TestSlottedFollower(t *testing.T) {
	// Slotted follower: φ = atan2(r sin θ, d + r cos θ).
	for _, row := range [][5]float64{
		{30, 8.05586, 0.259970, 107.0370, -11.2111}, {60, 15.29534, 0.216495, 98.4886, -21.1036},
		{120, 21.78679, -0.0612245, 70, -29.6923}, {180, 0, -0.6, 50, 0},
	} {
		m := build(t, slotted(30, -80, row[0], 5))
		groove := JointCoord(m.JointIndex("groove"))
		near(t, "φ", deg(m.Start[3*2+2]), row[1], 1e-4)
		near(t, "L", m.Coord(m.Start, groove), row[3], 1e-4)
		dq, err := m.Sensitivity(m.Start, BodyAngle(1))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "dφ/dθ", dq[0][3*2+2], row[2], 1e-4)
		near(t, "dL/dθ", m.Rate(m.Start, dq[0], groove), row[4], 1e-4)
	}
	// Quick return: 360 − 2 acos(r/d) between the follower's ends.
	for _, row := range [][4]float64{{50, 100, 240, 2}, {75, 200, 224.0486, 1.648006}} {
		m := build(t, slotted(row[0], -row[1], 0, 0))
		e := extremes(t, m, BodyAngle(1), BodyAngle(2))
		if len(e) != 2 {
			t.Fatalf("%d ends, want 2", len(e))
		}
		arc := deg(math.Abs(e[1].at - e[0].at))
		arc = math.Max(arc, 360-arc)
		near(t, "forward", arc, row[2], 1e-4)
		near(t, "ratio", arc/(360-arc), row[3], 1e-4)
	}
}

// While its pin is engaged a Geneva wheel is a slotted follower. The
// dwell, with the pin out of the slot and a locking disc, is outside the joint
// class; only its angle 360 − drive is checked.
func TestGeneva(t *testing.T) {
	for _, row := range []struct {
		n                      float64
		rOverC, drive, peakVel float64
		entry, peakAcc, peakAt float64
	}{
		{3, .866025, 60, 6.464102, 0, 0, 0}, {4, .707107, 90, 2.414214, 1, 5.40698, 11.46}, {5, .587785, 108, 1.425920, 0, 0, 0},
		{6, .5, 120, 1, .577350, 1.349637, 22.90}, {8, .382683, 135, .619914, .414214, .699757, 31.64},
	} {
		c := 100.0
		r := c * math.Sin(math.Pi/row.n)
		near(t, "r/C", r/c, row.rOverC, 1e-5)
		// Entry: the slot stands tangent to the pin's circle and the wheel rests.
		half := 90 - 180/row.n
		m := build(t, slotted(r, c, -half, 180+180/row.n))
		wheel := BodyAngle(2)
		rate := func(q []float64) float64 {
			dq, err := m.Sensitivity(q, BodyAngle(1))
			if err != nil {
				t.Fatal(err)
			}
			return dq[0][3*2+2]
		}
		near(t, "wheel at rest on entry", rate(m.Start), 0, 1e-9)
		near(t, "drive angle", 2*half, row.drive, 1e-5)
		mid, err := m.Move(m.Start, Target{BodyAngle(1), 0})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "peak speed", -rate(mid), row.peakVel, 1e-5)
		if row.peakAcc == 0 {
			continue
		}
		near(t, "acceleration on entry", math.Abs(second(t, m, m.Start, BodyAngle(1), wheel)), row.entry, 1e-4)
		best, at := 0.0, 0.0
		q := m.Start
		for a := -half; a <= 0; a += 0.25 {
			if q, err = m.Move(q, Target{BodyAngle(1), Rad(a)}); err != nil {
				t.Fatal(err)
			}
			if v := math.Abs(second(t, m, q, BodyAngle(1), wheel)); v > best {
				best, at = v, -a
			}
		}
		near(t, "peak acceleration", best, row.peakAcc, 1e-3*row.peakAcc)
		near(t, "its angle", at, row.peakAt, 0.26)
	}
}
