package check

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/parts/profile"
)

// shape is an outline of a part or pad that goes with a body.
type shape struct {
	name   string
	body   int
	z0, z1 float64
	region profile.Region
	edges  []profile.Edge
	centre r2.Vec // of a circle around it, body frame
	radius float64
	still  bool
}

// shapes lists the outlines of all slabs of all parts that move or stand in the
// motion plane, and of the pads on them.
func (in *Input) shapes() ([]shape, error) {
	var out []shape
	add := func(name string, body int, z0, z1 float64, r profile.Region) {
		s := shape{name: name, body: body, z0: z0, z1: z1, region: r, still: in.Mechanism.Bodies[body].Ground}
		r.Edges(func(_, _ int, e profile.Edge) { s.edges = append(s.edges, e) })
		if box, ok := r.Box(); ok {
			s.centre = r2.Scale(0.5, r2.Add(box.Min, box.Max))
			s.radius = r2.Norm(r2.Sub(box.Max, s.centre))
			out = append(out, s)
		}
	}
	for _, p := range in.Parts {
		if p.Body.Plane == "xz" {
			continue
		}
		body := in.Mechanism.BodyIndex(p.Name)
		for _, s := range p.Solid.Slabs() {
			add(p.Name, body, s.Z0, s.Z1, s.Region)
		}
	}
	for i, name := range in.Design.Pads.Names {
		p := &in.Design.Pads.Values[i]
		f := in.padFace(p)
		if p.Thickness == 0 {
			continue
		}
		r, err := profile.Polygon([]r2.Vec{f.A, f.B, p.To, p.From}, 0)
		if err != nil {
			return nil, fmt.Errorf("pad %s: %w", name, err)
		}
		lo, hi := in.padSpan(p.Body, name, p.Width)
		add("pad "+name, f.body, lo, hi, r)
	}
	return out, nil
}

// padSpan is the z range of a pad: in the middle of the layers of its seat, or
// of its body.
func (in *Input) padSpan(body, pad string, width float64) (z0, z1 float64) {
	p := in.part(body)
	if p == nil {
		return 0, width
	}
	z0, z1 = p.Solid.ZRange()
	for i := range p.Body.Features {
		if f := p.Body.Features[i].Pad; f != nil && f.Pad == pad && f.Layer != nil {
			z0, z1 = f.Layer.From, f.Layer.To
		}
	}
	mid := (z0 + z1) / 2
	return mid - width/2, mid + width/2
}

// extent is the bounds of a posed outline below a height; ok is false where
// nothing of it is there.
type extent struct {
	lo, hi r2.Vec
	ok     bool
}

func newExtent() extent {
	inf := math.Inf(1)
	return extent{lo: r2.Vec{X: inf, Y: inf}, hi: r2.Vec{X: -inf, Y: -inf}}
}

func (e *extent) see(p r2.Vec) {
	e.lo = r2.Vec{X: math.Min(e.lo.X, p.X), Y: math.Min(e.lo.Y, p.Y)}
	e.hi = r2.Vec{X: math.Max(e.hi.X, p.X), Y: math.Max(e.hi.Y, p.Y)}
	e.ok = true
}

// below returns the exact bounds of the part of a posed outline that lies below
// y = top: they are taken on its edges and where these cross that height.
func (s *shape) below(pose linkage.Pose, top float64) extent {
	out := newExtent()
	if c := pose.Apply(s.centre); c.Y-s.radius >= top {
		return out
	}
	sin, cos := math.Sincos(pose.Theta)
	to := func(p r2.Vec) r2.Vec {
		return r2.Vec{X: pose.X + cos*p.X - sin*p.Y, Y: pose.Y + sin*p.X + cos*p.Y}
	}
	for i := range s.edges {
		e := &s.edges[i]
		a, b := to(e.A), to(e.B)
		if a.Y <= top {
			out.see(a)
		}
		if b.Y <= top {
			out.see(b)
		}
		if e.IsLine() {
			if (a.Y-top)*(b.Y-top) < 0 {
				t := (top - a.Y) / (b.Y - a.Y)
				out.see(r2.Vec{X: a.X + t*(b.X-a.X), Y: top})
			}
			continue
		}
		centre, r, start, sweep := e.Arc()
		c := to(centre)
		start += pose.Theta
		for q := range 4 {
			if angle := float64(q) * math.Pi / 2; swept(angle, start, sweep) {
				sn, cs := math.Sincos(angle)
				if p := (r2.Vec{X: c.X + r*cs, Y: c.Y + r*sn}); p.Y <= top {
					out.see(p)
				}
			}
		}
		if h := (top - c.Y) / r; h > -1 && h < 1 {
			for _, angle := range [...]float64{math.Asin(h), math.Pi - math.Asin(h)} {
				if swept(angle, start, sweep) {
					out.see(r2.Vec{X: c.X + r*math.Cos(angle), Y: top})
				}
			}
		}
	}
	return out
}

