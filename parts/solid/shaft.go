package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// Bore is a round bore with flat ends whose axis lies in the plane at height Z,
// all mm.
type Bore struct {
	From, To    r2.Vec
	Z, Diameter float64
}

// Room is how much of a solid's inside or surroundings is free about the axis of
// a round shaft with flat ends.
type Room struct {
	// Radius is the distance from the axis to the nearest material beside it, mm:
	// 0 where the axis runs in material, +Inf where there is none.
	Radius float64
	At     r2.Vec  // of that material, for an upright shaft; the axis where that runs in material
	Z0, Z1 float64 // heights of that material, an upright shaft's own part of them
	Tag    int32   // of the edge there
}

// nearer reports whether o leaves less room than r, or as little over more of the way.
func (r Room) nearer(o Room) bool {
	return o.Radius < r.Radius || o.Radius == r.Radius && o.Z1-o.Z0 > r.Z1-r.Z0
}

// RoomUpright returns the room about an axis that stands at p from z0 to z1, with
// the given bores cut from the solid. Only material within the given distance of
// the axis is looked for. Edges count as sharp. The result is exact except where
// several bores cross the shaft at one height: there it is at most the true one.
func (l *Layered) RoomUpright(p r2.Vec, z0, z1, within float64, bores ...Bore) (Room, error) {
	best := Room{Radius: math.Inf(1)}
	for i := range l.bodies {
		b := &l.bodies[i]
		lo, hi := max(b.Z0, z0), min(b.Z1, z1)
		if hi-lo <= zTol || b.boxDistance(p) >= within {
			continue
		}
		whole := roomAt(b.dist.f, p, lo, hi)
		if !best.nearer(whole) || whole.Radius >= within {
			continue // bores only leave more
		}
		cuts := []float64{lo, hi}
		for _, o := range bores {
			for _, z := range [3]float64{o.Z - o.Diameter/2, o.Z, o.Z + o.Diameter/2} {
				if z > lo && z < hi {
					cuts = append(cuts, z)
				}
			}
		}
		cuts = distinct(cuts)
		for k := range cuts[1:] {
			got := whole
			got.Z0, got.Z1 = cuts[k], cuts[k+1]
			left, err := bored(b.region, cuts[k], cuts[k+1], bores)
			if err != nil {
				return Room{}, err
			}
			if left != nil {
				got = roomAt(profile.NewField(*left), p, cuts[k], cuts[k+1])
			}
			if best.nearer(got) && got.Radius < within {
				best = got
			}
		}
	}
	return best, nil
}

func roomAt(f *profile.Field, p r2.Vec, z0, z1 float64) Room {
	if f.NumEdges() == 0 {
		return Room{Radius: math.Inf(1)}
	}
	n := f.Nearest(p)
	r := Room{Radius: max(0, n.Distance), At: n.Foot, Z0: z0, Z1: z1, Tag: n.Tag}
	if n.Distance <= 0 {
		r.At = p
	}
	return r
}

// bored returns the largest section that bores leave of a region between two
// heights, nil where none cuts it there. No bore's axis or edge may lie between them.
func bored(r profile.Region, z0, z1 float64, bores []Bore) (*profile.Region, error) {
	var cut []profile.Region
	for _, b := range bores {
		away := max(math.Abs(z0-b.Z), math.Abs(z1-b.Z))
		half := b.Diameter*b.Diameter/4 - away*away
		if half <= zTol*zTol {
			continue
		}
		c, err := strip(b.From, b.To, math.Sqrt(half))
		if err != nil {
			return nil, err
		}
		cut = append(cut, c)
	}
	if cut == nil {
		return nil, nil
	}
	left, err := profile.Subtract(r, cut...)
	return &left, err
}

// strip is the rectangle about a line, half wide to either side.
func strip(from, to r2.Vec, half float64) (profile.Region, error) {
	along := r2.Unit(r2.Sub(to, from))
	n := r2.Scale(half, r2.Vec{X: -along.Y, Y: along.X})
	return profile.Polygon([]r2.Vec{r2.Sub(from, n), r2.Sub(to, n), r2.Add(to, n), r2.Add(from, n)}, 0)
}

