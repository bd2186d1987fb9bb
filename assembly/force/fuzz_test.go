package force

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// Clips of all shapes a designer may try: the equilibrium is found at every
// place of the way, and the force is the gradient of the energy.
func TestAnyClipFindsItsEquilibrium(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	u := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	clips, touching := 400, 0
	for range clips {
		c := Clip{
			Arm:  Arm{Material: Material{E: u(1000, 3000), Nu: .35}, Length: u(6, 20), Thickness: u(1, 2), Width: 4, Fillet: .5},
			Hook: u(.5, 1.5), Nose: u(0, .4), Entry: deg(u(10, 50)), Retention: deg(u(20, 65)),
			Direction: Direction(rng.IntN(2)), Post: Post{Radius: u(.1, 1.5)}, Mu: u(0, .5),
		}
		if rng.IntN(2) == 0 {
			c.Post.Flat = u(0, 2)
		}
		if rng.IntN(3) == 0 {
			c.Arm.TipThickness = c.Arm.Thickness * u(.5, 1)
		}
		l := mustClip(t, c, AllTerms)
		path := circle(c, math.Min(c.Hook*u(.3, 1), .1*c.Arm.Length))
		for i := range 40 {
			p, _, _ := path.At(-.5 + float64(i)/40)
			s := l.At(p, Resting)
			if !s.Touching {
				continue
			}
			touching++
			const h = 1e-5
			a, b := p, p
			a.P, b.P = r2.Add(p.P, r2.Vec{X: h}), r2.Sub(p.P, r2.Vec{X: h})
			d := -(l.At(a, Resting).Energy - l.At(b, Resting).Energy) / (2 * h)
			if s.Failed || s.Normal < 0 || math.Abs(d-s.Force.X) > 1e-3*(1+s.Normal) {
				t.Fatalf("%+v at %+v: gradient %g, %+v", c, p, d, s)
			}
			for _, slip := range []Slip{Entering, Releasing} {
				f := l.At(p, slip)
				if f.Failed || (!f.Locked && f.Normal <= 0) {
					t.Fatalf("%+v at %+v, slip %d: %+v", c, p, slip, f)
				}
			}
		}
	}
	if touching < 10*clips {
		t.Errorf("only %d places touch", touching)
	}
}
