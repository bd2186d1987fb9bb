// Package page writes the pages that people read: report.html, the whole of a
// build in one file that opens offline, and guide.html, how to put the finger
// together.
//
// Everything a page shows comes from a Data; package collect fills it. Text,
// tables and drawings are made here, in Go, so that a page can be read and
// printed without scripts; the scripts in assets move what is already there.
//
//	report.go, guide.go   the two pages and their templates
//	summary.go            verdict, what matters most, tables of findings
//	side.go               the side view that the player moves, thumbnails
//	chart.go              curves over the slide coordinate
//	oblique.go            drawings of stacked parts, for the guide
//	plates.go             print plates from above
//	pack.go               poses and meshes for the scripts
//	svg.go                outlines as SVG paths
//	assets/               styles, scripts, templates
package page

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/export/bom"
	"tuckfinger/params/finding"
	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
)

// Data is what pages show. Lengths are mm, angles rad, forces N, masses g.
type Data struct {
	Name, Note string
	Tool       string // program and version
	File       string // name of the finger file
	Source     string // its text

	Findings []finding.Finding // gravest first
	Size     [3]float64        // of the tucked finger, x y z
	Layers   []Layer           // in the order of the file
	Bodies   []Body
	Pins     []Pin // bought, in place
	Stroke   *Stroke
	Rules    []Rule
	Swept    profile.Region // by the finger over the cycle, spine frame
	Place    *Place
	Object   *Object
	Pads     []Pad
	Sheets   []Sheet
	Bill     bom.Bill
	Plates   []Plate
	Bed      [2]float64
	Cautions []string
	Steps    []Step
	Tools    []string // that the steps need
	Trials   []Trial
	Measured *Measured
}

// Layer is a named z range.
type Layer struct {
	Name   string
	Z0, Z1 float64
}

// Body is a printed part in its place in the finger.
type Body struct {
	Name, Role, Material string
	Ground               bool
	Copies               int
	Mass                 float64
	Size                 [3]float64 // as printed
	// Slices are its outlines, in the body's frame and finger z, lowest first.
	Slices []Slice
	// Standing: drawn across the motion plane; Slices are then its boxes as seen
	// from the side.
	Standing bool
	// Mesh is the part as it works, in the body's frame and finger axes; nil
	// while it has not been made.
	Mesh *mesh.Mesh
	Rest linkage.Pose // in the tucked pose
}

// Slice is the outline of a body over a z range.
type Slice struct {
	Z0, Z1 float64
	Region profile.Region
}

// Pin is a bought pin, screw or other round thing along z.
type Pin struct {
	Name, What string
	Body       int // in Bodies: what it moves with
	At         r2.Vec
	Z0, Z1     float64
	Radius     float64
}

// Pad is the outer surface of a grip pad, from end to end in a body's frame.
type Pad struct {
	Name     string
	Body     int
	From, To r2.Vec
}

// Stroke is one cycle of the slide.
type Stroke struct {
	Travel, Speed float64 // mm, mm/s
	Frames        []Frame // in order; those of one s before and after a jump both
	Turn          int     // last frame of the way out
	Grasp         int     // frame in which the pads close, −1 if there is none
	Events        []Event
	Series        []Series
}

// Frame is one state.
type Frame struct {
	S     float64
	Force float64        // of the motor along growing s
	Poses []linkage.Pose // one per body
}

// Event is something that happens on the stroke.
type Event struct {
	Frame    int     // at or just after the event
	S, Force float64 // mm and N, at the event itself
	Back     bool
	Text     string // "C: ramp met"
	Joint    bool   // of a joint only, and listed after the rest
}

// Series is a quantity along the stroke, one value per frame; NaN is shown as
// "none".
type Series struct {
	Name, Unit string
	Values     []float64
	Key        string // "opening" is drawn in the figure too
}

// Rule is an order rule with its two forces; a force that is infinite means that
// the element does not give way at all.
type Rule struct {
	Name, Way, Holds, While, Why string
	Holding, Driving             float64 // N
	Margin, Want                 float64
	S                            float64 // of the instant with the smallest margin
	Element                      string  // of While, that drives there
	Verdict, Note                string
	Status                       finding.Status
}

// Place is the opening in which the finger works.
type Place struct{ Wall, Gap, Depth, Floor, Under, Above float64 }

// Object is what is lifted: its near face, its underside, its height.
type Object struct{ Face, Bottom, Height, Mass float64 }

// Sheet is a table of further numbers.
type Sheet struct {
	Title string
	Rows  [][]string // name, value with unit, note
}

// Plate is one print plate seen from above.
type Plate struct {
	Title string
	Items []PlateItem
}

// PlateItem is a part's outline on the bed.
type PlateItem struct {
	Name   string
	Body   int
	Region profile.Region
}

// Measured is a bench test laid over the prediction: force against s.
type Measured struct {
	Name     string
	S, Force []float64
}

// Step is a step of assembly.
type Step struct {
	Title string
	// Body is the part that is added, −1 for none; Before are those that are
	// there already. Pins are those that are added, in Pins.
	Body   int
	Before []int
	Pins   []int
	Things []string // what it takes
	Do     []string // what to do
	Why    string   // where the order comes from
}

// Trial is a step of trying the finger out; Events: the list of events goes with
// it.
type Trial struct {
	Text   string
	Events bool
}

// colours are those of parts: eight that people with any common colour
// deficiency tell apart (the palette of Color Universal Design, 2008, from
// memory), the ground body in grey.
var colours = []string{"#0072b2", "#e69f00", "#009e73", "#cc79a7", "#56b4e9", "#d55e00", "#f0e442", "#000000"}

const ground = "#8c8c8c"

// Colour returns the colour of body i as #rrggbb.
func (d *Data) Colour(i int) string {
	n := 0
	for k := range d.Bodies[:i] {
		if !d.Bodies[k].fixed() {
			n++
		}
	}
	if d.Bodies[i].fixed() {
		return ground
	}
	return colours[n%len(colours)]
}

func (b *Body) fixed() bool { return b.Ground || b.Role == "mount" }

// Failed reports whether a check fails.
func (d *Data) Failed() bool { return finding.Worst(d.Findings) == finding.Fail }
