package mesh

import (
	"math/bits"
	"testing"
)

func ambiguous(mask, face int) bool {
	f := cellFace[face]
	in := func(i int) bool { return mask>>f[i]&1 != 0 }
	return in(0) == in(2) && in(1) == in(3) && in(0) != in(1)
}

// Every claim the mesher makes about its tables, over all masks.
func TestSheetTables(t *testing.T) {
	most, double := int8(0), 0
	for mask := range 256 {
		for table := range 2 {
			s := sheetTable[table][mask]
			most = max(most, s.n)
			for e, c := range cellEdge {
				if crossed := mask>>c[0]&1 != mask>>c[1]&1; crossed != (s.of[e] >= 0) {
					t.Fatalf("mask %08b table %d: edge %d", mask, table, e)
				}
			}
			// Turning inside and outside round exchanges the tables.
			o := sheetTable[1-table][255-mask]
			if s.n != o.n {
				t.Errorf("mask %08b: %d sheets, complement %d", mask, s.n, o.n)
			}
		}
		f := doubleFace[mask]
		if f < 0 {
			continue
		}
		double++
		n := 0
		for g := range 6 {
			if ambiguous(mask, g) {
				n++
			}
		}
		if n != 1 {
			t.Errorf("mask %08b: face %d is double and %d faces are ambiguous", mask, f, n)
		}
		// Under table 1 the two stretches are apart: of the four edges of the
		// face, two belong to each of two sheets.
		s := sheetTable[1][mask]
		var seen [4]int
		for e, c := range cellEdge {
			for i := range 4 {
				a, b := cellFace[f][i], cellFace[f][(i+1)%4]
				if c[0] == min(a, b) && c[1] == max(a, b) {
					seen[s.of[e]]++
				}
			}
		}
		if seen[0] != 2 || seen[1] != 2 {
			t.Errorf("mask %08b: face %d stays double in table 1", mask, f)
		}
	}
	if most != 4 || double == 0 {
		t.Errorf("at most %d sheets in a cell, %d masks with a double face", most, double)
	}
}

// Two cells side by side with every pattern of their twelve corners: no pair
// of vertices is joined twice, by either kind of decision.
func TestSheetTablesJoinNoPairTwice(t *testing.T) {
	for pattern := range 1 << 12 {
		// Corners at x = 0, 1, 2; bit 4x + y + 2z.
		l, r := 0, 0
		for i := range 8 {
			bit := func(x int) int { return pattern >> (4*(x+(i&1)) + (i >> 1)) & 1 << i }
			l |= bit(0)
			r |= bit(1)
		}
		table := 0
		if doubleFace[l] == 1 && doubleFace[r] == 0 {
			table = 1
		}
		a, b := sheetTable[table][l], sheetTable[table][r]
		// The +x face of l has edges 5, 7 along y and 9, 11 along z; the −x
		// face of r has 4, 6 and 8, 10.
		pairs := map[[2]int8]int{}
		for k, e := range [4]int{5, 7, 9, 11} {
			f := [4]int{4, 6, 8, 10}[k]
			if a.of[e] >= 0 {
				pairs[[2]int8{a.of[e], b.of[f]}]++
			}
		}
		// Two edges of the face per stretch; each stretch must join its own pair.
		for p, n := range pairs {
			if n != 2 {
				t.Fatalf("pattern %012b (%d inside): sheets %v joined over %d edges", pattern, bits.OnesCount(uint(pattern)), p, n)
			}
		}
	}
}
