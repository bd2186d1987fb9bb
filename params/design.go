// Package params turns a finger file into a checked Design.
//
// The structs in this file, feature.go, study.go and sweep.go ARE the file formats: the decoder, the JSON Schema,
// the reference page and the starter file are all made from their tags.
//
//	tf:"name[,req]"   key in the file; req: must be given
//	unit:"mm"         unit of a number: mm, deg, N, N·mm, N/mm, N·mm/deg, MPa,
//	                  g, s, mm/s, 1 (a pure number), own (that of the dimension,
//	                  limit or measure); deg becomes radians inside, also in N·mm/deg,
//	                  except in own
//	min, max          inclusive bounds in the file's unit; above: exclusive
//	def               value when the key is absent, in the file's unit
//	enum:"a|b"        allowed words
//	names:"limits"    entries must have names of that list; dimensions: those of
//	                  the file's dimensions
//	ref:"bodies"      must be a name in that section (or table)
//	oneof:"kind"      exactly one field of the group must be given
//	eg                an example value, where the made one would mislead
//	doc               one sentence for the reference page
//
// Any number may be plain arithmetic over named dimensions: "pin/2 + play".
// An optional number is a pointer; nil means "not given".
package params

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params/tables"
)

// Design is one finger file, complete and checked. All lengths are mm, angles
// radians, forces N, torques N·mm, stresses MPa, masses g unless a tag says
// otherwise.
type Design struct {
	Tuckfinger int              `tf:"tuckfinger,req" min:"1" max:"1" doc:"Version of this file form; 1 is the only one."`
	Name       string           `tf:"name,req" doc:"Short name; becomes part of file names: small letters, digits and hyphens."`
	Note       string           `tf:"note" eg:"Lifts sample racks out of a drawer." doc:"What this finger is for, in a sentence or two."`
	Tables     []string         `tf:"tables" eg:"[tables/my-printer.yaml]" doc:"Table files (relative to this file) that add to or override the built-in materials, printers and hardware."`
	Dimensions Named[Dimension] `tf:"dimensions" doc:"Named numbers that any other number may use in plain arithmetic."`
	Layers     Named[LayerSpan] `tf:"layers,req" doc:"Named z ranges; bodies overlap in the motion plane and pass each other in z."`
	Process    Process          `tf:"process,req" doc:"Printer and plastic."`
	Bodies     Named[Body]      `tf:"bodies,req" doc:"The grounded spine, the carriage and the links."`
	Joints     Named[Joint]     `tf:"joints,req" doc:"Pins, slides, slots and rigid connections between bodies."`
	Drive      Drive            `tf:"drive,req" doc:"The one motor: which slide it moves, how far, through what."`
	Ramps      Named[Ramp]      `tf:"ramps" doc:"Protrusions in a slot wall on a flexible rail."`
	Clips      Named[Clip]      `tf:"clips" doc:"Cantilever snap arms and the posts that they catch."`
	Holds      Named[Hold]      `tf:"holds" doc:"Local detents that keep a pin joint at an angle."`
	Stops      Named[Stop]      `tf:"stops" doc:"Hard ends of a joint's travel."`
	Springs    Named[Spring]    `tf:"springs" doc:"Linear or torsion springs, rubber bands."`
	Pads       Named[Pad]       `tf:"pads" doc:"Grip surfaces; two of them make the grasp."`
	Grasp      *Grasp           `tf:"grasp" doc:"Which pads close on the object."`
	Object     *Object          `tf:"object" doc:"The thing to be lifted."`
	Place      *Place           `tf:"place" doc:"The opening in which the finger must work."`
	Attitude   float64          `tf:"attitude" unit:"deg" def:"-90" min:"-360" max:"360" doc:"Direction of gravity in the spine's x-y plane; -90 is along -y, into the opening."`
	Order      Named[Rule]      `tf:"order" doc:"What must hold against what, on which stroke, with which margin."`
	Passive    *Passive         `tf:"passive" doc:"Folding by pressing the tip on a floor with the drive released."`
	Limits     Named[Limit]     `tf:"limits" names:"limits" doc:"Overrides of the limits of checks, each with a reason."`
	Scatter    *Scatter         `tf:"scatter" doc:"How printed copies differ where no dimension says it."`
	Tune       *Tune            `tf:"tune" doc:"What tuning may change, and what it should reach."`

	// Origin knows where each value stands in its file and which dimensions
	// it was computed from.
	Origin *Origin `tf:"-"`
	// Warnings are oddities that do not keep the file from being used, sorted.
	Warnings Errors `tf:"-"`
	// Lib are the built-in tables with the file's own tables laid over them.
	Lib *tables.Tables `tf:"-"`

	// File is the name that the design was read under, Text what was read; With
	// changes neither.
	File string `tf:"-"`
	Text []byte `tf:"-"`

	kept *kept // what With needs
}

