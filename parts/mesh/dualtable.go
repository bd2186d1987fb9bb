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

// A sheets entry divides a cell's crossed edges into closed chains, one per
// sheet of surface through the cell; each sheet gets one vertex. of[e] is the
// sheet of edge e, or -1 where the edge is not crossed.
type sheets struct {
	n  int8
	of [12]int8
}

// sheetTable[0] cuts the inside corners of an ambiguous face (inside corners
// on one diagonal) off from each other, sheetTable[1] joins them.
//
// doubleFace[mask] is the ambiguous face of the mask whose two stretches of
// surface belong to one sheet under sheetTable[0], or -1. If the cells on both
// sides of such a face kept to table 0, their two vertices would be joined
// twice and four triangles would meet in one edge; both then take table 1. No
// mask has two such faces, nor any other ambiguous face beside it, so the
// choice never propagates (after G. M. Nielson, Dual marching cubes, 2004, and
// R. Wenger, Isosurfaces, 2013, from memory; the tables are computed here and
// the claims are tested over all masks).
var (
	sheetTable [2][256]sheets
	doubleFace [256]int8
)

func init() {
	var edgeOf [8][8]int8
	for e, c := range cellEdge {
		edgeOf[c[0]][c[1]], edgeOf[c[1]][c[0]] = int8(e), int8(e)
	}
	for mask := range 256 {
		in := func(c uint8) bool { return mask>>c&1 != 0 }
		for table := range 2 {
			var link [12][]int8
			join := func(a, b int8) {
				link[a], link[b] = append(link[a], b), append(link[b], a)
			}
			for _, f := range cellFace {
				var crossed []int8
				for i := range 4 {
					if in(f[i]) != in(f[(i+1)%4]) {
						crossed = append(crossed, edgeOf[f[i]][f[(i+1)%4]])
					}
				}
				switch len(crossed) {
				case 2:
					join(crossed[0], crossed[1])
				case 4:
					// crossed[i] runs from corner i to i+1; the two edges at
					// a corner are joined, at inside corners or at outside ones.
					if in(f[1]) == (table == 0) {
						join(crossed[0], crossed[1])
						join(crossed[2], crossed[3])
					} else {
						join(crossed[1], crossed[2])
						join(crossed[3], crossed[0])
					}
				}
			}
			s := &sheetTable[table][mask]
			for e := range s.of {
				s.of[e] = -1
			}
			for e := range link {
				if len(link[e]) == 0 || s.of[e] >= 0 {
					continue
				}
				todo := []int8{int8(e)}
				for len(todo) > 0 {
					k := todo[0]
					todo = todo[1:]
					if s.of[k] < 0 {
						s.of[k] = s.n
						todo = append(todo, link[k]...)
					}
				}
				s.n++
			}
		}
		doubleFace[mask] = -1
		for i, f := range cellFace {
			if in(f[0]) == in(f[2]) && in(f[1]) == in(f[3]) && in(f[0]) != in(f[1]) {
				s := &sheetTable[0][mask]
				a, b := edgeOf[f[0]][f[1]], edgeOf[f[2]][f[3]]
				if s.of[a] == s.of[b] {
					doubleFace[mask] = int8(i)
				}
			}
		}
	}
}
