package check

import (
	"fmt"
	"math"
)

// bed compares the boxes of the printed parts with the printer's space; a part
// may be turned by a quarter.
func bed(in *Input, out *Findings) error {
	b := in.printer.Bed
	long, short := math.Max(b.X, b.Y), math.Min(b.X, b.Y)
	for _, p := range in.Parts {
		box := p.Printed.BoundingBox()
		x, y, z := box.Max.X-box.Min.X, box.Max.Y-box.Min.Y, box.Max.Z-box.Min.Z
		size := fmt.Sprintf("%.1f x %.1f x %.1f mm", x, y, z)
		path := "bodies." + p.Name
		for _, m := range []struct {
			what         string
			value, limit float64
		}{{"length", math.Max(x, y), long}, {"width", math.Min(x, y), short}, {"height", z, b.Z}} {
			out.atMost(measure{subject: p.Name + " " + m.what, value: m.value, unit: "mm", def: m.limit, source: b.Source,
				change: path, detail: size})
		}
	}
	return nil
}
