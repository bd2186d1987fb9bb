package profile

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// positive is an error unless v is a finite length above Tol.
func positive(what string, v float64) error {
	if !(v > Tol) || math.IsInf(v, 0) {
		return fmt.Errorf("%s is %g mm, must be positive", what, v)
	}
	return nil
}

// Circle returns a disc with centre c and radius r in mm.
func Circle(c r2.Vec, r float64, tag int32) (Region, error) {
	if err := positive("circle radius", r); err != nil {
		return nil, err
	}
	return Region{circle(c, r, tag)}, nil
}

func circle(c r2.Vec, r float64, tag int32) Loop {
	return Loop{
		{P: r2.Vec{X: c.X - r, Y: c.Y}, Bulge: 1, Tag: tag},
		{P: r2.Vec{X: c.X + r, Y: c.Y}, Bulge: 1, Tag: tag},
	}
}

// Annulus returns the ring between two radii around c. Both walls have the tag.
func Annulus(c r2.Vec, inner, outer float64, tag int32) (Region, error) {
	if err := positive("annulus inner radius", inner); err != nil {
		return nil, err
	}
	if err := positive("annulus width", outer-inner); err != nil {
		return nil, err
	}
	return Region{circle(c, outer, tag), circle(c, inner, tag).Reverse()}, nil
}

// Rect returns the rectangle between two opposite corners.
func Rect(min, max r2.Vec, tag int32) (Region, error) {
	if err := positive("rectangle width", max.X-min.X); err != nil {
		return nil, err
	}
	if err := positive("rectangle height", max.Y-min.Y); err != nil {
		return nil, err
	}
	return Region{{
		{P: min, Tag: tag}, {P: r2.Vec{X: max.X, Y: min.Y}, Tag: tag},
		{P: max, Tag: tag}, {P: r2.Vec{X: min.X, Y: max.Y}, Tag: tag},
	}}, nil
}

// Bar returns the stadium of the given width around the line from a to b: all
// points within width/2 of it.
func Bar(a, b r2.Vec, width float64, tag int32) (Region, error) {
	if err := positive("bar width", width); err != nil {
		return nil, err
	}
	l := dist(a, b)
	if err := positive("bar length", l); err != nil {
		return nil, err
	}
	n := r2.Scale(width/2/l, right(r2.Sub(b, a)))
	return Region{Loop{
		{P: r2.Add(a, n), Tag: tag}, {P: r2.Add(b, n), Bulge: 1, Tag: tag},
		{P: r2.Sub(b, n), Tag: tag}, {P: r2.Sub(a, n), Bulge: 1, Tag: tag},
	}.rotateToStart()}, nil
}

// TaperedBar returns the convex hull of two discs: a bar whose sides are the
// common tangents.
func TaperedBar(a r2.Vec, ra float64, b r2.Vec, rb float64, tag int32) (Region, error) {
	if err := errors.Join(positive("first radius", ra), positive("second radius", rb)); err != nil {
		return nil, err
	}
	l := dist(a, b)
	if l <= math.Abs(ra-rb)+Tol {
		return nil, fmt.Errorf("a disc of radius %g mm lies in one of %g mm, %g mm away: no common tangents",
			math.Min(ra, rb), math.Max(ra, rb), l)
	}
	u := r2.Scale(1/l, r2.Sub(b, a))
	g := math.Asin((ra - rb) / l) // slope of the tangents to the axis
	// Normals of the two sides; the caps span what is between.
	n1, n2 := rot(u, g-math.Pi/2), rot(u, math.Pi/2-g)
	capB := math.Tan((math.Pi - 2*g) / 4)
	capA := math.Tan((math.Pi + 2*g) / 4)
	return Region{Loop{
		{P: r2.Add(a, r2.Scale(ra, n1)), Tag: tag}, {P: r2.Add(b, r2.Scale(rb, n1)), Bulge: capB, Tag: tag},
		{P: r2.Add(b, r2.Scale(rb, n2)), Tag: tag}, {P: r2.Add(a, r2.Scale(ra, n2)), Bulge: capA, Tag: tag},
	}.halveLarge().rotateToStart()}, nil
}

