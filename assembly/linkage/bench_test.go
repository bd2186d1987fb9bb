package linkage

import (
	"testing"

	. "tuckfinger/assembly/linkage/linktest"
)

func BenchmarkKernel(b *testing.B) {
	m, err := New(&Finger().D)
	if err != nil {
		b.Fatal(err)
	}
	w := m.NewWork(JointCoord(m.Drive))
	dq := make([]float64, m.Size())
	lambda := make([]float64, w.nr)
	w.Set(m.Start)
	w.Eval()
	w.Factor(true)
	free := []float64{1}
	b.Run("Eval", func(b *testing.B) {
		for i := 0; i < b.N; i++ {
			w.Eval()
		}
	})
	b.Run("Factor", func(b *testing.B) {
		for i := 0; i < b.N; i++ {
			w.Factor(false)
		}
	})
	b.Run("Search", func(b *testing.B) {
		for i := 0; i < b.N; i++ {
			w.Factor(true)
		}
	})
	b.Run("Step", func(b *testing.B) {
		for i := 0; i < b.N; i++ {
			w.Step(nil, free, dq)
		}
	})
	b.Run("Multipliers", func(b *testing.B) {
		for i := 0; i < b.N; i++ {
			w.Multipliers(dq, lambda)
		}
	})
}
