package export

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"tuckfinger/assembly"
	"tuckfinger/params/finding"
)

// Summary prints what a build did: sizes, mass, verdict and what needs a look.
func Summary(w io.Writer, a *assembly.Analysis, dir string) error {
	b := &strings.Builder{}
	mass, pieces := 0.0, 0
	for _, p := range a.Prints {
		box := p.Mesh.Box()
		fmt.Fprintf(b, "%-12s %6.1f x %5.1f x %4.1f mm  %6.2f g  %5d triangles, within %.3f mm\n", p.Part.Name,
			box.Max.X-box.Min.X, box.Max.Y-box.Min.Y, box.Max.Z-box.Min.Z, p.Mass, len(p.Mesh.Triangles), p.Deviation)
		mass += p.Mass * float64(p.Part.Body.Print.Copies)
		pieces += p.Part.Body.Print.Copies
	}
	size := a.Size()
	var plastics []string
	for _, p := range a.Parts {
		if !slices.Contains(plastics, p.Material.Name) {
			plastics = append(plastics, p.Material.Name)
		}
	}
	fmt.Fprintf(b, "%d printed parts, %.1f g of %s; tucked %.1f x %.1f x %.1f mm\n", pieces, mass, strings.Join(plastics, " and "), size.X, size.Y, size.Z)
	writeFindings(b, a, false)
	fmt.Fprintf(b, "wrote %s\n", dir)
	_, err := io.WriteString(w, b.String())
	return err
}

// Findings prints every finding and the verdict.
func Findings(w io.Writer, a *assembly.Analysis) error {
	b := &strings.Builder{}
	writeFindings(b, a, true)
	_, err := io.WriteString(w, b.String())
	return err
}

// FailedFindings prints the findings that do not pass, and the verdict.
func FailedFindings(w io.Writer, a *assembly.Analysis) error {
	b := &strings.Builder{}
	writeFindings(b, a, false)
	_, err := io.WriteString(w, b.String())
	return err
}

func writeFindings(b *strings.Builder, a *assembly.Analysis, all bool) {
	for _, f := range a.Findings {
		if all || f.Status != finding.Pass {
			fmt.Fprintln(b, f.String())
			more := f.Detail
			if f.Unit == "" { // the line above shows the first one already
				_, more, _ = strings.Cut(more, "\n")
			}
			if more != "" && f.Status != finding.Pass {
				fmt.Fprintf(b, "      %s\n", strings.ReplaceAll(more, "\n", "\n      "))
			}
		}
	}
	fmt.Fprintf(b, "%s: %s\n", a.Design.Name, verdict(a))
}
