package solid

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// level returns the number of a height.
func (m *mesher) level(z float64) int {
	for i := range m.levels {
		if math.Abs(m.levels[i].z-z) <= zTol {
			return i
		}
	}
	v := make([]int32, len(m.at))
	for i := range v {
		v[i] = -1
	}
	m.levels = append(m.levels, level{z, v})
	return len(m.levels) - 1
}

// vertex returns the mesh vertex over point i at a level.
func (m *mesher) vertex(lv int, i int32) int32 {
	v := &m.levels[lv].vertex[i]
	if *v < 0 {
		*v = int32(len(m.out.Vertices))
		p := m.at[i]
		m.out.Vertices = append(m.out.Vertices, r3.Vec{X: p.X, Y: p.Y, Z: m.levels[lv].z})
	}
	return *v
}

// area returns the area in mm² that loops enclose, of holes negative.
func (m *mesher) area(loops [][]int32) float64 {
	sum := 0.0
	for _, l := range loops {
		o := m.at[l[0]]
		for j := 1; j+1 < len(l); j++ {
			sum += r2.Cross(r2.Sub(m.at[l[j]], o), r2.Sub(m.at[l[j+1]], o)) / 2
		}
	}
	return sum
}

func (m *mesher) triangle(a, b, c int32) {
	m.out.Triangles = append(m.out.Triangles, [3]int32{a, b, c})
}

// common returns the loops of a that run along loops of b: walls of sharp holes
// beside a chamfer.
func common(a, b *contour) [][]int32 {
	in := map[int32]bool{}
	for _, l := range b.loops {
		for _, i := range l {
			in[i] = true
		}
	}
	var out [][]int32
	for _, l := range a.loops {
		if !slices.ContainsFunc(l, func(i int32) bool { return !in[i] }) {
			out = append(out, l)
		}
	}
	return out
}

// walls adds the vertical faces over loops.
func (m *mesher) walls(loops [][]int32, lo, hi int) {
	for _, l := range loops {
		a := l[len(l)-1]
		for _, b := range l {
			if t := m.top[b]; t >= 0 && m.levels[t].z > m.levels[lo].z {
				m.seam = true // two walls stand there
			}
			if t := m.top[b]; t < 0 || m.levels[t].z < m.levels[hi].z {
				m.top[b] = int32(hi)
			}
			a0, b0, a1, b1 := m.vertex(lo, a), m.vertex(lo, b), m.vertex(hi, a), m.vertex(hi, b)
			m.triangle(a0, b0, b1)
			m.triangle(a0, b1, a1)
			a = b
		}
	}
}

// face triangulates a horizontal face from the outlines of what lies below and
// above it.
func (m *mesher) face(below, above []*contour) (*plane, error) {
	var ids []int32
	for _, c := range append(slices.Clone(below), above...) {
		for _, l := range c.loops {
			ids = append(ids, l...)
		}
	}
	if len(ids) == 0 {
		return nil, nil
	}
	return m.triangulate(ids, below, above)
}

func (m *mesher) triangulate(ids []int32, sets ...[]*contour) (*plane, error) {
	p, err := newPlane(m.at, ids)
	if err != nil {
		return nil, err
	}
	for s, cs := range sets {
		for _, c := range cs {
			for _, l := range c.loops {
				a := l[len(l)-1]
				for _, b := range l {
					if err := p.constrain(a, b, s); err != nil {
						return nil, err
					}
					a = b
				}
			}
		}
	}
	p.label()
	return p, nil
}

// emitFace adds the parts of a face with material on one side only. With top or
// bottom set, the plane holds one outline, whichever way it was labelled.
func (m *mesher) emitFace(p *plane, z float64, top, bottom bool) {
	lv := m.level(z)
	for i := range p.tri {
		t := &p.tri[i]
		below, above := t.wind[0] > 0, t.wind[1] > 0
		if top || bottom {
			in := below || above
			below, above = in && top, in && bottom
		}
		if !top && !bottom {
			for _, s := range t.step {
				m.seam = m.seam || s[0]*s[1] < 0
			}
		}
		if below == above {
			continue
		}
		a, b, c := m.vertex(lv, t.v[0]), m.vertex(lv, t.v[1]), m.vertex(lv, t.v[2])
		if below {
			m.triangle(a, b, c)
		} else {
			m.triangle(a, c, b)
		}
	}
}
