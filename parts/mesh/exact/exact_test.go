package exact

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestPredicatesAgainstRationals(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 7))
	for range 20000 {
		// Points near one line with coordinates of very different size.
		s := math.Ldexp(1, rnd.IntN(60)-30)
		a := r2.Vec{X: rnd.Float64() * s, Y: rnd.Float64() * s}
		d := r2.Vec{X: rnd.Float64(), Y: rnd.Float64()}
		b, c := r2.Add(a, r2.Scale(rnd.Float64(), d)), r2.Add(a, r2.Scale(rnd.Float64()*2, d))
		want := orient2Rat(a, b, c)
		if got := Side2(a, b, c); got != want {
			t.Fatalf("Side2(%v, %v, %v) = %d, want %d", a, b, c, got, want)
		}
	}
}

func TestSide3AgainstRationals(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 9))
	zero := 0
	for range 20000 {
		v := func() r3.Vec { return r3.Vec{X: rnd.Float64() * 9, Y: rnd.Float64(), Z: rnd.Float64()} }
		a, u, w := v(), v(), v()
		in := func() r3.Vec {
			return r3.Add(a, r3.Add(r3.Scale(math.Round(rnd.Float64()*8), u), r3.Scale(rnd.Float64(), w)))
		}
		b, c, d := in(), in(), in()
		want := side3Rat(a, b, c, d)
		if got := Side3(a, b, c, d); got != want {
			t.Fatalf("Side3 = %d, want %d", got, want)
		}
		if want == 0 {
			zero++
		}
	}
	t.Logf("%d exact zeros", zero)
}

// Points on the corners of a square lie on one circle: neither diagonal may be
// preferred; a point well inside is found whichever corner comes first.
func TestInCircle(t *testing.T) {
	a, b, c, d := r2.Vec{}, r2.Vec{X: 0.1}, r2.Vec{X: 0.1, Y: 0.1}, r2.Vec{Y: 0.1}
	if InCircle(a, b, c, d) || InCircle(b, c, d, a) {
		t.Error("the fourth corner of a square counts as inside")
	}
	for _, p := range [][3]r2.Vec{{a, b, c}, {b, c, a}, {c, a, b}} {
		if !InCircle(p[0], p[1], p[2], r2.Vec{X: 0.05, Y: 0.09}) {
			t.Error("a point inside is not found")
		}
		if InCircle(p[0], p[1], p[2], r2.Vec{X: 0.05, Y: 0.13}) {
			t.Error("a point outside counts as inside")
		}
	}
}

// Turning the corners about and mirroring changes signs as it must, also where
// double precision alone would not know.
func TestSignsAreConsistent(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 1))
	for range 5000 {
		k := float64(rnd.IntN(50)) * 0x1p-52
		a, b, c := r2.Vec{X: 0.5 + k, Y: 0.5}, r2.Vec{X: 12, Y: 12}, r2.Vec{X: 24, Y: 24 + float64(rnd.IntN(3)-1)*0x1p-48}
		s := Side2(a, b, c)
		if Side2(b, c, a) != s || Side2(c, a, b) != s || Side2(b, a, c) != -s {
			t.Fatalf("signs of %v, %v, %v disagree", a, b, c)
		}
		if s != orient2Rat(a, b, c) {
			t.Fatalf("Side2(%v, %v, %v) = %d", a, b, c, s)
		}
	}
}
