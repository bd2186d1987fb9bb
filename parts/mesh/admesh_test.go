package mesh

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/deadsy/sdfx/sdf"

	"tuckfinger/parts/mesh/admesh"
)

// An independent checker finds nothing to repair, as many parts, and the same
// volume. It reads single-precision coordinates and joins equal ones.
func TestAdmeshFindsNothingToRepair(t *testing.T) {
	tool := admesh.Find(t)
	turned := sdf.Transform3D(bracket(), sdf.RotateX(0.3).Mul(sdf.RotateY(0.5)))
	type body struct {
		name string
		f    sdf.SDF3
		dev  float64 // 0: not simplified
		cell float64
	}
	bodies := []body{
		{"bracket", bracket(), 0, 0.6},
		{"bracket-simplified", bracket(), 0.03, 0.2},
		{"bracket-turned", turned, 0.05, 0.2},
		{"hollow", sdf.Difference3D(must(sdf.Sphere3D(3)), must(sdf.Sphere3D(2))), 0.02, 0.2},
	}
	for seed := range uint64(8) {
		f := randomField(rand.New(rand.NewPCG(seed, 29)))
		bodies = append(bodies, body{fmt.Sprintf("random-%d", seed), f, 0, 0.25}, body{fmt.Sprintf("random-%d-simplified", seed), f, 0.08, 0.25})
	}
	checked := 0
	for _, c := range bodies {
		m, _, err := Dual(c.f, 1, boxOf(c.f), c.cell, DualOptions{MaxDeviation: c.dev})
		if err != nil && strings.HasPrefix(c.name, "random") {
			continue // nothing left of it, or a sharp tip slips between lattice points
		}
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		checked++
		top := checkMesh(t, c.name, m)
		got := admesh.CheckMesh(t, tool, c.name, m.Vertices, m.Triangles)
		if got.Parts != top.Components {
			t.Errorf("%s: %d parts, want %d", c.name, got.Parts, top.Components)
		}
		if v := m.Volume(); math.Abs(got.Volume-v) > 1e-3*v {
			t.Errorf("%s: volume %g, want %g", c.name, got.Volume, v)
		}
	}
	if checked < 4+8 {
		t.Errorf("only %d bodies were checked", checked)
	}
}

// Of a large mesh the checker's volume, summed in single precision, drifts; ours
// stays that of the box, and is what we state.
func TestVolumeOfManyTrianglesDoesNotDrift(t *testing.T) {
	tool := admesh.Find(t)
	box := must(sdf.Box3D(sdf.V3{X: 20, Y: 20, Z: 20}, 0))
	m, _, err := Dual(box, 1, boxOf(box), 0.1, DualOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Triangles) < 400_000 {
		t.Fatalf("only %d triangles", len(m.Triangles))
	}
	if v := m.Volume(); math.Abs(v-8000) > 1e-6*8000 {
		t.Errorf("volume %.9g mm³, want 8000", v)
	}
	got := admesh.CheckMesh(t, tool, "box", m.Vertices, m.Triangles)
	t.Logf("the checker's volume is off by %.3g %%", (got.Volume/8000-1)*100)
	if got.Parts != 1 || got.Facets != len(m.Triangles) || math.Abs(got.Volume-8000) > 1e-2*8000 {
		t.Errorf("the checker finds %+v of %d triangles", got, len(m.Triangles))
	}
}