// Dimension is a named number. Value, Range and Spread are in the file's unit:
// degrees stay degrees here.
type Dimension struct {
	Value float64    `tf:"value,req" unit:"own" doc:"The number, or arithmetic over other dimensions."`
	Unit  string     `tf:"unit,req" enum:"mm|deg|N|N·mm|N/mm|N·mm/deg|MPa|g|s|mm/s|mm²|1" doc:"Unit of the value, the range and the spread; N·mm may be typed N*mm."`
	Range []float64  `tf:"range" unit:"own" eg:"[2, 5]" doc:"Smallest and largest sensible value, [low, high]; the value must lie inside."`
	Note  string     `tf:"note" eg:"Diameter of all pins." doc:"What it is."`
	Vary  *Variation `tf:"scatter" doc:"How it scatters between printed copies."`
}

// Variation is the distribution of a number between copies.
type Variation struct {
	Kind   string  `tf:"kind" enum:"normal|uniform" def:"normal" doc:"Shape of the distribution."`
	Spread float64 `tf:"spread,req" unit:"own" above:"0" eg:"0.03" doc:"Standard deviation (normal) or half width (uniform), in the dimension's unit."`
}

// LayerSpan is a z range of the finger.
type LayerSpan struct {
	From float64 `tf:"from,req" unit:"mm" eg:"0" doc:"Lower z."`
	To   float64 `tf:"to,req" unit:"mm" eg:"4" doc:"Upper z; above from."`
}

// Process names the printer and plastic.
type Process struct {
	Printer  string `tf:"printer,req" ref:"printers" doc:"Entry of the printers table."`
	Material string `tf:"material,req" ref:"materials" doc:"Entry of the materials table for all printed bodies that name none."`
	// Friction is plastic on plastic and on steel unless a joint says otherwise.
	Friction *float64 `tf:"friction" unit:"1" min:"0" max:"1.5" eg:"0.3" doc:"Coulomb friction coefficient used where a joint gives none; default: the material's typical value."`
	Modulus  *float64 `tf:"modulus" unit:"MPa" above:"0" eg:"1800" doc:"Overrides the material's modulus, for instance with a measured value."`
}

// Body is one rigid body. Its frame is drawn with +x along its own main axis;
// the spine's frame is the finger frame: +y out of the opening, z out of plane.
type Body struct {
	Ground   bool      `tf:"ground" doc:"True for the spine, the one body that stands still."`
	Role     string    `tf:"role" enum:"spine|carriage|link|mount" def:"link" doc:"What it is called in guides and the bill of materials; the ground body is a spine by default."`
	Material string    `tf:"material" ref:"materials" doc:"Plastic of this body if not the process's."`
	Layer    *Span     `tf:"layer" doc:"z range of features that give none."`
	Plane    string    `tf:"plane" enum:"xy|xz" def:"xy" doc:"Plane in which the features are drawn. xz: drawn x is finger x, drawn y is finger -z, layers run along finger +y."`
	Start    *Stance   `tf:"start" doc:"Exact angle in the tucked pose at s = 0."`
	Near     *Stance   `tf:"near" doc:"Rough angle in the tucked pose; picks the branch of the closure."`
	Features []Feature `tf:"features" doc:"What the solid is made of, applied in this order."`
	Chamfer  Chamfers  `tf:"chamfer" doc:"45° chamfers on the outer layer edges."`
	Print    Printing  `tf:"print" doc:"How it lies on the bed."`
}

