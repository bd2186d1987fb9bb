package check

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/parts"
	"tuckfinger/parts/profile"
)

// sectionSpacing is the distance of a link's sections, mm; the places of its
// loads are sections too.
const sectionSpacing = 0.5

// linkBeam is a body cut across the line between its two loads that are
// farthest apart.
type linkBeam struct {
	body     int
	part     *parts.Part
	from     r2.Vec // a point of the line, body frame
	axis     r2.Vec // unit
	sections []section
}

// section is one cut: place along the axis and measures of the cut area.
type section struct {
	s      float64 // mm from linkBeam.from
	area   float64 // mm²
	centre float64 // of the area, mm to the left of the axis
	second float64 // mm⁴ about the axis through the centre along z
	lo, hi float64 // outermost fibres, mm to the left of the axis
	loTag  int32
	hiTag  int32
}

// linkBeams cuts all links. The ground and bodies on a slide are held along a
// length that the file does not place, so they are left to the checks of their
// holes.
func (in *Input) linkBeams(all map[string][]slabField) []*linkBeam {
	var out []*linkBeam
	m := in.Mechanism
	for b, body := range m.Bodies {
		p := in.part(body.Name)
		if p == nil || body.Ground || p.Body.Plane == "xz" || in.fixed(b) {
			continue
		}
		pts := in.loadPoints(b)
		l := &linkBeam{body: b, part: p}
		far := 0.0
		for i, x := range pts {
			for _, y := range pts[i+1:] {
				if d := r2.Norm(r2.Sub(y, x)); d > far {
					far, l.from, l.axis = d, x, r2.Scale(1/d, r2.Sub(y, x))
				}
			}
		}
		if far == 0 {
			continue
		}
		var at []float64
		n := int(math.Ceil(far / sectionSpacing))
		for i := range n {
			at = append(at, far*(float64(i)+0.5)/float64(n))
		}
		for _, x := range pts {
			at = append(at, r2.Dot(r2.Sub(x, l.from), l.axis))
		}
		slices.Sort(at)
		for _, s := range slices.Compact(at) {
			if c, ok := cut(all[p.Name], r2.Add(l.from, r2.Scale(s, l.axis)), l.axis); ok {
				c.s = s
				l.sections = append(l.sections, c)
			}
		}
		out = append(out, l)
	}
	return out
}

// fixed reports whether a body is carried by a slide or rigidly.
func (in *Input) fixed(body int) bool {
	for i := range in.Mechanism.Joints {
		j := &in.Mechanism.Joints[i]
		if j.B == body && (j.Kind == linkage.Slide || j.Kind == linkage.Rigid) {
			return true
		}
	}
	return false
}

// loadPoints returns where a body may be loaded: joints, posts, hooks and the
// ends of its pads, in its own frame.
func (in *Input) loadPoints(body int) []r2.Vec {
	var out []r2.Vec
	d, m := in.Design, in.Mechanism
	for i := range m.Joints {
		j := &m.Joints[i]
		switch {
		case j.Kind == linkage.Pin && j.A == body:
			out = append(out, j.PA)
		case (j.Kind == linkage.Pin || j.Kind == linkage.Slot) && j.B == body:
			out = append(out, j.PB)
		}
	}
	name := m.Bodies[body].Name
	for i := range d.Clips.Values {
		c := &d.Clips.Values[i]
		if c.Arm.Body == name {
			out = append(out, c.Arm.Hook)
		}
		if c.Post.Body == name {
			out = append(out, c.Post.At)
		}
	}
	for i := range d.Pads.Values {
		if p := &d.Pads.Values[i]; p.Body == name {
			out = append(out, p.From, p.To)
		}
	}
	return out
}

// cut slices a part exactly: the chords of a line across the axis in every slab,
// each as high as its slab.
func cut(all []slabField, at, axis r2.Vec) (section, bool) {
	side := r2.Vec{X: -axis.Y, Y: axis.X}
	var out section
	type chord struct{ a, b, h float64 }
	var chords []chord
	out.lo, out.hi = math.Inf(1), math.Inf(-1)
	for i := range all {
		f := all[i].field
		box := f.Box()
		reach := r2.Norm(r2.Sub(box.Max, box.Min)) + r2.Norm(r2.Sub(at, r2.Scale(0.5, r2.Add(box.Min, box.Max))))
		start := r2.Sub(at, r2.Scale(reach, side))
		var last profile.Hit
		from, inside := 0.0, false
		for k := 0; ; k++ {
			hit, ok := f.Ray(start, side, from, 2*reach)
			if !ok {
				break
			}
			if k > 0 && hit.T > last.T {
				mid := r2.Add(start, r2.Scale((hit.T+last.T)/2, side))
				if inside = f.Contains(mid); inside {
					chords = append(chords, chord{last.T - reach, hit.T - reach, all[i].z1 - all[i].z0})
					if v := last.T - reach; v < out.lo {
						out.lo, out.loTag = v, last.Tag
					}
					if v := hit.T - reach; v > out.hi {
						out.hi, out.hiTag = v, hit.Tag
					}
				}
			}
			last, from = hit, hit.T+profile.Tol
		}
	}
	for _, c := range chords {
		a := (c.b - c.a) * c.h
		out.area += a
		out.centre += a * (c.a + c.b) / 2
	}
	if out.area == 0 {
		return section{}, false
	}
	out.centre /= out.area
	for _, c := range chords {
		l, d := c.b-c.a, (c.a+c.b)/2-out.centre
		out.second += c.h * (l*l*l/12 + l*d*d)
	}
	return out, true
}

// bending is the worst stress of a link at an instant.
type bending struct {
	stress float64 // MPa, at an outermost fibre
	axial  float64 // N, tension positive
	moment float64 // N·mm
	at     float64 // mm along the axis
	tag    int32
}

// worst cuts the body at every section; what pulls beyond the cut has to go
// through it.
func (l *linkBeam) worst(at *instant) bending {
	var out bending
	pose := at.poses[l.body]
	axis := pose.Turn(l.axis)
	side := r2.Vec{X: -axis.Y, Y: axis.X}
	from := pose.Apply(l.from)
	pulls := at.bodies[l.body]
	const same = 1e-9 // mm: a load in the cut counts on either side
	for i := range l.sections {
		c := &l.sections[i]
		o := r2.Add(from, r2.Add(r2.Scale(c.s, axis), r2.Scale(c.centre, side)))
		for _, edge := range [...]float64{-same, same} {
			n, m, on := 0.0, 0.0, false
			for k := range pulls {
				p := &pulls[k]
				s := r2.Dot(r2.Sub(p.at, from), axis)
				on = on || math.Abs(s-c.s) <= same
				if s > c.s+edge {
					n += r2.Dot(p.force, axis)
					m += moment(*p, o)
				}
			}
			// A positive moment on the far side presses on the left fibres.
			top := n/c.area - m*(c.hi-c.centre)/c.second
			bot := n/c.area + m*(c.centre-c.lo)/c.second
			if v := math.Abs(top); v > out.stress {
				out = bending{v, n, m, c.s, c.hiTag}
			}
			if v := math.Abs(bot); v > out.stress {
				out = bending{v, n, m, c.s, c.loTag}
			}
			if !on {
				break
			}
		}
	}
	return out
}
