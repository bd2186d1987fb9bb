package solid

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// What the pinned sdfx accepts, over-states or overwrites, and what becomes of it
// here; see also wrap_test.go.

// blend returns a post on a plate with their inner edge filled in by f.
func blend(t *testing.T, f sdf.MinFunc) sdf.SDF3 {
	plate := must[sdf.SDF3](t)(sdf.Box3D(sdf.V3{X: 8, Y: 6, Z: 2}, 0))
	post := must[sdf.SDF3](t)(sdf.Cylinder3D(4, 1.2, 0))
	u := sdf.Union3D(plate, sdf.Transform3D(post, sdf.Translate3d(sdf.V3{Z: 2})))
	u.(*sdf.UnionSDF3).SetMin(f)
	return u
}

// Loft3D, ChamferMin and RoundMin over-state distance, up to √2 times for the two
// blends. With that declared the meshes are whole; with 1 declared the body is
// refused, or what passes is whole too. Volumes: the blend adds to plate, post
// above it, at most a ring of k × k about the post; the loft lies between prisms
// of its ends.
func TestOverstatedFieldsLeaveNoHoles(t *testing.T) {
	square, disc := sdf.Box2D(sdf.V2{X: 4, Y: 4}, 0), must[sdf.SDF2](t)(sdf.Circle2D(1))
	const k = 0.6
	plain := 8.*6*2 + math.Pi*1.2*1.2*3
	ring := math.Pi * ((1.2+k)*(1.2+k) - 1.2*1.2) * k
	for _, c := range []struct {
		name     string
		body     sdf.SDF3
		lip      float64
		min, max float64 // mm³
	}{
		{"chamfered", blend(t, sdf.ChamferMin(k)), math.Sqrt2, plain, plain + ring},
		{"rounded", blend(t, sdf.RoundMin(k)), math.Sqrt2, plain, plain + ring},
		{"lofted", must[sdf.SDF3](t)(sdf.Loft3D(square, disc, 3, 0)), 2, math.Pi * 3, 16 * 3},
	} {
		for _, lip := range []float64{1, c.lip} {
			v, err := wholeVolume(t, c.body, lip)
			switch {
			case err == nil && (v < c.min || v > c.max):
				t.Errorf("%s with bound %g: volume %g mm³, want %g to %g", c.name, lip, v, c.min, c.max)
			case err != nil && (lip == c.lip || !errors.Is(err, ErrLipschitz)):
				t.Errorf("%s with bound %g: %v", c.name, lip, err)
			}
		}
	}
}

// wholeVolume meshes a field of the bound and returns its volume. A mesh that is
// given out has to be whole; an error says that there is none.
func wholeVolume(t *testing.T, f sdf.SDF3, lip float64) (float64, error) {
	t.Helper()
	s, err := FromSDF3(f, lip)
	if err != nil {
		return 0, err
	}
	m, _, err := s.Mesh(0.05)
	if err != nil {
		return 0, err
	}
	if err := m.Validate(); err != nil {
		t.Errorf("bound %g: not whole: %v", lip, err)
	}
	if x := m.SelfIntersections(); len(x) > 0 {
		t.Errorf("bound %g: crosses itself: %v", lip, x[0])
	}
	return m.Volume(), nil
}

// Box2D takes negative sizes, Box3D roundings larger than the box; neither has a
// surface that its box would hold. They must not become meshes.
func TestImpossibleSizesAreRefused(t *testing.T) {
	for name, b := range map[string]sdf.SDF3{
		"negative width": sdf.Extrude3D(sdf.Box2D(sdf.V2{X: -3, Y: 2}, 0), 1),
		"negative depth": sdf.Extrude3D(sdf.Box2D(sdf.V2{X: 3, Y: 2}, 0), -1),
		"too round":      must[sdf.SDF3](t)(sdf.Box3D(sdf.V3{X: 2, Y: 2, Z: 2}, 3)),
		"point":          sdf.Extrude3D(must[sdf.SDF2](t)(sdf.Circle2D(0)), 0),
	} {
		s, err := FromSDF3(b, 1)
		if err == nil {
			_, _, err = s.Mesh(0.05)
		}
		if err == nil {
			t.Errorf("%s was meshed", name)
		}
	}
	for name, make := range map[string]func() (profile.Region, error){
		"negative radius": func() (profile.Region, error) { return profile.Circle(v2(0, 0), -1, 1) },
		"negative bar":    func() (profile.Region, error) { return profile.Bar(v2(0, 0), v2(5, 0), -2, 1) },
		"NaN corner": func() (profile.Region, error) {
			return profile.Polygon([]r2.Vec{v2(0, 0), v2(math.NaN(), 0), v2(1, 1)}, 1)
		},
		"two corners": func() (profile.Region, error) { return profile.Polygon([]r2.Vec{v2(0, 0), v2(1, 0)}, 1) },
		"one place":   func() (profile.Region, error) { return profile.Polygon([]r2.Vec{v2(1, 1), v2(1, 1), v2(1, 1)}, 1) },
	} {
		if r, err := make(); err == nil {
			t.Errorf("%s was accepted: %v", name, r)
		}
	}
}

// Polygon2D closes its loop by append, which writes behind the caller's slice
// where that has room, and gives NaN where a point repeats. Polygon leaves the
// slice alone and names the repeated point.
func TestPolygonLeavesTheCallersPoints(t *testing.T) {
	store := []r2.Vec{v2(0, 0), v2(4, 0), v2(4, 3), v2(0, 3), v2(77, 77)}
	r := must[profile.Region](t)(profile.Polygon(store[:4], 1))
	if store[4] != v2(77, 77) {
		t.Errorf("the caller's points became %v", store)
	}
	f := must[*Plane](t)(NewPlane(r))
	if d := f.Evaluate(sdf.V2{X: 7, Y: -4}); math.Abs(d-5) > 1e-12 {
		t.Errorf("distance %g, want 5", d)
	}
	_, err := profile.Polygon([]r2.Vec{v2(0, 0), v2(4, 0), v2(4, 0), v2(4, 3)}, 1)
	if err == nil || !strings.Contains(err.Error(), "(4, 0)") {
		t.Errorf("a repeated point: %v", err)
	}
	theirs := make([]sdf.V2, 0, 8)
	theirs = append(theirs, sdf.V2{}, sdf.V2{X: 4}, sdf.V2{X: 4, Y: 3}, sdf.V2{X: 77})
	if _, err := sdf.Polygon2D(theirs[:3]); err != nil {
		t.Fatal(err)
	}
	if theirs[3] == (sdf.V2{X: 77}) {
		t.Error("Polygon2D left the caller's slice alone; this trap is gone")
	}
}

// Union2D of nothing is nil, at which the next call panics; the union of no
// regions is an empty region, of which no solid is made.
func TestUnionOfNothing(t *testing.T) {
	if sdf.Union2D() != nil {
		t.Error("Union2D of nothing is not nil; this trap is gone")
	}
	r, err := profile.UnionAll()
	if err != nil || !r.IsEmpty() {
		t.Fatalf("a union of nothing is %v, %v", r, err)
	}
	if _, err := NewPlane(r); err == nil {
		t.Error("an empty region has a field")
	}
	l, err := NewLayered(Slab{Z0: 0, Z1: 1, Region: r})
	if err == nil {
		_, _, err = l.Mesh(0.01)
	}
	if err == nil {
		t.Error("nothing was meshed")
	}
}