// Stance is a body's angle.
type Stance struct {
	Angle float64 `tf:"angle,req" unit:"deg" min:"-360" max:"360" doc:"Angle of the body's x axis against the spine's."`
}

// Chamfers are sizes of 45° chamfers.
type Chamfers struct {
	Bed *float64 `tf:"bed" unit:"mm" min:"0" doc:"On the face that lies on the bed, against elephant foot; default: the printer's."`
	Top *float64 `tf:"top" unit:"mm" min:"0" doc:"On upward edges; default 0."`
}

// Printing says how a body is printed.
type Printing struct {
	Up     string `tf:"up" enum:"+z|-z" def:"+z" doc:"Which drawn direction points up on the bed."`
	Copies int    `tf:"copies" def:"1" min:"1" max:"100" doc:"How many to print."`
}

// Joint connects bodies. Exactly one of the kinds is set.
type Joint struct {
	Pin   *PinJoint   `tf:"pin" oneof:"kind" doc:"Two bodies share a point and may turn."`
	Slide *SlideJoint `tf:"slide" oneof:"kind" doc:"A body translates along an axis of another."`
	Slot  *SlotJoint  `tf:"slot" oneof:"kind" doc:"A pin of one body stays on a path of another."`
	Rigid *RigidJoint `tf:"rigid" oneof:"kind" doc:"Two bodies are fixed together."`
}

// PinJoint lets two bodies turn about a common point. Its angle is the second
// body's angle less the first body's.
type PinJoint struct {
	At       Named[r2.Vec] `tf:"at,req" unit:"mm" eg:"{spine: [3, 0], tip: [0, 0]}" doc:"body: point in that body's frame, for exactly two bodies."`
	Diameter float64       `tf:"diameter,req" unit:"mm" above:"0" doc:"Pin diameter."`
	Standard string        `tf:"standard" enum:"iso2338|iso8734|printed" def:"iso2338" doc:"What the pin is."`
	Class    string        `tf:"class" enum:"m6|h8" def:"m6" doc:"Diameter tolerance of the bought pin."`
	Fits     Named[string] `tf:"fits" enum:"press|location|turning|sliding" eg:"{spine: press, tip: turning}" doc:"body: fit of its hole; every body of the joint."`
	Friction *float64      `tf:"friction" unit:"1" min:"0" max:"1.5" eg:"0.2" doc:"Coulomb friction coefficient."`
	Drag     float64       `tf:"drag" unit:"N·mm" min:"0" def:"0" doc:"Constant friction torque from a snug fit."`
}

// SlideJoint lets a body translate along an axis of another without turning.
// Its coordinate is 0 in the tucked pose.
type SlideJoint struct {
	Body     string   `tf:"body,req" ref:"bodies" doc:"The body that moves."`
	On       string   `tf:"on,req" ref:"bodies" doc:"The body that carries the guide."`
	Through  r2.Vec   `tf:"through,req" unit:"mm" doc:"A point of the line (on's frame) on which the origin of the moving body runs."`
	Axis     float64  `tf:"axis,req" unit:"deg" eg:"-90" doc:"Direction of positive travel in on's frame."`
	Angle    float64  `tf:"angle" unit:"deg" def:"0" doc:"Fixed angle of the moving body against on."`
	Length   float64  `tf:"length,req" unit:"mm" above:"0" eg:"40" doc:"Guided length; a short one turns side loads into friction."`
	Play     float64  `tf:"play" unit:"mm" min:"0" def:"0.2" doc:"Clearance across the guide, both sides together."`
	Friction *float64 `tf:"friction" unit:"1" min:"0" max:"1.5" eg:"0.2" doc:"Coulomb friction coefficient."`
}

