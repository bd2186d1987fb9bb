package parts

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
)

// By hand: going along -x material lies below, so 1 mm of pad comes on top; going
// along 3:4 it looks to 4:-3.
func TestPadFace(t *testing.T) {
	for _, c := range []struct {
		pad  params.Pad
		want PadFace
	}{
		{params.Pad{From: r2.Vec{X: 32, Y: 3}, To: r2.Vec{X: 16, Y: 3}, Thickness: 1}, PadFace{r2.Vec{X: 32, Y: 4}, r2.Vec{X: 16, Y: 4}, r2.Vec{Y: 1}}},
		{params.Pad{To: r2.Vec{X: 3, Y: 4}, Thickness: 5}, PadFace{r2.Vec{X: 4, Y: -3}, r2.Vec{X: 7, Y: 1}, r2.Vec{X: 0.8, Y: -0.6}}},
	} {
		got := NewPadFace(&c.pad)
		if r2.Norm(r2.Sub(got.A, c.want.A))+r2.Norm(r2.Sub(got.B, c.want.B))+r2.Norm(r2.Sub(got.Normal, c.want.Normal)) > 1e-12 {
			t.Errorf("%v, want %v", got, c.want)
		}
	}
}
