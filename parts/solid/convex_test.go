package solid

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/profile"
)

// halfSpaces is a convex body: the points with n·p ≤ e for every plane.
type halfSpaces []struct {
	n r3.Vec
	e float64
}

func (h *halfSpaces) add(n r3.Vec, e float64) {
	l := r3.Norm(n)
	*h = append(*h, struct {
		n r3.Vec
		e float64
	}{r3.Scale(1/l, n), e / l})
}

// depth is the signed distance to the nearest plane: the body's own if negative.
func (h halfSpaces) depth(p r3.Vec) float64 {
	d := math.Inf(-1)
	for _, f := range h {
		d = max(d, r3.Dot(f.n, p)-f.e)
	}
	return d
}

// distance is the signed distance to the body. From outside the nearest point is
// the foot on a plane, on the line of two, or the point of three.
func (h halfSpaces) distance(p r3.Vec) float64 {
	d := h.depth(p)
	if d <= 0 {
		return d
	}
	best := math.Inf(1)
	try := func(q r3.Vec) {
		if l := r3.Norm(r3.Sub(q, p)); l < best && h.depth(q) < 1e-9 {
			best = l
		}
	}
	for i, f := range h {
		try(r3.Sub(p, r3.Scale(r3.Dot(f.n, p)-f.e, f.n)))
		for j, g := range h[:i] {
			dir := r3.Cross(f.n, g.n)
			l2 := r3.Norm2(dir)
			if l2 < 1e-12 {
				continue
			}
			o := r3.Scale(1/l2, r3.Add(r3.Scale(f.e, r3.Cross(g.n, dir)), r3.Scale(g.e, r3.Cross(dir, f.n))))
			try(r3.Add(o, r3.Scale(r3.Dot(dir, r3.Sub(p, o))/l2, dir)))
			for _, k := range h[:j] {
				if c := r3.Dot(k.n, dir); math.Abs(c) > 1e-9 {
					try(r3.Add(o, r3.Scale((k.e-r3.Dot(k.n, o))/c, dir)))
				}
			}
		}
	}
	return best
}

// A chamfered prism over a convex polygon is where half spaces overlap, also
// when chamfers swallow edges, faces or the wall. Random ones: the field is
// exact inside and outside.
func TestChamferedPrismsAgainstHalfSpaces(t *testing.T) {
	inside, outside := 0, 0
	for seed := range uint64(40) {
		rng := rand.New(rand.NewPCG(seed, 21))
		const height = 4
		cb, ct := 3*rng.Float64(), 3*rng.Float64()
		n := 3 + rng.IntN(4)
		pts := make([]r2.Vec, n)
		for i := range pts { // on a circle, hence convex
			s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(n))
			pts[i] = v2(6*c, 6*s)
		}
		var want halfSpaces
		want.add(r3.Vec{Z: 1}, height)
		want.add(r3.Vec{Z: -1}, 0)
		for i, a := range pts {
			d := r2.Unit(r2.Sub(pts[(i+1)%n], a))
			x, y := d.Y, -d.X // outward
			e := x*a.X + y*a.Y
			want.add(r3.Vec{X: x, Y: y}, e)
			want.add(r3.Vec{X: x, Y: y, Z: -1}, e-cb)
			want.add(r3.Vec{X: x, Y: y, Z: 1}, e+height-ct)
		}
		region := must[profile.Region](t)(profile.Polygon(pts, 1))
		l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: height, Region: region, ChamferBottom: cb, ChamferTop: ct}))
		for range 200 {
			p := r3.Vec{X: 18*rng.Float64() - 9, Y: 18*rng.Float64() - 9, Z: 8*rng.Float64() - 2}
			got, want := l.Evaluate(sdf.V3(p)), want.distance(p)
			if want <= 0 {
				inside++
			} else {
				outside++
			}
			if math.Abs(got-want) > 1e-6 {
				t.Errorf("seed %d: %g at %v, distance %g", seed, got, p, want)
			}
		}
	}
	if inside < 500 || outside < 500 {
		t.Errorf("%d places inside, %d outside", inside, outside)
	}
}
