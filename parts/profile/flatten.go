package profile

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// steps returns the number of equal parts of an arc whose chords deviate by at
// most dev: the sagitta of a part is r(1 − cos(θ/2n)).
func (e Edge) steps(dev float64) int {
	if e.Bulge == 0 {
		return 1
	}
	sweep := math.Abs(4 * math.Atan(e.Bulge))
	r := dist(e.A, e.B) / (2 * math.Sin(sweep/2))
	// sin²(θ/4n) = dev/2r
	q := math.Sqrt(dev / (2 * math.Abs(r)))
	if q >= 1 {
		q = 1
	}
	n := int(math.Ceil(sweep/(4*math.Asin(q)) - 1e-9))
	// Never a chord over more than a quarter turn, so that small holes keep area.
	return max(n, int(math.Ceil(2*sweep/math.Pi-1e-9)), 1)
}

// Flatten returns the points from A up to, not including, B, on the edge exactly,
// with chords that deviate by at most dev (mm) from it and turn by at most a
// quarter. The points depend on the ends and the size of the bulge only, to the last bit:
// an edge travelled the other way gives the same points.
func (e Edge) Flatten(dev float64) []r2.Vec {
	return e.appendFlat(nil, dev)
}

func (e Edge) appendFlat(out []r2.Vec, dev float64) []r2.Vec {
	out = append(out, e.A)
	n := e.steps(dev)
	if n == 1 {
		return out
	}
	back := e.B.X < e.A.X || e.B.X == e.A.X && e.B.Y < e.A.Y
	f := e
	if back {
		f = e.Reverse()
	}
	first := len(out)
	s := newSeg(f.A, f.B, f.Bulge)
	for i := 1; i < n; i++ {
		out = append(out, s.at(float64(i)/float64(n)))
	}
	if back {
		for i, j := first, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// Flatten returns the points of a closed polygon that deviates from the loop by at most
// dev (mm) and has a point at each vertex; see Edge.Flatten. of is the edge that each
// point starts a chord of.
func (l Loop) Flatten(dev float64) (points []r2.Vec, of []int, err error) {
	if !(dev > 0) || math.IsInf(dev, 0) {
		return nil, nil, fmt.Errorf("flattening within %g mm, must be positive", dev)
	}
	for i := range l {
		points = l.Edge(i).appendFlat(points, dev)
		for len(of) < len(points) {
			of = append(of, i)
		}
	}
	return points, of, nil
}
