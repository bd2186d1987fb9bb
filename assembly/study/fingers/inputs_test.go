package fingers

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tuckfinger/params"
)

// plain is the rack lifter without scatter in its dimensions.
func plain(t testing.TB, edits ...string) *params.Design {
	return example(t, "rack-lifter", append([]string{", scatter: {spread: 0.03}", "", ", scatter: {spread: 0.05}", "", "friction: friction}", "}"}, edits...)...)
}

func lines(t *testing.T, d *params.Design) []string {
	t.Helper()
	in, err := inputs(d)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, x := range in {
		out = append(out, x.Name+": "+x.Shape+" ("+x.Source+")")
	}
	return out
}

// What scatters comes from the tables, from dimensions before them, and from
// the file's section scatter.
func TestInputs(t *testing.T) {
	for _, c := range []struct {
		d    *params.Design
		want []string
	}{
		{plain(t), []string{
			"ramps.detent.height: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"ramps.detent.rail.thickness: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"clips.jaw_clip.arm.thickness: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"clips.jaw_clip.arm.hook_height: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"joints.guide_slot.slot.play: normal, σ 0.04 mm (printers.fdm-0.4.scatter.gap)",
			"modulus of PETG: triangular, -20 to +20 % (materials.PETG.modulus)",
			"friction on steel: triangular, -48 to +60 % (materials.PETG.friction_steel)",
			"friction of plastic on plastic: triangular, -33 to +67 % (materials.PETG.friction_self)",
		}},
		{example(t, "rack-lifter"), []string{
			"play: normal, σ 0.03 mm (dimensions.play.scatter)",
			"friction: normal, σ 0.05 (dimensions.friction.scatter)",
			"rail: normal, σ 0.03 mm (dimensions.rail.scatter)",
			"arm: normal, σ 0.03 mm (dimensions.arm.scatter)",
			"ramps.detent.height: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"clips.jaw_clip.arm.hook_height: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"modulus of PETG: triangular, -20 to +20 % (materials.PETG.modulus)",
		}},
		{plain(t, "\norder:\n", "\nscatter:\n  outline: {spread: 0}\n  gap: {kind: uniform, spread: 0.05}\n  modulus: {spread: 0.04}\n  friction: {spread: 0}\n  hold: {spread: 0.1}\norder:\n"), []string{
			"joints.guide_slot.slot.play: uniform, ±0.05 mm (scatter.gap)",
			"modulus of PETG: normal, σ 0.04 (scatter.modulus)",
			"holds.jaw_tuck.torque: normal, σ 0.1 (scatter.hold)",
		}},
		{plain(t, "material: PETG", "material: PETG, friction: 0.3, modulus: 1800"), []string{
			"ramps.detent.height: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"ramps.detent.rail.thickness: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"clips.jaw_clip.arm.thickness: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"clips.jaw_clip.arm.hook_height: normal, σ 0.04 mm (printers.fdm-0.4.scatter.outline)",
			"joints.guide_slot.slot.play: normal, σ 0.04 mm (printers.fdm-0.4.scatter.gap)",
			"modulus of PETG: triangular, -20 to +20 % (materials.PETG.modulus)",
			"friction: triangular, -48 to +67 % (materials.PETG.friction_steel, friction_self)",
		}},
	} {
		if diff := cmp.Diff(c.want, lines(t, c.d)); diff != "" {
			t.Errorf("inputs (-want +got):\n%s", diff)
		}
	}
}

