package check

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

// overhang looks at every downward face that does not lie on the bed: how far
// its farthest point is from what holds it, as a ledge held on one side or as a
// bridge held on two.
func overhang(in *Input, out *Findings) error {
	o := in.printer.Overhang
	for _, p := range in.Parts {
		ledge, bridge, err := hanging(p.Layered)
		if err != nil {
			return err
		}
		path := "bodies." + p.Name + ".features"
		out.atMost(measure{subject: p.Name + " ledge", value: ledge.length, unit: "mm", limit: "ledge", def: o.Span, source: o.Source,
			change: path, detail: ledge.detail("farthest unsupported point from its support")})
		out.atMost(measure{subject: p.Name + " bridge", value: bridge.length, unit: "mm", limit: "bridge", def: o.Bridge, source: o.Source,
			change: path, detail: bridge.detail("longest flat span held at both ends")})
	}
	return nil
}

// span is the worst unsupported place of a kind.
type span struct {
	length, z float64
	at        r2.Vec
}

func (s span) detail(what string) string {
	if s.length == 0 {
		return "none"
	}
	return fmt.Sprintf("%s, at (%.1f, %.1f), z %.1f mm", what, s.at.X, s.at.Y, s.z)
}

// hanging finds the longest ledge and bridge of a solid that stands on its
// lowest face.
func hanging(l *solid.Layered) (ledge, bridge span, err error) {
	const same = 1e-6 // mm: heights of touching faces
	slabs := l.Slabs()
	bed, _ := l.ZRange()
	for _, s := range slabs {
		if s.Z0 <= bed+same {
			continue
		}
		var below []profile.Region
		for _, t := range slabs {
			if math.Abs(t.Z1-s.Z0) <= same {
				below = append(below, t.Region)
			}
		}
		under, err := profile.UnionAll(below...)
		if err != nil {
			return ledge, bridge, err
		}
		free, err := profile.Subtract(s.Region, under)
		if err != nil {
			return ledge, bridge, err
		}
		if free.Area() < same {
			continue
		}
		support := profile.NewField(under)
		far, at := farthest(free, support)
		if far < same {
			continue
		}
		if across, held := opposite(support, at, far); held {
			if across > bridge.length {
				bridge = span{across, s.Z0, at}
			}
		} else if far > ledge.length {
			ledge = span{far, s.Z0, at}
		}
	}
	return ledge, bridge, nil
}

// farthest returns the point of a region that lies farthest from the support,
// to about the grid's spacing of 0.2 mm.
func farthest(free profile.Region, support *profile.Field) (far float64, at r2.Vec) {
	const grid = 0.2
	look := func(p r2.Vec) {
		if d := support.Distance(p); d > far {
			far, at = d, p
		}
	}
	free.Edges(func(_, _ int, e profile.Edge) {
		n := max(2, int(e.Length()/grid))
		for i := range n {
			p, _ := e.At(float64(i) / float64(n))
			look(p)
		}
	})
	inside := profile.NewField(free)
	box := inside.Box()
	for y := box.Min.Y; y <= box.Max.Y; y += grid {
		for x := box.Min.X; x <= box.Max.X; x += grid {
			if p := (r2.Vec{X: x, Y: y}); inside.Distance(p) < 0 {
				look(p)
			}
		}
	}
	return far, at
}

// opposite reports whether support lies on the far side too, seen from the
// farthest point away from its nearest support, and how long the span is: the
// shortest crossing within 75° of straight away.
func opposite(support *profile.Field, at r2.Vec, far float64) (across float64, held bool) {
	away := r2.Sub(at, support.Nearest(at).Foot)
	if r2.Norm(away) == 0 {
		return 0, false
	}
	away = r2.Unit(away)
	across = math.Inf(1)
	for i := -5; i <= 5; i++ {
		dir := r2.Rotate(away, float64(i)*math.Pi/12, r2.Vec{})
		if h, ok := support.Ray(at, dir, 0, 3*far); ok {
			across, held = math.Min(across, far+h.T), true
		}
	}
	return across, held
}
