package solid

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// outline answers distance queries to a region's boundary.
type outline struct{ f *profile.Field }

func newOutline(r profile.Region) *outline { return &outline{profile.NewField(r)} }

// signed returns the signed distance of p in mm, negative inside.
func (o *outline) signed(p r2.Vec) float64 { return o.f.Distance(p) }

// ridge moves p away from its nearest boundary point to where another boundary
// point is equally near, at most to the distance c, and returns where and the
// distance there. It shrinks a disc that touches the boundary at the foot until
// it is empty (J. Ma, S. Bae, S. Choi, 3D medial axis point approximation using
// nearest neighbors and the normal field, 2012).
func (o *outline) ridge(p r2.Vec, c float64) (r2.Vec, float64) {
	at := o.f.Nearest(p)
	d, q := at.Distance, at.Foot
	n := r2.Scale(-1, at.Normal)
	if d < -1e-6 {
		n = r2.Scale(-1/d, r2.Sub(p, q)) // at a corner the way decides
	}
	rho := c
	for range 60 {
		m := r2.Add(q, r2.Scale(rho, n))
		at := o.f.Nearest(m)
		w := r2.Sub(at.Foot, q)
		s := 2 * r2.Dot(n, w)
		// Near the foot itself, or on an arc about m, w tells nothing.
		if -at.Distance >= rho-1e-7 || r2.Norm2(w) < 1e-12 || s <= 0 {
			break
		}
		next := r2.Norm2(w) / s
		if next >= rho {
			break
		}
		rho = next
	}
	m := r2.Add(q, r2.Scale(rho, n))
	return m, min(c, -o.f.Distance(m))
}

// inset returns the points of r at least d mm from its boundary.
func inset(r profile.Region, d float64) (profile.Region, error) { return profile.Offset(r, -d) }

// solidParts leaves out the connected parts of a region that are less than w mm
// wide on average.
func solidParts(r profile.Region, w float64) profile.Region {
	thin := func(r profile.Region) bool { return r.Area() < w*r.Perimeter()/2 }
	some := false
	for _, l := range r {
		some = some || l.Area() > 0 && thin(profile.Region{l})
	}
	if !some {
		return r
	}
	var out profile.Region
	for _, s := range components(Slab{Region: r}) {
		if !thin(s.Region) {
			out = append(out, s.Region...)
		}
	}
	return out
}
