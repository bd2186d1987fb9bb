package solids

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func TestSolids(t *testing.T) {
	b := Box(r3.Vec{X: -1, Y: 2, Z: 3}, r3.Vec{X: 4, Y: 9, Z: 5})
	u := Tube(3, 8, 2, 36)
	if err := b.Validate(); err != nil {
		t.Error(err)
	}
	if err := u.Validate(); err != nil {
		t.Error(err)
	}
	if v := b.Volume(); math.Abs(v-70) > 1e-9 {
		t.Errorf("box of %g mm³", v)
	}
	if v, w := u.Volume(), TubeVolume(3, 8, 2, 36); math.Abs(v-w) > 1e-9 {
		t.Errorf("tube of %g mm³, want %g", v, w)
	}
	if top, err := u.Topology(); err != nil || top.Genus != 1 {
		t.Errorf("%+v, %v", top, err)
	}
}
