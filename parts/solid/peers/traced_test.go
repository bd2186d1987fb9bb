package peers

import (
	"testing"
	"time"

	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile/tracing"
	"tuckfinger/parts/solid"
)

// BenchmarkTracedPeers makes the same link from nothing but the values of its
// plane field: traced into lines and arcs, layered with chamfers, meshed to
// 0.01 mm. The peers mesh the solid's field as in BenchmarkLinkPeers, in the same
// run. err is the largest distance of the mesh from the field of the true outline.
func BenchmarkTracedPeers(b *testing.B) {
	r := link()
	plane := must(solid.NewPlane(r))
	truth := must(solid.NewLayered(solid.Slab{Z0: 0, Z1: 4, Region: r, ChamferBottom: 0.4, ChamferTop: 0.4}))
	var m *mesh.Mesh
	var rep solid.Report
	run := func() {
		traced := must(tracing.Region(plane, 1, 0.4, 0.001))
		l := must(solid.NewLayered(solid.Slab{Z0: 0, Z1: 4, Region: traced, ChamferBottom: 0.4, ChamferTop: 0.4}))
		var err error
		if m, rep, err = l.Mesh(0.009); err != nil {
			b.Fatal(err)
		}
	}
	ours := make([]float64, 50)
	for i := range ours {
		t := time.Now()
		run()
		ours[i] = time.Since(t).Seconds()
	}
	t := time.Now()
	octree(truth, 0.0625)
	sdfx := time.Since(t).Seconds()
	for b.Loop() {
		run()
	}
	b.ReportMetric(sdfx/median(ours), "x/sdfx")
	b.ReportMetric(median(ours)*1e3, "ms/trace")
	b.ReportMetric(float64(rep.Triangles), "tris")
	b.ReportMetric(must(mesh.MeasureDeviation(m, truth, 20000)).Max, "err")
}