// SlotJoint keeps a point of one body on a path of another.
type SlotJoint struct {
	Body     string      `tf:"body,req" ref:"bodies" doc:"The body that carries the pin."`
	At       r2.Vec      `tf:"at,req" unit:"mm" doc:"The pin centre in its frame."`
	On       string      `tf:"on,req" ref:"bodies" doc:"The body that carries the slot."`
	Path     []PathPoint `tf:"path,req" eg:"[[-2, 50], [-2, 14]]" doc:"Path of the pin centre in on's frame, from its first to its last point; the path coordinate is the length from the first."`
	Shares   string      `tf:"shares" ref:"joints" doc:"Pin joint whose pin runs in this slot too."`
	Diameter *float64    `tf:"diameter" unit:"mm" above:"0" doc:"Pin diameter; default: the shared pin's."`
	Standard string      `tf:"standard" enum:"iso2338|iso8734|printed" def:"iso2338" doc:"What the pin is, where none is shared."`
	Play     float64     `tf:"play" unit:"mm" min:"0" def:"0.1" doc:"Slot width less pin diameter."`
	Start    *float64    `tf:"start" unit:"mm" min:"0" doc:"Exact path coordinate in the tucked pose, where a body's start angle does not settle it."`
	Friction *float64    `tf:"friction" unit:"1" min:"0" max:"1.5" eg:"0.2" doc:"Coulomb friction coefficient."`
}

// PathPoint is a point of a slot path; with bulge the way to the next point is
// an arc.
type PathPoint struct {
	At    r2.Vec  `tf:"at,req" unit:"mm" doc:"Point."`
	Sweep float64 `tf:"sweep" unit:"deg" def:"0" min:"-350" max:"350" eg:"30" doc:"Angle of the arc to the next point, positive to the left; 0 is straight."`
}

// RigidJoint fixes two bodies together in their drawn places.
type RigidJoint struct {
	Body string `tf:"body,req" ref:"bodies" doc:"The body that is carried."`
	On   string `tf:"on,req" ref:"bodies" doc:"The body that carries it."`
	At   r2.Vec `tf:"at" unit:"mm" doc:"Origin of the carried body in on's frame."`
	// Angle of the carried body's frame against on's.
	Angle float64 `tf:"angle" unit:"deg" def:"0" doc:"Angle of the carried body against on."`
}

// Drive is the motor and what it moves.
type Drive struct {
	Joint  string       `tf:"joint,req" ref:"joints" doc:"The slide joint whose coordinate s is commanded."`
	Travel float64      `tf:"travel,req" unit:"mm" above:"0" eg:"18" doc:"Largest s."`
	Speed  float64      `tf:"speed" unit:"mm/s" above:"0" def:"5" doc:"Slide speed."`
	Screw  *ScrewDrive  `tf:"screw" oneof:"kind" doc:"Lead screw and nut."`
	Rack   *RackDrive   `tf:"rack" oneof:"kind" doc:"Rack and pinion."`
	Servo  *DirectDrive `tf:"direct" oneof:"kind" doc:"Linear actuator."`
}

// ScrewDrive is a lead screw.
type ScrewDrive struct {
	Screw    string  `tf:"screw,req" ref:"leadscrews" doc:"Entry of the lead screw table."`
	Motor    string  `tf:"motor,req" ref:"motors" doc:"Entry of the motor table."`
	Friction float64 `tf:"friction" unit:"1" min:"0" max:"1" def:"0.2" doc:"Friction coefficient in the thread."`
	Collar   float64 `tf:"collar" unit:"mm" min:"0" def:"0" doc:"Mean diameter of the thrust collar."`
}

// RackDrive is a rack and pinion.
type RackDrive struct {
	Module float64 `tf:"module,req" unit:"mm" above:"0" eg:"1" doc:"Gear module."`
	Teeth  int     `tf:"teeth,req" min:"8" max:"200" eg:"15" doc:"Teeth of the pinion."`
	Motor  string  `tf:"motor,req" ref:"motors" doc:"Entry of the motor table."`
}

// DirectDrive is a linear actuator.
type DirectDrive struct {
	Motor string `tf:"motor,req" ref:"motors" doc:"Entry of the motor table with a rated force."`
}