// A copy has each deviation where it belongs, and the drawing stays as it is.
func TestPrintedCopies(t *testing.T) {
	d := example(t, "rack-lifter", "\norder:\n", "\nscatter: {hold: {spread: 0.1}}\norder:\n", "friction: friction}", "friction: friction, modulus: 1800}",
		"drag: 2.5}", "drag: 2.5, friction: 0.2}")
	in, err := inputs(d)
	if err != nil {
		t.Fatal(err)
	}
	value := func(d *params.Design, name string) float64 {
		switch name {
		case "play":
			return d.Joints.Get("guide_slot").Slot.Play
		case "rail":
			return d.Ramps.Values[0].Rail.Thickness
		case "arm":
			return d.Clips.Values[0].Arm.Thickness
		case "ramps.detent.height":
			return d.Ramps.Values[0].Rise
		case "clips.jaw_clip.arm.hook_height":
			return d.Clips.Values[0].Arm.Height
		case "modulus of PETG":
			return *d.Process.Modulus
		case "friction":
			if mu := *d.Joints.Get("B").Pin.Friction; math.Abs(mu/0.2-1) > 1e-12 && mu == *d.Process.Friction {
				t.Errorf("the pin's own friction became %g", mu)
			}
			return *d.Process.Friction
		case "holds.jaw_tuck.torque":
			return d.Holds.Values[0].Torque
		}
		t.Fatalf("no such input %q", name)
		return 0
	}
	seen := 0
	for i := range in {
		dev := make([]float64, len(in))
		dev[i] = 0.02
		c, err := printed(d, in, dev)
		if err != nil {
			t.Fatal(err)
		}
		if in[i].dimension == "" && in[i].Name == "friction" { // that of the pin, which gives its own
			if got := *c.Joints.Get("B").Pin.Friction; math.Abs(got-0.2*1.02) > 1e-12 {
				t.Errorf("friction of the pin: %g, want 0.2 by 1.02", got)
			}
			continue
		}
		seen++
		for k := range in {
			if in[k].Name == "friction" && in[k].dimension == "" {
				continue
			}
			want := value(d, in[k].Name)
			if k == i {
				if in[i].Unit == "" {
					want *= 1.02
				} else {
					want += 0.02
				}
			}
			if got := value(c, in[k].Name); math.Abs(got-want) > 1e-9*want {
				t.Errorf("%s deviates: %s is %g, want %g", in[i].Name, in[k].Name, got, want)
			}
		}
	}
	if seen < 8 {
		t.Errorf("%d inputs looked at", seen)
	}
}

// Table values belong to all fingers: a copy's plastic must be its own.
func TestCopiesDoNotShareTables(t *testing.T) {
	d := plain(t)
	in, err := inputs(d)
	if err != nil {
		t.Fatal(err)
	}
	dev := make([]float64, len(in))
	for i := range in {
		if in[i].Unit == "" {
			dev[i] = 0.1
		}
	}
	before := *d.Lib.Materials.Get("PETG").Modulus
	c, err := printed(d, in, dev)
	if err != nil {
		t.Fatal(err)
	}
	if got := *d.Lib.Materials.Get("PETG").Modulus; got != before {
		t.Errorf("the drawing's modulus became %g", got.Typical)
	}
	m := c.Material("spine")
	if m.Modulus.Typical != 1.1*before.Typical || m.FrictionSteel.Typical != 1.1*d.Material("spine").FrictionSteel.Typical ||
		m.FrictionSelf.Typical != 1.1*d.Material("spine").FrictionSelf.Typical || m.Modulus.Low != before.Low {
		t.Errorf("%+v, %+v", *m.Modulus, *m.FrictionSteel)
	}
}

func TestImpossibleCopiesAreErrors(t *testing.T) {
	d := plain(t, "\norder:\n", "\nscatter: {hold: {spread: 0.5}}\norder:\n")
	in, err := inputs(d)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"joints.guide_slot.slot.play": "joints.guide_slot.slot.play comes out as -1.900 mm: this copy cannot be put together",
		"holds.jaw_tuck.torque":       "holds.jaw_tuck.torque comes out -1.00 times its value: this copy cannot be",
	} {
		dev := make([]float64, len(in))
		dev[slices.IndexFunc(in, func(x Input) bool { return x.Name == name })] = -2
		if _, err := printed(d, in, dev); err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	// A dimension meets the bounds of the file form, not of its own range.
	d = example(t, "rack-lifter")
	if in, err = inputs(d); err != nil {
		t.Fatal(err)
	}
	dev := make([]float64, len(in))
	dev[0] = -0.09 // play, range from 0.02
	if _, err := printed(d, in, dev); err != nil {
		t.Errorf("a tight slot: %v", err)
	}
	dev[0] = -0.2
	if _, err := printed(d, in, dev); err == nil || !strings.Contains(err.Error(), "play: is -0.1 mm; it must be at least 0 mm") {
		t.Errorf("a slot narrower than its pin: %v", err)
	}
}
