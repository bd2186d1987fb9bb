// Package assembly puts a design together: its parts on its mechanism, moved
// through the stroke, measured and checked.
//
// A design goes through it once. The file is a params.Design; its bodies become
// solids (package parts), its joints a mechanism (linkage), the stroke follows
// from equilibrium (stroke, with the laws of force), and what is measured on
// the way becomes findings (check). Writers read the Analysis and change
// nothing in it.
package assembly

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/assembly/check"
	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/params/finding"
	"tuckfinger/parts"
	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
)

// Deviation is the largest distance in mm between a mesh and the solid that it
// stands for.
const Deviation = 0.01

// Analysis is everything that is known about a design.
type Analysis struct {
	Design    *params.Design
	Parts     []*parts.Part
	Prints    []Print // of Parts, in the same order; nil until Mesh
	Items     []parts.Item
	Mechanism *linkage.Mechanism
	Stroke    *stroke.Result
	Rules     []stroke.RuleResult
	Drive     *stroke.DriveResult
	// Grasp and Passive are nil where the file asks for none, or where a stroke
	// that is halted leaves none to compute.
	Grasp     *stroke.GraspResult
	Passive   *stroke.PassiveResult
	Strengths []check.Strength
	// Place is what the opening asks of the arm; nil without a place.
	Place    *check.PlaceReport
	Findings []finding.Finding
}

// Print is a part as it goes to the printer.
type Print struct {
	Part *parts.Part
	Mesh *mesh.Mesh
	// Deviation is what the mesher states, mm.
	Deviation float64
	Volume    float64 // mm³, of the modelled solid
	Mass      float64 // g, printed solid
	MinWall   float64 // mm, as modelled
}

// Size is the overall size of the tucked finger in mm, x, y and z of the spine's
// frame, from the boxes of all parts.
func (a *Analysis) Size() r3.Vec {
	lo := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}
	hi := r3.Scale(-1, lo)
	for _, p := range a.Parts {
		pose := a.Mechanism.Pose(a.Mechanism.Start, a.Mechanism.BodyIndex(p.Name))
		box := p.Solid.Move(profile.Rigid(pose.Theta, r2.Vec{X: pose.X, Y: pose.Y}), 0).Box()
		if p.Body.Plane == "xz" { // drawn (x, y, z) is finger (x, z, -y) turned up
			box.Min.Y, box.Max.Y, box.Min.Z, box.Max.Z = box.Min.Z, box.Max.Z, -box.Max.Y, -box.Min.Y
		}
		lo = r3.Vec{X: math.Min(lo.X, box.Min.X), Y: math.Min(lo.Y, box.Min.Y), Z: math.Min(lo.Z, box.Min.Z)}
		hi = r3.Vec{X: math.Max(hi.X, box.Max.X), Y: math.Max(hi.Y, box.Max.Y), Z: math.Max(hi.Z, box.Max.Z)}
	}
	return r3.Sub(hi, lo)
}

// Failed reports whether a check fails.
func (a *Analysis) Failed() bool { return finding.Worst(a.Findings) == finding.Fail }

// PoseStep is the largest step (mm) of s between the poses in which clearances and
// swept areas are looked for. Whatever runs a stroke for a person uses it, since
// margins change a little with the steps.
const PoseStep = 0.25

// Analyse computes everything: it examines a design and meshes its parts.
func Analyse(d *params.Design, step func(string)) (*Analysis, error) {
	a, err := Examine(d, step)
	if err != nil {
		return nil, err
	}
	if step != nil {
		step("meshing parts")
	}
	if err := a.Mesh(); err != nil {
		return nil, err
	}
	return a, nil
}

// Mesh meshes the parts for the printer.
func (a *Analysis) Mesh() (err error) {
	a.Prints, err = Prints(a.Parts)
	return err
}

// Examine computes everything but the meshes. Errors are about the input
// (params.Errors) or say where a computation did not converge; a design that is
// merely bad has findings that fail. step is told what is being done and may be nil.
func Examine(d *params.Design, step func(string)) (*Analysis, error) {
	if step == nil {
		step = func(string) {}
	}
	a := &Analysis{Design: d}
	var err error
	step("building parts")
	if a.Parts, err = parts.Build(d); err != nil {
		return nil, err
	}
	if a.Items, err = parts.Hardware(d, a.Parts); err != nil {
		return nil, err
	}
	step("closing the mechanism")
	if a.Mechanism, err = linkage.New(d); err != nil {
		return nil, atPlace(d, err)
	}
	step("computing the stroke")
	model, err := stroke.With(a.Mechanism, d, stroke.Options{Step: PoseStep, Weights: Weights(a.Parts)})
	if err != nil {
		return nil, atPlace(d, err)
	}
	if a.Stroke, err = model.Run(); err != nil {
		return nil, atPlace(d, err)
	}
	if err := a.judgeForces(model); err != nil {
		return nil, atPlace(d, err)
	}
	step("checking")
	in := &check.Input{Design: d, Parts: a.Parts, Items: a.Items, Mechanism: a.Mechanism, Stroke: a.Stroke, Rules: a.Rules,
		Drive: a.Drive, Grasp: a.Grasp, Passive: a.Passive}
	for i := range a.Stroke.Samples {
		in.S = append(in.S, a.Stroke.Samples[i].S)
		in.Cycle = append(in.Cycle, a.Stroke.Poses(nil, i))
	}
	in.Turn = a.Stroke.Turn + 1
	in.Jumps = make([]bool, len(in.S))
	for _, e := range a.Stroke.Events {
		if e.Kind == stroke.Jump && e.Sample < len(in.Jumps) {
			in.Jumps[e.Sample] = true
		}
	}
	if a.Findings, err = check.Do(in); err != nil {
		return nil, err
	}
	if a.Strengths, err = check.Strengths(in); err != nil {
		return nil, err
	}
	if a.Place, err = check.Survey(in); err != nil {
		return nil, err
	}
	finding.Sort(a.Findings)
	return a, nil
}