// Ramp is a protrusion of a slot wall on a flexible rail.
type Ramp struct {
	Slot  string  `tf:"slot,req" ref:"joints" doc:"The slot joint."`
	Wall  string  `tf:"wall,req" enum:"left|right" doc:"Which wall, seen along the path."`
	At    float64 `tf:"at,req" unit:"mm" min:"0" eg:"15" doc:"Path coordinate where the first face leaves the wall."`
	Rise  float64 `tf:"height,req" unit:"mm" above:"0" eg:"1" doc:"Height of the rounded peak over the wall."`
	First float64 `tf:"first_face,req" unit:"deg" above:"0" max:"89" doc:"Angle of the face met while the path coordinate grows."`
	Last  float64 `tf:"last_face,req" unit:"deg" above:"0" max:"89" eg:"15" doc:"Angle of the face met while it falls."`
	Peak  float64 `tf:"peak_radius" unit:"mm" min:"0" def:"0.3" doc:"Rounding of the peak."`
	Rail  Rail    `tf:"rail,req" doc:"The flexible wall that carries the ramp."`
}

// Rail is the flexible wall behind a ramp, freed by a relief slit.
type Rail struct {
	Thickness float64 `tf:"thickness,req" unit:"mm" above:"0" eg:"1.6" doc:"Wall between slot and slit."`
	From      float64 `tf:"from,req" unit:"mm" eg:"0" doc:"Path coordinate where the slit's straight part starts."`
	To        float64 `tf:"to,req" unit:"mm" eg:"36" doc:"Path coordinate where it ends."`
	Slit      float64 `tf:"slit,req" unit:"mm" above:"0" eg:"1.5" doc:"Width of the slit; more than the ramp's deflection."`
}

// Clip is a snap arm on one body and a post on another.
type Clip struct {
	Arm  Arm  `tf:"arm,req" doc:"The elastic arm."`
	Post Post `tf:"post,req" doc:"What its hook catches."`
}

// Arm is a cantilever with a hook at its free end. In the arm's own frame the
// arm runs along +x from its root to the hook, the hook stands to +y.
type Arm struct {
	Body       string  `tf:"body,req" ref:"bodies" doc:"The body that carries the arm."`
	Hook       r2.Vec  `tf:"hook,req" unit:"mm" eg:"[12, 6]" doc:"The hook's peak in that body's frame."`
	Direction  float64 `tf:"direction,req" unit:"deg" eg:"0" doc:"Direction from root to hook in that body's frame."`
	Side       string  `tf:"side,req" enum:"left|right" doc:"Side to which the hook stands, seen from root to hook."`
	Length     float64 `tf:"length,req" unit:"mm" above:"0" eg:"11" doc:"Root face to hook peak."`
	Thickness  float64 `tf:"thickness,req" unit:"mm" above:"0" eg:"1.4" doc:"At the root, in the bending direction."`
	Tip        float64 `tf:"taper" unit:"1" def:"1" min:"0.3" max:"1" doc:"Thickness at the hook over thickness at the root."`
	RootFillet float64 `tf:"root_fillet" unit:"mm" min:"0" def:"0.5" doc:"Fillet radius at the root."`
	Height     float64 `tf:"hook_height,req" unit:"mm" above:"0" eg:"0.9" doc:"Hook peak over the arm's inner face."`
	Nose       float64 `tf:"nose_radius" unit:"mm" min:"0" def:"0.2" doc:"Rounding of the hook's peak."`
	Entry      float64 `tf:"entry,req" unit:"deg" above:"0" max:"89" eg:"15" doc:"Angle of the face on the root side against the arm."`
	Retention  float64 `tf:"retention,req" unit:"deg" above:"0" max:"90" doc:"Angle of the end face against the arm."`
}

// Post is a round pin or rounded edge that the hook catches.
type Post struct {
	Body     string  `tf:"body,req" ref:"bodies" doc:"The body that carries the post."`
	At       r2.Vec  `tf:"at,req" unit:"mm" eg:"[24, 8]" doc:"Centre of the edge that meets the hook, in that body's frame."`
	Radius   float64 `tf:"radius,req" unit:"mm" above:"0" eg:"0.75" doc:"Radius of that edge."`
	Standard string  `tf:"standard" enum:"printed|iso2338|iso8734" def:"printed" doc:"Printed with the body, or a bought pin."`
}

