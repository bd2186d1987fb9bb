package mesh

// A cell's corner i lies at x = i&1, y = i>>1&1, z = i>>2&1. Bit i of a mask is
// set when that corner is inside. Edges 0–3 run along x, 4–7 along y, 8–11
// along z, each group ordered by lower corner.
var cellEdge = [12][2]uint8{
	{0, 1}, {2, 3}, {4, 5}, {6, 7},
	{0, 2}, {1, 3}, {4, 6}, {5, 7},
	{0, 4}, {1, 5}, {2, 6}, {3, 7},
}

// cellFace lists the corners of each face in cyclic order: −x, +x, −y, +y, −z, +z.
var cellFace = [6][4]uint8{{0, 2, 6, 4}, {1, 3, 7, 5}, {0, 1, 5, 4}, {2, 3, 7, 6}, {0, 1, 3, 2}, {4, 5, 7, 6}}

// sheets divides a cell's crossed edges into closed chains, one per sheet of
// surface through the cell; each sheet gets one vertex. of[e] is the sheet of
// edge e, or -1 where the edge is not crossed.
type sheets struct {
	n  int8
	of [12]int8
}

// A cell's code is its mask with six more bits: bit 8+f says that the inside
// corners of face f, when they lie on one diagonal only (an ambiguous face),
// are joined across the face; otherwise the outside corners are.
const (
	joinBit = 1 << 8
	// fanBit marks a cell whose quadrilaterals are all divided about a fifth
	// point.
	fanBit = 1 << 14
	// looseBit marks a cell with a vertex outside it.
	looseBit = 1 << 15
)

var (
	edgeOf        [8][8]int8  // the edge between two corners
	plainSheets   [256]sheets // of the codes without join bits
	crossedEdges  [256]uint16 // bit e: edge e has ends of different sign
	ambiguousFace [256]uint8  // bit f: face f of the mask is ambiguous
	openMask      [256]bool   // has an ambiguous face or, cut corner to corner, two sheets
)

func init() {
	for e, c := range cellEdge {
		edgeOf[c[0]][c[1]], edgeOf[c[1]][c[0]] = int8(e), int8(e)
	}
	for mask := range 256 {
		plainSheets[mask] = computeSheets(uint16(mask))
		for e, c := range cellEdge {
			crossedEdges[mask] |= uint16((mask>>c[0]^mask>>c[1])&1) << e
		}
		for f, c := range cellFace {
			b := func(i int) int { return mask >> c[i] & 1 }
			if b(0) == b(2) && b(1) == b(3) && b(0) != b(1) {
				ambiguousFace[mask] |= 1 << f
			}
		}
		openMask[mask] = ambiguousFace[mask] != 0 || plainSheets[mask].n > 1
	}
}

// sheetsOf returns the sheets of a code.
func sheetsOf(code uint16) sheets {
	if code&(fanBit-joinBit) == 0 {
		return plainSheets[uint8(code)]
	}
	return computeSheets(code)
}

func computeSheets(code uint16) sheets {
	in := func(c uint8) bool { return code>>c&1 != 0 }
	// The surface meets each face in stretches from edge to edge, and each
	// crossed edge ends one stretch on either of its faces.
	var link [12][2]int8
	var links [12]int8
	join := func(a, b int8) {
		link[a][links[a]], link[b][links[b]] = b, a
		links[a]++
		links[b]++
	}
	for i, f := range cellFace {
		var crossed [4]int8
		n := 0
		for k := range 4 {
			if in(f[k]) != in(f[(k+1)%4]) {
				crossed[n] = edgeOf[f[k]][f[(k+1)%4]]
				n++
			}
		}
		switch n {
		case 2:
			join(crossed[0], crossed[1])
		case 4:
			// crossed[k] runs from corner k to k+1. The two edges at a corner
			// end one stretch: at outside corners when inside is joined.
			if in(f[1]) != (code>>8>>i&1 != 0) {
				join(crossed[0], crossed[1])
				join(crossed[2], crossed[3])
			} else {
				join(crossed[1], crossed[2])
				join(crossed[3], crossed[0])
			}
		}
	}
	s := sheets{}
	for e := range s.of {
		s.of[e] = -1
	}
	for e := range link {
		if links[e] == 0 || s.of[e] >= 0 {
			continue
		}
		for k := int8(e); s.of[k] < 0; {
			s.of[k] = s.n
			if next := link[k][0]; s.of[next] < 0 {
				k = next
			} else {
				k = link[k][1]
			}
		}
		s.n++
	}
	return s
}

// doubled reports whether both stretches on an ambiguous face belong to one
// sheet. When that is so in the cells on both sides, their two vertices would
// be joined twice and four triangles would meet in one edge; the other choice
// for the face then divides the sheet in both cells. A chain of directed
// stretches can only fall apart by such an exchange, so no choice spoils
// another.
func doubled(code uint16, face int) bool {
	s := sheetsOf(code)
	c := cellFace[face]
	return s.of[edgeOf[c[0]][c[1]]] == s.of[edgeOf[c[2]][c[3]]] &&
		s.of[edgeOf[c[1]][c[2]]] == s.of[edgeOf[c[3]][c[0]]] &&
		s.of[edgeOf[c[0]][c[1]]] == s.of[edgeOf[c[1]][c[2]]]
}
