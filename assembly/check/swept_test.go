package check

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/params/finding"
	"tuckfinger/parts/profile"
)

func found(t *testing.T, in *Input, check, subject string) finding.Finding {
	t.Helper()
	list, err := Do(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		if f.Check == check && f.Subject == subject {
			return f
		}
	}
	t.Fatalf("no finding %s: %s", check, subject)
	return finding.Finding{}
}

// TestSwitching: the lever turns from -60° to asin(-0.32/20); its end is a 5 mm
// circle 40 mm from the pivot at the origin, the cheeks end at x = -5. Plain
// geometry.
func TestSwitching(t *testing.T) {
	in := input(t, "testdata/strength-lever.yaml", nil)
	close(t, "wall", found(t, in, "switching", "to the wall").Value, 3, 1e-9)
	close(t, "floor", found(t, in, "switching", "to the floor").Value, 45-40*math.Sin(math.Pi/3)-5, 1e-9)
	last := 17 - 20*math.Sin(math.Pi/3) // height of the slot at the end of the travel
	close(t, "object", found(t, in, "switching", "to the object").Value, 48-5-40*math.Sqrt(1-last*last/400), 1e-6)

	in = input(t, "testdata/place-jaws.yaml", nil)
	close(t, "ceiling", found(t, in, "switching", "to what is above the object").Value, 4+24+40-(30+3), 1e-9)
}

// TestApproach: jaws 30 mm apart with 2 mm of tip and two pads of 1 mm open 26 mm
// for an object of 24 mm; they have it in the middle. The tip with its pad is
// 3 mm thick and ends 13 mm beyond the face at x = 7.
func TestApproach(t *testing.T) {
	in := input(t, "testdata/place-jaws.yaml", nil)
	close(t, "opening", found(t, in, "approach", "opening").Value, 26, 1e-9)
	close(t, "along z", found(t, in, "approach", "along z").Value, 1, 1e-6)
	close(t, "tip", found(t, in, "stack", "tip thickness").Value, 3, 1e-9)
	close(t, "entry", found(t, in, "stack", "entry depth").Value, 13, 1e-9)
}

// TestFacing: an object that the finger folds out in front of is in the way as
// long as the jaws do not have it between them. 26 mm of throat hold 24 mm, but
// not 27 mm: the upper pad at y = 29 is then 2 mm inside the object's top at 31.
func TestFacing(t *testing.T) {
	in := input(t, "testdata/place-jaws.yaml", map[string]float64{"facing": 1})
	list, err := Do(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		if f.Check == "switching" && f.Status != finding.Pass || f.Subject == "to the object" && f.Check == "switching" {
			t.Errorf("%s %s %s: %g", f.Check, f.Subject, f.Status, f.Value)
		}
	}
	in = input(t, "testdata/place-jaws.yaml", map[string]float64{"facing": 1, "object": 27})
	if v := found(t, in, "switching", "to the object").Value; v > -2 {
		t.Errorf("distance to the object %g mm, want an overlap of 2 mm or more", v)
	}
}

// TestSurvey: the mouth is at y = 40, the jaws stand at y = 0, the spine ends at
// y = 60 and the carriage at y = 70; what lies beyond the face is 8.3 mm wide.
func TestSurvey(t *testing.T) {
	in := input(t, "testdata/place-jaws.yaml", nil)
	r, err := Survey(in)
	if err != nil {
		t.Fatal(err)
	}
	close(t, "insertion", r.Insertion, 40, 1e-9)
	close(t, "deepest", r.Deepest, 40, 1e-9)
	close(t, "free height", r.Free, 70-40+40, 1e-9)
	close(t, "opening", r.Opening, 26, 1e-9)
	if b, ok, err := Blade(in); err != nil || !ok || math.Abs(b.Low-r.BladeLo) > 1e-9 || math.Abs(b.High-b.Low-r.Blade) > 1e-9 {
		t.Errorf("the blade is %+v (%v), by the survey %g mm thick from %g mm", b, err, r.Blade, r.BladeLo)
	}
	want := []Move{
		{"lower the blade into the gap", "y", -40},
		{"fold out beside the object until the pads stand widest open", "s", 0},
		{"move along z onto the object", "z", 8.3 + openAir},
		{"close on the object", "s", 10},
		{"lift out of the gap", "y", 40},
	}
	if len(r.Moves) != len(want) {
		t.Fatalf("moves %v", r.Moves)
	}
	for i, m := range r.Moves {
		if m.What != want[i].What || m.Axis != want[i].Axis || math.Abs(m.Distance-want[i].Distance) > 1e-9 {
			t.Errorf("move %d: %v, want %v", i, m, want[i])
		}
	}
}

// TestSwept: every place that any outline takes lies within the tolerance of
// the swept outline, and none of it is farther than the lever reaches.
func TestSwept(t *testing.T) {
	in := input(t, "testdata/strength-lever.yaml", nil)
	r, err := Swept(in)
	if err != nil {
		t.Fatal(err)
	}
	f := profile.NewField(r)
	all, err := in.shapes()
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for _, poses := range in.Cycle {
		for i := range all {
			for _, e := range all[i].edges {
				for _, u := range [...]float64{0, 0.5} {
					p, _ := e.At(u)
					worst = math.Max(worst, f.Distance(poses[all[i].body].Apply(p)))
				}
			}
		}
	}
	if worst > SweptTolerance {
		t.Errorf("an outline passes %.3f mm outside the swept outline", worst)
	}
	// A sector of 59° between the ends, the circle at either end, and no more.
	pivot := r2.Vec{}
	box, _ := r.Box()
	if far := r2.Norm(r2.Sub(r2.Vec{X: box.Max.X}, pivot)); far > 45+1e-9 {
		t.Errorf("swept outline reaches to x = %g", far)
	}
}

// TestBelow compares exact bounds below a height with those of a fine flattening.
func TestBelow(t *testing.T) {
	ring, err := profile.Bar(r2.Vec{X: 1, Y: 2}, r2.Vec{X: 14, Y: -3}, 7, 0)
	if err != nil {
		t.Fatal(err)
	}
	s := shape{region: ring}
	ring.Edges(func(_, _ int, e profile.Edge) { s.edges = append(s.edges, e) })
	box, _ := ring.Box()
	s.centre = r2.Scale(0.5, r2.Add(box.Min, box.Max))
	s.radius = r2.Norm(r2.Sub(box.Max, s.centre))
	for k := range 40 {
		pose := linkage.Pose{X: 3 - float64(k), Y: 0.3 * float64(k), Theta: 0.41 * float64(k)}
		top := pose.Y + math.Sin(float64(k))*9
		got := s.below(pose, top)
		want := newExtent()
		for _, e := range s.edges {
			for i := range 20001 {
				p, _ := e.At(float64(i) / 20000)
				if q := pose.Apply(p); q.Y <= top {
					want.see(q)
				}
			}
		}
		if got.ok != want.ok {
			t.Fatalf("pose %d: there %v, want %v", k, got.ok, want.ok)
		}
		if !got.ok {
			continue
		}
		for _, d := range []float64{got.lo.X - want.lo.X, got.lo.Y - want.lo.Y, got.hi.X - want.hi.X, got.hi.Y - want.hi.Y} {
			if math.Abs(d) > 2e-3 {
				t.Errorf("pose %d: bounds %v, want %v", k, got, want)
			}
		}
	}
}
