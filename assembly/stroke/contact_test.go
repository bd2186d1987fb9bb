package stroke

import (
	"math"
	"math/rand"
	"testing"

	"tuckfinger/assembly/force"
	"tuckfinger/parts"
)

// TestContactIsThePrintedWall compares the path of the pin's centre that is an
// offset of the printed wall with the analytic one of package force, for the
// reference ramp and random ones.
func TestContactIsThePrintedWall(t *testing.T) {
	rng := rand.New(rand.NewSource(4))
	deg := math.Pi / 180
	for i := range 200 {
		u := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
		b := parts.Bump{Height: u(0.4, 1.6), First: u(20, 75) * deg, Last: u(8, 45) * deg, Radius: u(0.1, 0.4)}
		r := u(0.8, 2.5)
		if i == 0 {
			b, r = parts.Bump{Height: 1, First: 45 * deg, Last: 15 * deg, Radius: 0.3}, 1.5
		}
		if b.Check() != nil {
			continue
		}
		edges, err := b.Contact(r, 3*r)
		if err != nil {
			t.Fatalf("%+v, pin radius %g: %v", b, r, err)
		}
		got, err := force.NewGraph(edges)
		if err != nil {
			t.Fatalf("%+v, pin radius %g: %v", b, r, err)
		}
		want, err := force.Bump{Height: b.Height, Steep: b.First, Shallow: b.Last, PeakRadius: b.Radius}.Curve(r)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := want.Span()
		for k := range 101 {
			x := lo + (hi-lo)*(float64(k)+0.5)/101
			h, s := got.At(x)
			h1, s1 := want.At(x)
			near(t, "height", h, h1, 1e-9)
			near(t, "slope", s, s1, 1e-6)
		}
	}
}
