// Package peers compares the speed and size of the layered mesher with general
// meshers of other libraries on one link and the same field. It holds benchmarks
// only:
//
//	go test -bench Peers
package peers

import (
	"testing"
	"time"

	"github.com/deadsy/sdfx/render"
	"github.com/deadsy/sdfx/sdf"
	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r2"
	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// link is a plate of 80 × 16 × 4 mm with two 3.2 mm holes, a slot of 22 mm with a
// ramp of 45° and 15°, the relief slit that frees its rail, and a snap arm of
// 12 × 1.4 mm.
func link() profile.Region {
	p := func(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }
	ramp := must(profile.Polygon([]r2.Vec{p(34, 1.8), p(38.1, 0.7), p(39.2, 1.8)}, 4))
	slot := must(profile.Subtract(must(profile.Bar(p(26, 0), p(48, 0), 3.4, 3)), ramp))
	pocket := must(profile.Subtract(
		must(profile.Rect(p(54, 2), p(68.2, 8.5), 6)),
		must(profile.Rect(p(55, 5.2), p(67.5, 6.6), 7)),
		must(profile.Polygon([]r2.Vec{p(55, 6.4), p(58.2, 6.5), p(55.9, 7.5), p(55, 7.5)}, 8)),
		must(profile.Rect(p(67, 4), p(69, 7), 7))))
	return must(profile.Subtract(must(profile.Bar(p(8, 0), p(72, 0), 16, 1)),
		must(profile.Circle(p(8, 0), 1.6, 2)), must(profile.Circle(p(72, 0), 1.6, 2)),
		must(profile.Round(slot, 0, 0.3)), must(profile.Bar(p(28, 3.7), p(46, 3.7), 0.8, 5)), pocket))
}

// octree renders as sdfx does, without its file writer, which can hang, and
// returns the number of triangles.
func octree(f sdf.SDF3, cell float64) (n int) {
	in := make(chan *render.Triangle3, 4096)
	done := make(chan int)
	go func() {
		n := 0
		for range in {
			n++
		}
		done <- n
	}()
	(&render.MarchingCubesOctree{}).Render(f, int(f.BoundingBox().Size().MaxComponent()/cell+0.5), in)
	close(in)
	return <-done
}

// inside shows a field to model3d.
type inside struct {
	f   sdf.SDF3
	pad float64
}

func (s inside) Min() model3d.Coord3D {
	b := s.f.BoundingBox().Min
	return model3d.XYZ(b.X-s.pad, b.Y-s.pad, b.Z-s.pad)
}

func (s inside) Max() model3d.Coord3D {
	b := s.f.BoundingBox().Max
	return model3d.XYZ(b.X+s.pad, b.Y+s.pad, b.Z+s.pad)
}

func (s inside) Contains(c model3d.Coord3D) bool {
	return s.f.Evaluate(sdf.V3{X: c.X, Y: c.Y, Z: c.Z}) < 0
}

// BenchmarkLinkPeers meshes the link with its chamfers of 0.4 mm to 0.01 mm, and
// in the same run the peers mesh its field: sdfx's octree at 0.0625 mm and
// model3d's dual contouring at 0.125 mm, which still cut corners by more.
// x/sdfx and x/model3d say how many times longer they take than Mesh;
// x/sdfx-all counts the making of the solid from the outline as well. Of ours the
// median of 200 counts, of theirs the better of two. err is the largest distance
// of the mesh from the field in mm.
func BenchmarkLinkPeers(b *testing.B) {
	r := link()
	build := func() *solid.Layered {
		return must(solid.NewLayered(solid.Slab{Z0: 0, Z1: 4, Region: r, ChamferBottom: 0.4, ChamferTop: 0.4}))
	}
	l := build()
	var m *mesh.Mesh
	var rep solid.Report
	ours, all := make([]float64, 200), make([]float64, 200)
	time1 := func(f func()) float64 {
		t := time.Now()
		f()
		return time.Since(t).Seconds()
	}
	run := func() {
		var err error
		if m, rep, err = l.Mesh(0.01); err != nil {
			b.Fatal(err)
		}
	}
	for i := range ours {
		ours[i] = time1(run)
		all[i] = ours[i] + time1(func() { build() })
	}
	sdfx, model := 1e9, 1e9
	for range 2 {
		sdfx = min(sdfx, time1(func() { octree(l, 0.0625) }))
		model = min(model, time1(func() { model3d.DualContour(inside{l, 0.125}, 0.125, true, true) }))
	}
	for b.Loop() {
		run()
	}
	b.ReportMetric(sdfx/median(ours), "x/sdfx")
	b.ReportMetric(sdfx/median(all), "x/sdfx-all")
	b.ReportMetric(model/median(ours), "x/model3d")
	b.ReportMetric(float64(rep.Triangles), "tris")
	b.ReportMetric(must(mesh.MeasureDeviation(m, l, 20000)).Max, "err")
}

func median(x []float64) float64 {
	y := append([]float64(nil), x...)
	for i := range y {
		for j := i; j > 0 && y[j] < y[j-1]; j-- {
			y[j], y[j-1] = y[j-1], y[j]
		}
	}
	return y[len(y)/2]
}
