package profile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// The arrangement is what every boolean, offset and clean-up is computed from.
//
// All edges go into one pool, with a channel (first or second operand). They are
// cut where they cross, where they pass within half the tolerance of a vertex, and
// where they pass within half the tolerance of each other; vertices within the
// tolerance become one. Cutting moves edges by up to the tolerance, so it is
// repeated until a pass changes nothing. Then
//
//   - distinct vertices are farther apart than the tolerance,
//   - no vertex is within half the tolerance of an edge that does not end there,
//   - edges meet only at common vertices, but that next to one, where they touch,
//     they may overlap by less than the tolerance,
//
// and edges with the same two ends that stay within the tolerance are bundled
// into one with a net count. Every bundle has a clear side to the left and right, whose
// winding numbers are counted exactly (crossings), and a rule on winding numbers
// says whether it bounds the result.

// source is an input edge.
type source struct {
	edge    seg
	tag     int32
	channel int8
}

// piece is the part s0..s1 (fractions of length) of a source, between vertices.
type piece struct {
	a, b   int32
	src    int32
	s0, s1 float64
	fresh  bool
}

type arrangement struct {
	tol float64 // between vertices
	// near is the tolerance between a vertex and an edge, and between edges that
	// touch: half of tol. Then a cut at a vertex always leaves shorter edges, and cutting
	// ends. (With equal tolerances three vertices in a triangle of about tol are each
	// near the opposite side, for ever.)
	near   float64
	src    []source
	pos    []r2.Vec
	link   []int32 // union-find over vertices
	merged bool    // some were made one since the last rebuild
	pieces []piece
	geo    []seg // of pieces
}

var errBadNumber = errors.New("a coordinate or bulge is not a finite number")

func newArrangement(tol float64) *arrangement { return &arrangement{tol: tol, near: tol / 2} }

func (ar *arrangement) vertex(p r2.Vec) int32 {
	ar.pos = append(ar.pos, p)
	ar.link = append(ar.link, int32(len(ar.link)))
	return int32(len(ar.pos) - 1)
}

// addRegion adds the loops of a region to a channel.
func (ar *arrangement) addRegion(r Region, channel int8) error {
	for i, l := range r {
		if err := ar.addLoop(l, channel); err != nil {
			return fmt.Errorf("loop %d: %w", i, err)
		}
	}
	return nil
}

func (ar *arrangement) addLoop(l Loop, channel int8) error {
	if len(l) == 0 {
		return nil
	}
	for i, v := range l {
		if !finite(v.P) || math.IsNaN(v.Bulge) || math.IsInf(v.Bulge, 0) {
			return fmt.Errorf("vertex %d: %w", i, errBadNumber)
		}
	}
	first := ar.vertex(l[0].P)
	a := first
	for i := range l {
		b := first
		if i+1 < len(l) {
			b = ar.vertex(l[i+1].P)
		}
		ar.addEdge(a, b, l[i].Bulge, l[i].Tag, channel)
		a = b
	}
	return nil
}

// addEdge adds one edge, as two sources if it sweeps over half a turn.
func (ar *arrangement) addEdge(a, b int32, bulge float64, tag int32, channel int8) {
	e := Edge{A: ar.pos[a], B: ar.pos[b], Bulge: bulge}
	if math.Abs(bulge) > 1 {
		m, hb := e.halve()
		v := ar.vertex(m)
		ar.addEdge(a, v, hb, tag, channel)
		ar.addEdge(v, b, hb, tag, channel)
		return
	}
	ar.src = append(ar.src, source{edge: newSeg(e.A, e.B, unbend(e.A, e.B, bulge)), tag: tag, channel: channel})
	ar.pieces = append(ar.pieces, piece{a: a, b: b, src: int32(len(ar.src) - 1), s1: 1, fresh: true})
}

// unbend returns the bulge, or 0 for an arc that is a line but for some 1e-12 mm:
// below the tolerance by far, and too near rounding for telling its sides.
func unbend(a, b r2.Vec, bulge float64) float64 {
	if math.Abs(bulge)*dist(a, b) < 1e-11 {
		return 0
	}
	return bulge
}

func (ar *arrangement) find(v int32) int32 {
	for ar.link[v] != v {
		ar.link[v] = ar.link[ar.link[v]]
		v = ar.link[v]
	}
	return v
}

// merge makes two vertices one, at the place of the older.
func (ar *arrangement) merge(v, w int32) {
	v, w = ar.find(v), ar.find(w)
	if v == w {
		return
	}
	if v > w {
		v, w = w, v
	}
	ar.link[w] = v
	ar.merged = true
}

