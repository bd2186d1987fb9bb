package mesh

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// stl returns m as a binary STL file.
func stl(m *Mesh) []byte {
	var b bytes.Buffer
	b.Write(make([]byte, 80))
	put := func(v any) { _ = binary.Write(&b, binary.LittleEndian, v) } // a buffer takes every write
	put(uint32(len(m.Triangles)))
	for i := range m.Triangles {
		p, q, r := m.Corners(i)
		n := r3.Unit(r3.Cross(r3.Sub(q, p), r3.Sub(r, p)))
		for _, v := range [4]r3.Vec{n, p, q, r} {
			put([3]float32{float32(v.X), float32(v.Y), float32(v.Z)})
		}
		put(uint16(0))
	}
	return b.Bytes()
}

// An independent checker finds nothing to repair, as many parts, and the same
// volume. It reads single-precision coordinates and joins equal ones.
func TestAdmeshFindsNothingToRepair(t *testing.T) {
	tool, err := exec.LookPath("admesh")
	if err != nil {
		if os.Getenv("TUCKFINGER_NEED_TOOLS") == "1" {
			t.Fatal("admesh is not installed and TUCKFINGER_NEED_TOOLS=1")
		}
		t.Skip("admesh is not installed: the independent check of meshes is left out")
	}
	turned := sdf.Transform3D(bracket(), sdf.RotateX(0.3).Mul(sdf.RotateY(0.5)))
	type body struct {
		name string
		f    sdf.SDF3
		dev  float64 // 0: not simplified
		cell float64
	}
	bodies := []body{
		{"bracket", bracket(), 0, 0.6},
		{"bracket-simplified", bracket(), 0.03, 0.2},
		{"bracket-turned", turned, 0.05, 0.2},
		{"hollow", sdf.Difference3D(must(sdf.Sphere3D(3)), must(sdf.Sphere3D(2))), 0.02, 0.2},
	}
	for seed := range uint64(8) {
		f := randomField(rand.New(rand.NewPCG(seed, 29)))
		bodies = append(bodies, body{fmt.Sprintf("random-%d", seed), f, 0, 0.25}, body{fmt.Sprintf("random-%d-simplified", seed), f, 0.08, 0.25})
	}
	checked := 0
	for _, c := range bodies {
		m, _, err := Dual(c.f, 1, boxOf(c.f), c.cell, DualOptions{MaxDeviation: c.dev})
		if err != nil && strings.HasPrefix(c.name, "random") {
			continue // nothing left of it, or a sharp tip slips between lattice points
		}
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		checked++
		top := checkMesh(t, c.name, m)
		path := filepath.Join(t.TempDir(), c.name+".stl")
		if err := os.WriteFile(path, stl(m), 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(tool, path).CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%s", c.name, err, out)
		}
		value := func(label string) float64 {
			r := regexp.MustCompile(regexp.QuoteMeta(label) + `\s*:\s*([-0-9.e+]+)`).FindSubmatch(out)
			if r == nil {
				t.Fatalf("%s: no %q in\n%s", c.name, label, out)
			}
			v, err := strconv.ParseFloat(string(r[1]), 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		for _, label := range []string{"Degenerate facets", "Edges fixed", "Facets removed", "Facets added", "Facets reversed", "Backwards edges"} {
			if v := value(label); v != 0 {
				t.Errorf("%s: %s: %g", c.name, label, v)
			}
		}
		if v := value("Number of parts"); int(v) != top.Components {
			t.Errorf("%s: %g parts, want %d", c.name, v, top.Components)
		}
		if v := value("Volume"); v < m.Volume()*0.999 || v > m.Volume()*1.001 {
			t.Errorf("%s: volume %g, want %g", c.name, v, m.Volume())
		}
	}
	if checked < 4+8 {
		t.Errorf("only %d bodies were checked", checked)
	}
}
