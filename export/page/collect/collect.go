// Package collect fills what pages show from a design and what was computed
// about it: outlines in place, the stroke, hardware, plates, and the order of
// assembly.
package collect

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/export/bom"
	"tuckfinger/export/caution"
	"tuckfinger/export/page"
	"tuckfinger/export/threemf"
	"tuckfinger/params"
	"tuckfinger/params/finding"
	"tuckfinger/parts"
	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
)

// Deviation is how far meshes in pages and in the moving assembly may lie from
// the solids, mm. Nothing is made from them.
const Deviation = 0.02

// Input is what is known. Design, Parts and Mechanism are needed; what is
// missing of the rest is missing in the pages.
type Input struct {
	Tool, File, Source string
	Design             *params.Design
	Parts              []*parts.Part
	Items              []parts.Item
	Mechanism          *linkage.Mechanism
	Stroke             *stroke.Result
	Findings           []finding.Finding
	Prints             []Print // of Parts
	Bill               bom.Bill
	Plates             []threemf.Plate
	Sheets             []page.Sheet
	Series             []page.Series // of the samples of Stroke
	Rules              []page.Rule
	Swept              profile.Region // by the finger over the cycle
	Measured           *page.Measured
	BackDrive          float64  // slide force that turns the released drive, N; +Inf if it locks, 0 if unknown
	Folds              []string // bodies that move in the passive fold; nil without
	// Meshes has the solids meshed for the drawings in space.
	Meshes bool
}

// Print is a part as it is printed.
type Print struct {
	Mass float64
	Size r3.Vec
}

// Data makes the data of a page.
func Data(in *Input) (*page.Data, error) {
	d := in.Design
	out := &page.Data{Name: d.Name, Note: d.Note, Tool: in.Tool, File: in.File, Source: in.Source,
		Findings: in.Findings, Bill: in.Bill, Measured: in.Measured,
		Rules: in.Rules, Swept: in.Swept, Cautions: caution.For(d)}
	for i, name := range d.Layers.Names {
		out.Layers = append(out.Layers, page.Layer{Name: name, Z0: d.Layers.Values[i].From, Z1: d.Layers.Values[i].To})
	}
	if err := in.bodies(out); err != nil {
		return nil, err
	}
	in.pins(out)
	in.pads(out)
	in.surroundings(out)
	in.stroke(out)
	out.Sheets = append(in.facts(), in.Sheets...)
	if err := in.plates(out); err != nil {
		return nil, err
	}
	out.Steps, out.Tools, out.Trials = in.steps(out), in.tools(), in.trials(out)
	return out, nil
}

func (in *Input) body(name string) int {
	return slices.IndexFunc(in.Parts, func(p *parts.Part) bool { return p.Name == name })
}

func (in *Input) bodies(out *page.Data) error {
	lo := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}
	hi := r3.Scale(-1, lo)
	for i, p := range in.Parts {
		k := in.Mechanism.BodyIndex(p.Name)
		b := page.Body{Name: p.Name, Role: p.Body.Role, Material: p.Material.Name, Ground: in.Mechanism.Bodies[k].Ground,
			Copies: p.Body.Print.Copies, Standing: p.Body.Plane == "xz", Rest: in.Mechanism.Pose(in.Mechanism.Start, k)}
		if i < len(in.Prints) {
			s := in.Prints[i].Size
			b.Mass, b.Size = in.Prints[i].Mass, [3]float64{s.X, s.Y, s.Z}
		}
		for _, s := range p.Solid.Slabs() {
			if b.Standing {
				box, ok := s.Region.Box()
				if !ok {
					continue
				}
				// Drawn (x, y, z) is finger (x, z, −y).
				r, err := profile.Rect(r2.Vec{X: box.Min.X, Y: s.Z0}, r2.Vec{X: box.Max.X, Y: s.Z1}, 0)
				if err != nil {
					return fmt.Errorf("side of %s: %w", p.Name, err)
				}
				b.Slices = append(b.Slices, page.Slice{Z0: -box.Max.Y, Z1: -box.Min.Y, Region: r})
				continue
			}
			b.Slices = append(b.Slices, page.Slice{Z0: s.Z0, Z1: s.Z1, Region: s.Region})
		}
		slices.SortStableFunc(b.Slices, func(a, c page.Slice) int {
			switch {
			case a.Z0 < c.Z0:
				return -1
			case a.Z0 > c.Z0:
				return 1
			}
			return 0
		})
		for _, s := range b.Slices {
			box, ok := s.Region.Transform(profile.Rigid(b.Rest.Theta, r2.Vec{X: b.Rest.X, Y: b.Rest.Y})).Box()
			if ok {
				lo = r3.Vec{X: math.Min(lo.X, box.Min.X), Y: math.Min(lo.Y, box.Min.Y), Z: math.Min(lo.Z, s.Z0)}
				hi = r3.Vec{X: math.Max(hi.X, box.Max.X), Y: math.Max(hi.Y, box.Max.Y), Z: math.Max(hi.Z, s.Z1)}
			}
		}
		out.Bodies = append(out.Bodies, b)
	}
	size := r3.Sub(hi, lo)
	out.Size = [3]float64{size.X, size.Y, size.Z}
	if !in.Meshes {
		return nil
	}
	return in.mesh(out)
}

