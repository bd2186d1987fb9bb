package solid_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
	"tuckfinger/parts/solid/internal/random"
)

// Bores through a block of 40 × 20 × 12 mm with a window of 8 × 8 mm in its middle,
// in the places where surfaces meet badly. Volumes are those of cylinders; that of
// two equal ones which cross at a right angle is less by 16/3·r³ (Archimedes), that
// of a cylinder's segment r²·(α − sin α·cos α) times the length.
func TestDrilledMesh(t *testing.T) {
	block, err := profile.Rect(r2.Vec{X: -20, Y: -10}, r2.Vec{X: 20, Y: 10}, 1)
	if err != nil {
		t.Fatal(err)
	}
	window, err := profile.Rect(r2.Vec{X: -4, Y: -4}, r2.Vec{X: 4, Y: 4}, 2)
	if err != nil {
		t.Fatal(err)
	}
	framed, err := profile.Subtract(block, window)
	if err != nil {
		t.Fatal(err)
	}
	segment := func(r, h float64) float64 { // of a disc beyond a chord at the distance h
		a := math.Acos(h / r)
		return r * r * (a - math.Sin(a)*math.Cos(a))
	}
	bore := func(x0, y0, x1, y1, z, d float64) solid.Bore {
		return solid.Bore{From: r2.Vec{X: x0, Y: y0}, To: r2.Vec{X: x1, Y: y1}, Z: z, Diameter: d}
	}
	const solidBlock, frame = 40 * 20 * 12, (40*20 - 64) * 12
	for _, c := range []struct {
		name   string
		region profile.Region
		bores  []solid.Bore
		want   float64
		genus  int
	}{
		{"from beyond both faces", block, []solid.Bore{bore(7, -11, 7, 11, 6, 5)}, solidBlock - math.Pi*6.25*20, 1},
		{"from face to face", block, []solid.Bore{bore(7, -10, 7, 10, 6, 5)}, solidBlock - math.Pi*6.25*20, 1},
		{"blind", block, []solid.Bore{bore(7, -10, 7, 3, 6, 5)}, solidBlock - math.Pi*6.25*13, 0},
		{"into the window, up to its wall", framed, []solid.Bore{bore(0, -10, 0, -4, 6, 5)}, frame - math.Pi*6.25*6, 2},
		{"through both sides of the window", framed, []solid.Bore{bore(0, -10, 0, 10, 6, 5)}, frame - math.Pi*6.25*12, 3},
		{"crossing another", block, []solid.Bore{bore(7, -10, 7, 10, 6, 5), bore(-20, 2, 20, 2, 6, 5)}, solidBlock - math.Pi*6.25*60 + 16./3*2.5*2.5*2.5, 3},
		{"open along the roof", block, []solid.Bore{bore(7, -10, 7, 10, 11, 5)}, solidBlock - 20*(math.Pi*6.25-segment(2.5, 1)), 0},
		{"all within", block, []solid.Bore{bore(7, -5, 7, 5, 6, 5)}, solidBlock - math.Pi*6.25*10, 0},
	} {
		l, err := solid.NewLayered(solid.Slab{Z0: 0, Z1: 12, Region: c.region})
		if err != nil {
			t.Fatal(err)
		}
		var s solid.Solid = l
		for _, b := range c.bores {
			if s, err = solid.Drill(s, b); err != nil {
				t.Fatal(err)
			}
		}
		const dev = 0.01
		m, rep, err := s.Mesh(dev)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if err := m.Validate(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if x := m.SelfIntersections(); len(x) > 0 {
			t.Errorf("%s: %v", c.name, x[0])
		}
		if d, err := mesh.MeasureDeviation(m, s, 5000); err != nil || d.Max > dev || rep.Deviation > dev {
			t.Errorf("%s: deviation %+v, stated %g, %v", c.name, d, rep.Deviation, err)
		}
		v := m.Volume()
		if math.Abs(v-c.want) > 6 { // 0.01 mm on the walls
			t.Errorf("%s: volume %.3f mm³, want %.3f", c.name, v, c.want)
		}
		if math.Abs(v-rep.Bias-c.want) > 0.2 && len(c.bores) == 1 {
			t.Errorf("%s: volume %.3f mm³ with a bias of %.3f, want %.3f", c.name, v, rep.Bias, c.want)
		}
		if top, err := m.Topology(); err != nil || top.Genus != c.genus {
			t.Errorf("%s: %+v, want genus %d, %v", c.name, top, c.genus, err)
		}
		// A mesh of the field was made with cells.
		if len(m.Triangles) > 2000 || rep.Fineness > dev {
			t.Errorf("%s: %d triangles, made with %g mm", c.name, len(m.Triangles), rep.Fineness)
		}
	}
}

// A bore that just touches a face, or whose flat end lies in one, is no obstacle.
func TestDrilledTouching(t *testing.T) {
	block, err := profile.Rect(r2.Vec{X: -4, Y: -4}, r2.Vec{X: 4, Y: 4}, 1)
	if err != nil {
		t.Fatal(err)
	}
	l, err := solid.NewLayered(solid.Slab{Z0: 0, Z1: 6, Region: block})
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string]solid.Bore{
		"below the roof": {From: r2.Vec{X: 0, Y: -5}, To: r2.Vec{X: 0, Y: 5}, Z: 4, Diameter: 4},
		"outside":        {From: r2.Vec{X: 4, Y: 0}, To: r2.Vec{X: 9, Y: 0}, Z: 3, Diameter: 2},
	} {
		s, err := solid.Drill(l, b)
		if err != nil {
			t.Fatal(err)
		}
		m, _, err := s.Mesh(0.01)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d, err := mesh.MeasureDeviation(m, s, 2000); err != nil || d.Max > 0.01 {
			t.Errorf("%s: %+v, %v", name, d, err)
		}
		if err := m.Validate(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Bores any way through random parts: closed, without crossings, within the stated
// deviation.
func TestDrilledRandom(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	in := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	for seed := range uint64(12) {
		l, err := random.Part(seed)
		if err != nil || l.IsEmpty() {
			continue
		}
		b := l.Box()
		h := b.Max.Z - b.Min.Z
		s, err := solid.Drill(l, solid.Bore{From: r2.Vec{X: b.Min.X - 1, Y: in(b.Min.Y, b.Max.Y)}, To: r2.Vec{X: in(b.Min.X, b.Max.X+2), Y: in(b.Min.Y, b.Max.Y)},
			Z: in(b.Min.Z+0.3*h, b.Max.Z-0.3*h), Diameter: in(0.2, 0.7) * h})
		if err != nil {
			t.Fatal(err)
		}
		m, rep, err := s.Mesh(0.01)
		if err != nil {
			t.Errorf("%d: %v", seed, err)
			continue
		}
		if err := m.Validate(); err != nil {
			t.Errorf("%d: %v", seed, err)
		}
		if x := m.SelfIntersections(); len(x) > 0 {
			t.Errorf("%d: %v", seed, x[0])
		}
		if d, err := mesh.MeasureDeviation(m, s, 500); err != nil || d.Max > 0.01 || rep.Deviation > 0.01 {
			t.Errorf("%d: deviation %+v, stated %g, %v", seed, d, rep.Deviation, err)
		}
		if rep.Fineness > 0.01 {
			t.Errorf("%d: made with cells of %g mm", seed, rep.Fineness)
		}
		if seed > 2 {
			continue
		}
		again, _, err := s.Mesh(0.01)
		if err != nil || len(again.Vertices) != len(m.Vertices) {
			t.Fatalf("%d: another mesh the second time, %v", seed, err)
		}
		for i := range m.Vertices {
			if again.Vertices[i] != m.Vertices[i] {
				t.Fatalf("%d: vertex %d differs the second time", seed, i)
			}
		}
	}
}