// ErrSelfCrossing says that an outline given by points crosses or touches itself.
var ErrSelfCrossing = errors.New("the outline crosses or touches itself")

// Polygon returns the region inside closed straight edges, in either direction
// of travel. Edge i, from point i to the next, has the tag.
func Polygon(points []r2.Vec, tag int32) (Region, error) {
	l := make(Loop, len(points))
	for i, p := range points {
		l[i] = Vertex{P: p, Tag: tag}
	}
	return FromLoop(l)
}

// FromLoop returns the region inside one loop of lines and arcs, in either
// direction of travel. It is an error if the loop crosses or touches itself or
// encloses nothing.
func FromLoop(l Loop) (Region, error) {
	if len(l) < 2 {
		return nil, fmt.Errorf("an outline of %d points encloses nothing", len(l))
	}
	for i, v := range l {
		if !finite(v.P) || math.IsNaN(v.Bulge) || math.IsInf(v.Bulge, 0) {
			return nil, fmt.Errorf("vertex %d: %w", i, errBadNumber)
		}
		if dist(v.P, l[(i+1)%len(l)].P) <= Tol {
			return nil, fmt.Errorf("edge %d at (%g, %g) mm has no length", i, v.P.X, v.P.Y)
		}
	}
	a := l.Area()
	if math.Abs(a) <= Tol*l.Perimeter() {
		return nil, errors.New("the outline encloses nothing")
	}
	if a < 0 {
		l = l.Reverse()
	}
	if p, ok := selfMeeting(l, Tol); ok {
		return nil, fmt.Errorf("%w at (%.6g, %.6g) mm", ErrSelfCrossing, p.X, p.Y)
	}
	return Clean(l)
}

// selfMeeting returns a place where a loop meets itself other than at the joints
// of neighbours, within the tolerance.
func selfMeeting(l Loop, tol float64) (r2.Vec, bool) {
	ar := newArrangement(tol)
	if ar.addLoop(l, 0) != nil {
		return r2.Vec{}, false
	}
	if ar.mergeVertices(); !ar.merged {
		ar.rebuild(nil)
		if cuts := ar.findCuts(nil); len(cuts) > 0 {
			return ar.pos[cuts[0].at], true
		}
	}
	for v := range ar.pos {
		if ar.link[v] != int32(v) {
			return ar.pos[v], true
		}
	}
	return r2.Vec{}, false
}

// Corner is a corner of a filleted polygon.
type Corner struct {
	P      r2.Vec
	Radius float64 // of the fillet, mm; 0 keeps the corner sharp
	Tag    int32   // of the edge that leaves the corner
	// FilletTag is the tag of the fillet; 0 takes that of the edge that leaves.
	FilletTag int32
}

// Filleted returns the region inside a closed polygon with rounded corners, in
// either direction of travel. It is an error if a fillet is longer than its
// edges allow.
func Filleted(corners []Corner) (Region, error) {
	if len(corners) < 3 {
		return nil, fmt.Errorf("an outline of %d corners encloses nothing", len(corners))
	}
	path, err := fillet(corners, true)
	if err != nil {
		return nil, err
	}
	return FromLoop(path)
}

// FilletedPath returns an open path of lines with rounded corners, as vertices of which
// the last has no edge. The radii of the first and last corner must be 0.
func FilletedPath(corners []Corner) ([]Vertex, error) {
	n := len(corners)
	if n < 2 {
		return nil, fmt.Errorf("a path of %d points has no length", n)
	}
	if corners[0].Radius != 0 || corners[n-1].Radius != 0 {
		return nil, errors.New("a path has no corner at its ends to be rounded")
	}
	return fillet(corners, false)
}

