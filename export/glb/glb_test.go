package glb

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/qmuntal/gltf"
	"github.com/qmuntal/gltf/modeler"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/assembly/linkage"
	"tuckfinger/export/internal/gltfcheck"
	"tuckfinger/export/internal/solids"
	"tuckfinger/parts/mesh"
)

// scene is a tube that turns by a right angle while it moves, on a box that
// stands still, with two equal pins and one other.
func scene() Scene {
	s := Scene{Name: "try", Generator: "test", Times: Times([]float64{0, 5, 10, 10, 0}, 5)}
	tube := solids.Tube(3, 5, 4, 48)
	box := solids.Box(r3.Vec{X: -10, Y: -20}, r3.Vec{X: 10, Y: 20, Z: 5})
	poses := []linkage.Pose{{X: 1}, {X: 2, Y: 3, Theta: 0.5}, {X: 3, Y: 6, Theta: 1}, {X: 3, Y: 6, Theta: math.Pi / 2}, {X: 1}}
	s.Bodies = []Body{
		{Name: "spine", Colour: Colour{0.5, 0.5, 0.5}, Material: "PETG", Mesh: box, Pins: []Pin{{Name: "A", X: 3, Y: 1, Z0: -1, Z1: 9, Radius: 1.5}}},
		{Name: "tip", Colour: Colour{0, 0.45, 0.7}, Material: "PETG", Mesh: tube, Rest: poses[0], Poses: poses,
			Pins: []Pin{{Name: "E", X: 7, Z0: 2, Z1: 12, Radius: 1.5}, {Name: "post", X: 0, Z0: 0, Z1: 8, Radius: 0.75}}},
	}
	return s
}

