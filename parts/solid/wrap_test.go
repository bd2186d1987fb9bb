package solid

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/deadsy/sdfx/sdf"

	"tuckfinger/parts/profile"
)

// A bore across a plate: the volume is the plate's less the cylinder's, π/4·d²·l,
// where the bore runs inside the plate's full depth.
func TestDrillVolume(t *testing.T) {
	plate := must[profile.Region](t)(profile.Rect(v2(-10, -6), v2(10, 6), 1))
	l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 6, Region: plate}))
	s := must[Solid](t)(Drill(l, Bore{v2(0, -7), v2(0, 7), 3, 2.5}))
	m, rep, err := s.Mesh(0.01)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Validate(); err != nil {
		t.Fatal(err)
	}
	want := 20.*12*6 - math.Pi/4*2.5*2.5*12
	if got := m.Volume(); math.Abs(got-want) > 5e-4*want {
		t.Errorf("volume %.3f mm³, want %.3f", got, want)
	}
	if rep.Deviation > 0.01 {
		t.Errorf("deviation %g mm", rep.Deviation)
	}
	t.Logf("%+v", rep)
	for _, bad := range []struct{ l, d float64 }{{0, 1}, {5, 0}, {5, -1}, {math.NaN(), 1}, {5, math.Inf(1)}} {
		if _, err := Drill(l, Bore{v2(0, 0), v2(bad.l, 0), 3, bad.d}); err == nil {
			t.Errorf("bore of length %g, diameter %g was accepted", bad.l, bad.d)
		}
	}
}

// sdfx's min/max fields under-state distance; ours must not be taken in.
func TestPrecisionIsDeclared(t *testing.T) {
	disc := must[profile.Region](t)(profile.Circle(v2(0, 0), 5, 1))
	l := must[*Layered](t)(NewLayered(Slab{Z0: -1, Z1: 1, Region: disc}))
	if l.Precision() != Exact {
		t.Errorf("a plain slab is %v", l.Precision())
	}
	// Beyond the rim of a disc of radius 5 and height 2: 3 mm out, 4 mm up.
	p := sdf.V3{X: 8, Z: 5}
	if got := l.Evaluate(p); math.Abs(got-5) > 1e-12 {
		t.Errorf("distance %g mm from the rim, want 5", got)
	}
	plane := must[*Plane](t)(NewPlane(disc))
	theirs := sdf.Extrude3D(plane, 2)
	if got := theirs.Evaluate(p); got > 4.01 {
		t.Errorf("Extrude3D gives %g; it no longer under-states, so this trap is gone", got)
	}
	s := must[Solid](t)(FromSDF3(theirs, 1))
	if s.Precision() != Bound {
		t.Errorf("a wrapped extrusion is %v", s.Precision())
	}
	if got := Union(l, l.Lift(0.5)).Precision(); got != Bound {
		t.Errorf("a union is %v", got)
	}
	if got := Difference(l, l.Lift(0.5)).Precision(); got != ExactInside {
		t.Errorf("a difference of exact fields is %v", got)
	}
	c := must[*Layered](t)(NewLayered(Slab{Z0: -1, Z1: 1, Region: disc, ChamferTop: 0.5}))
	if c.Precision() != Exact {
		t.Errorf("a chamfered slab is %v", c.Precision())
	}
	// Inside a difference, the distance to what is cut away must not be under-stated.
	if got := Difference(c, Difference(c, l)).Precision(); got != Bound {
		t.Errorf("a difference with a field that is a bound outside is %v", got)
	}
}

