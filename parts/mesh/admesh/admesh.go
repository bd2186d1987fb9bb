// Package admesh lets tests have meshes judged by the program of that name, an
// independent reader and repairer of STL files.
package admesh

import (
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// Report is what the program says of a file that it found nothing to repair in.
type Report struct {
	Parts  int
	Facets int
	Volume float64 // mm³
}

// Find returns the program. Where it is missing, the test is skipped, or fails
// if TUCKFINGER_NEED_TOOLS=1.
func Find(t *testing.T) (tool string) {
	t.Helper()
	tool, err := exec.LookPath("admesh")
	if err != nil {
		if os.Getenv("TUCKFINGER_NEED_TOOLS") == "1" {
			t.Fatal(err)
		}
		t.Skip("admesh is not installed; the meshes are not read by a second program")
	}
	return tool
}

// Check has a file read; anything that the program would repair fails the test.
func Check(t *testing.T, tool, file string) Report {
	t.Helper()
	out, err := exec.Command(tool, file).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	number := func(label string) float64 {
		m := regexp.MustCompile(regexp.QuoteMeta(label) + `\s*:\s*([-0-9.e+]+)`).FindSubmatch(out)
		if m == nil {
			t.Fatalf("no %q in\n%s", label, out)
		}
		v, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, label := range []string{"Total disconnected facets", "Degenerate facets", "Edges fixed", "Facets removed",
		"Facets added", "Facets reversed", "Backwards edges", "Normals fixed"} {
		if v := number(label); v != 0 {
			t.Errorf("%s: %s %g", file, label, v)
		}
	}
	return Report{Parts: int(number("Number of parts")), Facets: int(number("Number of facets")), Volume: number("Volume")}
}

// CheckMesh is Check for a mesh of vertices in mm, which it writes in single
// precision to a file named after the mesh.
func CheckMesh(t *testing.T, tool, name string, vertices []r3.Vec, triangles [][3]int32) Report {
	t.Helper()
	b := make([]byte, 80, 84+50*len(triangles))
	b = binary.LittleEndian.AppendUint32(b, uint32(len(triangles)))
	for _, tri := range triangles {
		// As in our files, normals are those of the rounded corners.
		p, q, r := single(vertices[tri[0]]), single(vertices[tri[1]]), single(vertices[tri[2]])
		for _, v := range [4]r3.Vec{r3.Unit(r3.Cross(r3.Sub(q, p), r3.Sub(r, p))), p, q, r} {
			for _, x := range [3]float64{v.X, v.Y, v.Z} {
				b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(x)))
			}
		}
		b = append(b, 0, 0)
	}
	path := filepath.Join(t.TempDir(), name+".stl")
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	return Check(t, tool, path)
}

func single(p r3.Vec) r3.Vec {
	return r3.Vec{X: float64(float32(p.X)), Y: float64(float32(p.Y)), Z: float64(float32(p.Z))}
}