// Hold keeps a pin joint at an angle until a torque is passed; it acts over a
// few degrees only.
type Hold struct {
	Joint  string  `tf:"joint,req" ref:"joints" doc:"A pin joint."`
	Angle  float64 `tf:"angle,req" unit:"deg" eg:"-90" doc:"Joint angle that is held."`
	Torque float64 `tf:"torque,req" unit:"N·mm" above:"0" eg:"12" doc:"Largest torque."`
	Over   float64 `tf:"over,req" unit:"deg" above:"0" max:"45" eg:"3" doc:"How far it reaches to either side."`
	What   string  `tf:"what" eg:"ball plunger M4" doc:"What to buy for it, for the bill of materials; nothing if it is printed with the parts."`
	Count  int     `tf:"count" def:"1" min:"1" max:"20" doc:"How many of that to buy."`
}

// Stop is a hard end of a pin joint's or slide's travel.
type Stop struct {
	Joint string   `tf:"joint,req" ref:"joints" doc:"A pin or slide joint."`
	Angle *float64 `tf:"angle" unit:"deg" eg:"0" doc:"Joint angle at the stop (pin joint)."`
	Dist  *float64 `tf:"distance" unit:"mm" eg:"18" doc:"Joint coordinate at the stop (slide joint)."`
	Side  string   `tf:"side,req" enum:"above|below" doc:"The coordinate can't go above, or below, this value."`
}

// Spring stores energy between two points or about a joint.
type Spring struct {
	Linear  *LinearSpring  `tf:"linear" oneof:"kind" doc:"Pulls two points together."`
	Torsion *TorsionSpring `tf:"torsion" oneof:"kind" doc:"Turns a pin joint."`
}

// LinearSpring pulls two points together when it is longer than its free length.
type LinearSpring struct {
	From  Anchor  `tf:"from,req" doc:"One end."`
	To    Anchor  `tf:"to,req" doc:"Other end."`
	Rate  float64 `tf:"rate,req" unit:"N/mm" above:"0" eg:"0.1" doc:"Stiffness."`
	Free  float64 `tf:"free_length,req" unit:"mm" min:"0" eg:"20" doc:"Length without force."`
	Slack bool    `tf:"slack" def:"true" doc:"True for a rubber band, which cannot push."`
}

// Anchor is a point of a body.
type Anchor struct {
	Body string `tf:"body,req" ref:"bodies" doc:"Body."`
	At   r2.Vec `tf:"at,req" unit:"mm" doc:"Point in its frame."`
}

// TorsionSpring turns a pin joint towards its free angle. Inside, Rate is
// N·mm/rad.
type TorsionSpring struct {
	Joint string  `tf:"joint,req" ref:"joints" doc:"A pin joint."`
	Rate  float64 `tf:"rate,req" unit:"N·mm/deg" above:"0" eg:"0.5" doc:"Stiffness."`
	Free  float64 `tf:"free_angle,req" unit:"deg" doc:"Joint angle without torque."`
}

// Pad is a flat grip surface on a body.
type Pad struct {
	Body      string  `tf:"body,req" ref:"bodies" doc:"The body that carries it."`
	From      r2.Vec  `tf:"from,req" unit:"mm" eg:"[10, -4]" doc:"One end of the surface the pad sits on; material lies to the left going to the other end."`
	To        r2.Vec  `tf:"to,req" unit:"mm" eg:"[20, -4]" doc:"Other end."`
	Thickness float64 `tf:"thickness,req" unit:"mm" min:"0" eg:"1" doc:"Thickness of the pad."`
	Width     float64 `tf:"width,req" unit:"mm" above:"0" eg:"8" doc:"Size along z."`
	Friction  float64 `tf:"friction,req" unit:"1" above:"0" max:"3" eg:"0.8" doc:"Friction coefficient against the object."`
	Stiffness float64 `tf:"stiffness" unit:"N/mm" above:"0" def:"20" doc:"Of the whole pad in compression."`
	What      string  `tf:"what" def:"rubber sheet" doc:"What to buy, for the bill of materials."`
}

// Grasp names the pads that close on the object.
type Grasp struct {
	Upper  string  `tf:"upper,req" ref:"pads" eg:"jaw_pad" doc:"Pad of the jaw."`
	Lower  string  `tf:"lower,req" ref:"pads" eg:"tip_pad" doc:"Pad of the tip."`
	Force  float64 `tf:"slide_force,req" unit:"N" above:"0" eg:"60" doc:"Slide force used to grip."`
	Safety float64 `tf:"safety" unit:"1" min:"1" def:"2" doc:"Safety factor against slipping."`
}

