package tables

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Pin is a bought cylindrical pin of one standard and diameter.
type Pin struct {
	Name     string    `tf:"-"`
	Standard string    `tf:"standard,req" enum:"iso2338|iso8734" doc:"Standard that it is sold under."`
	Diameter float64   `tf:"diameter,req" unit:"mm" above:"0" max:"50" doc:"Nominal diameter."`
	Chamfer  float64   `tf:"chamfer,req" unit:"mm" min:"0" doc:"Length of the chamfer at either end (c)."`
	Classes  []string  `tf:"classes,req" enum:"m6|h6|h8|h11" doc:"ISO 286 classes of the diameter that it is sold in."`
	Lengths  []float64 `tf:"lengths,req" unit:"mm" above:"0" doc:"Lengths that it is sold in, rising."`
	Material string    `tf:"material,req" doc:"Entry of the materials table."`
	Source   string    `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// pinStandards are the words of the file and the designations of the trade.
var pinStandards = map[string]string{"iso2338": "ISO 2338", "iso8734": "ISO 8734"}

// pinLengths are the standard lengths of both pin standards, mm.
var pinLengths = []float64{2, 3, 4, 5, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32,
	35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100}

// Pin returns the pin of a standard ("iso2338" or "iso8734") with the diameter
// (mm). The error lists the diameters that exist.
func (t *Tables) Pin(standard string, diameter float64) (Pin, error) {
	var have []float64
	var standards []string
	for _, p := range t.Pins.Values {
		if !slices.Contains(standards, p.Standard) {
			standards = append(standards, p.Standard)
		}
		if p.Standard != standard {
			continue
		}
		if math.Abs(p.Diameter-diameter) < 1e-6 {
			return p, nil
		}
		have = append(have, p.Diameter)
	}
	if have == nil {
		return Pin{}, fmt.Errorf("no pin standard %q%s; there are %s", standard, Suggest(standard, standards), list(standards))
	}
	slices.Sort(have)
	return Pin{}, fmt.Errorf("no %s pin of diameter %s mm; there are %s mm", pinStandards[standard], num(diameter), nums(have))
}

// Limits returns the smallest and largest diameter (mm) of the pin in an ISO 286
// class that it is sold in, such as "m6".
func (p *Pin) Limits(class string) (least, most float64, err error) {
	if !slices.Contains(p.Classes, class) {
		return 0, 0, fmt.Errorf("%s pins of %s mm are not sold in class %q; there are %s",
			pinStandards[p.Standard], num(p.Diameter), class, list(p.Classes))
	}
	lower, upper, err := Limits(p.Diameter, class)
	return p.Diameter + lower, p.Diameter + upper, err
}

// Length returns the longest standard length (mm) that is at least needed and at
// most available, both nominal; LengthTolerance tells how far a pin may differ.
// The error names the lengths that exist around the wanted range.
func (p *Pin) Length(needed, available float64) (float64, error) {
	l, err := longest(p.Lengths, needed, available)
	if err != nil {
		return 0, fmt.Errorf("%s pin of diameter %s mm: %w", pinStandards[p.Standard], num(p.Diameter), err)
	}
	return l, nil
}

// Designation returns what to order, such as "ISO 2338 - 3 m6 x 20" or
// "ISO 8734 - 3 x 20". The class is part of it only where there is a choice.
func (p *Pin) Designation(class string, length float64) string {
	d := num(p.Diameter)
	if len(p.Classes) > 1 {
		d += " " + class
	}
	return pinStandards[p.Standard] + " - " + d + " x " + num(length)
}

// Mass returns the mass in g of a plain cylinder of that length (mm) and density
// (g/cm³); the chamfers take 1 to 3 % off it.
func (p *Pin) Mass(length, density float64) float64 {
	return math.Pi / 4 * p.Diameter * p.Diameter * length * density / 1000
}

// LengthTolerance returns the symmetric tolerance (mm) of a standard pin length:
// 0.25 up to 10 mm, 0.5 up to 50 mm, 0.75 above (ISO 2338 and ISO 8734).
func LengthTolerance(length float64) float64 {
	switch {
	case length <= 10:
		return 0.25
	case length <= 50:
		return 0.5
	}
	return 0.75
}

func (p *Pin) setName(name string) { p.Name = name }
func (p *Pin) like() string        { return "" }
func (p *Pin) inherit(*Pin)        {}

func (p Pin) validate(path string) []error {
	errs := rising(path+".lengths", p.Lengths)
	if least := p.Lengths[0]; 2*p.Chamfer >= least {
		errs = append(errs, fmt.Errorf("%s.chamfer: %g mm, two of them must be shorter than the shortest pin, %g mm", path, p.Chamfer, least))
	}
	return errs
}

// longest returns the largest of rising lengths in [needed, available].
func longest(lengths []float64, needed, available float64) (float64, error) {
	const slip = 1e-6 // a nanometre of arithmetic does not cost a length
	if math.IsNaN(needed) || math.IsNaN(available) || needed > available+slip {
		return 0, fmt.Errorf("needs a length of at least %s mm where only %s mm is available", num(needed), num(available))
	}
	var below, above []float64
	for _, l := range lengths {
		if l > available+slip {
			above = append(above, l)
		} else {
			below = append(below, l)
		}
	}
	if len(below) > 0 && below[len(below)-1] >= needed-slip {
		return below[len(below)-1], nil
	}
	var near []string
	if len(below) > 0 {
		near = append(near, num(below[len(below)-1])+" mm")
	}
	if len(above) > 0 {
		near = append(near, num(above[0])+" mm")
	}
	if len(near) == 0 {
		return 0, fmt.Errorf("there are no lengths")
	}
	return 0, fmt.Errorf("no standard length from %s to %s mm; the nearest are %s (there are %s to %s mm)",
		num(needed), num(available), strings.Join(near, " and "), num(lengths[0]), num(lengths[len(lengths)-1]))
}

// rising returns an error where values do not rise.
func rising(path string, values []float64) []error {
	for i := 1; i < len(values); i++ {
		if values[i] <= values[i-1] {
			return []error{fmt.Errorf("%s[%d]: %g after %g; must rise", path, i, values[i], values[i-1])}
		}
	}
	return nil
}

// num is a length without trailing zeros.
func num(x float64) string { return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64) }

func nums(xs []float64) string {
	var s []string
	for _, x := range xs {
		s = append(s, num(x))
	}
	return strings.Join(s, ", ")
}

// between returns the values of rising list in [least, most].
func between(values []float64, least, most float64) []float64 {
	var out []float64
	for _, v := range values {
		if v >= least && v <= most {
			out = append(out, v)
		}
	}
	return out
}

func pins() Table[Pin] {
	var t Table[Pin]
	add := func(standard, source, material string, classes []string, diameter, chamfer, shortest, most float64) {
		name := standard + "-" + num(diameter)
		t.Add(name, Pin{Name: name, Standard: standard, Diameter: diameter, Chamfer: chamfer, Classes: classes,
			Lengths: between(pinLengths, shortest, most), Material: material, Source: source})
	}
	const recalled = FromMemory + " "
	m6h8, m6 := []string{"m6", "h8"}, []string{"m6"}
	// Columns: d, c, shortest and longest length.
	for _, r := range [][4]float64{{1, 0.2, 4, 10}, {1.5, 0.3, 4, 16}} {
		add("iso2338", recalled+"(ISO 2338:1997)", "steel", m6h8, r[0], r[1], r[2], r[3])
	}
	for _, r := range [][4]float64{{2, 0.35, 6, 20}, {2.5, 0.4, 6, 24}, {3, 0.5, 8, 30}, {4, 0.63, 8, 40},
		{5, 0.8, 10, 50}, {6, 1.2, 12, 60}, {8, 1.6, 14, 80}, {10, 2, 18, 95}} {
		add("iso2338", "ISO 2338:1997", "steel", m6h8, r[0], r[1], r[2], r[3])
	}
	for _, r := range [][4]float64{{1, 0.2, 3, 10}, {1.5, 0.3, 4, 16}} {
		add("iso8734", recalled+"(ISO 8734:1997)", "steel-hardened", m6, r[0], r[1], r[2], r[3])
	}
	for _, r := range [][4]float64{{2, 0.35, 5, 20}, {2.5, 0.4, 6, 24}, {3, 0.5, 8, 30}, {4, 0.63, 10, 40},
		{5, 0.8, 12, 50}, {6, 1.2, 14, 60}, {8, 1.6, 18, 80}, {10, 2, 22, 100}} {
		add("iso8734", "ISO 8734:1997; class m6 "+FromMemory, "steel-hardened", m6, r[0], r[1], r[2], r[3])
	}
	return t
}
