package plate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func part(name string, w, h float64, copies int) Part {
	// Off the origin on purpose.
	return Part{name, r3.Box{Min: r3.Vec{X: -3, Y: 5, Z: 1}, Max: r3.Vec{X: w - 3, Y: h + 5, Z: 6}}, copies}
}

// check asserts all that an arrangement promises.
func check(t interface {
	Errorf(string, ...any)
	Helper()
}, bed Bed, parts []Part, plates []Plate) {
	t.Helper()
	const eps = 1e-6
	seen := map[[2]int]int{}
	for i, pl := range plates {
		if len(pl) == 0 {
			t.Errorf("plate %d is empty", i)
		}
		for j, s := range pl {
			seen[[2]int{s.Part, s.Copy}]++
			// Move the mesh's corners as the spot says and find the area again.
			b := parts[s.Part].Box
			lo, hi := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1), Z: math.Inf(-1)}
			for _, v := range b.Vertices() {
				if s.Turned {
					v.X, v.Y = -v.Y, v.X
				}
				v = r3.Add(v, s.At)
				lo = r3.Vec{X: min(lo.X, v.X), Y: min(lo.Y, v.Y), Z: min(lo.Z, v.Z)}
				hi = r3.Vec{X: max(hi.X, v.X), Y: max(hi.Y, v.Y), Z: max(hi.Z, v.Z)}
			}
			a := s.Area
			if math.Abs(lo.X-a.Min.X) > eps || math.Abs(lo.Y-a.Min.Y) > eps || math.Abs(hi.X-a.Max.X) > eps || math.Abs(hi.Y-a.Max.Y) > eps || math.Abs(lo.Z) > eps {
				t.Errorf("plate %d: %+v covers %v to %v", i, s, lo, hi)
			}
			if a.Min.X < bed.Margin-eps || a.Min.Y < bed.Margin-eps || a.Max.X > bed.X-bed.Margin+eps || a.Max.Y > bed.Y-bed.Margin+eps {
				t.Errorf("plate %d: %v is outside the margins", i, a)
			}
			for _, o := range pl[:j] {
				gap := max(a.Min.X-o.Area.Max.X, o.Area.Min.X-a.Max.X, a.Min.Y-o.Area.Max.Y, o.Area.Min.Y-a.Max.Y)
				if gap < bed.Spacing-eps {
					t.Errorf("plate %d: %v and %v are %g mm apart, want %g", i, a, o.Area, gap, bed.Spacing)
				}
			}
		}
	}
	want := 0
	for i, p := range parts {
		want += p.Copies
		for c := range p.Copies {
			if n := seen[[2]int{i, c}]; n != 1 {
				t.Errorf("%s, copy %d is there %d times", p.Name, c, n)
			}
		}
	}
	if len(seen) != want {
		t.Errorf("%d copies placed, want %d", len(seen), want)
	}
}

func TestKnownBest(t *testing.T) {
	for _, c := range []struct {
		name  string
		bed   Bed
		parts []Part
		want  int
	}{
		{"nothing", Bed{X: 10, Y: 10, Z: 10}, nil, 0},
		{"exact fit", Bed{X: 10, Y: 20, Z: 5}, []Part{part("a", 10, 20, 1)}, 1},
		{"exact fit when turned", Bed{X: 20, Y: 10, Z: 5}, []Part{part("a", 10, 20, 1)}, 1},
		{"exact with margin and spacing", Bed{X: 31, Y: 20, Z: 5, Margin: 5, Spacing: 1}, []Part{part("a", 10, 10, 2)}, 1},
		{"spacing too much", Bed{X: 30.9, Y: 20, Z: 5, Margin: 5, Spacing: 1}, []Part{part("a", 10, 10, 2)}, 2},
		// Four 2×1 around a hole of 1×1: two of them must be turned.
		{"pinwheel", Bed{X: 3, Y: 3, Z: 5}, []Part{part("a", 2, 1, 4), part("b", 1, 1, 1)}, 1},
		// 4×5 and 2×3 pieces that cut a 10×8 sheet without waste (areas 20+20+20+6+6+8).
		{"no waste", Bed{X: 10, Y: 8, Z: 5}, []Part{part("a", 5, 4, 3), part("b", 3, 2, 2), part("c", 4, 2, 1)}, 1},
		// Three of more than half the bed each can't share.
		{"three large", Bed{X: 10, Y: 10, Z: 5}, []Part{part("a", 6, 6, 3)}, 3},
		{"three large, rest in the gaps", Bed{X: 10, Y: 10, Z: 5}, []Part{part("a", 6, 6, 3), part("b", 4, 10, 3)}, 3},
		// The kit of a small finger on a common bed.
		{"links", Bed{X: 220, Y: 220, Z: 250, Margin: 5, Spacing: 4},
			[]Part{part("spine", 180, 40, 1), part("carriage", 60, 30, 1), part("tip", 38, 18, 1), part("jaw", 45, 20, 1), part("lower", 50, 12, 2), part("middle", 36, 14, 2), part("mount", 60, 60, 1)}, 1},
	} {
		plates, err := Arrange(c.bed, c.parts)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		check(t, c.bed, c.parts, plates)
		if len(plates) != c.want {
			t.Errorf("%s: %d plates, want %d", c.name, len(plates), c.want)
		}
	}
}

