package force

import (
	"errors"
	"math"
)

// Gravity is the standard acceleration of fall, m/s².
const Gravity = 9.80665

// Drive turns a motor shaft into the slide's travel.
type Drive interface {
	// Lead is the travel per turn of the shaft, mm.
	Lead() float64
	// Torque is the shaft torque (N·mm) that moves the slide slowly against a
	// load: a slide force (N) positive against the motion, negative with it. A
	// negative torque means that the motor brakes; +Inf that it cannot move.
	Torque(load float64) float64
	// BackDrive is the least slide force (N) that turns the released shaft; +Inf
	// if none does.
	BackDrive() float64
}

// Torque implements Drive.
func (s Screw) Torque(load float64) float64 {
	if load >= 0 {
		return s.Raise(load) + s.Drag
	}
	return s.Lower(-load) + s.Drag
}

// BackDrive implements Drive.
func (s Screw) BackDrive() float64 {
	per := -s.Lower(1)
	if per <= 0 {
		return math.Inf(1)
	}
	return s.Drag / per
}

// Rack is a rack on the slide and a pinion on the shaft.
//
// The loss of mesh and gearbox counts for less when the slide drives: by the
// usual simplification a train of efficiency η is driven back with 2 − 1/η, and
// not at all below one half.
type Rack struct {
	Module     float64 // mm
	Teeth      int     // of the pinion
	Pressure   float64 // pressure angle, rad
	Efficiency float64 // of mesh and gearbox, (0, 1]
	Drag       float64 // no-load torque at the shaft, N·mm, ≥ 0
}

// PitchRadius returns m·z/2, mm.
func (r Rack) PitchRadius() float64 { return r.Module * float64(r.Teeth) / 2 }

// Lead implements Drive.
func (r Rack) Lead() float64 { return 2 * math.Pi * r.PitchRadius() }

// Mesh returns the tooth forces (N) under a pinion torque (N·mm): along the
// rack T/r, apart Ft·tan α, and normal to the flank Ft/cos α.
func (r Rack) Mesh(torque float64) (tangential, radial, normal float64) {
	ft := torque / r.PitchRadius()
	return ft, ft * math.Tan(r.Pressure), ft / math.Cos(r.Pressure)
}

// Torque implements Drive.
func (r Rack) Torque(load float64) float64 {
	return geared(load*r.PitchRadius(), r.Efficiency) + r.Drag
}

// BackDrive implements Drive.
func (r Rack) BackDrive() float64 { return back(r.Drag, r.PitchRadius(), r.Efficiency) }

// geared adds the loss of an efficiency to a torque: more to push, less to be
// pushed.
func geared(t, eff float64) float64 {
	if t >= 0 {
		return t / eff
	}
	return t * (2 - 1/eff)
}

func back(drag, radius, eff float64) float64 {
	per := radius * (2 - 1/eff)
	if per <= 0 {
		return math.Inf(1)
	}
	return drag / per
}

// Servo is a servo with an arm that pushes the slide nearly along its tangent
// (or a servo-driven pinion of that radius).
type Servo struct {
	Rated      float64 // stall torque, N·mm
	Arm        float64 // effective arm, mm
	Efficiency float64 // of the link to the slide, (0, 1]
	Drag       float64 // no-load torque to back-drive the gearbox, N·mm, ≥ 0
}

// Force returns the slide force of the rated torque, N, without losses.
func (s Servo) Force() float64 { return s.Rated / s.Arm }

// Lead implements Drive, by the tangent.
func (s Servo) Lead() float64 { return 2 * math.Pi * s.Arm }

// Torque implements Drive. The gearbox drag is inside the rating, so it counts
// only when driven back.
func (s Servo) Torque(load float64) float64 { return geared(load*s.Arm, s.Efficiency) }

// BackDrive implements Drive.
func (s Servo) BackDrive() float64 { return back(s.Drag, s.Arm, s.Efficiency) }

// KgfCm converts a rating in kgf·cm into N·mm.
func KgfCm(v float64) float64 { return v * Gravity * 10 }

// Demand is what a move asks of a motor.
type Demand struct {
	Torque float64 // N·mm
	Speed  float64 // shaft, turns per second
	Power  float64 // W, at the shaft
	Time   float64 // s, for the whole move
}

// Move returns the demand of a move of travel mm at speed mm/s with ramps of
// accel mm/s², against a steady load (N). A travel too short for the speed gets
// the peak it can reach. Inertia is not counted: fingers move slowly.
func Move(d Drive, load, travel, speed, accel float64) (Demand, error) {
	if err := errors.Join(positive("travel of the move", travel), positive("speed of the move", speed),
		positive("acceleration of the move", accel)); err != nil {
		return Demand{}, err
	}
	peak := math.Min(speed, math.Sqrt(travel*accel))
	m := Demand{Torque: d.Torque(load), Speed: peak / d.Lead()}
	m.Power = m.Torque / 1000 * 2 * math.Pi * m.Speed
	m.Time = 2*peak/accel + (travel-peak*peak/accel)/peak
	return m, nil
}
