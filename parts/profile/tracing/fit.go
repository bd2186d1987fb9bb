package tracing

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// fit joins pieces between corners into the fewest lines and arcs that pass
// within a quarter of the deviation of all places between them.
func (t *tracer) fit(ps []piece) profile.Loop {
	n := len(ps)
	start := 0
	for i := range ps {
		if ps[i].corner {
			start = i
			break
		}
	}
	at := func(i int) *piece { return &ps[(start+i)%n] }
	var out profile.Loop
	for i := 0; i < n; {
		last, bulge := i+1, at(i).bulge
		for step := 1; i+step <= n; step *= 2 { // gallop, then halve
			if b, ok := t.span(at, i, i+step); ok {
				last, bulge = i+step, b
				continue
			}
			lo, hi := last, i+step
			for hi-lo > 1 {
				m := (lo + hi) / 2
				if b, ok := t.span(at, i, m); ok {
					lo, last, bulge = m, m, b
				} else {
					hi = m
				}
			}
			break
		}
		if last < n { // the rest of the loop, where doubling overshoots it
			if b, ok := t.span(at, i, n); ok {
				last, bulge = n, b
			}
		}
		out = append(out, profile.Vertex{P: at(i).p, Bulge: bulge})
		i = last
	}
	return out
}

// span returns the bulge of the line or arc from place i to place j, if the
// pieces between follow it and none of them is a corner.
func (t *tracer) span(at func(int) *piece, i, j int) (float64, bool) {
	if j-i == 1 {
		return at(i).bulge, true
	}
	for k := i + 1; k < j; k++ {
		if at(k).corner {
			return 0, false
		}
	}
	a, b := at(i).p, at(j).p
	chord := r2.Sub(b, a)
	c := r2.Norm(chord)
	if c < 1e-6 {
		return 0, false
	}
	m := r2.Sub(at((i+j)/2).p, a)
	// The inscribed angle at the middle place gives the arc through all three.
	n := r2.Sub(b, at((i+j)/2).p)
	half := math.Atan2(r2.Cross(m, n), r2.Dot(m, n)) // half the sweep
	if math.Abs(half) > math.Pi/2*1.0001 {
		return 0, false // more than half a turn
	}
	bulge := math.Tan(half / 2)
	tol := t.dev / 4
	// A chord whose arc rises less than this is a line to all purposes.
	if math.Abs(bulge)*c/2 < 1e-7 {
		bulge = 0
	}
	if bulge == 0 {
		for k := i + 1; k < j; k++ {
			if math.Abs(r2.Cross(chord, r2.Sub(at(k).p, a)))/c > 1e-6 {
				return 0, false
			}
		}
		return 0, true
	}
	centre, radius, _, _ := profile.Edge{A: a, B: b, Bulge: bulge}.Arc()
	for k := i; k < j; k++ {
		mid, _ := profile.Edge{A: at(k).p, B: at(k + 1).p, Bulge: at(k).bulge}.At(0.5)
		for _, p := range []r2.Vec{at(k).p, mid} {
			if math.Abs(r2.Norm(r2.Sub(p, centre))-radius) > tol {
				return 0, false
			}
		}
	}
	// The ends' directions too, or an arc would swallow the foot of a line.
	sweep := 4 * math.Atan(bulge)
	for _, end := range []struct {
		p, n r2.Vec
	}{{a, at(i).out}, {b, at(j).in}} {
		out := r2.Scale(1/radius, r2.Sub(end.p, centre))
		if sweep < 0 {
			out = r2.Scale(-1, out)
		}
		if math.Abs(r2.Cross(out, end.n))*c/8 > tol {
			return 0, false
		}
	}
	return bulge, true
}

// verify samples the result against the field.
func (t *tracer) verify(loops []profile.Loop) error {
	for _, l := range loops {
		for i := range l {
			e := l.Edge(i)
			for _, u := range []float64{0.17, 0.5, 0.83} {
				p, _ := e.At(u)
				if v := t.eval(p); math.Abs(v) > t.dev*t.lip {
					return fmt.Errorf("the outline is %.3g mm from the field at (%.5g, %.5g) mm, more than %g mm; use smaller cells", math.Abs(v), p.X, p.Y, t.dev)
				}
			}
		}
	}
	return t.bad
}
