package export

import (
	"io"
	"path/filepath"
	"runtime"
	"testing"

	"tuckfinger/assembly"
	"tuckfinger/export/stl"
	"tuckfinger/export/threemf"
	"tuckfinger/params"
	"tuckfinger/parts"
)

// BenchmarkFingerMeshes makes everything that is printed of the reference
// finger: solids from the file, all meshes within 0.01 mm, their STL and the
// 3MF plates. peak-MB is the largest live heap seen between the steps.
func BenchmarkFingerMeshes(b *testing.B) {
	d, err := params.Load(filepath.Join("..", "examples", "rack-lifter", "finger.yaml"))
	if err != nil {
		b.Fatal(err)
	}
	peak := uint64(0)
	look := func() {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		peak = max(peak, m.HeapAlloc)
	}
	for b.Loop() {
		a := &assembly.Analysis{Design: d}
		if a.Parts, err = parts.Build(d); err != nil {
			b.Fatal(err)
		}
		if a.Prints, err = assembly.Prints(a.Parts); err != nil {
			b.Fatal(err)
		}
		look()
		for _, p := range a.Prints {
			if err := stl.Write(io.Discard, p.Part.Name, p.Mesh); err != nil {
				b.Fatal(err)
			}
		}
		plates, err := arrange(a)
		if err != nil {
			b.Fatal(err)
		}
		for _, p := range plates {
			if err := threemf.Write(io.Discard, p); err != nil {
				b.Fatal(err)
			}
		}
		look()
	}
	b.ReportMetric(float64(peak)/1e6, "peak-MB")
}
