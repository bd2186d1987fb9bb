package stroke

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
)

// Weight is a body's mass and where its centre lies in the body's frame.
type Weight struct {
	Body   string
	Mass   float64 // g
	Centre r2.Vec  // mm
}

// Load is a point load of fixed direction.
type Load struct {
	Name  string
	Body  string
	At    r2.Vec // in the body's frame (mm)
	Force r2.Vec // in the spine frame (N)
}

// Options choose what is computed. The zero value is a full stroke of an empty
// finger without weight.
type Options struct {
	Step    float64     // largest step of s (mm); 0 means 0.5
	Weights []Weight    // what gravity pulls at, along the design's attitude
	Loads   []Load      // point loads
	Object  bool        // put the design's object between the pads
	Terms   force.Terms // corrections of the force laws; 0 means all
	Without []string    // elements left out, by name
}

// Model is a mechanism with its force elements. It is read-only after New and
// may be shared by goroutines.
type Model struct {
	Mech     *linkage.Mechanism
	Design   *params.Design
	Elements []Element
	Options  Options

	rubs  []rubbing
	marks []markRef
}

type markRef struct {
	element int
	Mark
}

// New builds the model of a design. Errors are those of linkage.New and of the
// force laws, with the element's data path.
func New(d *params.Design, opts Options) (*Model, error) {
	m, err := linkage.New(d)
	if err != nil {
		return nil, err
	}
	return With(m, d, opts)
}

// With builds the model on a mechanism that is already there.
func With(m *linkage.Mechanism, d *params.Design, opts Options) (*Model, error) {
	if opts.Step == 0 {
		opts.Step = 0.5
	}
	if opts.Terms == 0 {
		opts.Terms = force.AllTerms
	}
	x := &Model{Mech: m, Design: d, Options: opts}
	b := builder{x: x, m: m, d: d, terms: opts.Terms}
	b.rubbings()
	b.ramps()
	b.clips()
	b.holds()
	b.stops()
	b.springs()
	b.pads()
	b.weights()
	if b.err != nil {
		return nil, b.err
	}
	x.index()
	return x, nil
}

// index lists the marks of all elements.
func (x *Model) index() {
	x.marks = nil
	for i, e := range x.Elements {
		for _, k := range e.MarkNames() {
			x.marks = append(x.marks, markRef{i, k})
		}
	}
}

// Element returns the element of a name, or nil.
func (x *Model) Element(name string) Element {
	for _, e := range x.Elements {
		if e.Name() == name {
			return e
		}
	}
	return nil
}
