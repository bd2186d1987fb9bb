package mesh

import (
	"math"
	"strings"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// Bodies that touch themselves, lie on the lattice, are thinner than a cell or
// twist everywhere still give valid surfaces, or an error with a place.
func TestDualHardBodies(t *testing.T) {
	cube := func(x, y, z, s float64) sdf.SDF3 { return at3(must(sdf.Box3D(sdf.V3{X: s, Y: s, Z: s}, 0)), x, y, z) }
	wave := func(k, level float64) sdf.SDF3 {
		f := fieldFunc(func(p sdf.V3) float64 {
			sx, cx := math.Sincos(k * p.X)
			sy, cy := math.Sincos(k * p.Y)
			sz, cz := math.Sincos(k * p.Z)
			return (sx*cy + sy*cz + sz*cx - level) / k
		})
		return sdf.Intersect3D(f, cube(0, 0, 0, 3.6))
	}
	noise := fieldFunc(func(p sdf.V3) float64 {
		v := 0.0
		for i := range 12 {
			a, b, c := math.Sin(float64(7*i+1)), math.Sin(float64(11*i+2)), math.Sin(float64(13*i+3))
			v += math.Sin(9 * (a*p.X + b*p.Y + c*p.Z + float64(i)))
		}
		return max(v/12/16, p.Length()-1.5)
	})
	for _, c := range []struct {
		name string
		f    sdf.SDF3
		lip  float64
		cell float64
		lost string // "" nothing, "some": Lost reports it, else the error
	}{
		{"two cubes with one edge in common", sdf.Union3D(cube(-0.5, -0.5, 0, 1), cube(0.5, 0.5, 0, 1)), 1, 0.11, ""},
		{"two cubes with one corner in common", sdf.Union3D(cube(-0.5, -0.5, -0.5, 1), cube(0.5, 0.5, 0.5, 1)), 1, 0.11, ""},
		{"two cubes with one face in common", sdf.Union3D(cube(-0.5, 0, 0, 1), cube(0.5, 0, 0, 1)), 1, 0.1, ""},
		{"two cubes a hair apart", sdf.Union3D(cube(-0.5005, 0, 0, 1), cube(0.5005, 0, 0, 1)), 1, 0.1, ""},
		{"checkerboard of cubes", sdf.Union3D(cube(0, 0, 0, 1), cube(1, 1, 0, 1), cube(1, 0, 1, 1), cube(0, 1, 1, 1)), 1, 0.13, ""},
		{"sheet thinner than a cell", at3(must(sdf.Box3D(sdf.V3{X: 2, Y: 2, Z: 0.05}, 0)), 0.03, 0.02, 0.01), 1, 0.1, "thinner than a cell"},
		{"tilted sheet thinner than a cell", sdf.Transform3D(must(sdf.Box3D(sdf.V3{X: 2, Y: 2, Z: 0.08}, 0)), sdf.RotateX(0.6).Mul(sdf.RotateY(0.4))), 1, 0.11, ""},
		{"slit thinner than a cell", sdf.Difference3D(cube(0, 0, 0, 2), sdf.Transform3D(must(sdf.Box3D(sdf.V3{X: 1.5, Y: 0.07, Z: 3}, 0)), sdf.RotateZ(0.3))), 1, 0.1, "some"},
		{"cone point", must(sdf.Cone3D(2, 1, 0.01, 0)), 1, 0.13, ""},
		{"lens edge", sdf.Intersect3D(at3(must(sdf.Sphere3D(2)), 0, 0, 1.7), at3(must(sdf.Sphere3D(2)), 0, 0, -1.7)), 1, 0.09, ""},
		{"gyroid", wave(4, 0), 2, 0.1, "some"},
		{"gyroid, coarse", wave(4, 0.3), 2, 0.35, ""},
		{"noise", noise, 1, 0.08, ""},
		{"noise, coarse", noise, 1, 0.2, ""},
	} {
		box := r3.Box{Min: r3.Vec{X: -2.2, Y: -2.2, Z: -2.2}, Max: r3.Vec{X: 2.2, Y: 2.2, Z: 2.2}}
		m, rep, err := Dual(c.f, c.lip, box, c.cell, DualOptions{})
		if err != nil {
			if c.lost == "" || !strings.Contains(err.Error(), c.lost) {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		if (rep.Lost > c.cell/3) != (c.lost == "some") {
			t.Errorf("%s: %g mm lost at %v", c.name, rep.Lost, rep.LostAt)
		}
		top := checkMesh(t, c.name, m)
		t.Logf("%s: %d triangles, %d surfaces, genus %d, %d open, %d retreats, %d fans, deviation %.3g, lost %.3g",
			c.name, rep.Triangles, top.Components, top.Genus, rep.OpenCells, rep.Retreats, rep.Fans, rep.Deviation.Max, rep.Lost)
		s, err := Simplify(m, c.f, c.cell/4)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if after := checkMesh(t, c.name+", simplified", s); after.Genus != top.Genus || after.Components != top.Components {
			t.Errorf("%s: topology changed from %+v to %+v", c.name, top, after)
		}
	}
}
