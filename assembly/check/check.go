// Package check runs every check of a design and gathers its findings.
//
// A check is a name and a function that measures something and compares it with
// a limit. The limit comes from the process, material or standard tables, with
// its source, unless the finger file overrides it under limits. To add a check,
// write a function of type Run in a file of its own and list it in All; if its
// limit may be overridden, add it to params.LimitTable.
package check

import (
	"fmt"
	"slices"
	"strings"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/params/finding"
	"tuckfinger/params/tables"
	"tuckfinger/parts"
)

// Input is what checks measure. Nothing in it is changed.
type Input struct {
	Design    *params.Design
	Parts     []*parts.Part
	Items     []parts.Item
	Mechanism *linkage.Mechanism
	// Cycle are the poses of all bodies along the stroke, out and back, in the
	// order of Mechanism.Bodies; S is the slide coordinate of each, mm.
	Cycle [][]linkage.Pose
	S     []float64
	Turn  int // index of the first pose on the way back
	// Jumps marks the poses just after a jump of a link at a standing slide.
	Jumps  []bool
	Stroke *stroke.Result
	Rules  []stroke.RuleResult
	Drive  *stroke.DriveResult
	// Grasp and Passive are nil where the file asks for none.
	Grasp   *stroke.GraspResult
	Passive *stroke.PassiveResult

	printer tables.Printer
	// Computed by the first check that asks.
	strength *cycleStress
	touched  []stroke.Face
}

// Run measures one thing on everything that has it.
type Run func(in *Input, out *Findings) error

// Check is a named check.
type Check struct {
	Name string
	Run  Run
}

// All are the checks of solids, hardware, mechanism and place. Those of forces
// come from package stroke.
var All = []Check{
	{"one piece", onePiece},
	{"wall", walls},
	{"bore wall", boreWalls},
	{"slit", slits},
	{"relief", relief},
	{"hole", holes},
	{"pin play", pinPlay},
	{"press fit", pressFit},
	{"retention", retention},
	{"pin length", pinLength},
	{"clearance", clearance},
	{"passage", passage},
	{"arm room", armRoom},
	{"stop face", stopFaces},
	{"mobility", mobility},
	{"travel", travel},
	{"lever arm", leverArms},
	{"order", order},
	{"jump", jumps},
	{"face", faces},
	{"arm direction", armDirection},
	{"motor", motor},
	{"guide", guideLoss},
	{"holding", holding},
	{"load path", loadPath},
	{"grasp", grasp},
	{"passive", passive},
	{"blade", blade},
	{"switching", swing},
	{"approach", approach},
	{"stack", stacked},
	{"bed", bed},
	{"overhang", overhang},
	{nPinShear, strengthOf(nPinShear)},
	{nPinBending, strengthOf(nPinBending)},
	{nBearing, strengthOf(nBearing)},
	{nTilt, strengthOf(nTilt)},
	{nTearOut, strengthOf(nTearOut)},
	{nNet, strengthOf(nNet)},
	{nLink, strengthOf(nLink)},
	{nSlotWall, strengthOf(nSlotWall)},
	{nArmStrain, strained(nArmStrain)},
	{nRailStrain, strained(nRailStrain)},
	{"grip load", gripCase},
	{"balance", balance},
}

// Findings gathers results; a faulty finding becomes an error of the check.
type Findings struct {
	in   *Input
	name string
	list []finding.Finding
	err  error
}

// Do runs all checks and returns their findings, gravest first.
func Do(in *Input) ([]finding.Finding, error) {
	in.printer = in.Design.Printer()
	var all []finding.Finding
	for _, c := range All {
		f := &Findings{in: in, name: c.Name}
		if err := c.Run(in, f); err != nil {
			return nil, fmt.Errorf("check %s: %w", c.Name, err)
		}
		if f.err != nil {
			return nil, fmt.Errorf("check %s: %w", c.Name, f.err)
		}
		all = append(all, f.list...)
	}
	finding.Sort(all)
	return all, nil
}

// byStroke is the source of what the stroke itself shows.
const byStroke = "equilibrium along the stroke"

