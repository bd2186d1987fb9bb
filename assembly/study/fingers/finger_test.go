package fingers

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
)

const examples = "../../../examples"

// example reads an example finger with some of its text replaced, pairs of old
// and new.
func example(t testing.TB, name string, edits ...string) *params.Design {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(examples, name, "finger.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	text, _, _ := strings.Cut(string(data), "\ntune:\n") // the last section; tests have their own
	for i := 0; i < len(edits); i += 2 {
		if !strings.Contains(text, edits[i]) {
			t.Fatalf("%q is not in the example %s", edits[i], name)
		}
		text = strings.ReplaceAll(text, edits[i], edits[i+1])
	}
	d, err := params.Parse("finger.yaml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// The stroke alone gives the numbers that the whole examination gives, whose
// checks work out strains from the solids by themselves.
func TestMeasuresAgreeWithTheChecks(t *testing.T) {
	for _, name := range []string{"rack-lifter", "lid-lifter", "ring-hook"} {
		d := example(t, name)
		list, got, err := Stroke(d)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		w := want(names(list))
		o, a := w.examine(d)
		if o.Err != nil || len(o.Failed) > 0 {
			t.Fatalf("%s: %v, %v", name, o.Err, o.Failed)
		}
		at := map[string]float64{}
		for i, m := range list {
			at[m.Name] = got[i]
			if !(math.Abs(got[i]-o.Measures[i]) <= 1e-9*math.Abs(got[i]) || math.IsNaN(got[i]) && math.IsNaN(o.Measures[i]) || got[i] == o.Measures[i]) {
				t.Errorf("%s: %s is %g by the stroke, %g by every check", name, m.Name, got[i], o.Measures[i])
			}
		}
		checked := 0
		for _, f := range a.Findings {
			measure, scale := "", 1.0
			switch {
			case f.Check == "order":
				rule, _, _ := strings.Cut(f.Subject, " ")
				measure = "order." + rule
			case f.Check == "rail strain":
				measure = "ramps." + strings.TrimPrefix(f.Subject, "ramp ") + ".strain"
			case f.Check == "arm strain":
				measure = "clips." + strings.TrimPrefix(f.Subject, "clip ") + ".strain"
			case f.Check == "motor" && f.Subject == "stroke":
				measure = "motor"
			case f.Check == "grasp" && f.Subject == "lift":
				measure = "lift"
			}
			v, ok := at[measure]
			if measure == "" || f.Unit == "" {
				continue
			}
			checked++
			// The check of strains follows the gripping stroke too.
			if !ok || math.Abs(v*scale-f.Value) > 2e-3*f.Value {
				t.Errorf("%s: %s is %.5g, the check %q of %s found %.5g", name, measure, v, f.Check, f.Subject, f.Value)
			}
		}
		if checked < 2 && name == "rack-lifter" {
			t.Errorf("%s: %d findings compared", name, checked)
		}
	}
}

func TestMassIsThatOfThePrints(t *testing.T) {
	d := example(t, "ring-hook")
	list, got, err := Stroke(d)
	if err != nil {
		t.Fatal(err)
	}
	w := want(names(list))
	_, a := w.examine(d)
	if err := a.Mesh(); err != nil {
		t.Fatal(err)
	}
	mass := 0.0
	for _, p := range a.Prints {
		mass += p.Mass * float64(p.Part.Body.Print.Copies)
	}
	for i, m := range list {
		if m.Name == "mass" && math.Abs(got[i]-mass) > 2e-4*mass { // meshes within 0.01 mm
			t.Errorf("%.4f g, the meshes weigh %.4f g", got[i], mass)
		}
	}
}

// Strokes per second on all processors: alone, and with what studies ask for.
// Run with -cpu 1,2 for the scaling.
func BenchmarkStroke(b *testing.B) {
	d := example(b, "rack-lifter")
	k, err := build(d)
	if err != nil {
		b.Fatal(err)
	}
	in, err := inputs(d)
	if err != nil {
		b.Fatal(err)
	}
	zero := make([]float64, len(in))
	b.Run("run", func(b *testing.B) { // the stroke alone, of a model that is there
		x, err := stroke.New(d, stroke.Options{Weights: k.weights})
		if err != nil {
			b.Fatal(err)
		}
		b.RunParallel(func(pb *testing.PB) {
			for pb.Next() {
				if _, err := x.Run(); err != nil {
					b.Error(err)
				}
			}
		})
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "strokes/s")
	})
	for _, c := range []struct{ name, measure string }{
		{"alone", "slide.out"}, {"order", "order.O1"}, {"strain", "clips.jaw_clip.strain"}, {"grip", "grip"},
	} {
		b.Run(c.name, func(b *testing.B) {
			w := want([]string{c.measure})
			f := copyEvaluate(d, k, in, &w)
			b.RunParallel(func(pb *testing.PB) {
				for pb.Next() {
					if o := f(zero); o.Err != nil {
						b.Error(o.Err)
					}
				}
			})
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "strokes/s")
		})
	}
	b.Run("copy", func(b *testing.B) {
		for b.Loop() {
			if _, err := printed(d, in, zero); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("parts", func(b *testing.B) {
		for b.Loop() {
			if _, err := build(d); err != nil {
				b.Fatal(err)
			}
		}
	})
}