func fillet(cs []Corner, closed bool) ([]Vertex, error) {
	n := len(cs)
	used := make([]float64, n) // length that fillets take from the edge that leaves
	cut := make([]float64, n)
	turn := make([]float64, n)
	unit := make([]r2.Vec, n)
	for i, c := range cs {
		if !finite(c.P) || math.IsNaN(c.Radius) {
			return nil, fmt.Errorf("corner %d: %w", i, errBadNumber)
		}
		if c.Radius < 0 {
			return nil, fmt.Errorf("corner %d: fillet radius %g mm is negative", i, c.Radius)
		}
		if i == n-1 && !closed {
			continue
		}
		d := r2.Sub(cs[(i+1)%n].P, c.P)
		l := math.Sqrt(r2.Norm2(d))
		if l <= Tol {
			return nil, fmt.Errorf("edge %d at (%g, %g) mm has no length", i, c.P.X, c.P.Y)
		}
		unit[i] = r2.Scale(1/l, d)
	}
	for i, c := range cs {
		if c.Radius == 0 {
			continue
		}
		a, b := unit[(i+n-1)%n], unit[i]
		turn[i] = math.Atan2(r2.Cross(a, b), r2.Dot(a, b))
		if math.Abs(turn[i]) > math.Pi-1e-9 {
			return nil, fmt.Errorf("corner %d at (%g, %g) mm doubles back and has no fillet", i, c.P.X, c.P.Y)
		}
		cut[i] = c.Radius * math.Abs(math.Tan(turn[i]/2))
		used[i] += cut[i]
		used[(i+n-1)%n] += cut[i]
	}
	for i := range cs {
		if i == n-1 && !closed {
			continue
		}
		if l := dist(cs[i].P, cs[(i+1)%n].P); used[i] > l+Tol {
			return nil, fmt.Errorf("fillets take %.6g mm of edge %d from (%g, %g) mm, which is %.6g mm long: use smaller radii",
				used[i], i, cs[i].P.X, cs[i].P.Y, l)
		}
	}
	var out []Vertex
	put := func(v Vertex) {
		if k := len(out) - 1; k >= 0 && dist(out[k].P, v.P) <= Tol { // fillets that meet
			out[k].Bulge, out[k].Tag = v.Bulge, v.Tag
			return
		}
		out = append(out, v)
	}
	for i, c := range cs {
		if cut[i] <= Tol {
			put(Vertex{P: c.P, Tag: c.Tag})
			continue
		}
		ft := c.FilletTag
		if ft == 0 {
			ft = c.Tag
		}
		put(Vertex{P: r2.Sub(c.P, r2.Scale(cut[i], unit[(i+n-1)%n])), Bulge: math.Tan(turn[i] / 4), Tag: ft})
		put(Vertex{P: r2.Add(c.P, r2.Scale(cut[i], unit[i])), Tag: c.Tag})
	}
	if k := len(out) - 1; closed && k > 0 && dist(out[k].P, out[0].P) <= Tol {
		out = out[:k]
	}
	return out, nil
}

// Thicken returns all points within width/2 of an open path of lines and arcs: a
// slot with round ends. The bulge of the last vertex is not used. Where the path
// comes near itself the sides join.
func Thicken(path []Vertex, width float64) (Region, error) {
	if err := positive("path width", width); err != nil {
		return nil, err
	}
	n := len(path)
	if n < 2 {
		return nil, fmt.Errorf("a path of %d points has no length", n)
	}
	// Out and back: a loop around nothing, whose offset is the thick path.
	l := make(Loop, 0, 2*n-2)
	for i, v := range path {
		if !finite(v.P) || math.IsNaN(v.Bulge) || math.IsInf(v.Bulge, 0) {
			return nil, fmt.Errorf("path point %d: %w", i, errBadNumber)
		}
		if i+1 < n {
			l = append(l, v)
		}
	}
	for i := n - 1; i > 0; i-- {
		l = append(l, Vertex{P: path[i].P, Bulge: -path[i-1].Bulge, Tag: path[i-1].Tag})
	}
	raw := rawOffset(l, width/2, 1)
	if len(raw) == 0 {
		return nil, errors.New("the path has no length")
	}
	return combine("thick path", func(w, _ int) bool { return w > 0 }, []Region{{raw}}, nil)
}
