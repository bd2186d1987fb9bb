package export

import (
	"fmt"
	"io"
	"strings"

	"tuckfinger/assembly"
	"tuckfinger/export/caution"
	"tuckfinger/params/finding"
)

// readme writes README.txt for whoever gets the folder.
func readme(w io.Writer, a *assembly.Analysis, plates int) error {
	d := a.Design
	printer, material := d.Printer(), d.Material("")
	b := &strings.Builder{}
	line := func(format string, args ...any) { fmt.Fprintf(b, format+"\n", args...) }
	line("%s", d.Name)
	line("%s", strings.Repeat("=", len(d.Name)))
	if d.Note != "" {
		line("\n%s", d.Note)
	}
	line("\nVerdict: %s", verdict(a))
	for _, f := range a.Findings {
		if f.Status != finding.Pass {
			line("  %s", f)
		}
	}
	line("\nWhat is here")
	line("  report.html          findings, moving picture, forces, parts in 3D; opens offline in a browser")
	line("  guide.html           what to print and buy, and how to assemble it, step by step")
	line("  assembly.glb         the assembly with its stroke as an animation")
	name, noun := "plate-N.3mf", fmt.Sprintf("%d print plates", plates)
	if plates == 1 {
		name, noun = "plate-1.3mf", "1 print plate"
	}
	line("  plates/%s   %s, parts arranged on a bed of %.0f x %.0f mm, in mm", name, noun, printer.Bed.X, printer.Bed.Y)
	line("  parts/NAME.stl       each part, as it lies on the bed, in mm")
	line("  drawings/NAME.dxf    flat outlines with true arcs, in mm, a layer for each height (also .svg);")
	line("                       sizes as the part works, without the compensation of the process")
	line("  bom.md, bom.csv      what to print and to buy")
	line("  stroke.csv           poses, opening and forces along the stroke")
	line("  results.json         everything computed, for programs")
	line("\nPrint")
	line("  process %s, material %s, layer height %.2f mm, solid: strength and masses are computed without hollows", d.Process.Printer, material.Name, printer.Layer.Height)
	for _, p := range a.Parts {
		if p.Material.Name != material.Name {
			line("  %s is of %s; its plate is a separate one", p.Name, p.Material.Name)
		}
	}
	line("  Print as oriented, without scaling: sizes already include the compensation of this process.")
	line("\nAssemble")
	line("  Press-fit holes: push pins in square, in a vice or with a pin punch. Turning holes: ream until the pin turns freely.")
	line("  Move the finger by hand through the whole stroke before it sees a motor.")
	line("\nCautions")
	for _, c := range caution.For(d) {
		line("  - %s", c)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// verdict says in one line how the checks ended.
func verdict(a *assembly.Analysis) string {
	pass, warn, fail := finding.Count(a.Findings, finding.Pass), finding.Count(a.Findings, finding.Warn), finding.Count(a.Findings, finding.Fail)
	switch {
	case fail > 0:
		return fmt.Sprintf("FAIL - %d of %d checks fail, %d warn", fail, pass+warn+fail, warn)
	case warn > 0:
		return fmt.Sprintf("pass, with %d warnings of %d checks", warn, pass+warn+fail)
	}
	return fmt.Sprintf("pass - all %d checks", pass)
}
