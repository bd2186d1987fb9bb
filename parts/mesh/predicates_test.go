package mesh

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestPredicatesAgainstRationals(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 7))
	for range 20000 {
		// Points near one line with coordinates of very different size.
		s := math.Ldexp(1, rnd.IntN(60)-30)
		a := r2.Vec{X: rnd.Float64() * s, Y: rnd.Float64() * s}
		d := r2.Vec{X: rnd.Float64(), Y: rnd.Float64()}
		b, c := r2.Add(a, r2.Scale(rnd.Float64(), d)), r2.Add(a, r2.Scale(rnd.Float64()*2, d))
		x := new(big.Rat).Mul(ratDiff(a.X, c.X), ratDiff(b.Y, c.Y))
		want := x.Cmp(new(big.Rat).Mul(ratDiff(a.Y, c.Y), ratDiff(b.X, c.X)))
		if got := orient2(a, b, c); got != want {
			t.Fatalf("orient2(%v, %v, %v) = %d, want %d", a, b, c, got, want)
		}
	}
}
