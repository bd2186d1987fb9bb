package mesh

import "testing"

// joins lists every choice of join bits for the ambiguous faces of a mask.
func joins(mask int) []uint16 {
	codes := []uint16{uint16(mask)}
	for f := range 6 {
		if ambiguousFace[mask]>>f&1 != 0 {
			for _, c := range codes {
				codes = append(codes, c|joinBit<<f)
			}
		}
	}
	return codes
}

// Every claim the mesher makes about sheets, over all codes.
func TestSheets(t *testing.T) {
	most, double := int8(0), 0
	for mask := range 256 {
		for _, code := range joins(mask) {
			s := sheetsOf(code)
			most = max(most, s.n)
			var size [4]int
			for e, c := range cellEdge {
				if crossed := mask>>c[0]&1 != mask>>c[1]&1; crossed != (s.of[e] >= 0) {
					t.Fatalf("code %014b: edge %d", code, e)
				}
				if s.of[e] >= 0 {
					size[s.of[e]]++
				}
			}
			for k := range s.n {
				if size[k] < 3 {
					t.Errorf("code %014b: sheet %d has %d edges", code, k, size[k])
				}
			}
			// Turning inside and outside round turns every choice round.
			o := sheetsOf(uint16(255-mask) | (code>>8^uint16(ambiguousFace[mask]))<<8)
			if s.of != o.of {
				t.Errorf("code %014b: sheets %v, of the complement %v", code, s.of, o.of)
			}
			// The other choice for a doubled face divides a sheet, and doubles
			// no other face.
			for f := range 6 {
				if ambiguousFace[mask]>>f&1 == 0 || !doubled(code, f) {
					continue
				}
				double++
				other := code ^ joinBit<<f
				if doubled(other, f) || sheetsOf(other).n != s.n+1 {
					t.Errorf("code %014b: face %d stays doubled", code, f)
				}
				for g := range 6 {
					if ambiguousFace[mask]>>g&1 != 0 && doubled(other, g) && !doubled(code, g) {
						t.Errorf("code %014b: turning face %d doubles face %d", code, f, g)
					}
				}
			}
		}
	}
	if most != 4 || double == 0 {
		t.Errorf("at most %d sheets in a cell, %d doubled faces", most, double)
	}
}

// Two cells side by side with every pattern of their twelve corners and every
// choice: after the rule about doubled faces no pair of vertices is joined
// twice.
func TestSheetsJoinNoPairTwice(t *testing.T) {
	for pattern := range 1 << 12 {
		l, r := 0, 0
		for i := range 8 {
			// Corner (x, y, z) of the pair is bit 4x + y + 2z.
			bit := func(x int) int { return pattern >> (4*(x+(i&1)) + (i >> 1)) & 1 << i }
			l |= bit(0)
			r |= bit(1)
		}
		for _, cl := range joins(l) {
			for _, cr := range joins(r) {
				if cl>>9&1 != cr>>8&1 {
					continue // the cells share the choice for their common face
				}
				if ambiguousFace[l]>>1&1 != 0 && doubled(cl, 1) && doubled(cr, 0) {
					cl, cr := cl^joinBit<<1, cr^joinBit
					checkPairs(t, cl, cr)
					continue
				}
				checkPairs(t, cl, cr)
			}
		}
	}
}

func checkPairs(t *testing.T, l, r uint16) {
	t.Helper()
	a, b := sheetsOf(l), sheetsOf(r)
	// The +x face of l has edges 5, 7 along y and 9, 11 along z; the −x face
	// of r has 4, 6 and 8, 10. A stretch of surface ends on two of them, so a
	// pair of sheets over four edges is joined twice.
	pairs := map[[2]int8]int{}
	for k, e := range [4]int{5, 7, 9, 11} {
		if a.of[e] >= 0 {
			pairs[[2]int8{a.of[e], b.of[[4]int{4, 6, 8, 10}[k]]}]++
		}
	}
	for p, n := range pairs {
		if n != 2 {
			t.Fatalf("codes %014b, %014b: sheets %v meet over %d edges", l, r, p, n)
		}
	}
}
