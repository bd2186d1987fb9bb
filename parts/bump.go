package parts

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts/profile"
)

// Bump is a protrusion with two straight faces and a rounded peak, drawn in its
// own frame: the wall is y = 0, material rises to +y, the first face leaves the
// wall at the origin and x grows towards the last face. A ramp in a slot and
// the hook of a clip are both bumps. Lengths mm, angles radians.
type Bump struct {
	Height, First, Last, Radius float64
}

// Peak returns the x of the centre of the rounded peak, whose y is
// Height − Radius.
func (b Bump) Peak() float64 {
	return params.Flank(b.Height, b.Radius, b.First)
}

// End returns the x where the last face meets the wall.
func (b Bump) End() float64 {
	return b.Peak() + params.Flank(b.Height, b.Radius, b.Last)
}

// Check reports a peak that is too round for its faces: the rounding must end
// above the wall on both sides.
func (b Bump) Check() error {
	if most := params.RoundestPeak(b.Height, b.First, b.Last); b.Radius >= most {
		return fmt.Errorf("a peak radius of %.3g mm leaves nothing of the %.3g° face of a %.3g mm rise; at most %.3g mm",
			b.Radius, math.Max(b.First, b.Last)*180/math.Pi, b.Height, most)
	}
	return nil
}

// outline returns the vertices from the foot of the first face over the peak to
// the foot of the last face, in travel of growing x (material on the right).
func (b Bump) outline() profile.Loop {
	foot, end := r2.Vec{}, r2.Vec{X: b.End()}
	c := r2.Vec{X: b.Peak(), Y: b.Height - b.Radius}
	if b.Radius == 0 {
		return profile.Loop{{P: foot}, {P: c}, {P: end}}
	}
	t1 := r2.Add(c, r2.Scale(b.Radius, r2.Vec{X: -math.Sin(b.First), Y: math.Cos(b.First)}))
	t2 := r2.Add(c, r2.Scale(b.Radius, r2.Vec{X: math.Sin(b.Last), Y: math.Cos(b.Last)}))
	// Over the peak the outline turns right, by the sum of both face angles.
	return profile.Loop{{P: foot}, {P: t1, Bulge: -math.Tan((b.First + b.Last) / 4)}, {P: t2}, {P: end}}
}

// Contact returns the path of the centre of a pin of radius r that rolls over the
// bump, from the profile that is drawn: lines and arcs in order of rising x, with
// x from the peak and heights from the centre's path along the flat wall, which
// is there for flat mm before and after the bump. Ground corners and faces that
// the pin does not reach are not in it.
func (b Bump) Contact(r, flat float64) ([]profile.Edge, error) {
	o := b.outline()
	wall := profile.Chain{{A: r2.Vec{X: -flat}, B: o[0].P}}
	for i := range o[:len(o)-1] {
		wall = append(wall, profile.Edge{A: o[i].P, B: o[i+1].P, Bulge: o[i].Bulge})
	}
	wall = append(wall, profile.Edge{A: o[len(o)-1].P, B: r2.Vec{X: b.End() + flat}})
	// Travelled backwards it has the material on its left, as a boundary has.
	centre, err := wall.Reverse().Offset(r)
	if err != nil {
		return nil, err
	}
	out := centre.Reverse()
	down := r2.Vec{X: b.Peak(), Y: r}
	for i := range out {
		out[i].A, out[i].B = r2.Sub(out[i].A, down), r2.Sub(out[i].B, down)
	}
	return out, nil
}

// Face is what a pin can touch of one face of a bump. Its rounded centre path eats
// the face from the peak on: a face printed steep over a small rise may act over
// a few hundredths of a millimetre only.
type Face struct {
	Printed float64 // height (mm) over which the face is printed
	Rise    float64 // height over which the pin's centre runs along it; 0 if none is left
	Run     float64 // the same along the wall
	Angle   float64 // steepest angle of the centre's path on this side (rad)
}

// Faces returns what a pin of radius r can touch of both faces.
func (b Bump) Faces(r float64) (first, last Face, err error) {
	path, err := b.Contact(r, 3*r)
	if err != nil {
		return first, last, err
	}
	printed := func(angle float64) float64 { return b.Height - b.Radius*(1-math.Cos(angle)) }
	first.Printed, last.Printed = printed(b.First), printed(b.Last)
	side := func(x float64) *Face { // x is counted from the peak
		if x < 0 {
			return &first
		}
		return &last
	}
	for _, e := range path {
		for t, end := range []r2.Vec{e.A, e.B} {
			_, d := e.At(float64(t))
			f := side(end.X)
			f.Angle = math.Max(f.Angle, math.Atan2(math.Abs(d.Y), math.Abs(d.X)))
		}
		const flat = 1e-9 // mm; the wall beside the bump
		if e.IsLine() && math.Abs(e.A.Y-e.B.Y) > flat {
			f := side(e.A.X + e.B.X)
			f.Rise, f.Run = math.Abs(e.B.Y-e.A.Y), math.Abs(e.B.X-e.A.X)
		}
	}
	return first, last, nil
}
