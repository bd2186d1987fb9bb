// Package peers compares the speed and fidelity of the general mesher with
// other libraries on one body. It holds benchmarks only:
//
//	go test -bench Peers
package peers

import (
	"math"
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
func sdfxOctree(f sdf.SDF3, cell float64) []r3.Triangle {
	n := int(f.BoundingBox().Size().MaxComponent()/cell + 0.5)
	in := make(chan *render.Triangle3, 4096)
	done := make(chan []r3.Triangle)
	go func() {
		var out []r3.Triangle
		for t := range in {
			out = append(out, r3.Triangle{r3.Vec(t.V[0]), r3.Vec(t.V[1]), r3.Vec(t.V[2])})
		}
		done <- out
	}()
	(&render.MarchingCubesOctree{}).Render(f, n, in)
	close(in)
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

func model3dDual(f sdf.SDF3, cell float64) (out []r3.Triangle) {
	b := f.BoundingBox()
	pad := cell
	s := model3dSolid{f,
		model3d.XYZ(b.Min.X-pad, b.Min.Y-pad, b.Min.Z-pad),
		model3d.XYZ(b.Max.X+pad, b.Max.Y+pad, b.Max.Z+pad)}
	for _, t := range model3d.DualContour(s, cell, true, true).TriangleSlice() {
		out = append(out, r3.Triangle{r3.Vec(t[0]), r3.Vec(t[1]), r3.Vec(t[2])})
	}
	return out
}

// BenchmarkDualPeers meshes one general body at 0.125 mm and times the peers
// on the same field in the same run, in turn, the best of five each (of model3d,
// which takes seconds, one). x/sdfx and x/model3d say how many times longer the peers take than Dual;
// x/sdfx-simplified how many times longer sdfx takes than Dual with a result
// within 0.01 mm. err/… are the largest distances of a result from the field.
func BenchmarkDualPeers(b *testing.B) {
	f := bracket()
	const cell = 0.125
	box := r3.Box{Min: r3.Vec(f.BoundingBox().Min), Max: r3.Vec(f.BoundingBox().Max)}
	inf := math.Inf(1)
	ours, small, octree, dual := inf, inf, inf, inf
	clock := func(best *float64, g func()) {
		t := time.Now()
		g()
		*best = min(*best, time.Since(t).Seconds())
	}
	run := func(dev float64) (rep mesh.DualReport) {
		_, rep, err := mesh.Dual(f, 1, box, cell, mesh.DualOptions{MaxDeviation: dev})
		if err != nil {
			b.Fatal(err)
		}
		return rep
	}
	var rep, few mesh.DualReport
	var sdfx, model []r3.Triangle
	for range 5 {
		clock(&ours, func() { rep = run(0) })
		clock(&octree, func() { sdfx = sdfxOctree(f, cell) })
		clock(&small, func() { few = run(0.01) })
	}
	clock(&dual, func() { model = model3dDual(f, cell) })
	for b.Loop() {
		run(0)
	}
	b.ReportMetric(octree/ours, "x/sdfx")
	b.ReportMetric(octree/small, "x/sdfx-simplified")
	b.ReportMetric(dual/ours, "x/model3d")
	b.ReportMetric(float64(rep.Triangles), "tris")
	b.ReportMetric(float64(few.Triangles), "tris-simplified")
	b.ReportMetric(float64(len(sdfx)), "tris/sdfx")
	b.ReportMetric(rep.Deviation.Max, "err")
	b.ReportMetric(few.Deviation.Max, "err-simplified")
	b.ReportMetric(worst(f, sdfx), "err/sdfx")
	b.ReportMetric(worst(f, model), "err/model3d")
	b.ReportMetric(float64(rep.Evaluations)/float64(rep.SurfaceCells), "evals/cell")
}

// worst returns the largest |field| at corners, mid-edges and middles.
func worst(f sdf.SDF3, tris []r3.Triangle) float64 {
	w := 0.0
	for _, t := range tris {
		for k := range 3 {
			for _, p := range [2]r3.Vec{t[k], r3.Scale(0.5, r3.Add(t[k], t[(k+1)%3]))} {
				w = max(w, math.Abs(f.Evaluate(sdf.V3(p))))
			}
		}
		w = max(w, math.Abs(f.Evaluate(sdf.V3(t.Centroid()))))
	}
	return w
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
