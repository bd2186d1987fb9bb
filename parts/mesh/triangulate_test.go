package mesh

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

func signedArea(p []r2.Vec, l []int32) float64 {
	s := 0.0
	o := p[l[0]]
	for i := range l {
		a, b := r2.Sub(p[l[i]], o), r2.Sub(p[l[(i+1)%len(l)]], o)
		s += a.X*b.Y - a.Y*b.X
	}
	return s / 2
}

// inCircleExact is the sign of the circle determinant in rationals.
func inCircleExact(a, b, c, d r2.Vec) int {
	row := func(p r2.Vec) [3]*big.Rat {
		x, y := ratDiff(p.X, d.X), ratDiff(p.Y, d.Y)
		q := new(big.Rat).Mul(x, x)
		return [3]*big.Rat{x, y, q.Add(q, new(big.Rat).Mul(y, y))}
	}
	m := [3][3]*big.Rat{row(a), row(b), row(c)}
	det := new(big.Rat)
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		x := new(big.Rat).Mul(m[j][0], m[k][1])
		x.Sub(x, new(big.Rat).Mul(m[k][0], m[j][1]))
		det.Add(det, x.Mul(x, m[i][2]))
	}
	return det.Sign()
}

// fataler is what testing.T and rapid.T share.
type fataler interface {
	Helper()
	Fatalf(string, ...any)
}

// checkTriangulation fails unless tris cover the loops' region exactly, keep
// every loop edge, use every loop point and nothing else, and are constrained
// Delaunay up to the rounding of insideCircle.
func checkTriangulation(t fataler, p []r2.Vec, loops [][]int32, tris [][3]int32, outers int) {
	t.Helper()
	want, size, n := 0.0, 0.0, 0
	constraint := map[[2]int32]bool{}
	for _, l := range loops {
		a := signedArea(p, l)
		want += a
		size += math.Abs(a)
		n += len(l)
		for i := range l {
			constraint[[2]int32{l[i], l[(i+1)%len(l)]}] = true
		}
	}
	// Euler: n points, c outer loops, h holes give n + 2h − 2c triangles.
	if w := n + 2*(len(loops)-outers) - 2*outers; len(tris) != w {
		t.Fatalf("%d triangles, want %d", len(tris), w)
	}
	got := 0.0
	half := map[[2]int32]int32{}
	for _, tr := range tris {
		if orient2(p[tr[0]], p[tr[1]], p[tr[2]]) <= 0 {
			t.Fatalf("triangle %v is not counter-clockwise", tr)
		}
		got += signedArea(p, tr[:])
		for i := range 3 {
			e := [2]int32{tr[i], tr[(i+1)%3]}
			if _, twice := half[e]; twice {
				t.Fatalf("edge %v is run twice", e)
			}
			half[e] = tr[(i+2)%3]
		}
	}
	if math.Abs(got-want) > 1e-9*size {
		t.Fatalf("area %.15g, want %.15g", got, want)
	}
	for e, opp := range half {
		far, inner := half[[2]int32{e[1], e[0]}]
		if inner == constraint[e] {
			t.Fatalf("edge %v: constraint %v, has a far side %v", e, constraint[e], inner)
		}
		if !inner {
			continue
		}
		// The rounding bound depends on which corner is named first; only what
		// is certain in every order must have been flipped.
		certain := true
		for _, q := range [2][4]int32{{e[0], e[1], opp, far}, {e[1], e[0], far, opp}} {
			for i := range 3 {
				certain = certain && insideCircle(p[q[i]], p[q[(i+1)%3]], p[q[(i+2)%3]], p[q[3]])
			}
		}
		if certain {
			t.Fatalf("edge %v is not Delaunay: %d lies in the circle of %v, %d", e, far, e, opp)
		}
	}
	for e := range constraint {
		if _, ok := half[e]; !ok {
			t.Fatalf("loop edge %v is missing", e)
		}
	}
}

// star returns n points around o at radii drawn from [lo, hi].
func star(o r2.Vec, n int, lo, hi float64, rnd func() float64) []r2.Vec {
	out := make([]r2.Vec, n)
	for i := range out {
		s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.8*rnd()) / float64(n))
		r := lo + (hi-lo)*rnd()
		out[i] = r2.Vec{X: o.X + r*c, Y: o.Y + r*s}
	}
	return out
}

