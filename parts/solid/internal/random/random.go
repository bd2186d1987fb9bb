// Package random makes random layered parts to test the mesher and the field on.
package random

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

func v2(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }

// shape returns a bar, disc, box or triangle.
func shape(rng *rand.Rand, size float64) (profile.Region, error) {
	p := func() r2.Vec { return v2(math.Round(rng.Float64()*300)/10-15, math.Round(rng.Float64()*200)/10-10) }
	a := p()
	switch rng.IntN(4) {
	case 0:
		b := p()
		if r2.Norm(r2.Sub(a, b)) < 1 {
			b.X += 5
		}
		return profile.Bar(a, b, size*(0.3+rng.Float64()), 1)
	case 1:
		return profile.Circle(a, size*(0.2+0.8*rng.Float64()), 2)
	case 2:
		return profile.Rect(a, r2.Add(a, v2(size*(0.3+2*rng.Float64()), size*(0.3+rng.Float64()))), 3)
	}
	return profile.Polygon([]r2.Vec{a, r2.Add(a, v2(2*size, size*rng.Float64())), r2.Add(a, v2(size*rng.Float64(), 2*size))}, 4)
}

// Part builds a layered part of random bars, discs, boxes and triangles
// with slots and holes, on up to four levels, and chamfers up to half of a
// typical wall or the whole height.
func Part(seed uint64) (*solid.Layered, error) {
	rng := rand.New(rand.NewPCG(seed, 7))
	b := solid.NewBuilder()
	levels := []float64{0, 2, 3.5, 5, 8}
	z := func() (float64, float64) {
		i := rng.IntN(3)
		return levels[i], levels[i+1+rng.IntN(4-i)]
	}
	for k := range 2 + rng.IntN(6) {
		r, err := shape(rng, 6)
		if err != nil {
			return nil, err
		}
		z0, z1 := z()
		if k == 0 {
			z0 = 0
		}
		if err := b.Add(r, z0, z1); err != nil {
			return nil, err
		}
	}
	for range rng.IntN(6) {
		r, err := shape(rng, 2.5)
		if err != nil {
			return nil, err
		}
		z0, z1 := z()
		if err := b.Cut(r, z0, z1); err != nil {
			return nil, err
		}
	}
	chamfers := []float64{0, 0.2, 0.4, 0.7, 1, 1.25, 3}
	return b.Build(chamfers[rng.IntN(len(chamfers))], chamfers[rng.IntN(len(chamfers))])
}
