package check

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

// Clearances between parts, mm. Common practice, no source.
const (
	passing = 0.2   // two parts that pass each other
	meeting = -0.05 // two that meet by design; overlap within what gives way
)

// mover is a solid that goes with a body: a part, or a pin pressed into one.
type mover struct {
	name   string
	body   int // in Mechanism.Bodies
	solid  *solid.Layered
	bodies []string // those with a hole or slot for it; nil for a part
}

// movers returns all solids that move or stand in the motion plane.
func (in *Input) movers() ([]mover, error) {
	var all []mover
	for _, p := range in.Parts {
		if p.Body.Plane != "xz" {
			all = append(all, mover{name: p.Name, body: in.Mechanism.BodyIndex(p.Name), solid: p.Rigid})
		}
	}
	for _, it := range in.Items {
		if it.Radius == 0 {
			continue
		}
		r, err := profile.Circle(it.At, it.Radius, 0)
		if err != nil {
			return nil, err
		}
		l, err := solid.NewLayered(solid.Slab{Z0: it.Z0, Z1: it.Z1, Region: r})
		if err != nil {
			return nil, fmt.Errorf("pin %s: %w", it.Where, err)
		}
		all = append(all, mover{name: "pin " + it.Where, body: in.Mechanism.BodyIndex(it.Body), solid: l, bodies: it.Bodies})
	}
	return all, nil
}

// relation is how close two bodies may come.
type relation struct {
	limit  float64
	name   string // key of params.LimitTable
	reason string
	skip   bool // connected rigidly, or a pin in its own hole
}

// relate finds what connects two movers.
func (in *Input) relate(a, b mover) relation {
	na, nb := in.Mechanism.Bodies[a.body].Name, in.Mechanism.Bodies[b.body].Name
	if a.body == b.body || in.rigid(na, nb) {
		return relation{skip: true}
	}
	for _, m := range []struct {
		pin   mover
		other string
	}{{a, nb}, {b, na}} {
		for _, body := range m.pin.bodies {
			if body == m.other {
				return relation{skip: true}
			}
		}
	}
	rel := relation{limit: passing, name: "clearance", reason: "common practice, no source"}
	if a.bodies != nil || b.bodies != nil {
		return rel
	}
	for i := range in.Design.Joints.Values {
		if s := in.Design.Joints.Values[i].Slide; s != nil && pairOf(s.Body, s.On, na, nb) && s.Play/2 < rel.limit {
			rel.limit, rel.reason = s.Play/2, "the guide's play on either side"
		}
	}
	for _, st := range in.Design.Stops.Values {
		if in.joins(st.Joint, na, nb) {
			return relation{limit: meeting, name: "touch", reason: "these two meet at a stop"}
		}
	}
	return rel
}

func pairOf(a, b, x, y string) bool { return a == x && b == y || a == y && b == x }

// joins reports whether a joint connects two bodies.
func (in *Input) joins(joint, a, b string) bool {
	k := in.Mechanism.JointIndex(joint)
	if k < 0 {
		return false
	}
	j := in.Mechanism.Joints[k]
	return pairOf(in.Mechanism.Bodies[j.A].Name, in.Mechanism.Bodies[j.B].Name, a, b)
}

// rigid reports whether two bodies are fixed to each other, directly or through
// others.
func (in *Input) rigid(a, b string) bool {
	seen := map[string]bool{a: true}
	for queue := []string{a}; len(queue) > 0; queue = queue[1:] {
		for i := range in.Design.Joints.Values {
			r := in.Design.Joints.Values[i].Rigid
			if r == nil {
				continue
			}
			for _, next := range []struct{ from, to string }{{r.Body, r.On}, {r.On, r.Body}} {
				if next.from == queue[0] && !seen[next.to] {
					if next.to == b {
						return true
					}
					seen[next.to] = true
					queue = append(queue, next.to)
				}
			}
		}
	}
	return false
}

// relative is the pose of b's frame in a's.
func relative(a, b linkage.Pose) profile.Transform {
	return profile.Rigid(b.Theta-a.Theta, a.Inverse(r2.Vec{X: b.X, Y: b.Y}))
}

// clearance measures every pair of parts and pins at every pose of the stroke,
// from the solids. What gives way by design, arms and ramps, is left out; it is
// looked at where it gives way.
func clearance(in *Input, out *Findings) error {
	all, err := in.movers()
	if err != nil {
		return err
	}
	for i, a := range all {
		for _, b := range all[i+1:] {
			rel := in.relate(a, b)
			if rel.skip {
				continue
			}
			gap, at, stacked, err := in.closest(a, b)
			if err != nil {
				return err
			}
			if math.IsInf(gap, 1) {
				continue
			}
			change := "bodies." + in.Mechanism.Bodies[a.body].Name
			if stacked && rel.limit > 0 {
				change = "layers"
			}
			out.atLeast(measure{
				subject: a.name + " / " + b.name, value: gap, unit: "mm", limit: rel.name, def: rel.limit, source: rel.reason,
				change: change, more: true, detail: at,
			})
		}
	}
	return nil
}

// farApart is the distance, mm, beyond which a clearance is of no interest.
const farApart = 2.0

// closest returns the smallest signed distance of two movers over the cycle and
// where it is, and whether one lies above the other there; +Inf if they stay far
// apart.
func (in *Input) closest(a, b mover) (gap float64, at string, stacked bool, err error) {
	pair := solid.NewPair(a.solid, b.solid)
	gap = math.Inf(1)
	var last profile.Transform
	for k, poses := range in.Cycle {
		t := relative(poses[a.body], poses[b.body])
		if k > 0 && t == last {
			continue
		}
		last = t
		c := pair.Within(t, math.Min(gap, farApart))
		if c.Distance < gap {
			gap = c.Distance
			stacked = gap > 0 && c.Up > 0.7*gap
			half := "out"
			if k >= in.Turn {
				half = "back"
			}
			p := poses[a.body].Apply(c.PA)
			at = fmt.Sprintf("closest at s = %.2f mm %s, near (%.1f, %.1f), z %.1f mm", in.S[k], half, p.X, p.Y, c.Z)
		}
	}
	return gap, at, stacked, nil
}

// bodyGap returns the distance of the parts of two bodies at one pose.
func (in *Input) bodyGap(all []mover, a, b int, poses []linkage.Pose) float64 {
	gap := math.Inf(1)
	for _, x := range all {
		for _, y := range all {
			if x.body == a && y.body == b && x.bodies == nil && y.bodies == nil {
				c := solid.NewPair(x.solid, y.solid).Within(relative(poses[a], poses[b]), farApart)
				gap = math.Min(gap, c.Distance)
			}
		}
	}
	return gap
}