// mergeAt makes two vertices one at x, so that neither moves as far as to the other.
func (ar *arrangement) mergeAt(x r2.Vec, v, w int32) {
	u := ar.vertex(x)
	ar.link[ar.find(v)] = u
	ar.link[ar.find(w)] = u
	ar.merged = true
}

// cut asks for a piece to be split at a vertex.
type cut struct {
	piece int32
	at    int32
	s     float64 // fraction along the piece
}

const maxPasses = 40

// split cuts until nothing changes.
func (ar *arrangement) split() error {
	var cuts []cut
	ar.mergeVertices()
	ar.rebuild(nil)
	most := 1000 + 4*len(ar.pieces)*len(ar.pieces)
	for range maxPasses {
		cuts = ar.findCuts(cuts[:0])
		ar.mergeVertices()
		if len(cuts) == 0 && !ar.merged {
			return nil
		}
		if ar.rebuild(cuts); len(ar.pieces) > most {
			break
		}
	}
	return fmt.Errorf("edges still meet after %d passes of cutting at tolerance %g mm", maxPasses, ar.tol)
}

// mergeVertices joins vertices in use that are within the tolerance.
func (ar *arrangement) mergeVertices() {
	order := make([]int32, 0, len(ar.pos))
	for v := range ar.pos {
		if ar.link[v] == int32(v) {
			order = append(order, int32(v))
		}
	}
	slices.SortFunc(order, func(v, w int32) int {
		return cmp.Or(cmp.Compare(ar.pos[v].X, ar.pos[w].X), cmp.Compare(v, w))
	})
	for i, v := range order {
		for _, w := range order[i+1:] {
			if ar.pos[w].X-ar.pos[v].X > ar.tol {
				break
			}
			if dist2(ar.pos[v], ar.pos[w]) <= ar.tol*ar.tol {
				ar.merge(v, w)
			}
		}
	}
}

// rebuild applies cuts and merged vertices, and drops pieces without length.
func (ar *arrangement) rebuild(cuts []cut) {
	for i := range cuts {
		cuts[i].at = ar.find(cuts[i].at)
	}
	slices.SortFunc(cuts, func(x, y cut) int {
		return cmp.Or(cmp.Compare(x.piece, y.piece), cmp.Compare(x.s, y.s), cmp.Compare(x.at, y.at))
	})
	ar.merged = false
	old, oldGeo := ar.pieces, ar.geo
	ar.pieces = make([]piece, 0, len(old)+len(cuts))
	ar.geo = make([]seg, 0, len(old)+len(cuts))
	put := func(p piece) {
		if p.a == p.b {
			return
		}
		ar.pieces = append(ar.pieces, p)
		b := math.Tan(ar.src[p.src].edge.sweep * (p.s1 - p.s0) / 4)
		ar.geo = append(ar.geo, newSeg(ar.pos[p.a], ar.pos[p.b], unbend(ar.pos[p.a], ar.pos[p.b], b)))
	}
	for i, p := range old {
		a, b := ar.find(p.a), ar.find(p.b)
		n := 0
		for n < len(cuts) && cuts[n].piece == int32(i) {
			n++
		}
		mine := cuts[:n]
		cuts = cuts[n:]
		if n == 0 && a == p.a && b == p.b && oldGeo != nil {
			p.fresh = false
			ar.pieces = append(ar.pieces, p)
			ar.geo = append(ar.geo, oldGeo[i])
			continue
		}
		at, s := a, p.s0
		for _, c := range mine {
			if c.at == at || c.at == a || c.at == b {
				continue
			}
			t := p.s0 + min(max(c.s, 0), 1)*(p.s1-p.s0)
			put(piece{a: at, b: c.at, src: p.src, s0: s, s1: t, fresh: true})
			at, s = c.at, t
		}
		put(piece{a: at, b: b, src: p.src, s0: s, s1: p.s1, fresh: true})
	}
}

