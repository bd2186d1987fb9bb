package stroke

import (
	"testing"

	. "tuckfinger/assembly/linkage/linktest"
)

func TestTrace(t *testing.T) {
	x, err := New(RackLifter(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := x.Run()
	if err != nil {
		t.Log(err)
	}
	for _, e := range r.Events {
		t.Logf("%-18s %-12s s=%.3f back=%v F=%.2f size=%.3f %s", e.Kind, e.Subject, e.S, e.Back, e.Force, e.Size, e.Other)
	}
	tip, jaw := x.Mech.BodyIndex("tip"), x.Mech.BodyIndex("upper")
	for i, s := range r.Samples {
		if i%10 == 0 || i > len(r.Samples)-10 {
			t.Logf("%4d s=%.4f %v F=%.3f tip=%.2f jaw=%.2f E=%.3f W=%.3f fr=%.3f snap=%.3f", i, s.S, s.Back, s.Force, s.Q[3*tip+2]*57.29578, s.Q[3*jaw+2]*57.29578, s.Stored, s.Work, s.Friction, s.Snap)
		}
	}
	t.Log(len(r.Samples), r.Imbalance)
}

func BenchmarkStroke(b *testing.B) {
	x, err := New(RackLifter(), Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for i := 0; i < b.N; i++ {
		if _, err := x.Run(); err != nil {
			b.Fatal(err)
		}
	}
}

func TestRulesTrace(t *testing.T) {
	x, err := New(RackLifter(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := x.Run()
	if err != nil {
		t.Log(err)
	}
	rules, err := x.Rules(r)
	for _, e := range rules {
		t.Logf("%s holds %s %.2f  %s drives %.2f margin %.2f at %.3f %s", e.Name, e.Rule.Holds, e.Holding, e.Element, e.Driving, e.Margin, e.At, e.Verdict)
	}
	if err != nil {
		t.Fatal(err)
	}
}