// swept reports whether an arc from start over a signed sweep passes an angle.
func swept(angle, start, sweep float64) bool {
	turn := math.Mod(angle-start, 2*math.Pi)
	if sweep > 0 && turn < 0 {
		turn += 2 * math.Pi
	} else if sweep < 0 && turn > 0 {
		turn -= 2 * math.Pi
	}
	return math.Abs(turn) <= math.Abs(sweep)
}

// SweptTolerance is how far, in mm, any point of the finger may pass outside the
// swept outline, which is made of a finite number of poses.
const SweptTolerance = 1.0

// Swept returns the outline, in the spine frame, of all places that the finger
// takes over the cycle, to SweptTolerance. Holes of the parts are filled.
func Swept(in *Input) (profile.Region, error) {
	all, err := in.shapes()
	if err != nil {
		return nil, err
	}
	var whole []profile.Region
	for b := range in.Mechanism.Bodies {
		var own []profile.Region
		far := 0.0
		for i := range all {
			if s := &all[i]; s.body == b {
				own = append(own, outer(s.region))
				far = math.Max(far, r2.Norm(s.centre)+s.radius)
			}
		}
		if len(own) == 0 {
			continue
		}
		outline, err := profile.UnionAll(own...)
		if err != nil {
			return nil, fmt.Errorf("outline of %s: %w", in.Mechanism.Bodies[b].Name, err)
		}
		outline = outer(outline)
		var copies []profile.Region
		for _, p := range in.spaced(b, far, SweptTolerance) {
			copies = append(copies, outline.Transform(profile.Rigid(p.Theta, r2.Vec{X: p.X, Y: p.Y})))
		}
		area, err := gather(copies)
		if err != nil {
			return nil, fmt.Errorf("swept outline of %s: %w", in.Mechanism.Bodies[b].Name, err)
		}
		whole = append(whole, area)
	}
	return gather(whole)
}

// gather unites regions in pairs of neighbours, which share most of their area.
func gather(all []profile.Region) (profile.Region, error) {
	for len(all) > 1 {
		var next []profile.Region
		for i := 0; i < len(all); i += 2 {
			if i+1 == len(all) {
				next = append(next, all[i])
				break
			}
			r, err := profile.Union(all[i], all[i+1])
			if err != nil {
				return nil, err
			}
			next = append(next, outer(r))
		}
		all = next
	}
	if len(all) == 0 {
		return nil, nil
	}
	return all[0], nil
}

// outer returns a region without its holes.
func outer(r profile.Region) profile.Region {
	var out profile.Region
	for _, l := range r {
		if l.Area() > 0 {
			out = append(out, l)
		}
	}
	return out
}

// spaced picks poses of a body such that, all along the cycle, no point of it,
// at most far from its origin, is farther than reach mm from where it is in one
// of them. Way back and way out share theirs; jumps are filled in.
func (in *Input) spaced(body int, far, reach float64) []linkage.Pose {
	apart := func(a, b linkage.Pose) float64 {
		return math.Hypot(b.X-a.X, b.Y-a.Y) + far*math.Abs(b.Theta-a.Theta)
	}
	var way []linkage.Pose
	for k := range in.Cycle {
		p := in.Cycle[k][body]
		if len(way) > 0 {
			a := way[len(way)-1]
			n := math.Ceil(2 * apart(a, p) / reach)
			for i := 1.0; i < n; i++ {
				u := i / n
				way = append(way, linkage.Pose{X: a.X + u*(p.X-a.X), Y: a.Y + u*(p.Y-a.Y), Theta: a.Theta + u*(p.Theta-a.Theta)})
			}
		}
		way = append(way, p)
	}
	var picked []linkage.Pose
	covered := func(p linkage.Pose) bool {
		for i := len(picked) - 1; i >= 0; i-- {
			if apart(picked[i], p) <= reach {
				return true
			}
		}
		return false
	}
	for i := range way {
		if covered(way[i]) {
			continue
		}
		j := i
		for j+1 < len(way) && apart(way[i], way[j+1]) <= reach {
			j++
		}
		picked = append(picked, way[j])
	}
	return picked
}
