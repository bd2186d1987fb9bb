// Package parts turns the bodies of a design into solids: what each feature of
// a finger file adds to or cuts from a body, which holes carry which pins, and
// which bought hardware goes where.
//
// A body is drawn in its own frame in the motion plane, in finger z; that
// nominal solid is what works. What is printed differs by the process
// compensation and lies on the bed: Printed.
package parts

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/params/tables"
	"tuckfinger/parts/solid"
)

// Part is one printed body.
type Part struct {
	Name     string
	Body     *params.Body
	Material tables.Material
	// Features are what tags in the profiles mean: tag i is Features[i-1].
	Features []FeatureInfo
	// Solid is the part as it works, in its body frame and finger z.
	Solid *solid.Layered
	// Shape is Solid with its bores, for pictures; without bores it is Solid.
	Shape solid.Solid
	// Rigid is Solid without snap arms and ramps, which give way by design.
	Rigid *solid.Layered
	// Printed is the part as it is modelled for the printer, on z = 0, with
	// process compensation.
	Printed solid.Solid
	// Layered is Printed before bores are cut; it is what flat outlines and
	// ray measures are taken from.
	Layered *solid.Layered
	Holes   []Hole
	// Bores are those of Shape, PrintedBores those of Printed.
	Bores, PrintedBores []Bore
}

// Bore is a bore of a part and its place in the finger file.
type Bore struct {
	Path string
	solid.Bore
}

// FeatureInfo says what made an edge of a profile.
type FeatureInfo struct {
	Path  string // path in the finger file
	Label string // for people: "hole A", "slot guide"
}

// Label names the feature behind a profile tag.
func (p *Part) Label(tag int32) string {
	if tag < 1 || int(tag) > len(p.Features) {
		return "outline"
	}
	return p.Features[tag-1].Label
}

// Path is the finger file path of the feature behind a profile tag, or of the
// body where there is none.
func (p *Part) Path(tag int32) string {
	if tag < 1 || int(tag) > len(p.Features) {
		return "bodies." + p.Name + ".features"
	}
	return p.Features[tag-1].Path
}

// Hole is a round hole of a part. All sizes are diameters in mm.
type Hole struct {
	Joint   string // joint or clip whose pin goes in, or ""
	Path    string
	At      r2.Vec // body frame
	Z0, Z1  float64
	Fit     string  // press, location, turning, sliding or none
	Nominal float64 // of the pin or as given
	// Clearance is what the fit adds to the nominal size; Modelled adds the
	// process compensation to that.
	Clearance, Modelled float64
}
