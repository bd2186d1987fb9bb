package collect

import (
	"bytes"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/qmuntal/gltf"

	"tuckfinger/assembly"
	"tuckfinger/assembly/check"
	"tuckfinger/export/glb"
	"tuckfinger/export/internal/gltfcheck"
	"tuckfinger/export/page"
	"tuckfinger/params"
)

// example parses an example, each edit made at its one place in the text.
func example(t testing.TB, name string, edits ...[2]string) *params.Design {
	t.Helper()
	b, err := os.ReadFile("../../../examples/" + name + "/finger.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := string(b)
	for _, e := range edits {
		if n := strings.Count(text, e[0]); n != 1 {
			t.Fatalf("%s has %q %d times", name, e[0], n)
		}
		text = strings.Replace(text, e[0], e[1], 1)
	}
	d, err := params.Parse("finger.yaml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// load analyses an example, edited, and makes a page of it, with meshes.
func load(t testing.TB, name string, edits ...[2]string) (*assembly.Analysis, *page.Data) {
	t.Helper()
	d := example(t, name, edits...)
	a, err := assembly.Examine(d, nil)
	if err != nil {
		t.Fatal(err)
	}
	in := From(a)
	in.Tool, in.File, in.Source, in.Meshes = "tuckfinger test", d.File, string(d.Text), true
	data, err := Data(in)
	if err != nil {
		t.Fatal(err)
	}
	return a, data
}

var examples = []string{"rack-lifter", "lid-lifter", "ring-hook"}

// Two ways to one number: the opening drawn along the whole stroke, and the one
// of the grasp where stops hold the jaw.
func TestOpeningAgreesWithGrasp(t *testing.T) {
	a, data := load(t, "rack-lifter")
	open := data.Stroke.Series[0]
	if open.Key != "opening" {
		t.Fatalf("first series is %q", open.Name)
	}
	n := 0
	for _, g := range a.Grasp.Samples {
		for i, f := range data.Stroke.Frames[:data.Stroke.Turn+1] {
			if f.S != g.S || math.IsNaN(open.Values[i]) {
				continue
			}
			n++
			if math.Abs(open.Values[i]-g.Opening) > 0.05 {
				t.Errorf("s = %.3f mm: opening %.3f mm, by the grasp %.3f mm", g.S, open.Values[i], g.Opening)
			}
		}
	}
	if n < 10 {
		t.Errorf("only %d places compared", n)
	}
}

// A bore is in the pictures too: the carriage's mesh holds its volume less that
// of the cylinder, whose wall the mesh follows within Deviation.
func TestBoreIsShown(t *testing.T) {
	const at = "    print: {up: -z}\n"
	a, data := load(t, "ring-hook", [2]string{at, "      - bore: {from: [0, 50], to: [0, 70], z: 13 + 3*air + 2, diameter: 2}\n" + at})
	k := From(a).body("carriage")
	whole := 0.0
	for _, s := range a.Parts[k].Solid.Slabs() {
		whole += s.Region.Area() * (s.Z1 - s.Z0)
	}
	top := a.Parts[k].Solid.Box().Max.Y
	cut := whole - data.Bodies[k].Mesh.Volume()
	// Up to the round end of the bar, less the M3 screw hole (3.4 mm, ISO 273) that
	// it crosses; a chord 0.02 mm off takes up to a twentieth off.
	if want := math.Pi * (top - 50 - 3.4); cut < 0.88*want || cut > 1.05*want {
		t.Errorf("the bore takes %.2f mm³ off the picture, the cylinder holds %.2f", cut, want)
	}
}

// The list of events says what the stroke says, not the state just after.
func TestEventsAreThoseOfTheStroke(t *testing.T) {
	a, data := load(t, "rack-lifter")
	for i, e := range data.Stroke.Events {
		want := &a.Stroke.Events[i]
		if e.S != want.S || e.Force != want.Force || e.Back != want.Back {
			t.Errorf("%s: %.4f mm and %.4f N, the stroke has %.4f and %.4f", e.Text, e.S, e.Force, want.S, want.Force)
		}
	}
	if len(data.Events()) < 10 {
		t.Errorf("%d events", len(data.Events()))
	}
}

// What the pages say about sizes is what the assembly measures.
func TestSize(t *testing.T) {
	for _, name := range examples {
		a, data := load(t, name)
		want := a.Size()
		for k, v := range [3]float64{want.X, want.Y, want.Z} {
			if math.Abs(data.Size[k]-v) > 1e-6 {
				t.Errorf("%s: size %v, the assembly says %v", name, data.Size, want)
			}
		}
	}
}

// The order of assembly must be one that can be carried out: every part in its
// turn, nothing of it under a part that is there unless the step says so, and
// every pin once.
func TestOrderOfAssembly(t *testing.T) {
	for _, name := range examples {
		a, data := load(t, name)
		in := From(a)
		s := in.stack()
		order := s.order()
		seen := map[int]bool{}
		interlocked := map[int]bool{}
		for _, pl := range order {
			if seen[pl.part] {
				t.Errorf("%s: %s comes twice", name, in.Parts[pl.part].Name)
			}
			for there := range seen {
				if must, _ := s.before(pl.part, there); must && !interlocked[there] {
					t.Errorf("%s: %s goes in after %s, which is over it", name, in.Parts[pl.part].Name, in.Parts[there].Name)
				}
			}
			seen[pl.part] = true
			interlocked[pl.part] = len(pl.over) > 0
		}
		if len(seen) != len(in.Parts) {
			t.Errorf("%s: %d of %d parts are placed", name, len(seen), len(in.Parts))
		}
		pins := map[int]int{}
		for _, st := range data.Steps {
			for _, p := range st.Pins {
				pins[p]++
			}
			if st.Title == "" || len(st.Do) == 0 {
				t.Errorf("%s: step %+v says nothing", name, st)
			}
		}
		want := 0
		for i := range in.Items {
			if in.Items[i].Kind == "pin" && in.Items[i].Radius > 0 {
				want++
			}
		}
		if len(pins) != want {
			t.Errorf("%s: %d of %d pins are placed", name, len(pins), want)
		}
		for p, n := range pins {
			if n != 1 || p < 0 {
				t.Errorf("%s: pin %d comes %d times", name, p, n)
			}
		}
		if first := data.Steps[1]; !data.Bodies[first.Body].Ground {
			t.Errorf("%s: begins with %s", name, data.Bodies[first.Body].Name)
		}
	}
}

// Bought things of the bill are all in the guide.
func TestGuideHasEverything(t *testing.T) {
	for _, name := range examples {
		a, data := load(t, name)
		var all []string
		for _, st := range data.Steps {
			all = append(all, st.Things...)
		}
		text := strings.Join(all, "\n")
		for i := range a.Items {
			if it := &a.Items[i]; !strings.Contains(text, it.What) || it.Where != "" && !strings.Contains(text, it.Where) {
				t.Errorf("%s: the guide has no %s (%s, %s)", name, it.What, it.Kind, it.Where)
			}
		}
	}
}

// A check that no family names would be found under "Further checks" only.
func TestEveryCheckHasItsTable(t *testing.T) {
	known := page.Families()
	for _, c := range check.All {
		if !slices.Contains(known, c.Name) {
			t.Errorf("check %q is in no table", c.Name)
		}
	}
}

// A mechanism that cannot be computed has an error with a place.
func TestQuickError(t *testing.T) {
	if d, err := Quick(example(t, "rack-lifter")); err != nil || len(d.Stroke.Frames) < 100 || len(d.Bodies) != 8 {
		t.Fatalf("%v", err)
	}
	// A stroke that ends early is shown as far as it goes.
	if d, err := Quick(example(t, "rack-lifter", [2]string{"{radius: tip_crank, angle: 205}", "{radius: tip_crank, angle: 25}"})); err != nil || len(d.Stroke.Frames) == 0 {
		t.Errorf("%v", err)
	}
	_, err := Quick(example(t, "rack-lifter", [2]string{"through: [-1, 71.4]", "through: [-90, 71.4]"}))
	if list, ok := err.(params.Errors); !ok || list[0].Line == 0 {
		t.Errorf("%v", err)
	}
}

// The file of the reference finger is valid, has a node per part with its name,
// and moves what the stroke moves.
func TestScene(t *testing.T) {
	_, data := load(t, "rack-lifter")
	var b bytes.Buffer
	if err := glb.Write(&b, Scene(data)); err != nil {
		t.Fatal(err)
	}
	doc := new(gltf.Document)
	if err := gltf.NewDecoder(bytes.NewReader(b.Bytes())).Decode(doc); err != nil {
		t.Fatal(err)
	}
	moved := map[string]bool{}
	for _, c := range doc.Animations[0].Channels {
		moved[doc.Nodes[*c.Target.Node].Name] = true
	}
	for i, n := range doc.Scenes[0].Nodes {
		name := doc.Nodes[n].Name
		if name != data.Bodies[i].Name {
			t.Errorf("node %d is %q, part %q", i, name, data.Bodies[i].Name)
		}
		if still := name == "spine" || name == "cover" || name == "mount"; moved[name] == still {
			t.Errorf("%s moves: %v", name, moved[name])
		}
	}
	t.Logf("%d bytes", b.Len())
	gltfcheck.Valid(t, b.Bytes())
}

// What a live page waits for: the mechanism view, and a page's data with meshes.
func BenchmarkQuick(b *testing.B) {
	d := example(b, "rack-lifter")
	for b.Loop() {
		data, err := Quick(d)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := page.Sections(data); err != nil {
			b.Fatal(err)
		}
		if _, err := data.Pack(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFull(b *testing.B) {
	d := example(b, "rack-lifter")
	for b.Loop() {
		a, err := assembly.Analyse(d, nil)
		if err != nil {
			b.Fatal(err)
		}
		in := From(a)
		in.Meshes = true
		data, err := Data(in)
		if err != nil {
			b.Fatal(err)
		}
		if err := page.Report(io.Discard, data); err != nil {
			b.Fatal(err)
		}
	}
}
