package check

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// prepare computes shear and bending for a unit force from every holder.
//
// Holders press evenly over their height. One of them, the press fit that is
// held longest, or else the longest, also keeps the pin from tilting: its
// pressure rises evenly along z so that force and moment vanish. A pin between
// two equal cheeks that carry it then bends as F/2·(t/2 + e/4 + gap) says.
func (b *pinBeam) prepare() {
	r := b.reactor()
	if r < 0 || len(b.holders) < 2 {
		return
	}
	var cuts []float64
	for _, h := range b.holders {
		for _, s := range h.spans {
			cuts = append(cuts, s[0], s[1])
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	const steps = 48
	for i := 0; i+1 < len(cuts); i++ {
		for k := range steps {
			b.z = append(b.z, cuts[i]+(cuts[i+1]-cuts[i])*float64(k)/steps)
		}
	}
	b.z = append(b.z, cuts[len(cuts)-1])
	b.findFaces()
	len0, mid0, sec0 := spread(b.holders[r].spans)
	for i, h := range b.holders {
		v, m := make([]float64, len(b.z)), make([]float64, len(b.z))
		if i != r {
			length, mid, _ := spread(h.spans)
			at := func(z, zm float64) float64 {
				q := 0.0
				if within(h.spans, zm) {
					q += 1 / length
				}
				if within(b.holders[r].spans, zm) {
					q -= 1/len0 + (mid-mid0)*(z-mid0)/sec0
				}
				return q
			}
			for k := 1; k < len(b.z); k++ {
				z0, z1 := b.z[k-1], b.z[k]
				zm, dz := (z0+z1)/2, z1-z0
				p0, p1 := at(z0, zm), at(z1, zm)
				v[k] = v[k-1] + dz*(p0+p1)/2
				m[k] = m[k-1] + dz*v[k-1] + dz*dz*(2*p0+p1)/6
			}
		}
		b.v, b.m = append(b.v, v), append(b.m, m)
		b.vMost, b.mMost = append(b.vMost, most(v)), append(b.mMost, most(m))
	}
}

// findFaces lists the stations where one holder's height ends and another one's
// comes next.
func (b *pinBeam) findFaces() {
	type end struct {
		z0, z1 float64
		holder int
	}
	var ends []end
	for i, h := range b.holders {
		for _, s := range h.spans {
			ends = append(ends, end{s[0], s[1], i})
		}
	}
	slices.SortStableFunc(ends, func(x, y end) int { return cmpFloat(x.z0, y.z0) })
	for i := 1; i < len(ends); i++ {
		if ends[i].holder != ends[i-1].holder {
			if k := slices.Index(b.z, ends[i-1].z1); k >= 0 {
				b.faces = append(b.faces, k)
			}
		}
	}
}

func (b *pinBeam) reactor() int {
	best, longest, press := -1, 0.0, false
	for i, h := range b.holders {
		_, _, second := spread(h.spans)
		if h.press && !press || h.press == press && second > longest {
			best, longest, press = i, second, h.press
		}
	}
	return best
}

// spread returns length, middle and second moment about it of z ranges.
func spread(spans [][2]float64) (length, mid, second float64) {
	for _, s := range spans {
		length += s[1] - s[0]
		mid += (s[1] - s[0]) * (s[0] + s[1]) / 2
	}
	if length == 0 {
		return 0, 0, 0
	}
	mid /= length
	for _, s := range spans {
		l, c := s[1]-s[0], (s[0]+s[1])/2-mid
		second += l*l*l/12 + l*c*c
	}
	return length, mid, second
}

func within(spans [][2]float64, z float64) bool {
	for _, s := range spans {
		if z > s[0] && z < s[1] {
			return true
		}
	}
	return false
}

// peaks returns the largest shear (N), bending moment (N·mm) and in how many
// sections between two holders the pin is cut: those with at least half of the
// largest shear there. more is false, and the rest not computed, where neither
// can be larger than it was before.
func (b *pinBeam) peaks(f []r2.Vec) (shear, bend float64, planes int, more bool) {
	for i := range f {
		n := r2.Norm(f[i])
		shear, bend = shear+n*b.vMost[i], bend+n*b.mMost[i]
	}
	if more = shear > b.shear || bend > b.bend || !b.seen; !more {
		return 0, 0, 0, false
	}
	at := func(u [][]float64, k int) float64 {
		var s r2.Vec
		for i := range u {
			s = r2.Add(s, r2.Scale(u[i][k], f[i]))
		}
		return r2.Norm(s)
	}
	shear, bend = 0, 0
	for k := range b.z {
		shear, bend = math.Max(shear, at(b.v, k)), math.Max(bend, at(b.m, k))
	}
	b.shear, b.bend, b.seen = math.Max(b.shear, shear), math.Max(b.bend, bend), true
	cut := 0.0
	for _, k := range b.faces {
		cut = math.Max(cut, at(b.v, k))
	}
	for _, k := range b.faces {
		if cut > 0 && at(b.v, k) >= cut/2 {
			planes++
		}
	}
	return shear, bend, planes, true
}

// edgePressure returns the largest force per length (N/mm) at the ends of the
// hole that keeps the pin from tilting; ok is false for the other holders, which
// press evenly.
func (b *pinBeam) edgePressure(i int, f []r2.Vec) (peak float64, ok bool) {
	if i != b.reactor() {
		return 0, false
	}
	length, mid, second := spread(b.holders[i].spans)
	for _, s := range b.holders[i].spans {
		for _, z := range s {
			var q r2.Vec
			for k := range b.holders {
				if k != i {
					_, m, _ := spread(b.holders[k].spans)
					q = r2.Add(q, r2.Scale(1/length+(m-mid)*(z-mid)/second, f[k]))
				}
			}
			peak = math.Max(peak, r2.Norm(q))
		}
	}
	return peak, true
}

func most(v []float64) float64 {
	w := 0.0
	for _, x := range v {
		w = math.Max(w, math.Abs(x))
	}
	return w
}
