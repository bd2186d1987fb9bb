package fingers

import (
	"testing"

	"tuckfinger/params"
)

func example(t testing.TB, name string) *params.Design {
	t.Helper()
	d, err := params.Load("../../../examples/" + name + "/finger.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func BenchmarkMeasure(b *testing.B) {
	d := example(b, "rack-lifter")
	k, err := build(d)
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name string
		want []string
	}{
		{"stroke", []string{"slide.out"}},
		{"strain", []string{"clips.jaw_clip.strain"}},
		{"order", []string{"order.O1"}},
		{"drive", []string{"motor"}},
		{"grip", []string{"grip"}},
		{"blade", []string{"blade"}},
	} {
		b.Run(c.name, func(b *testing.B) {
			w := want(c.want)
			for b.Loop() {
				if _, err := w.measure(d, k); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("build", func(b *testing.B) {
		for b.Loop() {
			if _, err := build(d); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("examine", func(b *testing.B) {
		w := want(names(measures(d)))
		for b.Loop() {
			if o, _ := w.examine(d); o.Err != nil {
				b.Fatal(o.Err)
			}
		}
	})
}