func write(t testing.TB, s Scene) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func read(t testing.TB, data []byte) *gltf.Document {
	t.Helper()
	doc := new(gltf.Document)
	if err := gltf.NewDecoder(bytes.NewReader(data)).Decode(doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

// glTF 2.0, binary form: the header, the two chunks in order, and their alignment.
func TestContainer(t *testing.T) {
	data := write(t, scene())
	word := func(i int) uint32 { return binary.LittleEndian.Uint32(data[i:]) }
	if word(0) != 0x46546C67 || word(4) != 2 || int(word(8)) != len(data) {
		t.Errorf("header %x %d %d of %d bytes", word(0), word(4), word(8), len(data))
	}
	n := int(word(12))
	if word(16) != 0x4E4F534A || n%4 != 0 {
		t.Errorf("first chunk %x, %d bytes", word(16), n)
	}
	if word(20+n+4) != 0x004E4942 || word(20+n)%4 != 0 || 28+n+int(word(20+n)) != len(data) {
		t.Errorf("second chunk %x, %d bytes", word(20+n+4), word(20+n))
	}
	// glTF 2.0, asset.
	var top struct{ Asset struct{ Version string } }
	if err := json.Unmarshal(bytes.TrimRight(data[20:20+n], " "), &top); err != nil || top.Asset.Version != "2.0" {
		t.Errorf("asset.version %q, %v", top.Asset.Version, err)
	}
}

// glTF 2.0, coordinates and accessors: metres; every POSITION accessor has the bounds of its points.
func TestMetresAndBounds(t *testing.T) {
	doc := read(t, write(t, scene()))
	for _, m := range doc.Meshes {
		for _, p := range m.Primitives {
			a := doc.Accessors[p.Attributes[gltf.POSITION]]
			points, err := modeler.ReadPosition(doc, a, nil)
			if err != nil || len(a.Min) != 3 || len(a.Max) != 3 {
				t.Fatalf("%s: %v, bounds %v %v", m.Name, err, a.Min, a.Max)
			}
			for k := range 3 {
				lo, hi := math.Inf(1), math.Inf(-1)
				for _, v := range points {
					lo, hi = min(lo, float64(v[k])), max(hi, float64(v[k]))
				}
				if lo != a.Min[k] || hi != a.Max[k] {
					t.Errorf("%s: bounds %v %v, points reach from %g to %g", m.Name, a.Min, a.Max, lo, hi)
				}
			}
		}
	}
	// The box is 20 × 40 × 5 mm.
	a := doc.Accessors[doc.Meshes[*doc.Nodes[doc.Scenes[0].Nodes[0]].Mesh].Primitives[0].Attributes[gltf.POSITION]]
	for k, want := range []float64{0.020, 0.040, 0.005} {
		if got := a.Max[k] - a.Min[k]; math.Abs(got-want) > 1e-8 {
			t.Errorf("the box measures %g m along axis %d, want %g", got, k, want)
		}
	}
}

// The animated transforms must carry points as the poses do.
func TestMotion(t *testing.T) {
	s := scene()
	doc := read(t, write(t, s))
	if len(doc.Animations) != 1 || len(doc.Animations[0].Channels) != 2 {
		t.Fatalf("animations %+v", doc.Animations)
	}
	values := map[gltf.TRSProperty][][4]float64{}
	for _, c := range doc.Animations[0].Channels {
		if doc.Nodes[*c.Target.Node].Name != "tip" {
			t.Errorf("moves %s", doc.Nodes[*c.Target.Node].Name)
		}
		sm := doc.Animations[0].Samplers[c.Sampler]
		raw, err := modeler.ReadAccessor(doc, doc.Accessors[sm.Output], nil)
		if err != nil {
			t.Fatal(err)
		}
		var rows [][4]float64
		switch v := raw.(type) {
		case [][3]float32:
			for _, x := range v {
				rows = append(rows, [4]float64{float64(x[0]), float64(x[1]), float64(x[2])})
			}
		case [][4]float32:
			for _, x := range v {
				rows = append(rows, [4]float64{float64(x[0]), float64(x[1]), float64(x[2]), float64(x[3])})
			}
		}
		values[c.Target.Path] = rows
		in := doc.Accessors[sm.Input]
		times, _ := modeler.ReadAccessor(doc, in, nil)
		// 5 mm/s: 1 s, 1 s, a jump, 2 s.
		for i, want := range []float64{0, 1, 2, 2 + MinStep, 4 + MinStep} {
			if got := float64(times.([]float32)[i]); math.Abs(got-want) > 1e-6 {
				t.Errorf("time %d is %g s, want %g", i, got, want)
			}
		}
	}
	for i, p := range s.Bodies[1].Poses {
		m, q := values[gltf.TRSTranslation][i], values[gltf.TRSRotation][i]
		// A quaternion as in glTF 2.0, 3.5.3: x, y, z, w. The point (7, 0) mm.
		c, sn := 1-2*(q[1]*q[1]+q[2]*q[2]), 2*(q[0]*q[1]+q[3]*q[2])
		x, y := m[0]+0.007*c, m[1]+0.007*sn
		sin, cos := math.Sincos(p.Theta)
		if math.Hypot(x-(p.X+7*cos)/1000, y-(p.Y+7*sin)/1000) > 1e-8 {
			t.Errorf("pose %d: the point is at %g, %g m", i, x, y)
		}
	}
}

// A ring of 48 sides: round walls are smooth (normals point to the axis or away
// from it), rims are sharp; the box has three corners' worth of normals each.
func TestNormals(t *testing.T) {
	s := shade(solids.Box(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3}), crease)
	if len(s.positions) != 24 {
		t.Errorf("a box has %d shaded vertices, want 24", len(s.positions))
	}
	tube := solids.Tube(3, 5, 4, 48)
	s = shade(tube, crease)
	if len(s.positions) != 2*len(tube.Vertices) {
		t.Errorf("a tube has %d shaded vertices, want %d", len(s.positions), 2*len(tube.Vertices))
	}
	for i, n := range s.normals {
		p := s.positions[i]
		r := math.Hypot(float64(p[0]), float64(p[1]))
		radial := math.Abs(float64(p[0]*n[0]+p[1]*n[1])) / r
		if axial := math.Abs(float64(n[2])); axial < 1-1e-6 && radial < 1-1e-5 {
			t.Errorf("normal %v at %v", n, p)
		}
	}
	// Every triangle still faces the way it did.
	for i := 0; i < len(s.corners); i += 3 {
		a, b, c := tube.Corners(i / 3)
		face := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		for k := range 3 {
			n := s.normals[s.corners[i+k]]
			if r3.Dot(face, r3.Vec{X: float64(n[0]), Y: float64(n[1]), Z: float64(n[2])}) <= 0 {
				t.Fatalf("normal %v against triangle %d", n, i/3)
			}
		}
	}
	if err := cylinder(pinShape{1.5, 10}).Validate(); err != nil {
		t.Error(err)
	}
}

func TestSameBytes(t *testing.T) {
	first := write(t, scene())
	old := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(old)
	if !bytes.Equal(first, write(t, scene())) {
		t.Error("two files of one scene differ")
	}
}

// Equal pins share one mesh.
func TestPinsAreShared(t *testing.T) {
	doc := read(t, write(t, scene()))
	var at []int
	for _, n := range doc.Nodes {
		if strings.HasPrefix(n.Name, "pin ") {
			at = append(at, *n.Mesh)
		}
	}
	if len(at) != 3 || at[0] != at[1] || at[0] == at[2] {
		t.Errorf("pins have the meshes %v", at)
	}
}

func TestErrors(t *testing.T) {
	for want, change := range map[string]func(*Scene){
		"there is nothing to show":         func(s *Scene) { s.Bodies = nil },
		`body "spine": has no mesh`:        func(s *Scene) { s.Bodies[0].Mesh = nil },
		`body "spine": the mesh`:           func(s *Scene) { s.Bodies[0].Mesh = &mesh.Mesh{} },
		"times must rise":                  func(s *Scene) { s.Times[2] = s.Times[1] },
		`body "tip": has 4 poses`:          func(s *Scene) { s.Bodies[1].Poses = s.Bodies[1].Poses[1:] },
		`body "tip": pose 1 is`:            func(s *Scene) { s.Bodies[1].Poses[1].X = math.NaN() },
		`body "spine": pin "A" is not`:     func(s *Scene) { s.Bodies[0].Pins[0].Radius = 0 },
		`body "spine": stands at`:          func(s *Scene) { s.Bodies[0].Rest.Theta = math.Inf(1) },
		`GLB "try": body "spine": stands`:  func(s *Scene) { s.Bodies[0].Rest.Y = math.NaN() },
		`GLB "try": body "tip": has 5 pos`: func(s *Scene) { s.Times = s.Times[:3] },
	} {
		s := scene()
		change(&s)
		var b bytes.Buffer
		err := Write(&b, s)
		if err == nil || !strings.Contains(err.Error(), strings.TrimSuffix(want, "the mesh")) || b.Len() > 0 {
			t.Errorf("want %q, got %v and %d bytes", want, err, b.Len())
		}
	}
	for _, left := range []int{0, 8, 500, 3000} {
		if err := Write(&solids.Failing{Left: left}, scene()); !errors.Is(err, solids.ErrFull) {
			t.Errorf("%d bytes: %v", left, err)
		}
	}
}

func TestOfficialValidator(t *testing.T) {
	still := scene()
	still.Times, still.Bodies[1].Poses = nil, nil
	gltfcheck.Valid(t, write(t, scene()))
	gltfcheck.Valid(t, write(t, still))
}
