// Package tables holds the built-in data that every limit and every bought part
// comes from: materials, printers (printing processes), pins, screws with their
// nuts, washers and inserts, lead screws, linear slides, motors, and the ISO 286
// limits and fits.
//
// The entry structs carry the tags of package params (tf, unit, min, max, above,
// enum, doc), so that a user's table file is read by the same decoder as a
// finger file, into the same structs. Inside the program lengths are mm, forces
// N, torques N·mm, stresses MPa, masses g, densities g/cm³, times s, and angles
// radians (degrees in files).
//
// Every group of values names its source. A source that says `common practice,
// no source` or `from memory` marks values that nothing published stands
// behind; Proven tells them apart and Tables.Sources lists them all.
package tables

import (
	"fmt"
	"slices"
	"strings"
)

// CommonPractice is the source of a fact of the trade that no document backs.
const CommonPractice = "common practice, no source"

// FromMemory begins the source of a value that was recalled and not confirmed.
const FromMemory = "from memory, not confirmed"

// Proven reports whether a source names a document for all the values under it:
// it is not empty and says neither "common practice" nor "from memory".
func Proven(source string) bool {
	s := strings.ToLower(source)
	return strings.TrimSpace(s) != "" && !strings.Contains(s, "common practice") && !strings.Contains(s, "from memory")
}

// Table is an ordered list of named entries: built-in ones in the order of the
// package, then a user's in the order of the file. Its form is that of
// params.Named, so that either converts into the other.
type Table[T any] struct {
	Names  []string
	Values []T
}

// Len returns the number of entries.
func (t *Table[T]) Len() int { return len(t.Names) }

// Get returns the entry of that name, or nil.
func (t *Table[T]) Get(name string) *T {
	if i := slices.Index(t.Names, name); i >= 0 {
		return &t.Values[i]
	}
	return nil
}

// Add appends an entry. It does not look for an earlier one of the same name.
func (t *Table[T]) Add(name string, v T) {
	t.Names = append(t.Names, name)
	t.Values = append(t.Values, v)
}

// find is Get with an error that suggests the nearest name and lists them all.
func (t *Table[T]) find(what, name string) (T, error) {
	if v := t.Get(name); v != nil {
		return *v, nil
	}
	var none T
	return none, fmt.Errorf("no %s %q%s; there are %s", what, name, Suggest(name, t.Names), list(t.Names))
}

// Tables are all the tables; a user's table file has the same sections.
//
// The entries share their groups (pointers) with the Tables they were made
// from; they are read and not written to.
type Tables struct {
	Materials  Table[Material]  `tf:"materials" doc:"Plastics and metals."`
	Printers   Table[Printer]   `tf:"printers" doc:"Printing processes as set up on one printer."`
	Pins       Table[Pin]       `tf:"pins" doc:"Bought pins, one entry for a standard and diameter."`
	Screws     Table[Screw]     `tf:"screws" doc:"Screws and what goes with one thread: holes, washer, nuts, insert."`
	LeadScrews Table[LeadScrew] `tf:"leadscrews" doc:"Lead screws."`
	Slides     Table[Slide]     `tf:"slides" doc:"Bought linear guides."`
	Motors     Table[Motor]     `tf:"motors" doc:"Motors, servos and linear actuators."`
}

// Builtin returns the built-in tables, freshly made. They pass Validate.
func Builtin() *Tables {
	return &Tables{
		Materials:  materials(),
		Printers:   printers(),
		Pins:       pins(),
		Screws:     screws(),
		LeadScrews: leadScrews(),
		Slides:     slides(),
		Motors:     motors(),
	}
}

// Material returns the material of that name. The error of this and the other
// look-ups suggests the nearest name and lists all of them.
func (t *Tables) Material(name string) (Material, error) { return t.Materials.find("material", name) }

// Printer returns the printing process of that name.
func (t *Tables) Printer(name string) (Printer, error) { return t.Printers.find("printer", name) }

// Screw returns the screw of that name and what goes with it.
func (t *Tables) Screw(name string) (Screw, error) { return t.Screws.find("screw", name) }

// LeadScrew returns the lead screw of that name.
func (t *Tables) LeadScrew(name string) (LeadScrew, error) {
	return t.LeadScrews.find("lead screw", name)
}

// Slide returns the linear guide of that name.
func (t *Tables) Slide(name string) (Slide, error) { return t.Slides.find("slide", name) }

// Motor returns the motor of that name.
func (t *Tables) Motor(name string) (Motor, error) { return t.Motors.find("motor", name) }

// Sections returns the names of all tables in order.
func Sections() []string {
	return []string{"materials", "printers", "pins", "screws", "leadscrews", "slides", "motors"}
}

// Names returns the entry names of a section in order, and whether there is
// such a section.
func (t *Tables) Names(section string) ([]string, bool) {
	switch section {
	case "materials":
		return slices.Clone(t.Materials.Names), true
	case "printers":
		return slices.Clone(t.Printers.Names), true
	case "pins":
		return slices.Clone(t.Pins.Names), true
	case "screws":
		return slices.Clone(t.Screws.Names), true
	case "leadscrews":
		return slices.Clone(t.LeadScrews.Names), true
	case "slides":
		return slices.Clone(t.Slides.Names), true
	case "motors":
		return slices.Clone(t.Motors.Names), true
	}
	return nil, false
}

// CheckPair returns an error if the printer does not print the material, by
// the form in which each is fed (filament, powder, resin). It names the
// materials that the printer does print.
func (t *Tables) CheckPair(printer, material string) error {
	p, err := t.Printer(printer)
	if err != nil {
		return err
	}
	m, err := t.Material(material)
	if err != nil {
		return err
	}
	if slices.Contains(m.Forms, p.Feed) {
		return nil
	}
	var fit []string
	for i, v := range t.Materials.Values {
		if slices.Contains(v.Forms, p.Feed) {
			fit = append(fit, t.Materials.Names[i])
		}
	}
	return fmt.Errorf("printer %q prints %s and material %q comes as %s; it prints %s",
		printer, p.Feed, material, list(m.Forms), list(fit))
}
