package parts

import (
	"testing"
	"tuckfinger/params"
)

func TestZ(t *testing.T) {
	for _, n := range []string{"rack-lifter", "lid-lifter", "ring-hook"} {
		d, err := params.Load("../examples/" + n + "/finger.yaml")
		if err != nil {
			t.Error(err)
			continue
		}
		ps, err := Build(d)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, p := range ps {
			m, r, err := p.Printed.Mesh(0.01)
			if err != nil {
				t.Error(p.Name, err)
				continue
			}
			t.Log(p.Name, len(p.Solid.Slabs()), len(m.Triangles), m.Volume(), m.Box(), r, m.Validate())
		}
		it, err := Hardware(d, ps)
		for _, i := range it {
			t.Log(i)
		}
		t.Log(err)
	}
}