func TestRandom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bed := Bed{X: rapid.Float64Range(100, 300).Draw(t, "x"), Y: rapid.Float64Range(100, 300).Draw(t, "y"), Z: 10,
			Margin: rapid.Float64Range(0, 8).Draw(t, "margin"), Spacing: rapid.Float64Range(0, 8).Draw(t, "spacing")}
		var parts []Part
		for i := range rapid.IntRange(0, 6).Draw(t, "parts") {
			parts = append(parts, part(fmt.Sprint(i), rapid.Float64Range(5, 80).Draw(t, "w"), rapid.Float64Range(5, 80).Draw(t, "h"), rapid.IntRange(0, 3).Draw(t, "copies")))
		}
		plates, err := Arrange(bed, parts)
		if err != nil {
			t.Fatal(err)
		}
		check(t, bed, parts, plates)
		again, _ := Arrange(bed, parts)
		if d := cmp.Diff(plates, again); d != "" {
			t.Fatalf("two runs differ: %s", d)
		}
	})
}

// Sheets cut at random into rectangles, edge to edge: all pieces of k sheets can
// lie on k sheets. Reaching that in every case is not promised; how often it is
// reached is measured, and one sheet more must always do.
func TestCutSheets(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	hit := 0
	const all = 100
	for range all {
		sheets := 1 + rng.IntN(2)
		var parts []Part
		var cut func(w, h float64, depth int)
		cut = func(w, h float64, depth int) {
			if depth == 0 {
				parts = append(parts, part("p", w, h, 1))
				return
			}
			f := 0.3 + 0.4*rng.Float64()
			if w > h {
				cut(f*w, h, depth-1)
				cut((1-f)*w, h, depth-1)
			} else {
				cut(w, f*h, depth-1)
				cut(w, (1-f)*h, depth-1)
			}
		}
		bed := Bed{X: 200, Y: 180, Z: 10}
		for range sheets {
			cut(bed.X, bed.Y, 3)
		}
		plates, err := Arrange(bed, parts)
		if err != nil {
			t.Fatal(err)
		}
		check(t, bed, parts, plates)
		if len(plates) == sheets {
			hit++
		} else if len(plates) != sheets+1 {
			t.Errorf("%d plates for pieces of %d sheets", len(plates), sheets)
		}
	}
	t.Logf("as few as possible in %d of %d", hit, all)
	if hit*2 < all {
		t.Errorf("as few as possible in only %d of %d", hit, all)
	}
}

func TestTooLarge(t *testing.T) {
	bed := Bed{X: 110, Y: 110, Z: 50, Margin: 5, Spacing: 2}
	parts := []Part{part("long", 120, 10, 2), part("fits", 100, 100, 1), part("longer", 150, 10, 1), part("tall", 10, 10, 1)}
	parts[3].Box.Max.Z = 52
	plates, err := Arrange(bed, parts)
	var large TooLarge
	if !errors.As(err, &large) || len(large) != 3 {
		t.Fatalf("%v", err)
	}
	want := "too large for the printer: long is 120.0 × 10.0 × 5.0 mm, the usable bed 100.0 × 100.0 × 50.0 mm; it would fit by itself, turned by 39°; " +
		"longer is 150.0 × 10.0 × 5.0 mm, the usable bed 100.0 × 100.0 × 50.0 mm; " +
		"tall is 10.0 × 10.0 × 51.0 mm, the usable bed 100.0 × 100.0 × 50.0 mm"
	if err.Error() != want {
		t.Errorf("got  %v\nwant %v", err, want)
	}
	// At the angle that is named, by the corners: 120·cos + 10·sin ≤ 100, and one
	// step earlier it is not.
	a := large[0].Diagonal
	for _, c := range []struct {
		a    float64
		fits bool
	}{{a, true}, {a - math.Pi/360, false}} {
		d := r2.Rotate(r2.Vec{X: 120, Y: 10}, c.a, r2.Vec{})
		e := r2.Rotate(r2.Vec{X: 120, Y: -10}, c.a, r2.Vec{})
		if got := math.Abs(e.X) <= 100 && math.Abs(d.Y) <= 100; got != c.fits {
			t.Errorf("at %g rad: %v", c.a, got)
		}
	}
	if len(plates) != 1 || len(plates[0]) != 1 || plates[0][0].Part != 1 {
		t.Errorf("the rest: %+v", plates)
	}
}

func TestErrors(t *testing.T) {
	ok := Bed{X: 10, Y: 10, Z: 10}
	for _, bed := range []Bed{{}, {X: 10, Y: 10}, {X: 10, Y: 10, Z: 10, Margin: 5}, {X: math.NaN(), Y: 10, Z: 10}, {X: 10, Y: 10, Z: 10, Spacing: -1}, {X: math.Inf(1), Y: 1, Z: 1}, {X: 10, Y: 10, Z: 10, Margin: -1}} {
		if _, err := Arrange(bed, nil); err == nil || !strings.Contains(err.Error(), "holds nothing") {
			t.Errorf("%+v: %v", bed, err)
		}
	}
	for _, p := range []Part{part("p", 0, 1, 1), part("p", math.NaN(), 1, 1), part("p", 1, 1, -1), {Name: "p"}} {
		if _, err := Arrange(ok, []Part{p}); err == nil || !strings.HasPrefix(err.Error(), "plate: p: size") {
			t.Errorf("%+v: %v", p, err)
		}
	}
}

func BenchmarkArrange(b *testing.B) {
	bed := Bed{X: 220, Y: 220, Z: 250, Margin: 5, Spacing: 4}
	parts := []Part{part("spine", 180, 40, 3), part("carriage", 60, 30, 3), part("tip", 38, 18, 3), part("jaw", 45, 20, 3), part("lower", 50, 12, 6), part("middle", 36, 14, 6), part("mount", 60, 60, 3)}
	for b.Loop() {
		if _, err := Arrange(bed, parts); err != nil {
			b.Fatal(err)
		}
	}
}
