package tracing

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// spot is a place of the zero line. Out and In are the outward normals of what
// leaves it and of what arrives; they differ at a corner.
type spot struct {
	p       r2.Vec
	in, out r2.Vec
	corner  bool
}

// piece is a line or arc from its spot to the next one's.
type piece struct {
	spot
	bulge float64
}

const (
	// cornerFit is how far from the zero line two tangents may meet, mm, to be
	// the sides of a corner: those of a chord of length c that turns by a on an
	// arc meet a·c/8 from it.
	cornerFit = 1e-4
	// cornerTurn is the least turn of a corner, rad.
	cornerTurn = 0.02
	// deepest is how often a stretch between two grid lines may be halved.
	deepest = 14
)

// normal is the outward unit normal at a place of the zero line.
func (t *tracer) normal(p r2.Vec) r2.Vec {
	const e = 1e-6
	g := r2.Vec{
		X: t.eval(r2.Vec{X: p.X + e, Y: p.Y}) - t.eval(r2.Vec{X: p.X - e, Y: p.Y}),
		Y: t.eval(r2.Vec{X: p.X, Y: p.Y + e}) - t.eval(r2.Vec{X: p.X, Y: p.Y - e}),
	}
	if n := r2.Norm(g); n > 0 {
		return r2.Scale(1/n, g)
	}
	return r2.Vec{}
}

// follow turns the crossings of a loop into pieces.
func (t *tracer) follow(l []r2.Vec) ([]piece, error) {
	spots := make([]spot, len(l))
	for i, p := range l {
		n := t.normal(p)
		spots[i] = spot{p: p, in: n, out: n}
	}
	var out []piece
	for i := range spots {
		var err error
		if out, err = t.stretch(out, spots[i], spots[(i+1)%len(spots)], 0); err != nil {
			return nil, err
		}
	}
	return out, t.bad
}

// stretch appends the pieces from a to b, without b.
func (t *tracer) stretch(out []piece, a, b spot, depth int) ([]piece, error) {
	chord := r2.Sub(b.p, a.p)
	c := r2.Norm(chord)
	if c < 1e-9 {
		return out, nil
	}
	// The tangent that keeps the inside on its left is the outward normal turned
	// left by a quarter.
	ta, tb := left(a.out), left(b.in)
	turn := math.Atan2(r2.Cross(ta, tb), r2.Dot(ta, tb))
	if math.Abs(turn) > cornerTurn {
		// The tangents meet at a + u·ta.
		if den := r2.Cross(ta, tb); math.Abs(den) > 1e-9 {
			u := r2.Cross(chord, tb) / den
			x := r2.Add(a.p, r2.Scale(u, ta))
			v := r2.Dot(r2.Sub(b.p, x), tb)
			if u > 0 && v > 0 && u+v < 20*c && t.on(x, cornerFit) && t.on(middle(a.p, x), cornerFit) && t.on(middle(x, b.p), cornerFit) {
				return append(out, piece{spot: a}, piece{spot: spot{p: x, in: a.out, out: b.in, corner: true}}), nil
			}
		}
	}
	// An arc that leaves a along its tangent turns by twice the angle between
	// tangent and chord, and must arrive along b's.
	lean := math.Atan2(r2.Cross(ta, chord), r2.Dot(ta, chord))
	bulge := math.Tan(lean / 2)
	if math.Abs(lean) < 1 && math.Abs(2*lean-turn)*c/8 < t.dev/8 {
		e, near := profile.Edge{A: a.p, B: b.p, Bulge: bulge}, true
		for _, u := range []float64{0.5, 0.25, 0.75} {
			p, _ := e.At(u)
			if near = t.on(p, t.dev/8); !near {
				break
			}
		}
		if near {
			return append(out, piece{spot: a, bulge: bulge}), nil
		}
	}
	if depth == deepest {
		if c < t.dev { // a tip or notch too small to matter
			return append(out, piece{spot: a}), nil
		}
		return nil, fmt.Errorf("no lines and arcs follow the field within %g mm at (%.5g, %.5g) mm", t.dev, a.p.X, a.p.Y)
	}
	m, ok := t.between(a.p, b.p)
	if !ok {
		return nil, fmt.Errorf("no zero line between (%.5g, %.5g) and (%.5g, %.5g) mm", a.p.X, a.p.Y, b.p.X, b.p.Y)
	}
	n := t.normal(m)
	s := spot{p: m, in: n, out: n}
	out, err := t.stretch(out, a, s, depth+1)
	if err != nil {
		return nil, err
	}
	return t.stretch(out, s, b, depth+1)
}

// between returns the place of the zero line on the bisector of a chord that is
// nearest to the chord.
func (t *tracer) between(a, b r2.Vec) (r2.Vec, bool) {
	mid := middle(a, b)
	d := r2.Sub(b, a)
	across := r2.Scale(1/r2.Norm(d), r2.Vec{X: d.Y, Y: -d.X}) // outwards
	f0 := t.eval(mid)
	if math.Abs(f0) < 1e-11 {
		return mid, true
	}
	// Outwards if the middle is inside.
	step := math.Abs(f0) / t.lip
	if f0 > 0 {
		step = -step
	}
	far := r2.Norm(d)
	p, fp := mid, f0
	for at := step; math.Abs(at) <= 2*far; at *= 1.6 {
		q := r2.Add(mid, r2.Scale(at, across))
		fq := t.eval(q)
		if (fq < 0) != (f0 < 0) {
			return t.cross(p, q, fp, fq), true
		}
		p, fp = q, fq
	}
	return r2.Vec{}, false
}

// on reports whether a place lies on the zero line to within tol mm.
func (t *tracer) on(p r2.Vec, tol float64) bool { return math.Abs(t.eval(p)) < tol*t.lip }

func middle(a, b r2.Vec) r2.Vec { return r2.Scale(0.5, r2.Add(a, b)) }

func left(v r2.Vec) r2.Vec { return r2.Vec{X: -v.Y, Y: v.X} }
