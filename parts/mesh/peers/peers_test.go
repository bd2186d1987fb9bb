package peers

import (
	"testing"
	"time"

	"github.com/deadsy/sdfx/render"
	"github.com/deadsy/sdfx/sdf"
	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r3"
	"tuckfinger/parts/mesh"
)

// bracket is a general body such as a mount: a flange with four bolt holes, a
// bored boss on it, crossed ribs, and a slot through the boss. 24 × 24 × 12 mm.
func bracket() sdf.SDF3 {
	flange := must(sdf.Cylinder3D(3, 12, 0.5))
	boss := at3(must(sdf.Cylinder3D(11, 5, 0.5)), 0, 0, 5.5)
	rib := at3(must(sdf.Box3D(sdf.V3{X: 20, Y: 1.6, Z: 7}, 0)), 0, 0, 3.5)
	body := sdf.Union3D(flange, boss, rib, sdf.Transform3D(rib, sdf.RotateZ(sdf.DtoR(90))))
	bore := must(sdf.Cylinder3D(40, 3, 0))
	slot := at3(must(sdf.Box3D(sdf.V3{X: 16, Y: 2, Z: 5}, 0)), 0, 0, 10)
	cut := []sdf.SDF3{bore, slot}
	for i := range 4 {
		cut = append(cut, at3(must(sdf.Cylinder3D(20, 1.1, 0)), float64(i&1)*13-6.5, float64(i>>1)*13-6.5, 0))
	}
	return sdf.Difference3D(body, sdf.Union3D(cut...))
}

// sdfxOctree renders as sdfx does, without its file writer (which can hang).
// meshCells is chosen to give cubes of the wanted size.
func sdfxOctree(f sdf.SDF3, cell float64) int {
	n := int(f.BoundingBox().Size().MaxComponent()/cell + 0.5)
	out := make(chan *render.Triangle3, 4096)
	done := make(chan int)
	go func() {
		n := 0
		for range out {
			n++
		}
		done <- n
	}()
	(&render.MarchingCubesOctree{}).Render(f, n, out)
	close(out)
	return <-done
}

// model3dSolid shows a field to model3d.
type model3dSolid struct {
	f        sdf.SDF3
	min, max model3d.Coord3D
}

func (s model3dSolid) Min() model3d.Coord3D { return s.min }
func (s model3dSolid) Max() model3d.Coord3D { return s.max }
func (s model3dSolid) Contains(c model3d.Coord3D) bool {
	return s.f.Evaluate(sdf.V3{X: c.X, Y: c.Y, Z: c.Z}) < 0
}

func model3dDual(f sdf.SDF3, cell float64) int {
	b := f.BoundingBox()
	pad := cell
	s := model3dSolid{f,
		model3d.XYZ(b.Min.X-pad, b.Min.Y-pad, b.Min.Z-pad),
		model3d.XYZ(b.Max.X+pad, b.Max.Y+pad, b.Max.Z+pad)}
	return len(model3d.DualContour(s, cell, true, true).TriangleSlice())
}

// BenchmarkDualPeers meshes one general body at 0.125 mm and times the peers
// on the same field in the same run. x/sdfx and x/model3d say how many times
// longer they take, evals how often the field is evaluated.
func BenchmarkDualPeers(b *testing.B) {
	f := bracket()
	const cell = 0.125
	clock := func(g func()) float64 {
		best := time.Duration(1<<62 - 1)
		for range 3 {
			t := time.Now()
			g()
			best = min(best, time.Since(t))
		}
		return best.Seconds()
	}
	var rep mesh.DualReport
	box := r3.Box{Min: r3.Vec(f.BoundingBox().Min), Max: r3.Vec(f.BoundingBox().Max)}
	ours := clock(func() {
		var err error
		if _, rep, err = mesh.Dual(f, 1, box, cell, mesh.DualOptions{}); err != nil {
			b.Fatal(err)
		}
	})
	for b.Loop() {
		if _, _, err := mesh.Dual(f, 1, box, cell, mesh.DualOptions{}); err != nil {
			b.Fatal(err)
		}
	}
	var peer int
	octree := clock(func() { peer = sdfxOctree(f, cell) })
	t := time.Now()
	m3 := model3dDual(f, cell)
	dual := time.Since(t).Seconds()
	b.ReportMetric(octree/ours, "x/sdfx")
	b.ReportMetric(dual/ours, "x/model3d")
	b.ReportMetric(float64(rep.Triangles), "tris")
	b.ReportMetric(float64(peer), "tris/sdfx")
	b.ReportMetric(float64(m3), "tris/model3d")
	b.ReportMetric(float64(rep.Evaluations)/float64(rep.SurfaceCells), "evals/cell")
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func at3(f sdf.SDF3, x, y, z float64) sdf.SDF3 {
	return sdf.Transform3D(f, sdf.Translate3d(sdf.V3{X: x, Y: y, Z: z}))
}
