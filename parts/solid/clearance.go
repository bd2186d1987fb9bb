package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// Gap is the clearance between two layered solids, mm.
type Gap struct {
	// Distance is the least distance; negative where they overlap, and then minus
	// the smaller of the depth in the plane and the overlap along z of the two
	// slabs that overlap most.
	Distance float64
	Up       float64 // its part along z; the whole of it where one lies above the other
	PA, PB   r2.Vec  // the places, in a's frame
	TagA     int32   // of the edges there
	TagB     int32
	Z        float64 // height of the place, of the lower solid's top where they lie above each other
}

// Pair measures the clearance of two layered solids that move in the plane
// against each other. Chamfers are not counted: the clearance is that of the
// solids with sharp edges, never more than the true one. A Pair is for one
// goroutine at a time.
type Pair struct {
	slabs []slabPair
}

type slabPair struct {
	plan *profile.Pair
	up   float64 // distance along z, negative: how far they overlap
	z    float64
}

// NewPair prepares two solids.
func NewPair(a, b *Layered) *Pair {
	p := &Pair{}
	fields := make([]*profile.Field, len(b.slabs))
	for i, s := range b.slabs {
		fields[i] = profile.NewField(s.Region)
	}
	for i := range a.slabs {
		s := &a.slabs[i]
		f := profile.NewField(s.Region)
		for j := range b.slabs {
			t := &b.slabs[j]
			up := math.Max(t.Z0-s.Z1, s.Z0-t.Z1)
			p.slabs = append(p.slabs, slabPair{plan: profile.NewPair(f, fields[j]), up: up, z: math.Max(math.Min(s.Z1, t.Z1), math.Min(s.Z0, t.Z0))})
		}
	}
	return p
}

// Clearance returns the clearance when pose takes b's frame to a's; +Inf if
// either solid is empty.
func (p *Pair) Clearance(pose profile.Transform) Gap { return p.Within(pose, math.Inf(1)) }

// Within is Clearance, but looks only for distances below limit mm: if the
// solids are further apart, Distance is +Inf and nothing else is set.
func (p *Pair) Within(pose profile.Transform, limit float64) Gap {
	best := Gap{Distance: math.Inf(1)}
	for i := range p.slabs {
		s := &p.slabs[i]
		up := math.Max(0, s.up)
		reach := math.Min(limit, best.Distance)
		if up >= reach {
			continue
		}
		plane := math.Inf(1)
		if !math.IsInf(reach, 1) {
			plane = math.Sqrt(math.Max(0, reach)*math.Max(0, reach) - up*up)
			if reach <= 0 {
				plane = 0 // an overlap is known; only a deeper one matters
			}
		}
		g := s.plan.Within(pose, math.Max(plane, 1e-9))
		if math.IsInf(g.Distance, 1) {
			continue
		}
		d := 0.0
		switch {
		case g.Distance > 0:
			d = math.Hypot(g.Distance, up)
		case s.up > 0:
			d = s.up
		default:
			d = -math.Min(-g.Distance, -s.up)
		}
		if d < best.Distance && d < limit {
			best = Gap{Distance: d, Up: up, PA: g.PA, PB: g.PB, TagA: g.TagA, TagB: g.TagB, Z: s.z}
		}
	}
	return best
}
