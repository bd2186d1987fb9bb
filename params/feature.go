package params

import "gonum.org/v1/gonum/spatial/r2"

// Feature is one building step of a body. Exactly one field is set.
type Feature struct {
	Boss    *Boss    `tf:"boss" oneof:"kind" doc:"Adds a round disc."`
	Bar     *Bar     `tf:"bar" oneof:"kind" doc:"Adds a bar with round ends."`
	Outline *Outline `tf:"outline" oneof:"kind" doc:"Adds a polygon with corner fillets."`
	Window  *Outline `tf:"window" oneof:"kind" doc:"Cuts a polygon with corner fillets."`
	Hole    *Hole    `tf:"hole" oneof:"kind" doc:"Cuts a round hole."`
	Slot    *SlotCut `tf:"slot" oneof:"kind" doc:"Cuts the slot of a slot joint, leaving its ramps and freeing their rails."`
	Arm     *ArmAdd  `tf:"arm" oneof:"kind" doc:"Adds the snap arm of a clip."`
	Post    *PostAdd `tf:"post" oneof:"kind" doc:"Adds the post of a clip."`
	Pad     *PadSeat `tf:"pad" oneof:"kind" doc:"Cuts the seat of a pad."`
	Screws  *Screws  `tf:"screws" oneof:"kind" doc:"Cuts screw, insert or nut holes, single or on a circle."`
	Rack    *Rack    `tf:"rack" oneof:"kind" doc:"Adds a row of rack teeth."`
	Bore    *Bore    `tf:"bore" oneof:"kind" doc:"Cuts a round bore that lies in the drawing plane."`
	Round   *Round   `tf:"round" oneof:"kind" doc:"Rounds the corners of everything built so far in its layers."`
}

// Boss is a disc.
type Boss struct {
	At     Spot    `tf:"at,req" eg:"A" doc:"Joint name or point."`
	Radius float64 `tf:"radius,req" unit:"mm" above:"0" eg:"4" doc:"Radius."`
	Layer  *Span   `tf:"layer" doc:"z range."`
}

// Bar is a stadium.
type Bar struct {
	From  Spot    `tf:"from,req" eg:"A" doc:"Joint name or point."`
	To    Spot    `tf:"to,req" eg:"[38, 0]" doc:"Joint name or point."`
	Width float64 `tf:"width,req" unit:"mm" above:"0" eg:"8" doc:"Width; the ends are half circles."`
	Layer *Span   `tf:"layer" doc:"z range."`
}

// Outline is a polygon with fillets.
type Outline struct {
	Points []Corner `tf:"points,req" doc:"Corners in order."`
	Fillet float64  `tf:"fillet" unit:"mm" min:"0" def:"0" doc:"Fillet radius of corners that give none."`
	Layer  *Span    `tf:"layer" doc:"z range."`
}

// Corner is a corner of an outline: [x, y] or {at: [x, y], fillet: r}.
type Corner struct {
	At     r2.Vec   `tf:"at,req" unit:"mm" doc:"Position."`
	Fillet *float64 `tf:"fillet" unit:"mm" min:"0" doc:"Fillet radius of this corner."`
}

// Hole is a round hole for a joint's pin or of a given diameter.
type Hole struct {
	At       Spot     `tf:"at,req" eg:"A" doc:"Joint name or point."`
	Diameter *float64 `tf:"diameter" unit:"mm" above:"0" doc:"Nominal diameter; default: the joint's pin."`
	Fit      string   `tf:"fit" enum:"press|location|turning|sliding|none" doc:"Fit in this body; default: the one that the joint gives for it."`
	Layer    *Span    `tf:"layer" doc:"z range; material left beyond it closes the hole."`
}

// SlotCut cuts a slot joint's slot.
type SlotCut struct {
	Joint string `tf:"joint,req" ref:"joints" doc:"A slot joint whose path is on this body."`
	Layer *Span  `tf:"layer" doc:"z range."`
}

// ArmAdd adds a clip's arm.
type ArmAdd struct {
	Clip  string `tf:"clip,req" ref:"clips" doc:"A clip whose arm is on this body."`
	Layer *Span  `tf:"layer" doc:"z range; its height is the arm's width in bending."`
}

// PostAdd adds a clip's post.
type PostAdd struct {
	Clip  string `tf:"clip,req" ref:"clips" doc:"A clip whose post is on this body."`
	Layer *Span  `tf:"layer" doc:"z range."`
}

// PadSeat cuts the recess for a pad.
type PadSeat struct {
	Pad   string  `tf:"pad,req" ref:"pads" doc:"A pad on this body."`
	Depth float64 `tf:"depth" unit:"mm" min:"0" def:"0" doc:"How deep the pad is let in."`
	Layer *Span   `tf:"layer" doc:"z range."`
}

// Screws is one or several equal screw holes.
type Screws struct {
	At     []Spot   `tf:"at" eg:"[[0, 70]]" doc:"Centres; with circle: the centre of the circle."`
	Screw  string   `tf:"screw,req" ref:"screws" doc:"Entry of the screw table."`
	Hole   string   `tf:"hole" enum:"fine|medium|coarse|insert|nut|thread|head" def:"medium" doc:"Clearance hole of a series, insert pilot, hexagon for a nut, hole to cut a thread in, or counterbore for the head."`
	Circle *float64 `tf:"circle" unit:"mm" above:"0" eg:"50" doc:"Diameter of the bolt circle."`
	Count  int      `tf:"count" def:"1" min:"1" max:"36" doc:"Holes on the circle."`
	Angle  float64  `tf:"angle" unit:"deg" def:"0" doc:"Angle of the first hole on the circle, or of a nut's first corner."`
	Length *float64 `tf:"length" unit:"mm" above:"0" eg:"12" doc:"Screw length to list; default: chosen from the standard lengths."`
	Listed bool     `tf:"listed" def:"false" doc:"True where this hole is the one that puts its screw on the bill of materials."`
	Layer  *Span    `tf:"layer" doc:"z range."`
}

// Rack is a row of straight teeth of the basic rack of ISO 53 (20° flanks,
// 1.25 modules deep). It stands on the left of the line from From to To, which
// is the root line.
type Rack struct {
	From   r2.Vec  `tf:"from,req" unit:"mm" eg:"[4, 64]" doc:"Start of the root line; teeth stand to its left."`
	To     r2.Vec  `tf:"to,req" unit:"mm" eg:"[4, 34]" doc:"End of the root line."`
	Module float64 `tf:"module,req" unit:"mm" above:"0" eg:"1" doc:"Gear module."`
	Layer  *Span   `tf:"layer" doc:"z range."`
}

// Bore is a cylinder whose axis lies in the drawing plane.
type Bore struct {
	From     r2.Vec  `tf:"from,req" unit:"mm" eg:"[0, 60]" doc:"Start of the axis."`
	To       r2.Vec  `tf:"to,req" unit:"mm" eg:"[0, 90]" doc:"End of the axis."`
	Z        float64 `tf:"z,req" unit:"mm" eg:"6" doc:"Height of the axis."`
	Diameter float64 `tf:"diameter,req" unit:"mm" above:"0" doc:"Diameter."`
}

// Round rounds corners.
type Round struct {
	Inside  float64 `tf:"inside" unit:"mm" min:"0" def:"0" doc:"Fillet radius of re-entrant corners."`
	Outside float64 `tf:"outside" unit:"mm" min:"0" def:"0" doc:"Radius of protruding corners."`
	Layer   *Span   `tf:"layer" doc:"z range."`
}