// Object is what is lifted.
type Object struct {
	Height    float64  `tf:"height,req" unit:"mm" above:"0" eg:"20" doc:"Size between the pads."`
	Mass      float64  `tf:"mass,req" unit:"g" above:"0" eg:"250" doc:"Mass."`
	Stiffness float64  `tf:"stiffness" unit:"N/mm" above:"0" def:"1000" doc:"Of the object between the pads."`
	Rim       *float64 `tf:"rim" unit:"mm" above:"0" eg:"4" doc:"For a stack of thin objects: free height under the top one's rim."`
	RimDepth  *float64 `tf:"rim_depth" unit:"mm" above:"0" eg:"6" doc:"How far the tip may go in under the rim."`
	// Face and Bottom place the object in the finger frame when it is gripped.
	Face   float64 `tf:"face" unit:"mm" def:"8" doc:"x of the object's near face, in the spine frame; with a place: wall + gap, which it must equal."`
	Bottom float64 `tf:"bottom" unit:"mm" def:"0" doc:"y of its underside, in the spine frame, when the finger stands at working depth; with a place: floor + under, which it must equal."`
}

// Place is the opening in which the finger works, in the finger frame at
// working depth: wall on the -x side, object on the +x side, floor below.
type Place struct {
	Gap   float64 `tf:"gap,req" unit:"mm" above:"0" eg:"16" doc:"Free width between wall and object along x."`
	Depth float64 `tf:"depth,req" unit:"mm" above:"0" eg:"80" doc:"How deep the gap is along y."`
	Wall  float64 `tf:"wall,req" unit:"mm" eg:"-8" doc:"x of the wall, in the spine frame."`
	Under float64 `tf:"under" unit:"mm" min:"0" def:"0" doc:"Free height between floor and object."`
	Floor float64 `tf:"floor,req" unit:"mm" eg:"-45" doc:"y of the floor, in the spine frame at working depth."`
	// Switch says where the finger folds out.
	Switch  string  `tf:"switch" enum:"beside|facing" def:"facing" doc:"facing: the finger folds out in front of the object; beside: it folds out in free space next to the object and is then moved along z onto it."`
	Ceiling float64 `tf:"above" unit:"mm" min:"0" def:"1000" doc:"Free height above the object."`
}

// Rule states that one element must hold while others move or give way.
type Rule struct {
	Stroke string   `tf:"stroke,req" enum:"out|back" doc:"On which half of the cycle."`
	Holds  string   `tf:"holds,req" eg:"detent" doc:"The ramp, clip, hold or joint that must not give way yet."`
	While  []string `tf:"while,req" eg:"[snap, B]" doc:"The ramps, clips, holds or joints that move or give way first."`
	Margin float64  `tf:"margin" unit:"1" min:"1" def:"1.5" doc:"Smallest holding force over driving force."`
	Note   string   `tf:"note" eg:"The tip must wait for the jaw." doc:"Why."`
}

// Passive is a fold by pressing on a floor.
type Passive struct {
	Body     string  `tf:"body,req" ref:"bodies" doc:"The body whose outline meets the floor."`
	Floor    float64 `tf:"floor,req" unit:"mm" eg:"-20" doc:"y of the floor in the spine frame at the start."`
	Descent  float64 `tf:"descent,req" unit:"mm" above:"0" eg:"5" doc:"How far the arm lowers the finger."`
	Friction float64 `tf:"friction" unit:"1" min:"0" max:"1.5" def:"0.3" doc:"Friction on the floor."`
	From     float64 `tf:"from,req" unit:"mm" min:"0" eg:"4" doc:"Slide coordinate s at which the drive is released."`
}

// Limit overrides the limit of a check.
type Limit struct {
	Value  float64 `tf:"value,req" unit:"own" eg:"0.8" doc:"The limit, in the check's unit."`
	Reason string  `tf:"reason,req" eg:"Printed well before." doc:"Why this is right for this finger; printed in the report."`
}
