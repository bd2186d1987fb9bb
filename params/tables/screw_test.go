package tables

import (
	"math"
	"testing"
)

var threads = []string{"M2", "M2.5", "M3", "M4", "M5", "M6"}

func screwOf(t *testing.T, name string) Screw {
	t.Helper()
	s, err := Builtin().Screw(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestScrewSizes(t *testing.T) {
	// Source: ISO 273, fine H12, medium H13, coarse H14.
	clearance := [][3]float64{{2.2, 2.4, 2.6}, {2.7, 2.9, 3.1}, {3.2, 3.4, 3.6}, {4.3, 4.5, 4.8}, {5.3, 5.5, 5.8}, {6.4, 6.6, 7}}
	// Source: ISO 4762, dk max (plain), k, s, t min.
	head := [][4]float64{{3.8, 2, 1.5, 1}, {4.5, 2.5, 2, 1.1}, {5.5, 3, 2.5, 1.3}, {7, 4, 3, 2}, {8.5, 5, 4, 2.5}, {10, 6, 5, 3}}
	// Source: ISO 7089, d1 min, d2 max, h nominal.
	washer := [][3]float64{{2.2, 5, .3}, {2.7, 6, .5}, {3.2, 7, .5}, {4.3, 9, .8}, {5.3, 10, 1}, {6.4, 12, 1.6}}
	// Source: ISO 4032, s and m max. (DIN 934 has m = 4.0 for M5.)
	nut := [][2]float64{{4, 1.6}, {5, 2}, {5.5, 2.4}, {7, 3.2}, {8, 4.7}, {10, 5.2}}
	for i, name := range threads {
		s := screwOf(t, name)
		if c := s.Clearance; clearance[i] != [3]float64{c.Fine, c.Medium, c.Coarse} {
			t.Errorf("%s: clearance %+v, want %v", name, *c, clearance[i])
		}
		if h := s.Head; head[i] != [4]float64{h.Diameter, h.Height, h.Socket, h.Depth} {
			t.Errorf("%s: head %+v, want %v", name, *h, head[i])
		}
		if w := s.Washer; washer[i] != [3]float64{w.Inner, w.Outer, w.Thickness} {
			t.Errorf("%s: washer %+v, want %v", name, *w, washer[i])
		}
		if n := s.Nut; nut[i] != [2]float64{n.Flats, n.Height} {
			t.Errorf("%s: nut %+v, want %v", name, *n, nut[i])
		}
	}
}

func TestNutsAndInserts(t *testing.T) {
	for name, want := range map[string]struct{ corners, flats, height, pilot float64 }{
		// Sources: e min by ISO 10511 (the hexagon of ISO 4032); s and h max by
		// ISO 10511; pilot holes: common practice, no source.
		"M3": {6.01, 5.5, 3.9, 4.0}, "M4": {7.66, 7, 5, 5.6}, "M5": {8.79, 8, 5, 6.4}, "M6": {11.05, 10, 6, 8.0},
	} {
		s := screwOf(t, name)
		if s.Nut.Corners != want.corners || s.LockNut.Corners != want.corners {
			t.Errorf("%s: corners %g and %g, want %g", name, s.Nut.Corners, s.LockNut.Corners, want.corners)
		}
		if s.LockNut.Flats != want.flats || s.LockNut.Height != want.height {
			t.Errorf("%s: lock nut %+v, want %+v", name, *s.LockNut, want)
		}
		if s.Insert.Pilot != want.pilot || s.Insert.Tolerance != 0.1 || Proven(s.Insert.Source) {
			t.Errorf("%s: insert %+v, want pilot %g +0.1, unproven", name, *s.Insert, want.pilot)
		}
		// Source: a published rule, boss about twice the insert.
		if math.Abs(s.Insert.Boss-2*s.Insert.Outer) > 1e-9 {
			t.Errorf("%s: boss %g for an insert of %g", name, s.Insert.Boss, s.Insert.Outer)
		}
	}
	// Source: ISO 4032, e min = 1.13·s min; s min is 0.18 mm below s for sizes to
	// 5.5 mm and 0.22 above (h13/h14 of the standard, from memory).
	for _, name := range threads {
		n := screwOf(t, name).Nut
		below := 0.18
		if n.Flats > 6 {
			below = 0.22
		}
		if got := 1.13 * (n.Flats - below); math.Abs(got-n.Corners) > 0.006 {
			t.Errorf("%s: corners %g, from the flats %.3f", name, n.Corners, got)
		}
	}
}

// Source: ISO 898-1, Table of stress areas for coarse threads (from memory:
// 2.07, 3.39, 5.03, 8.78, 14.2, 20.1 mm²), As = π/4·((d2+d3)/2)².
func TestStressArea(t *testing.T) {
	for i, want := range []float64{2.07, 3.39, 5.03, 8.78, 14.2, 20.1} {
		d := screwOf(t, threads[i]).Thread.StressDiameter()
		if got := math.Pi / 4 * d * d; math.Abs(got/want-1) > 0.005 {
			t.Errorf("%s: stress area %.3f mm², want %g", threads[i], got, want)
		}
	}
	// Source: ISO 68-1, d2 of M5 x 0.8 is 4.480385 mm.
	if got := screwOf(t, "M5").Thread.PitchDiameter(); math.Abs(got-4.480385) > 1e-6 {
		t.Errorf("d2 of M5: %g", got)
	}
}

func TestScrewHoles(t *testing.T) {
	m3 := screwOf(t, "M3")
	for kind, want := range map[string]Hole{
		"fine": {Size: 3.2}, "medium": {Size: 3.4}, "coarse": {Size: 3.6}, "thread": {Size: 2.5},
		"insert": {Size: 4, Depth: 5.7}, "nut": {Size: 5.5, Depth: 2.4, Hex: true}, "head": {Size: 6.1, Depth: 3},
	} {
		got, err := m3.Hole(kind)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Size-want.Size) > 1e-9 || got.Depth != want.Depth || got.Hex != want.Hex || got.Source == "" {
			t.Errorf("%s: %+v, want %+v and a source", kind, got, want)
		}
	}
	for _, kind := range HoleKinds {
		if _, err := m3.Hole(kind); err != nil {
			t.Errorf("%s: %v", kind, err)
		}
	}
	m2 := screwOf(t, "M2")
	if _, err := m2.Hole("insert"); err == nil || err.Error() != `screw "M2" has no insert: the table has no insert for this thread` {
		t.Error(err)
	}
	if _, err := m2.Hole("medum"); err == nil || err.Error() != `no hole "medum"; nearest is "medium"; there are fine, medium, coarse, insert, nut, thread, head` {
		t.Error(err)
	}
	bare := Screw{Name: "X"}
	for _, kind := range []string{"fine", "nut", "head"} {
		if _, err := bare.Hole(kind); err == nil {
			t.Errorf("a screw without data has a %s hole", kind)
		}
	}
}

func TestScrewLength(t *testing.T) {
	m3 := screwOf(t, "M3")
	if l, err := m3.Length(9, 13); err != nil || l != 12 {
		t.Errorf("%g, %v", l, err)
	}
	if got := m3.Designation(12); got != "ISO 4762 - M3 x 12" {
		t.Error(got)
	}
	_, err := m3.Length(13, 15)
	if want := `screw "M3": no standard length from 13 to 15 mm; the nearest are 12 mm and 16 mm (there are 5 to 30 mm)`; err == nil || err.Error() != want {
		t.Errorf("%v\nwant %s", err, want)
	}
	if _, err := (&Screw{Name: "X"}).Length(1, 9); err == nil || err.Error() != `screw "X": the table has no lengths` {
		t.Error(err)
	}
}
