package profile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"
)

func TestDbg(t *testing.T) {
	seed, _ := strconv.Atoi(os.Getenv("SEED"))
	rng := rand.New(rand.NewPCG(uint64(seed), 99))
	ang := 6 * rng.Float64()
	eps := math.Pow(10, -9+2.5*rng.Float64())
	fmt.Println("eps", eps)
	mk := func(tag int32) (Region, error) {
		var out Region
		n := 1 + rng.IntN(5)
		for k := range n {
			s := randomShape(rng, tag)
			s = s.Transform(Rigid(ang, vec(eps*rng.NormFloat64(), eps*rng.NormFloat64())))
			var err error
			if k == 0 {
				out = s
			} else if rng.IntN(3) == 0 {
				out, err = Subtract(out, s)
			} else {
				out, err = Union(out, s)
			}
			if err != nil {
				return nil, err
			}
		}
		return out, nil
	}
	a, _ := mk(1)
	b, _ := mk(2)
	if rng.IntN(4) == 0 {
		fmt.Println("near same")
		b = a.Transform(Rigid(eps*0.1*rng.NormFloat64(), vec(eps*rng.NormFloat64(), eps*rng.NormFloat64())))
	}
	if os.Getenv("OFF") != "" {
		u, _ := Union(a, b)
		dd := 0.5 * float64(1+rng.IntN(3))
		if rng.IntN(2) == 0 {
			dd = -dd
		}
		pr := func(n string, r Region) {
			fmt.Println(n, r.Area())
			for i, l := range r {
				fmt.Println("  loop", i, l.Area())
				for j, v := range l {
					fmt.Printf("    %d %.12g %.12g  %.12g len %.4g\n", j, v.P.X, v.P.Y, v.Bulge, l.Edge(j).Length())
				}
			}
		}
		pr("u", u)
		o, err := Offset(u, dd)
		fmt.Println(err)
		pr("o", o)
		f := NewField(u)
		o.Edges(func(i, j int, e Edge) {
			for _, t := range []float64{0.01, 0.3, 0.5, 0.7, 0.99} {
				p, _ := e.At(t)
				n := f.Nearest(p)
				if math.Abs(n.Distance-dd) > 1e-7 {
					fmt.Println("off", i, j, t, p, n)
				}
			}
		})
		return
	}
	for _, f := range []float64{1, 3, 10} {
		ar := newArrangement(Tol * f)
		ar.addRegion(a, 0)
		ar.addRegion(b, 0)
		fmt.Println("split", ar.split(), len(ar.pieces))
		bs, _ := ar.bundles()
		bs = slices.DeleteFunc(bs, func(b bundle) bool { return b.n == [2]int32{} })
		hs := ar.classify(bs, func(w, _ int) bool { return w > 0 })
		_, err := ar.trace(hs)
		fmt.Println(err)
		deg := map[int32]int{}
		for _, h := range hs {
			deg[h.from]++
			deg[h.to]--
		}
		for v := range ar.pos {
			if deg[int32(v)] != 0 {
				fmt.Printf("vertex %d %.12g\n", v, ar.pos[v])
				for i, b := range bs {
					if b.a == int32(v) || b.b == int32(v) {
						o := b.a + b.b - int32(v)
						fmt.Printf("   bundle %d %d-%d src %d n %d len %.6g k %.6g other end %.12g\n", i, b.a, b.b, b.src, b.n[0], b.geo.length(), b.geo.k, ar.pos[o])
					}
				}
			}
		}
		// violations
		for i := range bs {
			for j := range bs[:i] {
				p, q := &bs[i], &bs[j]
				pts, n := meet(&p.geo, &q.geo, 0)
				for _, x := range pts[:n] {
					if p.geo.dist(x) < 1e-12 && q.geo.dist(x) < 1e-12 && dist(x, p.geo.a) > 1e-10 && dist(x, p.geo.b) > 1e-10 && dist(x, q.geo.a) > 1e-10 && dist(x, q.geo.b) > 1e-10 {
						fmt.Printf(" crossing of bundles %d (%d-%d) and %d (%d-%d) at %.12g, from ends %.3g %.3g %.3g %.3g\n", i, p.a, p.b, j, q.a, q.b, x, dist(x, p.geo.a), dist(x, p.geo.b), dist(x, q.geo.a), dist(x, q.geo.b))
					}
				}
			}
		}
	}
}