// judgeForces computes what follows from the stroke: order, drive, grasp and
// passive fold.
func (a *Analysis) judgeForces(model *stroke.Model) (err error) {
	if a.Rules, err = model.Rules(a.Stroke); err != nil {
		return err
	}
	if a.Drive, err = model.Drive(a.Stroke); err != nil {
		return err
	}
	if a.Design.Grasp != nil {
		if a.Grasp, err = model.Grasp(a.Stroke); err != nil {
			a.Grasp = nil
			if !a.followsHalt(err) {
				return fmt.Errorf("grasp: %w", err)
			}
		}
	}
	if a.Design.Passive != nil {
		if a.Passive, err = model.Passive(a.Stroke); err != nil {
			a.Passive = nil
			if !a.followsHalt(err) {
				return fmt.Errorf("passive fold: %w", err)
			}
		}
	}
	return nil
}

// followsHalt reports whether an error is no more than what a stroke that ends
// early brings with it: the checks tell of both.
func (a *Analysis) followsHalt(err error) bool {
	var settle *stroke.SettleError
	return a.Stroke.Halted() != nil && errors.As(err, &settle)
}

// Weights are the printed bodies' masses and centres, for gravity.
func Weights(all []*parts.Part) []stroke.Weight {
	var out []stroke.Weight
	for _, p := range all {
		if p.Body.Plane == "xz" {
			continue
		}
		volume, first := 0.0, r2.Vec{}
		for _, s := range p.Solid.Slabs() {
			v := s.Region.Area() * (s.Z1 - s.Z0)
			volume += v
			first = r2.Add(first, r2.Scale(v, s.Region.Centroid()))
		}
		out = append(out, stroke.Weight{Body: p.Name, Mass: p.Material.Mass(volume), Centre: r2.Scale(1/volume, first)})
	}
	return out
}

// atPlace gives an error about the mechanism or its stroke its place in the
// file: that of the joint it names.
func atPlace(d *params.Design, err error) error {
	var (
		in      *linkage.InputError
		closure *linkage.ClosureError
		dead    *linkage.DeadPointError
		free    *linkage.MobilityError
		settle  *stroke.SettleError
	)
	at := func(joint string) error {
		path := "joints"
		if d.Joints.Get(joint) != nil {
			path += "." + joint
		}
		return params.Errors{d.ErrorAt(path, err.Error())}
	}
	switch {
	case errors.As(err, &in):
		return params.Errors{d.ErrorAt(in.Path, in.Problem)}
	case errors.As(err, &closure):
		return at(closure.Joint)
	case errors.As(err, &dead):
		return at(dead.Joint)
	case errors.As(err, &free):
		return at("")
	case errors.As(err, &settle):
		return at(settle.Joint)
	}
	return err
}

// Prints meshes parts for the printer, several at a time.
func Prints(all []*parts.Part) ([]Print, error) {
	prints := make([]Print, len(all))
	errs := make([]error, len(all))
	limit := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wg sync.WaitGroup
	for i, p := range all {
		wg.Go(func() {
			limit <- struct{}{}
			defer func() { <-limit }()
			prints[i], errs[i] = printOne(p)
		})
	}
	wg.Wait()
	return prints, errors.Join(errs...)
}

func printOne(p *parts.Part) (Print, error) {
	m, report, err := p.Printed.Mesh(Deviation)
	if err != nil {
		return Print{}, fmt.Errorf("part %s can't be meshed: %w", p.Name, err)
	}
	if err := m.Validate(); err != nil {
		return Print{}, fmt.Errorf("part %s: %w", p.Name, err)
	}
	pr := Print{Part: p, Mesh: m, Deviation: report.Deviation, Volume: m.Volume()}
	pr.Mass = p.Material.Mass(pr.Volume)
	w, err := check.ThinnestWall(p)
	pr.MinWall = w.Thickness
	for i := range p.PrintedBores {
		if b, ok := check.BoreWall(p, i); ok && (pr.MinWall == 0 || b.Width < pr.MinWall) {
			pr.MinWall = b.Width
		}
	}
	return pr, err
}
