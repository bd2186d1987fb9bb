package check

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage/linktest"
	"tuckfinger/assembly/stroke"
)

// reference is the stroke of the reference finger, which has a ramp, a clip,
// stops, a hold and pads but no solids.
func reference(t *testing.T) *Input {
	t.Helper()
	d := linktest.RackLifter()
	model, err := stroke.New(d, stroke.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in := &Input{Design: d, Mechanism: model.Mech}
	if in.Stroke, err = model.Run(); err != nil {
		t.Fatal(err)
	}
	return in
}

// TestStaticsOfTheStroke: with the joint forces of the stroke, forces across
// ramp, hook and pads can be found that balance every link, with all friction.
// Beyond the hook no force is left on the post; on the way back, at the release,
// it is the largest.
func TestStaticsOfTheStroke(t *testing.T) {
	in := reference(t)
	st, err := newStatics(in)
	if err != nil {
		t.Fatal(err)
	}
	release := in.Stroke.Find(stroke.ClipReleased, "clip", true)
	if release == nil {
		t.Fatal("the clip is not released")
	}
	most, at := 0.0, 0.0
	for i := range in.Stroke.Samples {
		s := &in.Stroke.Samples[i]
		now := st.solve(in.Stroke, i, At{}, 1)
		if now.lack > 1e-6 {
			t.Fatalf("s = %.2f mm, back %v: %g N left over", s.S, s.Back, now.lack)
		}
		f := r2.Norm(now.clips[0])
		if f > most {
			most, at = f, s.S
		}
		if s.Back && s.S < release.S-1 && f > 1e-6 {
			t.Errorf("s = %.2f mm: %g N on a post that is clear of the hook", s.S, f)
		}
	}
	if math.Abs(at-release.S) > 0.3 {
		t.Errorf("largest clip force %.2f N at s = %.2f mm, release at %.2f mm", most, at, release.S)
	}
}

// TestGripStatics: the pad force that balances the jaw under the slide force of
// the grasp is the one that the solver's compliant object feels.
func TestGripStatics(t *testing.T) {
	in := reference(t)
	cases, grip := in.cases()
	if grip != nil {
		t.Fatal(grip)
	}
	want, err := in.Stroke.Model.Grasp(in.Stroke)
	if err != nil {
		t.Fatal(err)
	}
	st, err := newStatics(in)
	if err != nil {
		t.Fatal(err)
	}
	last := cases[len(cases)-1]
	if len(cases) != 3 || last.name != caseGrip || math.Abs(last.scale-1) > 0.2 {
		t.Fatalf("cases %+v", cases)
	}
	now := st.solve(last.res, last.from, At{}, last.scale)
	pad := 0.0
	for _, p := range now.bodies[in.Mechanism.BodyIndex("upper")] {
		if p.joint < 0 && p.clip < 0 {
			pad = r2.Norm(p.force)
		}
	}
	close(t, "pad force", pad, want.Loaded, 0.02*want.Loaded)
}
