package stroke

import (
	"fmt"
	"math"

	"tuckfinger/assembly/force"
	"tuckfinger/params/tables"
)

// DriveSample is what one sample asks of the motor.
type DriveSample struct {
	S      float64 // mm
	Back   bool
	Torque float64 // at the motor shaft (N·mm), negative when it brakes; for a linear actuator the force (N)
	Power  float64 // W, mechanical
	Time   float64 // since the start (s)
}

// DriveResult compares a stroke with the motor.
type DriveResult struct {
	Samples []DriveSample
	// Peak and Mean are torques at the shaft, N·mm (rotary), or forces, N
	// (linear actuator), with which the motor drives; Brake is the largest with
	// which it holds back a slide that is pushed on, 0 if it never does. Rated and
	// Stall are the motor's.
	Peak, Mean, Brake, Rated, Stall float64
	Linear                          bool
	Power                           float64 // largest, W
	Time                            float64 // of the whole cycle, s
	TurnSpeed                       float64 // shaft turns per second at the slide speed; 0 for a linear actuator
	FreeSpeed                       float64 // the motor's without load, turns per second or mm/s
	BackDrive                       float64 // least slide force that turns the released drive, N; +Inf if it locks
	SlideForce                      float64 // that the rated motor can give, N
}

// linearDrive is an actuator that moves the slide itself.
type linearDrive struct{ hold float64 }

func (linearDrive) Lead() float64               { return 1 }
func (linearDrive) Torque(load float64) float64 { return load }
func (d linearDrive) BackDrive() float64        { return d.hold }

// drive makes the law of the design's drive. The holding torque of a motor
// without power counts when it is released; under power it is inside the rating.
func (x *Model) drive(released bool) (force.Drive, error) {
	d := &x.Design.Drive
	motor, err := x.motor()
	if err != nil {
		return nil, err
	}
	hold := 0.0
	if released && motor.Rotary != nil {
		hold = motor.Rotary.Hold
	}
	switch {
	case d.Screw != nil:
		lead, err := x.Design.Lib.LeadScrew(d.Screw.Screw)
		if err != nil {
			return nil, fmt.Errorf("drive.screw.screw: %w", err)
		}
		s := force.Screw{Pitch: lead.Pitch, Starts: lead.Starts, Mean: lead.PitchDiameter(), Flank: lead.FlankAngle(), Mu: d.Screw.Friction,
			CollarMu: d.Screw.Friction, CollarDiameter: d.Screw.Collar, Drag: hold}
		return s, s.Check()
	case d.Rack != nil:
		return force.Rack{Module: d.Rack.Module, Teeth: d.Rack.Teeth, Pressure: math.Pi / 9, Efficiency: rackEfficiency, Drag: hold}, nil
	case d.Servo != nil:
		if motor.Linear == nil {
			return nil, fmt.Errorf("drive.direct.motor: %q is not a linear actuator", d.Servo.Motor)
		}
		return linearDrive{hold: motor.Linear.Hold}, nil
	}
	return nil, fmt.Errorf("drive: give one of screw, rack, direct")
}

// rackEfficiency of one open spur mesh; common practice, no source.
const rackEfficiency = 0.95

func (x *Model) motor() (tables.Motor, error) {
	d := &x.Design.Drive
	name := ""
	switch {
	case d.Screw != nil:
		name = d.Screw.Motor
	case d.Rack != nil:
		name = d.Rack.Motor
	case d.Servo != nil:
		name = d.Servo.Motor
	}
	return x.Design.Lib.Motor(name)
}

// Drive compares a stroke with the design's motor: torque, power and time at
// the drive's slide speed.
func (x *Model) Drive(r *Result) (*DriveResult, error) {
	drive, err := x.drive(false)
	if err != nil {
		return nil, err
	}
	free, err := x.drive(true)
	if err != nil {
		return nil, err
	}
	motor, err := x.motor()
	if err != nil {
		return nil, fmt.Errorf("drive: %w", err)
	}
	speed := x.Design.Drive.Speed
	out := &DriveResult{BackDrive: free.BackDrive(), Samples: make([]DriveSample, 0, len(r.Samples))}
	if motor.Linear != nil {
		out.Linear, out.Rated, out.Stall, out.FreeSpeed = true, motor.Linear.Rated, motor.Linear.Stall, motor.Linear.Speed
		out.SlideForce = out.Rated
	} else {
		out.Rated, out.Stall, out.FreeSpeed = motor.Rotary.Rated, motor.Rotary.Stall, 1/motor.Rotary.Turn
		out.TurnSpeed = speed / drive.Lead()
		out.SlideForce = reachable(drive, out.Rated)
	}
	sum := 0.0
	for i := range r.Samples {
		s := &r.Samples[i]
		d := DriveSample{S: s.S, Back: s.Back, Torque: drive.Torque(s.Resistance())}
		if i > 0 {
			d.Time = out.Time + math.Abs(s.S-r.Samples[i-1].S)/speed
			sum += max(0, d.Torque) * (d.Time - out.Time)
		}
		d.Power = d.Torque / 1000 * 2 * math.Pi * out.TurnSpeed
		if out.Linear {
			d.Power = d.Torque * speed / 1000
		}
		out.Time = d.Time
		out.Peak, out.Brake, out.Power = max(out.Peak, d.Torque), max(out.Brake, -d.Torque), max(out.Power, d.Power)
		out.Samples = append(out.Samples, d)
	}
	if out.Time > 0 {
		out.Mean = sum / out.Time
	}
	return out, nil
}

// reachable is the slide force at which the shaft torque is the given one.
func reachable(d force.Drive, torque float64) float64 {
	if d.Torque(0) >= torque {
		return 0
	}
	lo, hi := 0.0, 1.0
	for d.Torque(hi) < torque && hi < 1e7 {
		hi *= 2
	}
	for range 60 {
		if mid := (lo + hi) / 2; d.Torque(mid) < torque {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}
