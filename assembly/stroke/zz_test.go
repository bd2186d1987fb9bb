package stroke

import (
	"testing"

	. "tuckfinger/assembly/linkage/linktest"
	"tuckfinger/params"
)

func TestZZ(t *testing.T) {
	d := RackLifter()
	d.Drive.Screw = &params.ScrewDrive{Screw: "Tr8x2", Motor: "gearmotor-12mm", Friction: 0.2}
	x, err := New(d, Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := x.Run()
	dr, err := x.Drive(r)
	t.Log(err)
	dr.Samples = nil
	t.Logf("%+v", dr)
	g, err := x.Grasp(r)
	t.Log(err)
	for i, s := range g.Samples {
		if i%10 == 0 {
			t.Logf("%+v", s)
		}
	}
	g.Samples = nil
	t.Logf("%+v", g)
	for _, screw := range []string{"Tr8x2", "Tr8x8P2"} {
		d.Drive.Screw.Screw = screw
		d.Drive.Screw.Friction = 0.1
		tip := d.Bodies.Get("tip")
		tip.Features = []params.Feature{{Outline: &params.Outline{Points: []params.Corner{{At: Vec(-3, -4)}, {At: Vec(34, -4)}, {At: Vec(34, 4)}, {At: Vec(-3, 4)}}, Fillet: 2}}}
		d.Passive = &params.Passive{Body: "tip", Floor: -35, Descent: 8, Friction: 0.1, From: 1}
		x, err = New(d, Options{})
		r, err = x.Run()
		p, err := x.Passive(r)
		t.Log(err)
		for i, s := range p.Samples {
			if i%20 == 0 || i > len(p.Samples)-3 {
				t.Logf("%.4f s=%.3f contact=%.3f slide=%.3f tip=%.3f jaw=%.3f", s.Descent, s.S, s.Contact, s.Slide, s.Q[8]*57.3, s.Q[17]*57.3)
			}
		}
		for _, e := range p.Events {
			if e.Kind == JointStarts || e.Kind == JointStops {
				continue
			}
			t.Logf("%-18s %-12s s=%.3f back=%v F=%.2f size=%.3f %s", e.Kind, e.Subject, e.S, e.Back, e.Force, e.Size, e.Other)
		}
		p.Samples, p.Events = nil, nil
		t.Logf("%+v", p)
	}
}
