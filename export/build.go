// Package export writes what a build leaves behind: print-ready parts and
// plates, the bill of materials, flat drawings, tables and results.
//
// Each format has a package of its own below this one; this one decides which
// files a build has. To add a writer, make a package for the format and list its
// files in files.
package export

import (
	"errors"
	"fmt"
	"io"

	"tuckfinger/assembly"
	"tuckfinger/export/bom"
	"tuckfinger/export/folder"
	"tuckfinger/export/glb"
	"tuckfinger/export/outline"
	"tuckfinger/export/page"
	"tuckfinger/export/page/collect"
	"tuckfinger/export/plate"
	"tuckfinger/export/stl"
	"tuckfinger/export/threemf"
)

// Build writes the output folder of an analysis, all or nothing. A bench test, if
// not nil, is laid over the prediction in the report.
func Build(dir string, a *assembly.Analysis, bench *page.Measured) error {
	files, err := files(a, bench)
	if err != nil {
		return err
	}
	return folder.Write(dir, files, 0)
}

// files lists every file of a build.
func files(a *assembly.Analysis, bench *page.Measured) ([]folder.File, error) {
	var out []folder.File
	add := func(name string, write func(io.Writer) error) {
		out = append(out, folder.File{Name: name, Write: write})
	}
	for _, p := range a.Prints {
		add("parts/"+p.Part.Name+".stl", func(w io.Writer) error { return stl.Write(w, p.Part.Name, p.Mesh) })
		d, err := outline.Of(a.Design.Name+" "+p.Part.Name+", flat outlines, mm", p.Part)
		if err != nil {
			return nil, err
		}
		add("drawings/"+p.Part.Name+".dxf", func(w io.Writer) error { return outline.DXF(w, d) })
		add("drawings/"+p.Part.Name+".svg", func(w io.Writer) error { return outline.SVG(w, d) })
	}
	if a.Place != nil {
		d := outline.Drawing{Title: fmt.Sprintf("%s, area swept over the stroke, mm, within %.2g mm", a.Design.Name, a.Place.Tolerance), Levels: []outline.Level{{Region: a.Place.Swept}}, Line: 0.3}
		add("drawings/swept-area.dxf", func(w io.Writer) error { return outline.DXF(w, d) })
		add("drawings/swept-area.svg", func(w io.Writer) error { return outline.SVG(w, d) })
	}
	plates, err := arrange(a)
	if err != nil {
		return nil, err
	}
	for i, p := range plates {
		add(fmt.Sprintf("plates/plate-%d.3mf", i+1), func(w io.Writer) error { return threemf.Write(w, p) })
	}
	lines, err := billOfMaterials(a)
	if err != nil {
		return nil, err
	}
	add("bom.csv", func(w io.Writer) error { return bom.CSV(w, lines) })
	add("bom.md", func(w io.Writer) error { return bom.Markdown(w, a.Design.Name+": bill of materials", lines) })
	add("stroke.csv", func(w io.Writer) error { return StrokeTable(w, a) })
	d, err := PageData(a, bench)
	if err != nil {
		return nil, err
	}
	add("report.html", func(w io.Writer) error { return page.Report(w, d) })
	add("guide.html", func(w io.Writer) error { return page.Guide(w, d) })
	add("assembly.glb", func(w io.Writer) error { return glb.Write(w, collect.Scene(d)) })
	add("results.json", func(w io.Writer) error { return Results(w, a) })
	add("README.txt", func(w io.Writer) error { return readme(w, a, len(plates)) })
	return out, nil
}

// Margins of a print plate, mm. Common practice, no source.
const (
	plateMargin  = 5.0
	plateSpacing = 5.0
)

// arrange puts the parts onto print plates, each of one plastic. Parts that no
// plate holds are left out; the check of the bed has reported them.
func arrange(a *assembly.Analysis) ([]threemf.Plate, error) {
	printer := a.Design.Printer()
	bed := plate.Bed{X: printer.Bed.X, Y: printer.Bed.Y, Z: printer.Bed.Z, Margin: plateMargin, Spacing: plateSpacing}
	var materials []string
	groups := map[string][]assembly.Print{}
	for _, p := range a.Prints {
		m := p.Part.Material.Name
		if groups[m] == nil {
			materials = append(materials, m)
		}
		groups[m] = append(groups[m], p)
	}
	var plates []threemf.Plate
	for _, m := range materials {
		layout, err := plate.Arrange(bed, boxes(groups[m]))
		var large plate.TooLarge
		if err != nil && !errors.As(err, &large) {
			return nil, err
		}
		for _, spots := range layout {
			pl := threemf.Plate{Title: m, Description: a.Design.Note}
			last := -1
			for _, s := range spots {
				if s.Part != last {
					p := groups[m][s.Part]
					pl.Objects = append(pl.Objects, threemf.Object{Name: p.Part.Name, Mesh: p.Mesh})
					last = s.Part
				}
				o := &pl.Objects[len(pl.Objects)-1]
				o.Places = append(o.Places, threemf.Place{Turned: s.Turned, At: s.At})
			}
			plates = append(plates, pl)
		}
	}
	for i := range plates {
		plates[i].Title = fmt.Sprintf("%s plate %d of %d, in %s", a.Design.Name, i+1, len(plates), plates[i].Title)
	}
	return plates, nil
}

func boxes(prints []assembly.Print) []plate.Part {
	out := make([]plate.Part, len(prints))
	for i, p := range prints {
		out[i] = plate.Part{Name: p.Part.Name, Box: p.Mesh.Box(), Copies: p.Part.Body.Print.Copies}
	}
	return out
}
