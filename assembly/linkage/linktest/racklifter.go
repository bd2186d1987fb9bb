package linktest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/params/tables"
)

// RackLifter is the complete finger with its force elements.
func RackLifter() *params.Design {
	b := Finger()
	d := &b.D
	d.Name = "rack-lifter"
	d.Lib = tables.Builtin()
	mu, e := 0.3, 1800.0
	d.Process = params.Process{Material: "PETG", Friction: &mu, Modulus: &e}
	d.Attitude = Rad(-90)

	layer := func(body string, from, to float64) {
		d.Bodies.Get(body).Layer = &params.Span{From: from, To: to}
	}
	layer("spine", 0, 5)
	layer("upper", 5, 9)
	layer("middle", 5, 9)

	d.Joints.Get("A").Pin.Drag = 1.0
	d.Joints.Get("B").Pin.Drag = 2.5

	// The ramp starts where the tip stands at −30°, its peak is in the middle of
	// a 36 mm rail in the +x wall (left of a path that runs down).
	r := params.Ramp{Slot: "guide", Wall: "left", Rise: 1, First: Rad(45), Last: Rad(15), Peak: 0.3,
		Rail: params.Rail{Thickness: 1.6, From: 0, To: 36, Slit: 1.6}}
	_, half, _ := r.Feet()
	const cAtRamp = 38.56 // y of C with the tip at −30°
	peakY := cAtRamp - half
	d.Joints.Get("guide").Slot.Path = []params.PathPoint{{At: Vec(-2, peakY+18)}, {At: Vec(-2, peakY-18)}}
	r.At = 18 - half
	d.Ramps.Add("detent", r)

	d.Clips.Add("clip", ClipOn(Polar(5, 45), 8, 79.09+180, 0.8, 0.05))
	d.Holds.Add("tuck", params.Hold{Joint: "B", Angle: Rad(-90), Torque: 12, Over: Rad(3)})
	tipTuck, jawOut := Rad(-90), 0.0
	d.Stops.Add("tip tucked", params.Stop{Joint: "A", Angle: &tipTuck, Side: "below"})
	d.Stops.Add("jaw out", params.Stop{Joint: "B", Angle: &jawOut, Side: "above"})

	d.Pads.Add("jaw pad", params.Pad{Body: "upper", From: Vec(14, -4), To: Vec(26, -4), Thickness: 1, Width: 8, Friction: 0.8, Stiffness: 20})
	d.Pads.Add("tip pad", params.Pad{Body: "tip", From: Vec(26, 4), To: Vec(14, 4), Thickness: 1, Width: 8, Friction: 0.8, Stiffness: 20})
	d.Grasp = &params.Grasp{Upper: "jaw pad", Lower: "tip pad", Force: 60, Safety: 2}
	d.Object = &params.Object{Height: 40, Mass: 300, Stiffness: 1000, Face: 12, Bottom: 5}

	d.Order.Add("O1", params.Rule{Stroke: "out", Holds: "tuck", While: []string{"A"}, Margin: 1.5})
	d.Order.Add("O2", params.Rule{Stroke: "out", Holds: "detent", While: []string{"tuck", "clip"}, Margin: 1.5})
	d.Order.Add("B1", params.Rule{Stroke: "back", Holds: "clip", While: []string{"detent", "A"}, Margin: 1.5})
	return d
}

// ClipOn places a clip whose post runs on a circle about a pivot of the arm's
// body and comes to rest at an angle (degrees, arm body's frame), turning
// clockwise. Overlap is how far the hook reaches over the passing post, past by
// how much the post lies beyond first touch of the retention face (mm).
func ClipOn(pivot r2.Vec, radius, restAngle, overlap, past float64) params.Clip {
	arm := params.Arm{Body: "upper", Side: "right", Direction: Rad(restAngle - 90), Length: 11, Thickness: 1.4, Tip: 1, RootFillet: 0.5,
		Height: 0.9, Nose: 0.2, Entry: Rad(15), Retention: Rad(45)}
	post := params.Post{Body: "middle", At: Vec(24-radius, 0), Radius: 0.3, Standard: "printed"}
	sum := arm.Nose + post.Radius
	s, c := math.Sincos(arm.Retention)
	// Rest place of the post from the hook's peak along the arm (x) and towards
	// the pivot (y); the circle rises by drop at the peak.
	x := 1.0
	var peakY float64
	for i := 0; i < 20; i++ {
		drop := radius - math.Sqrt(radius*radius-x*x)
		peakY = overlap - post.Radius + drop
		x = (sum+(peakY-arm.Nose)*c)/s + past
	}
	at := r2.Add(pivot, Polar(radius, restAngle))
	arm.Hook = r2.Add(at, r2.Add(Polar(-x, restAngle-90), Polar(-peakY, restAngle)))
	return params.Clip{Arm: arm, Post: post}
}

// RodAndArm is another topology: a rod on the carriage has a slot with a ramp,
// the pin of an arm that is pivoted on the spine runs in it, and a clip on the
// rod catches that pin, so that rod and arm become one. Pushed out, the arm
// swings to its stop first, then the pin passes the ramp and snaps in.
func RodAndArm() *params.Design {
	b := &Builder{}
	d := &b.D
	d.Name, d.Lib = "rod-and-arm", tables.Builtin()
	mu, e := 0.2, 1800.0
	d.Process = params.Process{Material: "PETG", Friction: &mu, Modulus: &e}
	b.Ground("spine")
	b.Body("carriage")
	b.Near("rod", 0)
	b.Start("arm", 90)
	b.Slide("slide", "carriage", "spine", Vec(0, 0), 0)
	b.Pin("P", "carriage", Vec(0, 0), "rod", Vec(0, 0))
	b.Pin("O", "spine", Vec(35, -20), "arm", Vec(0, 0)).Drag = 4
	s := b.Slot("groove", "arm", Vec(20, 0), "rod", Vec(15, 0), Vec(43, 0))
	dia, at := 3.0, 20.0
	s.Diameter, s.Start = &dia, &at
	d.Bodies.Get("rod").Layer = &params.Span{From: 0, To: 4}
	d.Drive = params.Drive{Joint: "slide", Travel: 24, Speed: 5}
	d.Ramps.Add("bump", params.Ramp{Slot: "groove", Wall: "left", At: 12, Rise: 0.8, First: Rad(20), Last: Rad(45), Peak: 0.3,
		Rail: params.Rail{Thickness: 1.4, From: 0, To: 28, Slit: 1.5}})
	d.Clips.Add("lock", params.Clip{
		Arm: params.Arm{Body: "rod", Hook: Vec(23, -1.4), Direction: Rad(180), Side: "right", Length: 12, Thickness: 1.3, Tip: 1, RootFillet: 0.5,
			Height: 0.9, Nose: 0.2, Entry: Rad(15), Retention: Rad(45)},
		Post: params.Post{Body: "arm", At: Vec(20, 0), Radius: 2, Standard: "printed"}})
	in, out := Rad(90), Rad(60)
	d.Stops.Add("arm in", params.Stop{Joint: "O", Angle: &in, Side: "above"})
	d.Stops.Add("arm out", params.Stop{Joint: "O", Angle: &out, Side: "below"})
	d.Order.Add("first the arm", params.Rule{Stroke: "out", Holds: "bump", While: []string{"O"}, Margin: 1.5})
	d.Order.Add("lock last", params.Rule{Stroke: "back", Holds: "lock", While: []string{"O"}, Margin: 1.5})
	return d
}
