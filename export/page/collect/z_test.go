package collect

import (
	"fmt"
	"os"
	"testing"
	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/export/page"
	"tuckfinger/params"
	"tuckfinger/parts"
)

func input(t testing.TB, name string) *Input {
	t.Helper()
	file := "../../../examples/" + name + "/finger.yaml"
	src, _ := os.ReadFile(file)
	d, err := params.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	in := &Input{Tool: "tuckfinger test", File: "finger.yaml", Source: string(src), Design: d, Meshes: true}
	if in.Parts, err = parts.Build(d); err != nil {
		t.Fatal(err)
	}
	if in.Items, err = parts.Hardware(d, in.Parts); err != nil {
		t.Fatal(err)
	}
	if in.Mechanism, err = linkage.New(d); err != nil {
		t.Fatal(err)
	}
	x, err := stroke.With(in.Mechanism, d, stroke.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if in.Stroke, err = x.Run(); err != nil {
		t.Log(err)
	}
	return in
}
func TestZ0(t *testing.T) {
	for _, n := range []string{"rack-lifter", "lid-lifter", "ring-hook"} {
		in := input(t, n)
		d, err := Data(in)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println(n, d.Size, len(d.Stroke.Frames), d.Stroke.Turn, d.Stroke.Grasp)
		for _, e := range d.Stroke.Events {
			fmt.Printf("  %.3f %d %s\n", d.Stroke.Frames[e.Frame].S, e.Frame, e.Text)
		}
		for _, s := range d.Steps {
			fmt.Println(" *", s.Title, "--", s.Why, s.Pins)
			for _, x := range s.Things {
				fmt.Println("     -", x)
			}
			for _, x := range s.Do {
				fmt.Println("     >", x)
			}
		}
		for _, b := range d.Bodies {
			fmt.Println(b.Name, len(b.Mesh.Triangles))
		}
	}
}
func TestZR(t *testing.T) {
	for _, n := range []string{"rack-lifter", "lid-lifter", "ring-hook"} {
		in := input(t, n)
		d, err := Data(in)
		if err != nil {
			t.Fatal(err)
		}
		f, _ := os.Create("/tmp/rep-" + n + ".html")
		if err := page.Report(f, d); err != nil {
			t.Fatal(err)
		}
		st, _ := f.Stat()
		fmt.Println(n, st.Size())
		f.Close()
	}
}
func TestZG(t *testing.T) {
	for _, n := range []string{"rack-lifter","lid-lifter","ring-hook"} {
	in := input(t, n)
	in.Meshes=false
	d, err := Data(in)
	if err != nil { t.Fatal(err) }
	f, _ := os.Create("/tmp/guide-"+n+".html")
	if err := page.Guide(f, d); err != nil { t.Fatal(err) }
	st, _ := f.Stat()
	fmt.Println(n, st.Size())
	f.Close()
	}
}