// measure is one value to be judged.
type measure struct {
	subject string
	value   float64
	limit   string  // key of params.LimitTable, or "" if it can't be overridden
	def     float64 // the limit if the file does not override it
	unit    string
	source  string // of def
	change  string // path in the file that drives the value
	more    bool   // true: it is to be raised, else lowered, so that the check passes
	warn    float64
	detail  string
}

func (f *Findings) atLeast(m measure) { f.judge(m, finding.AtLeast) }
func (f *Findings) atMost(m measure)  { f.judge(m, finding.AtMost) }

func (f *Findings) judge(m measure, by func(finding.Finding, float64) (finding.Finding, error)) {
	limit, source := m.def, m.source
	if o := f.in.Design.Limits.Get(m.limit); o != nil {
		limit, source = o.Value, "this finger file: "+o.Reason
	}
	got, err := by(finding.Finding{
		Check: f.name, Subject: m.subject, Value: m.value, Limit: limit, Unit: m.unit,
		Change: f.in.Change(m.change, m.more), Source: source, Detail: m.detail,
	}, m.warn)
	f.add(got, err)
}

// state adds a finding without a number.
func (f *Findings) state(subject string, s finding.Status, change, source, detail string) {
	f.add(finding.State(f.name, subject, s, "change "+f.in.driver(change), source, detail))
}

// driver names what is to be changed at a path, without a direction.
func (in *Input) driver(path string) string {
	return strings.TrimPrefix(strings.TrimPrefix(in.Change(path, true), "raise "), "change ")
}

func (f *Findings) add(got finding.Finding, err error) {
	if err != nil {
		if f.err == nil {
			f.err = err
		}
		return
	}
	f.list = append(f.list, got)
}

// Change says what to change: the named dimensions that a value is computed
// from, or the value's own path where it uses none. Groups and names are neither
// raised nor lowered.
func (in *Input) Change(path string, more bool) string {
	way := "raise"
	if !more {
		way = "lower"
	}
	path = in.sizeOf(path)
	if strings.HasSuffix(path, ".hole") || choice(path) || in.Design.Origin.Group(path) {
		way = "change"
	}
	var dims []string
	if o := in.Design.Origin; o != nil {
		dims = slices.Clone(o.Uses[path])
		if len(dims) == 0 { // a group of values: those of everything in it
			for p, uses := range o.Uses {
				// Heights that come with the layers say nothing about the shape.
				if params.Within(p, path) && !strings.Contains(p[len(path):], ".layer") {
					dims = append(dims, uses...)
				}
			}
			slices.Sort(dims)
			dims = slices.Compact(dims)
		}
	}
	if len(dims) == 0 {
		return way + " " + path
	}
	const most = 3
	if len(dims) > most {
		return "change " + path
	}
	for i, d := range dims {
		dims[i] = "dimensions." + d
	}
	return fmt.Sprintf("%s %s (%s)", way, strings.Join(dims, ", "), path)
}

// choice tells whether a path holds a name and not a number.
func choice(path string) bool {
	for _, end := range []string{"process.printer", ".motor", ".screw.screw", ".fit"} {
		if strings.HasSuffix(path, end) {
			return true
		}
	}
	return strings.Contains(path, ".pin.fits.")
}

// sizeOf is the path of the size that makes a feature with one size larger or
// smaller; where it stands does not. Other paths are returned as they are.
func (in *Input) sizeOf(path string) string {
	if strings.HasPrefix(path, "bodies.") {
		switch path[strings.LastIndexByte(path, '.')+1:] {
		case "bar":
			return path + ".width"
		case "boss":
			return path + ".radius"
		}
	}
	return path
}

// bore is the path of what gives a hole its nominal size.
func (in *Input) bore(h parts.Hole) string {
	if o := in.Design.Origin; o != nil {
		if _, given := o.Pos[h.Path+".diameter"]; given {
			return h.Path + ".diameter"
		}
	}
	j := in.Design.Joints.Get(h.Joint)
	switch {
	case j != nil && j.Pin != nil:
		return "joints." + h.Joint + ".pin.diameter"
	case j != nil && j.Slot != nil && j.Slot.Shares == "":
		return "joints." + h.Joint + ".slot.diameter"
	case in.Design.Clips.Get(h.Joint) != nil:
		return "clips." + h.Joint + ".post.radius"
	}
	return h.Path
}
