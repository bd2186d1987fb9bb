package export

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/hpinc/go3mf"
	"github.com/hschendel/stl"

	"tuckfinger/assembly"
	"tuckfinger/params"
	"tuckfinger/parts/mesh/admesh"
)

var examples = []string{"rack-lifter", "lid-lifter", "ring-hook"}

// built analyses and builds an example once per test.
func built(t *testing.T, name string) (*assembly.Analysis, string) {
	t.Helper()
	d, err := params.Load(filepath.Join("..", "examples", name, "finger.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	a, err := assembly.Analyse(d, nil)
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), name)
	if err := Build(dir, a, nil); err != nil {
		t.Fatal(err)
	}
	return a, dir
}

// TestPartsReadBack reads every STL with a library: counts and volumes must be
// those of results.json.
func TestPartsReadBack(t *testing.T) {
	for _, name := range examples {
		a, dir := built(t, name)
		for _, p := range a.Prints {
			file := filepath.Join(dir, "parts", p.Part.Name+".stl")
			got, err := stl.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Triangles) != len(p.Mesh.Triangles) {
				t.Errorf("%s: %d triangles read, %d written", file, len(got.Triangles), len(p.Mesh.Triangles))
			}
			volume := 0.0
			for _, tr := range got.Triangles {
				v := tr.Vertices
				volume += det(v[0], v[1], v[2]) / 6
			}
			if math.Abs(volume-p.Volume) > 1e-5*p.Volume {
				t.Errorf("%s: volume %.3f read, %.3f stated", file, volume, p.Volume)
			}
		}
	}
}

// TestPartsNeedNoRepair has every STL judged by a second program.
func TestPartsNeedNoRepair(t *testing.T) {
	tool := admesh.Find(t)
	for _, name := range examples {
		a, dir := built(t, name)
		for _, p := range a.Prints {
			file := filepath.Join(dir, "parts", p.Part.Name+".stl")
			got := admesh.Check(t, tool, file)
			if got.Parts != 1 || math.Abs(got.Volume-p.Volume) > 5e-4*p.Volume {
				t.Errorf("%s: %d parts, volume %g, want %g", file, got.Parts, got.Volume, p.Volume)
			}
		}
	}
}

func det(a, b, c [3]float32) float64 {
	x := func(i int) (p, q, r float64) { return float64(a[i]), float64(b[i]), float64(c[i]) }
	ax, bx, cx := x(0)
	ay, by, cy := x(1)
	az, bz, cz := x(2)
	return ax*(by*cz-bz*cy) + ay*(bz*cx-bx*cz) + az*(bx*cy-by*cx)
}

// TestPlatesHoldEveryCopy reads the plates back: every printed copy lies on a
// plate, on the bed and in millimetre.
func TestPlatesHoldEveryCopy(t *testing.T) {
	for _, name := range examples {
		a, dir := built(t, name)
		want, got := map[string]int{}, map[string]int{}
		for _, p := range a.Prints {
			want[p.Part.Name] += p.Part.Body.Print.Copies
		}
		plates, err := filepath.Glob(filepath.Join(dir, "plates", "*.3mf"))
		if err != nil || len(plates) == 0 {
			t.Fatal(plates, err)
		}
		for _, file := range plates {
			r, err := go3mf.OpenReader(file)
			if err != nil {
				t.Fatal(err)
			}
			var m go3mf.Model
			if err := r.Decode(&m); err != nil {
				t.Fatal(err)
			}
			if m.Units != go3mf.UnitMillimeter {
				t.Errorf("%s: unit %v", file, m.Units)
			}
			for _, it := range m.Build.Items {
				o, ok := m.FindObject("", it.ObjectID)
				if !ok {
					t.Fatal("an item without an object")
				}
				got[o.Name]++
			}
			if err := r.Close(); err != nil {
				t.Error(err)
			}
		}
		for part, n := range want {
			if got[part] != n {
				t.Errorf("%s: %d of %s on the plates, want %d", name, got[part], part, n)
			}
		}
	}
}

// TestResultsAgree holds results.json against the files beside it.
func TestResultsAgree(t *testing.T) {
	for _, name := range examples {
		a, dir := built(t, name)
		data, err := os.ReadFile(filepath.Join(dir, "results.json"))
		if err != nil {
			t.Fatal(err)
		}
		var res struct {
			Finger struct{ Name, Status string }
			Parts  []struct {
				Name      string
				Box       [3]float64 `json:"box_mm"`
				Volume    float64    `json:"volume_mm3"`
				Mass      float64    `json:"mass_g"`
				Triangles int
				MinWall   float64 `json:"min_wall_mm"`
			}
			BOM []struct {
				Count int
			}
			Mechanism struct{ Mobility int }
			Findings  []struct{ Check, Subject, Status, Unit, Change string }
		}
		if err := json.Unmarshal(data, &res); err != nil {
			t.Fatal(err)
		}
		if res.Finger.Name != name || res.Finger.Status == "fail" || len(res.Parts) != len(a.Prints) || res.Mechanism.Mobility < 1 {
			t.Errorf("%s: %+v", name, res.Finger)
		}
		for _, p := range res.Parts {
			density := a.Design.Material(p.Name).Density.Value
			if math.Abs(p.Mass-p.Volume*density/1000) > 1e-3*p.Mass || p.MinWall <= 0 || p.Triangles < 4 {
				t.Errorf("%s: %+v", name, p)
			}
		}
		for _, f := range res.Findings {
			if f.Check == "" || f.Subject == "" || f.Change == "" {
				t.Errorf("%s: finding without a name or a change: %+v", name, f)
			}
		}
		f, err := os.Open(filepath.Join(dir, "bom.csv"))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		if err := f.Close(); err != nil {
			t.Error(err)
		}
		if err != nil || len(rows) != len(res.BOM)+1 {
			t.Errorf("%s: %d rows in bom.csv, %d lines in results.json, %v", name, len(rows)-1, len(res.BOM), err)
		}
	}
}

// TestStrokeTable checks that the rows of stroke.csv close the mechanism: the
// distance of two pins of a link stays what the file says.
func TestStrokeTable(t *testing.T) {
	_, dir := built(t, "ring-hook")
	data, err := os.ReadFile(filepath.Join(dir, "stroke.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(data))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	col := map[string]int{}
	for i, h := range rows[0] {
		col[h] = i
	}
	num := func(row []string, name string) float64 {
		v, err := strconv.ParseFloat(row[col[name]], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, row := range rows[1:] {
		// The rod's origin is its pin on the hook, 7 mm from the hook's pivot (3, 0).
		if d := math.Hypot(num(row, "rod_x [mm]")-3, num(row, "rod_y [mm]")); math.Abs(d-7) > 1e-4 {
			t.Fatalf("crank radius %g in %v", d, row)
		}
		// Its other end, 45 mm on, is on the carriage.
		a := num(row, "rod_angle [deg]") * math.Pi / 180
		x, y := num(row, "rod_x [mm]")+45*math.Cos(a), num(row, "rod_y [mm]")+45*math.Sin(a)
		if d := math.Hypot(x-num(row, "carriage_x [mm]"), y-num(row, "carriage_y [mm]")); d > 1e-3 {
			t.Fatalf("rod and carriage %g mm apart in %v", d, row)
		}
	}
}