// RoomLying returns the room about an axis that lies at height z between two
// points, with the given bores cut from the solid. Only material within the given
// distance of the axis is looked for. Edges count as sharp. At is not set. Only bores parallel to the axis count, and a bore beside which there is
// no material counts as if there were: then the result is at most the true one.
func (l *Layered) RoomLying(from, to r2.Vec, z, within float64, bores ...Bore) (Room, error) {
	way := r2.Sub(to, from)
	length := r2.Norm(way)
	// The axis becomes the x axis.
	turn := profile.Rigid(0, r2.Scale(-1, from)).Then(profile.Rigid(-math.Atan2(way.Y, way.X), r2.Vec{}))
	type open struct{ from, to, radius float64 }
	var along []open
	cuts := []float64{0, length}
	for _, b := range bores {
		p, q := turn.Apply(b.From), turn.Apply(b.To)
		const parallel = 1e-6 // mm
		if r := b.Diameter/2 - math.Hypot(p.Y, b.Z-z); math.Abs(p.Y-q.Y) < parallel && r > 0 {
			along = append(along, open{min(p.X, q.X), max(p.X, q.X), r})
			for _, x := range [2]float64{p.X, q.X} {
				if x > 0 && x < length {
					cuts = append(cuts, x)
				}
			}
		}
	}
	cuts = distinct(cuts)
	best := Room{Radius: math.Inf(1)}
	mid := r2.Scale(0.5, r2.Add(from, to))
	for i := range l.bodies {
		b := &l.bodies[i]
		up := max(0, b.Z0-z, z-b.Z1)
		if reach := min(within, best.Radius); up >= reach || b.boxDistance(mid) >= reach+length/2 {
			continue
		}
		r := b.region.Transform(turn)
		for k := range cuts[1:] {
			got, err := roomBeside(r, cuts[k], cuts[k+1], up)
			if err != nil {
				return Room{}, err
			}
			for _, o := range along {
				if mid := (cuts[k] + cuts[k+1]) / 2; mid > o.from && mid < o.to {
					got.Radius = max(got.Radius, o.radius)
				}
			}
			got.Z0, got.Z1 = b.Z0, b.Z1
			if got.Radius < min(within, best.Radius) {
				best = got
			}
		}
	}
	return best, nil
}

// roomBeside is the distance of the x axis, from x0 to x1 and at a height up from
// the region, to what of the region lies beside it.
func roomBeside(r profile.Region, x0, x1, up float64) (Room, error) {
	best := Room{Radius: math.Inf(1)}
	box, ok := r.Box()
	// Flat ends may touch material.
	if x0, x1 = x0+zTol, x1-zTol; !ok || x1 <= x0 || box.Max.X <= x0 || box.Min.X >= x1 {
		return best, nil
	}
	high := 1 + max(math.Abs(box.Min.Y), math.Abs(box.Max.Y))
	band, err := profile.Rect(r2.Vec{X: x0, Y: -high}, r2.Vec{X: x1, Y: high}, 0)
	if err != nil {
		return best, err
	}
	if r, err = profile.Intersect(r, band); err != nil {
		return best, err
	}
	aside := math.Inf(1)
	r.Edges(func(_, _ int, e profile.Edge) {
		lo, hi := min(e.A.Y, e.B.Y), max(e.A.Y, e.B.Y)
		if !e.IsLine() {
			c, rad, start, sweep := e.Arc()
			if passes(math.Pi/2, start, sweep) {
				hi = c.Y + rad
			}
			if passes(-math.Pi/2, start, sweep) {
				lo = c.Y - rad
			}
		}
		if y := max(0, lo, -hi); y < aside {
			aside, best.Tag = y, e.Tag
		}
	})
	best.Radius = math.Hypot(aside, up)
	return best, nil
}

// passes reports whether an arc from start over a signed sweep passes an angle.
func passes(angle, start, sweep float64) bool {
	turn := math.Mod(angle-start, 2*math.Pi)
	if turn*sweep < 0 {
		turn += math.Copysign(2*math.Pi, sweep)
	}
	return math.Abs(turn) <= math.Abs(sweep)
}
