package check

import (
	"path/filepath"
	"testing"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/parts"
)

// cycle200 is the reference finger at 200 poses of its cycle.
func cycle200(b *testing.B) *Input {
	b.Helper()
	return cycleOf(b, filepath.Join("..", "..", "examples", "rack-lifter", "finger.yaml"), 200)
}

// cycleOf is a finger file at some poses of its cycle.
func cycleOf(b testing.TB, file string, poses int) *Input {
	b.Helper()
	d, err := params.Load(file)
	if err != nil {
		b.Fatal(err)
	}
	in := &Input{Design: d, printer: d.Printer()}
	if in.Parts, err = parts.Build(d); err != nil {
		b.Fatal(err)
	}
	if in.Items, err = parts.Hardware(d, in.Parts); err != nil {
		b.Fatal(err)
	}
	if in.Mechanism, err = linkage.New(d); err != nil {
		b.Fatal(err)
	}
	model, err := stroke.With(in.Mechanism, d, stroke.Options{})
	if err != nil {
		b.Fatal(err)
	}
	if in.Stroke, err = model.Run(); err != nil {
		b.Fatal(err)
	}
	for i := range poses {
		k := i * (len(in.Stroke.Samples) - 1) / (poses - 1)
		in.S = append(in.S, in.Stroke.Samples[k].S)
		in.Cycle = append(in.Cycle, in.Stroke.Poses(nil, k))
	}
	return in
}

// BenchmarkFingerClearance measures every pair of parts and pins at 200 poses.
func BenchmarkFingerClearance(b *testing.B) {
	in := cycle200(b)
	for b.Loop() {
		if err := clearance(in, &Findings{in: in, name: "clearance"}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkFingerThickness finds the thinnest wall of every part.
func BenchmarkFingerThickness(b *testing.B) {
	in := cycle200(b)
	for b.Loop() {
		for _, p := range in.Parts {
			if _, err := ThinnestWall(p); err != nil {
				b.Fatal(err)
			}
		}
	}
}