// region is a test region: every even depth of nesting is an outer loop.
type region struct {
	p      []r2.Vec
	loops  [][]int32
	outers int
}

func (g *region) add(pts []r2.Vec, hole bool) {
	l := make([]int32, len(pts))
	for i := range pts {
		l[i] = int32(len(g.p) + i)
	}
	g.p = append(g.p, pts...)
	if hole {
		slices.Reverse(l)
	} else {
		g.outers++
	}
	g.loops = append(g.loops, l)
}

func TestTriangulateRandomRegions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		depth := rapid.IntRange(1, 6).Draw(t, "depth")
		parts := rapid.IntRange(1, 4).Draw(t, "parts")
		snap := rapid.SampledFrom([]float64{0, 0.5, 1. / 3, 1. / 1024}).Draw(t, "snap")
		rnd := rand.New(rand.NewPCG(seed, 1)).Float64
		var g region
		for k := range parts {
			o := r2.Vec{X: 100 * float64(k), Y: 31 * rnd()}
			for d := range depth {
				// Rings [lo, hi] do not overlap; a chord between neighbours
				// stays outside lo·cos(half its angle).
				hi := 40 * math.Pow(0.4, float64(d))
				lo := hi * 0.75
				n := 24 + int(rnd()*60)
				pts := star(o, n, lo, hi, rnd)
				if s := snap * math.Pow(0.4, float64(d)) / 4; s > 0 {
					for i := range pts {
						pts[i] = r2.Vec{X: math.Round(pts[i].X/s) * s, Y: math.Round(pts[i].Y/s) * s}
					}
				}
				g.add(pts, d%2 == 1)
			}
		}
		tris, err := Triangulate(g.p, g.loops)
		if err != nil {
			if snap > 0 { // rounding may make points coincide or lie on edges
				return
			}
			t.Fatal(err)
		}
		checkTriangulation(t, g.p, g.loops, tris, g.outers)
	})
}

func TestTriangulateDegeneratePositions(t *testing.T) {
	// Many points on common lines and circles, and a comb of long teeth whose
	// edges cross many Delaunay edges.
	var comb, grid region
	var pts []r2.Vec
	for i := range 40 {
		x := float64(i)
		pts = append(pts, r2.Vec{X: x, Y: 0}, r2.Vec{X: x + 0.25, Y: 100}, r2.Vec{X: x + 0.5, Y: 0.001})
	}
	pts = append(pts, r2.Vec{X: 41, Y: 0}, r2.Vec{X: 41, Y: -1}, r2.Vec{X: 0, Y: -1})
	slices.Reverse(pts) // the teeth point up, so this order is clockwise
	comb.add(pts, false)
	n := 12
	pts = nil
	for i := range 4 * n {
		a, b := float64(i%n), float64(n)
		pts = append(pts, []r2.Vec{{X: a, Y: 0}, {X: b, Y: a}, {X: b - a, Y: b}, {X: 0, Y: b - a}}[i/n])
	}
	grid.add(pts, false)
	for i := range 5 {
		for j := range 5 {
			x, y := float64(2*i)+1, float64(2*j)+1
			grid.add([]r2.Vec{{X: x, Y: y}, {X: x + 1, Y: y}, {X: x + 1, Y: y + 1}, {X: x, Y: y + 1}}, true)
		}
	}
	var ring region
	pts = nil
	for i := range 1 << 10 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / (1 << 10))
		pts = append(pts, r2.Vec{X: 1e4 + c, Y: s})
	}
	ring.add(pts, false)
	for name, g := range map[string]region{"comb": comb, "grid": grid, "ring": ring} {
		tris, err := Triangulate(g.p, g.loops)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		checkTriangulation(t, g.p, g.loops, tris, g.outers)
	}
}

