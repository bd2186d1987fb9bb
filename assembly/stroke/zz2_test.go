package stroke

import (
	"testing"

	. "tuckfinger/assembly/linkage/linktest"
	"tuckfinger/params"
)

func TestYY(t *testing.T) {
	d := RackLifter()
	d.Drive.Screw = &params.ScrewDrive{Screw: "Tr8x2", Motor: "gearmotor-12mm", Friction: 0.1}
	tip := d.Bodies.Get("tip")
	tip.Features = []params.Feature{{Outline: &params.Outline{Points: []params.Corner{{At: Vec(-3, -4)}, {At: Vec(34, -4)}, {At: Vec(34, 4)}, {At: Vec(-3, 4)}}, Fillet: 2}}}
	d.Passive = &params.Passive{Body: "tip", Floor: -35, Descent: 1.7, Friction: 0.1, From: 1}
	x, _ := New(d, Options{})
	r, _ := x.Run()
	p, err := x.Passive(r)
	t.Log(err)
	for _, s := range p.Samples {
		t.Logf("%.4f s=%.3f contact=%.3f slide=%.3f tip=%.3f jaw=%.3f", s.Descent, s.S, s.Contact, s.Slide, s.Q[8]*57.3, s.Q[17]*57.3)
	}
}