// mesh meshes all parts as they work, several at a time.
func (in *Input) mesh(out *page.Data) error {
	errs := make([]error, len(in.Parts))
	var wg sync.WaitGroup
	for i, p := range in.Parts {
		wg.Go(func() {
			m, _, err := p.Shape.Mesh(Deviation)
			if err == nil && out.Bodies[i].Standing {
				// A quarter turn about x: drawn (x, y, z) is finger (x, z, −y).
				m, err = m.Transform(r3.NewMat([]float64{1, 0, 0, 0, 0, 1, 0, -1, 0}), r3.Vec{})
			}
			out.Bodies[i].Mesh, errs[i] = m, err
		})
	}
	wg.Wait()
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("part %s can't be meshed: %w", in.Parts[i].Name, err)
		}
	}
	return nil
}

// Meshes returns the meshes of all parts of a page, nil where there is none.
func Meshes(d *page.Data) []*mesh.Mesh {
	out := make([]*mesh.Mesh, len(d.Bodies))
	for i := range out {
		out[i] = d.Bodies[i].Mesh
	}
	return out
}

func (in *Input) pins(out *page.Data) {
	for i := range in.Items {
		it := &in.Items[i]
		k := in.body(it.Body)
		if it.Radius <= 0 || k < 0 {
			continue
		}
		out.Pins = append(out.Pins, page.Pin{Name: it.Where, What: it.What, Body: k, At: it.At, Z0: it.Z0, Z1: it.Z1, Radius: it.Radius})
	}
}

func (in *Input) pads(out *page.Data) {
	g := in.Design.Grasp
	if g == nil {
		return
	}
	for _, name := range []string{g.Upper, g.Lower} {
		p := in.Design.Pads.Get(name)
		if p == nil || in.body(p.Body) < 0 {
			continue
		}
		f := parts.NewPadFace(p)
		out.Pads = append(out.Pads, page.Pad{Name: name, Body: in.body(p.Body), From: f.A, To: f.B})
	}
}

func (in *Input) surroundings(out *page.Data) {
	if p := in.Design.Place; p != nil {
		out.Place = &page.Place{Wall: p.Wall, Gap: p.Gap, Depth: p.Depth, Floor: p.Floor, Under: p.Under, Above: p.Ceiling}
	}
	if o := in.Design.Object; o != nil {
		out.Object = &page.Object{Face: o.Face, Bottom: o.Bottom, Height: o.Height, Mass: o.Mass}
		if p := out.Place; p != nil {
			out.Object.Face, out.Object.Bottom = p.Wall+p.Gap, p.Floor+p.Under
		}
	}
}

// facts are what the file and the closure say, for the table of the mechanism.
func (in *Input) facts() []page.Sheet {
	d, m := in.Design, in.Mechanism
	rows := [][]string{
		{"printer and plastic", d.Process.Printer + ", " + d.Process.Material, ""},
		{"slide travel", fmt.Sprintf("%.2f mm", m.Travel), ""},
		{"slide speed", fmt.Sprintf("%.3g mm/s", d.Drive.Speed), fmt.Sprintf("out and back in %.1f s", 2*m.Travel/d.Drive.Speed)},
		{"mobility", fmt.Sprint(m.Mobility.Freedoms), fmt.Sprintf("by rank; %d by the Kutzbach count", m.Mobility.Kutzbach)},
	}
	if r := in.Stroke; r != nil {
		o, b := r.Peak()
		rows = append(rows, []string{"largest slide force", fmt.Sprintf("%.1f N out, %.1f N back", o, b), "against the motion, without an object"})
		last := r.Samples[len(r.Samples)-1]
		rows = append(rows, []string{"energy lost in a cycle", fmt.Sprintf("%.1f N·mm", last.Friction+last.Snap), fmt.Sprintf("%.1f in friction, %.1f in snaps", last.Friction, last.Snap)})
	}
	return []page.Sheet{{Title: "Mechanism and process", Rows: rows}}
}

// plates draws what lies on each print plate.
func (in *Input) plates(out *page.Data) error {
	printer := in.Design.Printer()
	if printer.Bed != nil {
		out.Bed = [2]float64{printer.Bed.X, printer.Bed.Y}
	}
	for _, p := range in.Plates {
		pl := page.Plate{Title: p.Title}
		for _, o := range p.Objects {
			k := in.body(o.Name)
			if k < 0 {
				return fmt.Errorf("plate %q holds %q, which is no part", p.Title, o.Name)
			}
			var all []profile.Region
			for _, s := range in.Parts[k].Layered.Slabs() {
				all = append(all, s.Region)
			}
			seen, err := profile.UnionAll(all...)
			if err != nil {
				return fmt.Errorf("outline of %s: %w", o.Name, err)
			}
			for _, at := range o.Places {
				turn := 0.0
				if at.Turned {
					turn = math.Pi / 2
				}
				pl.Items = append(pl.Items, page.PlateItem{Name: o.Name, Body: k,
					Region: seen.Transform(profile.Rigid(turn, r2.Vec{X: at.At.X, Y: at.At.Y}))})
			}
		}
		out.Plates = append(out.Plates, pl)
	}
	return nil
}
