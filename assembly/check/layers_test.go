package check

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
	"tuckfinger/params/tables"
	"tuckfinger/parts"
)

// The layers of a link lie in the plane of motion: every load is borne along them,
// however the link is turned. Those of a body drawn in xz stand across y: a pull
// along y parts them and meets the strength across them, one along x the strength in
// them, and between the two it falls all the way. Strengths of printed PETG, low
// ends: 44 MPa in the layers, 25 across (public table of printed plastics).
func TestLayersDirection(t *testing.T) {
	petg, err := tables.Builtin().Material("PETG")
	if err != nil {
		t.Fatal(err)
	}
	link := &parts.Part{Material: petg, Body: &params.Body{Plane: "xy"}}
	mount := &parts.Part{Material: petg, Body: &params.Body{Plane: "xz"}}
	last := math.Inf(1)
	for i := 0; i <= 90; i++ {
		sin, cos := math.Sincos(float64(i) * math.Pi / 180)
		dir := r2.Vec{X: 7 * cos, Y: -7 * sin}
		for _, turn := range []float64{0, 1, -2} {
			close(t, "link", allowed(link, linkage.Pose{Theta: turn}, dir), 44, 1e-12)
		}
		now := allowed(mount, linkage.Pose{}, dir)
		if now > last+1e-12 {
			t.Errorf("at %d° to its layers a mount bears %.2f MPa, nearer to them %.2f", i, now, last)
		}
		last = now
	}
	close(t, "mount, along its layers", allowed(mount, linkage.Pose{}, r2.Vec{X: -3}), 44, 1e-12)
	close(t, "mount, across its layers", allowed(mount, linkage.Pose{}, r2.Vec{Y: 3}), 25, 1e-12)
	// One that turns with its link takes its layers along.
	close(t, "mount turned by 90°, across its layers", allowed(mount, linkage.Pose{Theta: math.Pi / 2}, r2.Vec{X: 3}), 25, 1e-12)
	close(t, "mount turned by 90°, along its layers", allowed(mount, linkage.Pose{Theta: math.Pi / 2}, r2.Vec{Y: 3}), 44, 1e-12)

	// A printed pin stands across its layers: it bends and shears against their bond.
	pin := &pinBeam{material: petg, across: true}
	across, shear := pin.strengths()
	pin.across = false
	along, _ := pin.strengths()
	if across != 25 || along != 44 || !(shear < across) {
		t.Errorf("a pin bears %g MPa across layers, %g sheared, %g along", across, shear, along)
	}
}