func TestTriangulateErrorsNameThePlace(t *testing.T) {
	sq := []r2.Vec{{}, {X: 4}, {X: 4, Y: 4}, {Y: 4}, {X: 1, Y: 1}, {X: 3, Y: 1}, {X: 3, Y: 3}, {X: 1, Y: 3}, {X: 2}, {X: 9, Y: 2}}
	cases := []struct {
		loops [][]int32
		want  string
	}{
		{[][]int32{{0, 1}}, "loop 0 has 2 points"},
		{[][]int32{{0, 1, 12}}, "names point 12 of 10"},
		{[][]int32{{0, 1, 2, 3}, {4, 5, 6, 7}}, "loop 1, from point 4, runs the wrong way"},
		{[][]int32{{3, 2, 1, 0}}, "loop 0, from point 3, runs the wrong way"},
		{[][]int32{{0, 2, 1, 3}}, "cross"},
		{[][]int32{{0, 1, 2, 3}, {7, 6, 9, 4}}, "cross"},
		{[][]int32{{0, 1, 2, 3}, {4, 6, 8}}, "point 8 at (2, 0) lies on the edge 0–1"},
		{[][]int32{{0, 8, 1}}, "triangulate: the loops span 12 × 8 mm"},
		{[][]int32{{0, 1, 2, 3}, {0, 7, 6}}, "points 0 and 0 coincide"},
	}
	for _, c := range cases {
		_, err := Triangulate(sq, c.loops)
		if c.want[0] == 't' { // a loop without area
			if err == nil {
				t.Errorf("%v: accepted", c.loops)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.loops, err, c.want)
		}
	}
	if _, err := Triangulate([]r2.Vec{{}, {X: 1}, {Y: math.NaN()}}, [][]int32{{0, 1, 2}}); err == nil {
		t.Error("NaN accepted")
	}
	if tris, err := Triangulate(nil, nil); tris != nil || err != nil {
		t.Error("the empty region is not an error")
	}
}

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
		e := r2.Vec{X: c.X + rnd.NormFloat64()*1e-9, Y: c.Y}
		if insideCircle(a, b, c, e) && orient2(a, b, c) > 0 && inCircleExact(a, b, c, e) <= 0 {
			t.Fatalf("insideCircle(%v, %v, %v, %v) is wrong", a, b, c, e)
		}
	}
}

// partOutline is an outline such as a printed link has: 1,000 points in all on
// a rounded plate with a slot and two holes.
func partOutline() region {
	var g region
	arc := func(cx, cy, r, from, sweep float64, n int) (out []r2.Vec) {
		for i := range n {
			s, c := math.Sincos(from + sweep*float64(i)/float64(n))
			out = append(out, r2.Vec{X: cx + r*c, Y: cy + r*s})
		}
		return out
	}
	g.add(append(arc(72, 8, 8, -math.Pi/2, math.Pi, 200), arc(8, 8, 8, math.Pi/2, math.Pi, 200)...), false)
	g.add(arc(8, 8, 1.6, 0, 2*math.Pi, 150), true)
	g.add(arc(72, 8, 1.6, 0, 2*math.Pi, 150), true)
	g.add(append(arc(50, 8, 1.5, -math.Pi/2, math.Pi, 150), arc(28, 8, 1.5, math.Pi/2, math.Pi, 150)...), true)
	return g
}

func TestTriangulatePartIsTheSameEverywhere(t *testing.T) {
	g := partOutline()
	first, err := Triangulate(g.p, g.loops)
	if err != nil {
		t.Fatal(err)
	}
	checkTriangulation(t, g.p, g.loops, first, 1)
	old := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(old)
	again, _ := Triangulate(g.p, g.loops)
	if fmt.Sprint(first) != fmt.Sprint(again) {
		t.Error("two runs differ")
	}
}

func BenchmarkTriangulate1000(b *testing.B) {
	g := partOutline()
	if len(g.p) != 1000 {
		b.Fatal(len(g.p))
	}
	for b.Loop() {
		if _, err := Triangulate(g.p, g.loops); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTriangulate100000(b *testing.B) {
	rnd := rand.New(rand.NewPCG(3, 3)).Float64
	var g region
	for i := range 100 {
		g.add(star(r2.Vec{X: 100 * float64(i%10), Y: 100 * float64(i/10)}, 1000, 20, 45, rnd), false)
	}
	for b.Loop() {
		if _, err := Triangulate(g.p, g.loops); err != nil {
			b.Fatal(err)
		}
	}
}
