package stl

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	ref "github.com/hschendel/stl"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/export/internal/solids"
	"tuckfinger/parts/mesh"
	"tuckfinger/parts/mesh/admesh"
)

func encode(t *testing.T, name string, m *mesh.Mesh) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, name, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// STL format descriptions: 80-byte header, u32 count, 50 bytes for each triangle; a
// cube is 684 bytes. The header does not begin with "solid",
// the attribute word is 0.
func TestForm(t *testing.T) {
	cube := solids.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	for _, name := range []string{"solid", "", "tip", strings.Repeat("long", 50), "Spitze-ä-\n"} {
		b := encode(t, name, cube)
		if len(b) != 684 || Size(12) != 684 {
			t.Errorf("%q: %d bytes, Size says %d, want 684", name, len(b), Size(12))
		}
		if bytes.HasPrefix(bytes.ToLower(b), []byte("solid")) {
			t.Errorf("%q: header begins with solid", name)
		}
		for _, c := range b[:80] {
			if c < ' ' || c > '~' {
				t.Errorf("%q: header holds byte %#x", name, c)
			}
		}
		if n := binary.LittleEndian.Uint32(b[80:]); n != 12 {
			t.Errorf("count %d", n)
		}
		for i := range 12 {
			if a := b[84+50*i+48:]; a[0] != 0 || a[1] != 0 {
				t.Errorf("attribute of triangle %d is not 0", i)
			}
		}
	}
}

// An independent reader finds the same surface, its normals right by its own
// computation, and every edge with one counter edge.
func TestReferenceReader(t *testing.T) {
	m := solids.Tube(3, 8, 2, 36)
	s, err := ref.ReadAll(bytes.NewReader(encode(t, "ring", m)))
	if err != nil {
		t.Fatal(err)
	}
	if s.IsAscii || len(s.Triangles) != 8*36 {
		t.Fatalf("text %v, %d triangles", s.IsAscii, len(s.Triangles))
	}
	if faults := s.Validate(); len(faults) != 0 {
		t.Errorf("%d triangles with faults", len(faults))
	}
	v := 0.0
	for i, tr := range s.Triangles {
		var c [3]r3.Vec
		for k, p := range tr.Vertices {
			c[k] = r3.Vec{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])}
			// Half a unit in the last place of a 24-bit significand, IEEE 754.
			if d := r3.Norm(r3.Sub(c[k], m.Vertices[m.Triangles[i][k]])); d > 8*math.Sqrt(3)*0x1p-24 {
				t.Fatalf("triangle %d: corner off by %g mm", i, d)
			}
		}
		v += r3.Dot(c[0], r3.Cross(c[1], c[2])) / 6
		n := r3.Vec{X: float64(tr.Normal[0]), Y: float64(tr.Normal[1]), Z: float64(tr.Normal[2])}
		if math.Abs(r3.Norm(n)-1) > 1e-6 {
			t.Errorf("normal of length %g", r3.Norm(n))
		}
		if cos := r3.Cos(n, r3.Cross(r3.Sub(c[1], c[0]), r3.Sub(c[2], c[0]))); cos < 1-1e-6 {
			t.Errorf("triangle %d: normal off, cosine %g", i, cos)
		}
	}
	if want := solids.TubeVolume(3, 8, 2, 36); math.Abs(v-want) > 1e-5*want {
		t.Errorf("volume %g mm³, want %g", v, want)
	}
	box := s.Measure()
	if box.Len != (ref.Vec3{16, 16, 2}) {
		t.Errorf("box %v", box.Len)
	}
}

// A second outside reader, a command-line checker, finds nothing to repair.
// TUCKFINGER_NEED_TOOLS=1 makes it an error not to have it.
func TestChecker(t *testing.T) {
	tool := admesh.Find(t)
	path := filepath.Join(t.TempDir(), "ring.stl")
	if err := os.WriteFile(path, encode(t, "ring", solids.Tube(3, 8, 2, 36)), 0o666); err != nil {
		t.Fatal(err)
	}
	got := admesh.Check(t, tool, path)
	if got.Parts != 1 {
		t.Errorf("%d parts", got.Parts)
	}
	if want := solids.TubeVolume(3, 8, 2, 36); math.Abs(got.Volume-want) > 1e-4*want {
		t.Errorf("volume %g mm³, want %g", got.Volume, want)
	}
}

func TestDegenerateAfterRounding(t *testing.T) {
	// The corners differ by less than a 32-bit float can tell.
	m := &mesh.Mesh{Vertices: []r3.Vec{{X: 100}, {X: 100, Y: 1}, {X: 100 + 1e-9}}, Triangles: [][3]int32{{0, 1, 2}}}
	b := encode(t, "sliver", m)
	for i := range 3 {
		if n := math.Float32frombits(binary.LittleEndian.Uint32(b[84+4*i:])); n != 0 {
			t.Errorf("normal component %g", n)
		}
	}
}

func TestErrors(t *testing.T) {
	tri := func(p r3.Vec, k int32) *mesh.Mesh {
		return &mesh.Mesh{Vertices: []r3.Vec{{}, {X: 1}, p}, Triangles: [][3]int32{{0, 1, k}}}
	}
	for want, m := range map[string]*mesh.Mesh{
		"stl: p: 0 triangles":                      {},
		"stl: p: triangle 0 names vertex 3 of 3":   tri(r3.Vec{Y: 1}, 3),
		"stl: p: triangle 0 names vertex -1 of 3":  tri(r3.Vec{Y: 1}, -1),
		"stl: p: vertex 2 is at (0, NaN, 0) mm":    tri(r3.Vec{Y: math.NaN()}, 2),
		"stl: p: vertex 2 is at (0, 0, +Inf) mm":   tri(r3.Vec{Z: math.Inf(1)}, 2),
		"stl: p: vertex 2 is at (1e+300, 0, 0) mm": tri(r3.Vec{X: 1e300}, 2),
	} {
		var b bytes.Buffer
		if err := Write(&b, "p", m); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

func TestFailingWriter(t *testing.T) {
	m := solids.Tube(3, 8, 2, 1000)
	for _, left := range []int{0, 83, 70_000, int(Size(len(m.Triangles))) - 1} {
		if err := Write(&solids.Failing{Left: left}, "p", m); !errors.Is(err, solids.ErrFull) {
			t.Errorf("%d bytes: %v", left, err)
		}
	}
	if err := Write(&solids.Failing{Left: int(Size(len(m.Triangles)))}, "p", m); err != nil {
		t.Error(err)
	}
}

func BenchmarkWrite(b *testing.B) {
	m := solids.Tube(3, 8, 2, 14_339) // 114,712 triangles
	var buf bytes.Buffer
	b.SetBytes(Size(len(m.Triangles)))
	for b.Loop() {
		buf.Reset()
		if err := Write(&buf, "p", m); err != nil {
			b.Fatal(err)
		}
	}
	if buf.Len() != int(Size(len(m.Triangles))) {
		b.Fatal(fmt.Errorf("%d bytes", buf.Len()))
	}
}
