package plate

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// rect is a free rectangle of a sheet.
type rect struct{ x, y, w, h float64 }

func (r rect) holds(o rect) bool {
	return o.x >= r.x-slack && o.y >= r.y-slack && o.x+o.w <= r.x+r.w+slack && o.y+o.h <= r.y+r.h+slack
}

func (r rect) meets(o rect) bool {
	return o.x < r.x+r.w-slack && o.y < r.y+r.h-slack && r.x < o.x+o.w-slack && r.y < o.y+o.h-slack
}

type placed struct {
	part, copy int
	turned     bool
	rect
}

// sheet is a plate being filled. free lists all largest free rectangles; they
// overlap (the "maximal rectangles" way of packing: J. Jylänki, A Thousand Ways
// to Pack the Bin, 2010, from memory).
type sheet struct {
	free   []rect
	placed []placed
}

// extent is the upper right corner of what is placed; the lower left is (0, 0),
// since the first part goes there.
func (s sheet) extent() r2.Vec {
	var e r2.Vec
	for _, p := range s.placed {
		e.X, e.Y = max(e.X, p.x+p.w), max(e.Y, p.y+p.h)
	}
	return e
}

// rule scores a place for a rectangle in a free one, smaller is better, ties by
// the second number.
type rule func(f rect, w, h float64) (a, b float64)

var rules = []rule{
	// The shorter leftover side, then the longer one.
	func(f rect, w, h float64) (float64, float64) {
		return min(f.w-w, f.h-h), max(f.w-w, f.h-h)
	},
	// The leftover area.
	func(f rect, w, h float64) (float64, float64) {
		return f.w*f.h - w*h, min(f.w-w, f.h-h)
	},
	// As low as possible, then as far left.
	func(f rect, w, h float64) (float64, float64) { return f.y + h, f.x },
	// Close to the corner, which keeps the whole compact.
	func(f rect, w, h float64) (float64, float64) { return max(f.x+w, f.y+h), f.x + f.y },
}

// put places an item in the best way that the rule knows and reports whether
// there is one.
func (s *sheet) put(it item, score rule) bool {
	to, _, _, found := s.find(it, score)
	if found {
		s.placed = append(s.placed, to)
		s.split(to.rect)
	}
	return found
}

// find returns the best place for an item and its score.
func (s *sheet) find(it item, score rule) (to placed, ba, bb float64, found bool) {
	for _, f := range s.free {
		for _, turned := range []bool{false, true} {
			w, h := it.w, it.h
			if turned {
				if w == h {
					continue
				}
				w, h = h, w
			}
			if w > f.w+slack || h > f.h+slack {
				continue
			}
			a, b := score(f, w, h)
			if !found || a < ba || a == ba && b < bb {
				found, ba, bb = true, a, b
				to = placed{it.part, it.copy, turned, rect{f.x, f.y, w, h}}
			}
		}
	}
	return to, ba, bb, found
}

// split takes a rectangle out of the free ones and drops those that lie within
// others.
func (s *sheet) split(r rect) {
	var next []rect
	for _, f := range s.free {
		if !f.meets(r) {
			next = append(next, f)
			continue
		}
		for _, p := range []rect{
			{f.x, f.y, r.x - f.x, f.h}, {r.x + r.w, f.y, f.x + f.w - r.x - r.w, f.h},
			{f.x, f.y, f.w, r.y - f.y}, {f.x, r.y + r.h, f.w, f.y + f.h - r.y - r.h},
		} {
			if p.w > slack && p.h > slack {
				next = append(next, p)
			}
		}
	}
	s.free = s.free[:0]
	for i, f := range next {
		inside := false
		for j, g := range next {
			// Of two equal ones the first stays.
			if i != j && g.holds(f) && (!f.holds(g) || j < i) {
				inside = true
				break
			}
		}
		if !inside {
			s.free = append(s.free, f)
		}
	}
}

