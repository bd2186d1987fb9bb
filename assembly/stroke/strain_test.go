package stroke

import (
	"math"
	"testing"

	. "tuckfinger/assembly/linkage/linktest"
)

// The reference finger's strains: 1.7 % for the arm and the rail, found with
// finite elements on an independent prototype (E does not matter: the
// deflection is given). The prototype's margin of error is 10 %.
func TestStrainsOfTheReferenceFinger(t *testing.T) {
	x, err := New(RackLifter(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := x.Run()
	if err != nil {
		t.Fatal(err)
	}
	got := x.Strains(r)
	if len(got) != 2 {
		t.Fatalf("%d strains, want those of the ramp and the clip: %+v", len(got), got)
	}
	for _, s := range got {
		t.Logf("%s %s: %.3f %% at %.2f mm, back %v", s.Kind, s.Element, 100*s.Value, s.S, s.Back)
		if math.Abs(s.Value-0.017) > 0.003 {
			t.Errorf("%s %s: strain %.3f %%, want about 1.7 %%", s.Kind, s.Element, 100*s.Value)
		}
	}
	// Thicker by a tenth strains a rail that is bent by the same ramp by more, by
	// thickness over the square of the effective length (1.45 t longer).
	d := RackLifter()
	d.Ramps.Values[0].Rail.Thickness *= 1.1
	y, err := New(d, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r, err = y.Run(); err != nil {
		t.Fatal(err)
	}
	for i, s := range y.Strains(r) {
		if s.Kind == "ramp" && (s.Value < got[i].Value*1.03 || s.Value > got[i].Value*1.1) {
			t.Errorf("a rail thicker by 10 %%: strain %.4f %%, was %.4f %%", 100*s.Value, 100*got[i].Value)
		}
	}
}