// Scaled, twisted and lofted bodies over-state distance and would leave holes.
func TestWrongLipschitzIsFound(t *testing.T) {
	sq := sdf.Box2D(sdf.V2{X: 2, Y: 1}, 0)
	for name, b := range map[string]sdf.SDF3{
		"scaled":  sdf.ScaleExtrude3D(sq, 2.5, sdf.V2{X: 0.25, Y: 0.25}),
		"twisted": sdf.TwistExtrude3D(sq, 2.5, math.Pi),
	} {
		_, err := FromSDF3(b, 1)
		if !errors.Is(err, ErrLipschitz) {
			t.Errorf("%s body with Lipschitz constant 1: %v", name, err)
			continue
		}
		if !strings.Contains(err.Error(), "per mm at (") {
			t.Errorf("%s: no rate or place in %q", name, err)
		}
		s, err := FromSDF3(b, 12)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if s.Precision() != SignOnly {
			t.Errorf("%s is %v", name, s.Precision())
		}
		m, _, err := s.Mesh(0.05)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if err := m.Validate(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

type fixed struct {
	v   float64
	box sdf.Box3
}

func (f fixed) Evaluate(sdf.V3) float64 { return f.v }
func (f fixed) BoundingBox() sdf.Box3   { return f.box }

// sdfx panics on bodies that are nothing; here they are errors.
func TestNothingIsRefused(t *testing.T) {
	unit := sdf.Box3{Max: sdf.V3{X: 1, Y: 1, Z: 1}}
	var none *sdf.UnionSDF3
	for name, b := range map[string]sdf.SDF3{
		"nil":        nil,
		"union of 0": sdf.Union3D(),
		"nil in box": none,
		"flat":       fixed{1, sdf.Box3{Max: sdf.V3{X: 1, Y: 1}}},
		"NaN box":    fixed{1, sdf.Box3{Max: sdf.V3{X: math.NaN(), Y: 1, Z: 1}}},
		"NaN":        fixed{math.NaN(), unit},
		"Inf":        fixed{math.Inf(-1), unit},
	} {
		if _, err := FromSDF3(b, 1); err == nil {
			t.Errorf("%s was accepted", name)
		}
	}
	for _, lip := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := FromSDF3(fixed{1, unit}, lip); err == nil {
			t.Errorf("Lipschitz constant %g was accepted", lip)
		}
	}
	if _, err := NewPlane(nil); err == nil {
		t.Error("the field of an empty region was made")
	}
	var empty Layered
	if d := empty.Evaluate(sdf.V3{}); !math.IsInf(d, 1) {
		t.Errorf("distance to nothing is %g", d)
	}
	if _, _, err := empty.Mesh(0.01); err == nil {
		t.Error("nothing was meshed")
	}
}

// sdfx's Polygon2D gives NaN for repeated points and writes into the caller's
// slice; the field of a region does neither.
func TestPlaneFieldOfRepeatedPoints(t *testing.T) {
	r := profile.Region{{{P: v2(0, 0)}, {P: v2(4, 0)}, {P: v2(4, 0)}, {P: v2(4, 3)}, {P: v2(0, 3)}}}
	before := r.Clone()
	f := must[*Plane](t)(NewPlane(r))
	for _, c := range []struct {
		p    sdf.V2
		want float64
	}{{sdf.V2{X: 2, Y: 1}, -1}, {sdf.V2{X: 7, Y: -4}, 5}, {sdf.V2{X: 4, Y: 0}, 0}} {
		if got := f.Evaluate(c.p); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("distance %g at %v, want %g", got, c.p, c.want)
		}
	}
	for i := range before {
		for j := range before[i] {
			if r[i][j] != before[i][j] {
				t.Errorf("vertex %d changed", j)
			}
		}
	}
}

// Vertices are joined by where they come from, never by rounded coordinates:
// two plates 1e-4 mm apart stay two.
func TestNearPlatesStayApart(t *testing.T) {
	sq := must[profile.Region](t)(profile.Rect(v2(0, 0), v2(5, 5), 1))
	l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 1, Region: sq}, Slab{Z0: 1 + 1e-4, Z1: 2, Region: sq}))
	m, _, err := l.Mesh(0.01)
	if err != nil {
		t.Fatal(err)
	}
	top, err := m.Topology()
	if err != nil {
		t.Fatal(err)
	}
	if top.Components != 2 || len(m.Triangles) != 24 {
		t.Errorf("%d components, %d triangles; want 2 and 24", top.Components, len(m.Triangles))
	}
}
