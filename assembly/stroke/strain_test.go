package stroke

import (
	"math"
	"testing"

	. "tuckfinger/assembly/linkage/linktest"
)

// The arm's strain is that which finite elements gave for an independent
// prototype of the reference finger, 1.7 %. The rail's is that of a uniform
// beam fixed at both ends and pushed aside in its middle, 12·t·w/L² (Roark,
// Table 8.1), which the notch at the roots raises and the longer effective
// length lowers.
func TestStrains(t *testing.T) {
	d := RackLifter()
	ramp := &d.Ramps.Values[0]
	ramp.At = (ramp.Rail.From+ramp.Rail.To)/2 - ramp.Rise // peak near the middle
	thick := ramp.Rail.Thickness
	strains := func() map[string]float64 {
		t.Helper()
		x, err := New(d, Options{})
		if err != nil {
			t.Fatal(err)
		}
		r, err := x.Run()
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]float64{}
		for _, s := range x.Strains(r) {
			out[s.Kind] = s.Value
		}
		return out
	}
	got := strains()
	if len(got) != 2 {
		t.Fatalf("%v, want strains of the ramp and the clip", got)
	}
	if v := got["clip"]; math.Abs(v-0.017) > 0.1*0.017 {
		t.Errorf("arm: %.3f %%, want 1.7 %% within a tenth", 100*v)
	}
	l := ramp.Rail.To - ramp.Rail.From
	w := ramp.Rise - d.Joints.Get(ramp.Slot).Slot.Play
	if v, want := got["ramp"], 12*thick*w/(l*l); v < 0.9*want || v > 1.4*want {
		t.Errorf("rail: %.3f %%, a uniform beam %.3f %%", 100*v, 100*want)
	}
	ramp.Rail.Thickness *= 1.1
	if a, b := got["ramp"], strains()["ramp"]; b < 1.03*a || b > 1.1*a {
		t.Errorf("rail thicker by a tenth: %.3f %%, was %.3f %%", 100*b, 100*a)
	}
}

// A snap between two samples is followed over its peak: half the samples give the
// same strains.
func TestStrainsBetweenSamples(t *testing.T) {
	x := model(t, RackLifter(), Options{})
	r := run(t, x)
	all := x.Strains(r)
	half := *r
	half.Samples = nil
	for i := range r.Samples {
		if i%2 == 0 || i == r.Turn {
			half.Samples = append(half.Samples, r.Samples[i])
		}
	}
	for i, s := range x.Strains(&half) {
		near(t, s.Element+" with half the samples", s.Value, all[i].Value, 0.03*all[i].Value)
	}
}
