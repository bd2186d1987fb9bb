package check

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/params/finding"
	"tuckfinger/params/tables"
	"tuckfinger/parts"
	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

func box(t *testing.T, x0, y0, x1, y1, z0, z1 float64) solid.Slab {
	t.Helper()
	r, err := profile.Rect(r2.Vec{X: x0, Y: y0}, r2.Vec{X: x1, Y: y1}, 0)
	if err != nil {
		t.Fatal(err)
	}
	return solid.Slab{Z0: z0, Z1: z1, Region: r}
}

func stack(t *testing.T, slabs ...solid.Slab) *solid.Layered {
	t.Helper()
	l, err := solid.NewLayered(slabs...)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func close(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.6g, want %.6g", what, got, want)
	}
}

// Spans of boxes, by plain geometry.
func TestHanging(t *testing.T) {
	for _, c := range []struct {
		name          string
		l             *solid.Layered
		ledge, bridge float64
	}{
		{"block", stack(t, box(t, 0, 0, 10, 10, 0, 5)), 0, 0},
		{"stepped pyramid", stack(t, box(t, 0, 0, 10, 10, 0, 2), box(t, 2, 2, 8, 8, 2, 4)), 0, 0},
		{"cantilever of 5", stack(t, box(t, 0, 0, 10, 10, 0, 2), box(t, 0, 0, 15, 10, 2, 4)), 5, 0},
		{"bridge over 8", stack(t, box(t, 0, 0, 6, 10, 0, 2), box(t, 14, 0, 20, 10, 0, 2), box(t, 0, 0, 20, 10, 2, 4)), 0, 8},
	} {
		ledge, bridge, err := hanging(c.l)
		if err != nil {
			t.Fatal(err)
		}
		close(t, c.name+" ledge", ledge.length, c.ledge, 0.2)
		close(t, c.name+" bridge", bridge.length, c.bridge, 0.4)
	}
}

func TestPieces(t *testing.T) {
	a, b := box(t, 0, 0, 4, 4, 0, 2), box(t, 10, 0, 14, 4, 0, 2)
	for _, c := range []struct {
		l    *solid.Layered
		want int
	}{
		{stack(t, a), 1},
		{stack(t, a, b), 2},
		{stack(t, a, b, box(t, 0, 0, 14, 4, 2, 3)), 1},
		{stack(t, a, box(t, 4, 0, 8, 4, 2, 3)), 2}, // they share an edge only
	} {
		got, err := pieces(c.l)
		if err != nil || got != c.want {
			t.Errorf("%d pieces, want %d (%v)", got, c.want, err)
		}
	}
}

// TestPlay: ISO 286-1 m6 at 3 mm is +2 to +8 µm. With 0.12 mm of clearance and
// 2 × 0.03 mm of scatter a turning pin has 0.12 − 0.008 − 0.06 at least and
// 0.12 − 0.002 + 0.06 at most.
func TestPlay(t *testing.T) {
	d := &params.Design{Lib: tables.Builtin()}
	d.Joints.Add("A", params.Joint{Pin: &params.PinJoint{Diameter: 3, Standard: "iso2338", Class: "m6"}})
	in := &Input{Design: d}
	in.printer.Scatter = &tables.Scatter{Hole: 0.03, Source: "test"}
	least, most, source, err := in.play(parts.Hole{Joint: "A", Nominal: 3, Clearance: 0.12})
	if err != nil {
		t.Fatal(err)
	}
	close(t, "least play", least, 0.052, 1e-12)
	close(t, "largest play", most, 0.178, 1e-12)
	if source != "ISO 286-1 m6" {
		t.Errorf("source %q", source)
	}
}

func TestChangeNamesDimensions(t *testing.T) {
	in := &Input{Design: &params.Design{Origin: &params.Origin{Uses: map[string][]string{
		"ramps.detent.rail.thickness":               {"rail"},
		"ramps.detent.height":                       {"ramp_height"},
		"bodies.spine.features[3].outline.layer.to": {"air"},
		"bodies.hook.features[2].outline.points[1]": {"reach"},
	}}}}
	for _, c := range []struct {
		path string
		more bool
		want string
	}{
		{"ramps.detent.rail.thickness", true, "raise dimensions.rail (ramps.detent.rail.thickness)"},
		{"place.gap", false, "lower place.gap"},
		{"process.printer", true, "change process.printer"},
		{"bodies.hook.features[0].bar", true, "raise bodies.hook.features[0].bar.width"},
		{"bodies.spine", true, "change bodies.spine"},
		{"bodies.hook", true, "change dimensions.reach (bodies.hook)"},
		{"ramps.detent", true, "change dimensions.rail, dimensions.ramp_height (ramps.detent)"},
	} {
		if got := in.Change(c.path, c.more); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// A bore across the hook's slide, 16.2 mm high under its roof at 17.9 mm, leaves that
// less its radius and half of what the printer adds to holes; so it does where the
// slide is printed on its head. Across it runs another, 1.8 mm below.
func TestBoreWalls(t *testing.T) {
	in := changed(t, "ring-hook", "    print: {up: -z}\n",
		"      - bore: {from: [-5, 30], to: [5, 30], z: 16.2, diameter: 2.4}\n      - bore: {from: [1, 60], to: [1, 20], z: 14.4, diameter: 0.4}\n    print: {up: -z}\n")
	out := &Findings{in: in, name: "bore wall"}
	if err := boreWalls(in, out); err != nil || out.err != nil || len(out.list) != 2 {
		t.Fatal(err, out.err, out.list)
	}
	wider := in.printer.Compensation.Hole / 2
	f := out.list[0]
	close(t, "wall to the other bore", f.Value, 16.2-14.4-1.2-0.2-2*wider, 1e-6)
	if f.Status != finding.Fail || f.Subject != "carriage bore from (-5.0, 30.0), z 16.2 mm" || !strings.Contains(f.Detail, "bore from (1.0, 60.0)") ||
		f.Change != "lower bodies.carriage.features[3].bore.diameter" {
		t.Errorf("%+v", f)
	}
	in = changed(t, "ring-hook", "    print: {up: -z}\n", "      - bore: {from: [-5, 30], to: [5, 30], z: 16.2, diameter: 2.4}\n    print: {up: -z}\n")
	out = &Findings{in: in, name: "bore wall"}
	if err := boreWalls(in, out); err != nil || out.err != nil || len(out.list) != 1 {
		t.Fatal(err, out.err, out.list)
	}
	close(t, "wall to the roof", out.list[0].Value, 17.9-16.2-1.2-wider, 1e-6)
	// None of it is in the sections along the layers.
	w, err := ThinnestWall(in.part("carriage"))
	if err != nil || w.Thickness < 1 {
		t.Errorf("thinnest wall %.3f mm, %v", w.Thickness, err)
	}
}