// findCuts returns the cuts at meetings of pieces, and merges vertices that meet.
func (ar *arrangement) findCuts(cuts []cut) []cut {
	type span struct{ lo, hi r2.Vec }
	n := len(ar.pieces)
	boxes := make([]span, n)
	order := make([]int32, n)
	for i := range ar.pieces {
		lo, hi := ar.geo[i].box()
		boxes[i] = span{lo, hi}
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(i, j int32) int {
		return cmp.Or(cmp.Compare(boxes[i].lo.X, boxes[j].lo.X), cmp.Compare(i, j))
	})
	for k, i := range order {
		bi := &boxes[i]
		for _, j := range order[k+1:] {
			bj := &boxes[j]
			if bj.lo.X > bi.hi.X+ar.tol {
				break
			}
			if bj.lo.Y > bi.hi.Y+ar.tol || bj.hi.Y < bi.lo.Y-ar.tol {
				continue
			}
			if !ar.pieces[i].fresh && !ar.pieces[j].fresh {
				continue
			}
			cuts = ar.meetPair(min(i, j), max(i, j), cuts)
		}
	}
	return cuts
}

// endOnPiece handles vertex v near piece i.
func (ar *arrangement) endOnPiece(v, i int32, cuts []cut) []cut {
	p, g := &ar.pieces[i], &ar.geo[i]
	if v == p.a || v == p.b || g.dist(ar.pos[v]) > ar.near {
		return cuts
	}
	switch at := ar.pos[v]; {
	case dist2(at, g.a) <= ar.tol*ar.tol:
		ar.merge(v, p.a)
	case dist2(at, g.b) <= ar.tol*ar.tol:
		ar.merge(v, p.b)
	default:
		cuts = append(cuts, cut{piece: i, at: v, s: g.param(at)})
	}
	return cuts
}

func (ar *arrangement) meetPair(i, j int32, cuts []cut) []cut {
	p, q := &ar.pieces[i], &ar.pieces[j]
	gi, gj := &ar.geo[i], &ar.geo[j]
	same := 0
	for _, v := range [2]int32{q.a, q.b} {
		if v == p.a || v == p.b {
			same++
		}
	}
	if same == 2 {
		return cuts // two circles meet in two points at most
	}
	cuts = ar.endOnPiece(q.a, i, cuts)
	cuts = ar.endOnPiece(q.b, i, cuts)
	cuts = ar.endOnPiece(p.a, j, cuts)
	cuts = ar.endOnPiece(p.b, j, cuts)
	if gi.k == 0 && gj.k == 0 && same == 1 {
		return cuts
	}
	var pts [2]r2.Vec
	var n int
	if same == 1 {
		s, t := *gi, *gj
		if p.b == q.a || p.b == q.b {
			s = gi.reversed()
		}
		if q.b == p.a || q.b == p.b {
			t = gj.reversed()
		}
		// The middles, where sides are judged, must be clear of what is passed over.
		pts, n = meetShared(&s, &t, ar.near, 0.2*min(s.chord(), t.chord()))
	} else {
		pts, n = meet(gi, gj, ar.near)
	}
	for _, x := range pts[:n] {
		if gi.dist(x) > ar.near || gj.dist(x) > ar.near {
			continue
		}
		ends := false
		cuts, ends = ar.meetAtEnd(x, i, j, cuts)
		if ends {
			continue
		}
		if cuts, ends = ar.meetAtEnd(x, j, i, cuts); ends {
			continue
		}
		v := ar.vertex(x)
		cuts = append(cuts, cut{piece: i, at: v, s: gi.param(x)}, cut{piece: j, at: v, s: gj.param(x)})
	}
	return cuts
}

// meetAtEnd handles a meeting x of pieces i and j within the tolerance of an end
// of i: that end becomes the meeting. Where x is as near to an end of j, both ends
// become it, even if they are farther than that from each other: j cut at the other end
// would be no shorter, and then be cut at its own former end, for ever.
func (ar *arrangement) meetAtEnd(x r2.Vec, i, j int32, cuts []cut) ([]cut, bool) {
	p, q, g := &ar.pieces[i], &ar.pieces[j], &ar.geo[j]
	tt := ar.tol * ar.tol
	for _, v := range [2]int32{p.a, p.b} {
		at := ar.pos[v]
		if dist2(x, at) > tt {
			continue
		}
		switch {
		case v == q.a || v == q.b:
		case dist2(at, g.a) <= tt:
			ar.merge(v, q.a)
		case dist2(at, g.b) <= tt:
			ar.merge(v, q.b)
		case dist2(x, g.a) <= tt:
			ar.mergeAt(x, v, q.a)
		case dist2(x, g.b) <= tt:
			ar.mergeAt(x, v, q.b)
		default:
			cuts = append(cuts, cut{piece: j, at: v, s: g.param(x)})
		}
		return cuts, true
	}
	return cuts, false
}