// pack fills sheets of w × h in the order given, each item on the first sheet
// that takes it. It stops and returns nil when it needs more than most.
func pack(items []item, w, h float64, score rule, most int) []sheet {
	var sheets []sheet
	for _, it := range items {
		done := false
		for i := range sheets {
			if done = sheets[i].put(it, score); done {
				break
			}
		}
		if done {
			continue
		}
		if len(sheets) == most {
			return nil
		}
		s := sheet{free: []rect{{0, 0, w, h}}}
		if !s.put(it, score) {
			return nil
		}
		sheets = append(sheets, s)
	}
	return sheets
}

// packByFit fills one sheet after the other, always with the item that fits best
// of all that are left; of equal ones the earlier.
func packByFit(items []item, w, h float64, score rule, most int) []sheet {
	left := slices.Clone(items)
	var sheets []sheet
	for len(left) > 0 {
		if len(sheets) == most {
			return nil
		}
		s := sheet{free: []rect{{0, 0, w, h}}}
		for {
			pick := -1
			var to placed
			var ba, bb float64
			for i, it := range left {
				if p, a, b, ok := s.find(it, score); ok && (pick < 0 || a < ba || a == ba && b < bb) {
					pick, to, ba, bb = i, p, a, b
				}
			}
			if pick < 0 {
				break
			}
			s.placed = append(s.placed, to)
			s.split(to.rect)
			left = slices.Delete(left, pick, pick+1)
		}
		if len(s.placed) == 0 {
			return nil
		}
		sheets = append(sheets, s)
	}
	return sheets
}

// shuffles is how many further orders are tried while the plates may be too many.
const shuffles = 300

// best packs in many orders with all rules and returns the fewest sheets, of
// equal ones the most compact.
func best(items []item, w, h float64) []sheet {
	if len(items) == 0 {
		return nil
	}
	area := 0.0
	for _, it := range items {
		area += it.w * it.h
	}
	// No arrangement can do with less.
	bound := max(1, int(math.Ceil(area/(w*h)-1e-9)))
	var win []sheet
	var size float64
	type method func([]item, float64, float64, rule, int) []sheet
	try := func(order []item, how method) {
		for _, score := range rules {
			most := len(items)
			if win != nil {
				most = len(win)
			}
			got := how(order, w, h, score, most)
			if got == nil {
				continue
			}
			if s := compact(got); win == nil || len(got) < len(win) || len(got) == len(win) && s < size-slack {
				win, size = got, s
			}
		}
	}
	for _, key := range []func(item) (float64, float64){
		func(i item) (float64, float64) { return i.w * i.h, max(i.w, i.h) },
		func(i item) (float64, float64) { return max(i.w, i.h), min(i.w, i.h) },
		func(i item) (float64, float64) { return min(i.w, i.h), max(i.w, i.h) },
		func(i item) (float64, float64) { return i.w + i.h, max(i.w, i.h) },
	} {
		order := slices.Clone(items)
		slices.SortStableFunc(order, func(a, b item) int {
			a1, a2 := key(a)
			b1, b2 := key(b)
			return cmp.Or(cmp.Compare(b1, a1), cmp.Compare(b2, a2))
		})
		try(order, pack)
		try(order, packByFit)
	}
	// A fixed seed: the same parts, the same plates. Large items stay near the
	// front, where they belong.
	rng := rand.New(rand.NewPCG(7, uint64(len(items))))
	for n := 0; n < shuffles && len(win) > bound; n++ {
		order := slices.Clone(items)
		weight := map[[2]int]float64{}
		for _, it := range items {
			weight[[2]int{it.part, it.copy}] = it.w * it.h * math.Exp(1.5*rng.NormFloat64())
		}
		slices.SortStableFunc(order, func(a, b item) int {
			return cmp.Compare(weight[[2]int{b.part, b.copy}], weight[[2]int{a.part, a.copy}])
		})
		try(order, pack)
	}
	return win
}

// compact is the summed area of what the sheets' contents span.
func compact(sheets []sheet) float64 {
	a := 0.0
	for _, s := range sheets {
		e := s.extent()
		a += e.X * e.Y
	}
	return a
}

func sortSpots(p Plate) {
	slices.SortFunc(p, func(a, b Spot) int { return cmp.Or(cmp.Compare(a.Part, b.Part), cmp.Compare(a.Copy, b.Copy)) })
}
