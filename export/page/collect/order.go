package collect

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// The order of assembly follows from the solids. The finger is put together in
// the tucked pose from below, every part coming down along z; so a part must be
// there before another one that reaches over it. Pins are pressed into their
// part first, on the bench; where such a pin would keep parts from going
// together it is pushed through afterwards instead.

// overlap is how much area (mm²) two outlines must share to be in each other's
// way: more than walls that touch, or a pin in its hole.
const overlap = 0.05

// stack is what is put together.
type stack struct {
	in    *Input
	parts []lift
	// late are pins, in Input.Items, that go in when their bodies are there.
	late map[int]bool
}

// lift is a part and what comes down with it.
type lift struct {
	slabs []slab
}

type slab struct {
	z0, z1 float64
	region profile.Region
	box    r2.Box
	pin    int // item, −1 for the part itself
}

func newSlab(r profile.Region, z0, z1 float64, pin int) (slab, bool) {
	box, ok := r.Box()
	return slab{z0: z0, z1: z1, region: r, box: box, pin: pin}, ok
}

func (in *Input) stack() *stack {
	s := &stack{in: in, late: map[int]bool{}}
	for _, p := range in.Parts {
		pose := in.Mechanism.Pose(in.Mechanism.Start, in.Mechanism.BodyIndex(p.Name))
		t := profile.Rigid(pose.Theta, r2.Vec{X: pose.X, Y: pose.Y})
		var l lift
		if p.Body.Plane != "xz" { // those come from the side, at the end
			for _, sl := range p.Solid.Slabs() {
				if x, ok := newSlab(sl.Region.Transform(t), sl.Z0, sl.Z1, -1); ok {
					l.slabs = append(l.slabs, x)
				}
			}
			for i := range in.Items {
				it := &in.Items[i]
				if it.Body != p.Name || it.Kind != "pin" || it.Radius <= 0 {
					continue
				}
				if r, err := profile.Circle(it.At, it.Radius, 0); err == nil {
					if x, ok := newSlab(r.Transform(t), it.Z0, it.Z1, i); ok {
						l.slabs = append(l.slabs, x)
					}
				}
			}
		}
		s.parts = append(s.parts, l)
	}
	return s
}

// before reports whether part a must be there before part b: something of b is
// over something of a. pin is the pin that makes it so, −1 if the parts do.
func (s *stack) before(a, b int) (must bool, pin int) {
	pin = -1
	for _, x := range s.parts[a].slabs {
		for _, y := range s.parts[b].slabs {
			if s.late[x.pin] || s.late[y.pin] || y.z0 < x.z1-1e-6 || !meet(x, y) {
				continue
			}
			must = true
			if x.pin < 0 && y.pin < 0 {
				return true, -1
			}
			pin = max(x.pin, y.pin)
		}
	}
	return must, pin
}

func meet(x, y slab) bool {
	if x.box.Max.X <= y.box.Min.X || y.box.Max.X <= x.box.Min.X || x.box.Max.Y <= y.box.Min.Y || y.box.Max.Y <= x.box.Min.Y {
		return false
	}
	both, err := profile.Intersect(x.region, y.region)
	return err != nil || both.Area() > overlap
}

// placed is a part in its turn.
type placed struct {
	part int
	// over are parts that are there already and that this one goes under: they
	// must be lifted or turned aside.
	over []int
}

// order sorts the parts. Among those that nothing keeps back the ground body
// comes first, then the lowest.
func (s *stack) order() []placed {
	n := len(s.parts)
	must := make([][]bool, n)
	by := make([][]int, n)
	fill := func() {
		for a := range n {
			must[a], by[a] = make([]bool, n), make([]int, n)
			for b := range n {
				if a != b {
					must[a][b], by[a][b] = s.before(a, b)
				}
			}
		}
	}
	fill()
	done := make([]bool, n)
	var out []placed
	for len(out) < n {
		best, waits := -1, 0
		for b := range n {
			if done[b] {
				continue
			}
			w := 0
			for a := range n {
				if !done[a] && a != b && must[a][b] {
					w++
				}
			}
			if best < 0 || w < waits || w == waits && s.earlier(b, best) {
				best, waits = b, w
			}
		}
		if waits > 0 {
			// Parts wait for each other. A pin that can go in later frees them.
			if p := freeing(done, must, by); p >= 0 {
				s.late[p] = true
				fill()
				continue
			}
		}
		next := placed{part: best}
		for a := range n {
			if !done[a] && a != best && must[a][best] {
				next.over = append(next.over, a)
			}
		}
		done[best] = true
		out = append(out, next)
	}
	return out
}

// freeing returns the first pin that alone keeps two waiting parts apart.
func freeing(done []bool, must [][]bool, by [][]int) int {
	for a := range must {
		for b := range must {
			if !done[a] && !done[b] && must[a][b] && by[a][b] >= 0 {
				return by[a][b]
			}
		}
	}
	return -1
}

func (s *stack) earlier(a, b int) bool {
	rank := func(i int) (int, float64) {
		p := s.in.Parts[i]
		k := s.in.Mechanism.BodyIndex(p.Name)
		z, _ := p.Solid.ZRange()
		switch {
		case s.in.Mechanism.Bodies[k].Ground:
			return 0, z
		case p.Body.Plane == "xz":
			return 2, z
		}
		return 1, z
	}
	ra, za := rank(a)
	rb, zb := rank(b)
	return ra < rb || ra == rb && za < zb
}
