package tables

import (
	"fmt"
	"math"
)

// KgfCm is a kilogram-force centimetre in N·mm, the unit of servo ratings
// (g = 9.80665 m/s²).
const KgfCm = 98.0665

// Motor is a rotary motor or a linear actuator. Exactly one of Rotary and
// Linear is set.
type Motor struct {
	Name   string  `tf:"-"`
	Title  string  `tf:"title,req" doc:"What it is, for the bill of materials."`
	Rotary *Rotary `tf:"rotary" oneof:"kind" doc:"A turning output shaft."`
	Linear *Linear `tf:"linear" oneof:"kind" doc:"A rod that moves along its axis."`
	Mass   float64 `tf:"mass,req" unit:"g" above:"0" doc:"Mass."`
	Length float64 `tf:"length,req" unit:"mm" above:"0" doc:"Size of the body along the output axis."`
	Width  float64 `tf:"width,req" unit:"mm" above:"0" doc:"Larger size across the output axis."`
	Height float64 `tf:"height,req" unit:"mm" above:"0" doc:"Smaller size across the output axis."`
	Source string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Rotary are the ratings of a turning output.
type Rotary struct {
	Rated float64 `tf:"rated,req" unit:"N·mm" above:"0" doc:"Torque that it can give for long."`
	Stall float64 `tf:"stall,req" unit:"N·mm" above:"0" doc:"Largest torque, for a short time."`
	Hold  float64 `tf:"hold,req" unit:"N·mm" min:"0" doc:"Torque that turns the shaft backwards when the power is off."`
	Turn  float64 `tf:"turn,req" unit:"s" above:"0" doc:"Time of a full turn without load."`
	Range float64 `tf:"range" unit:"deg" min:"0" def:"0" doc:"Range of turning; 0: without end."`
}

// Linear are the ratings of an actuator.
type Linear struct {
	Rated  float64 `tf:"rated,req" unit:"N" above:"0" doc:"Force that it can give for long."`
	Stall  float64 `tf:"stall,req" unit:"N" above:"0" doc:"Largest force, for a short time."`
	Hold   float64 `tf:"hold,req" unit:"N" min:"0" doc:"Force that pushes the rod backwards when the power is off."`
	Speed  float64 `tf:"speed,req" unit:"mm/s" above:"0" doc:"Speed without load."`
	Travel float64 `tf:"travel,req" unit:"mm" above:"0" doc:"Travel of the rod."`
}

// Slide is a bought linear guide: a rail and one carriage.
type Slide struct {
	Name      string  `tf:"-"`
	Title     string  `tf:"title,req" doc:"What it is, for the bill of materials."`
	RailWidth float64 `tf:"rail_width,req" unit:"mm" above:"0" doc:"Width of the rail."`
	Width     float64 `tf:"width,req" unit:"mm" above:"0" doc:"Width of the carriage."`
	Length    float64 `tf:"length,req" unit:"mm" above:"0" doc:"Length of the carriage along the rail."`
	Height    float64 `tf:"height,req" unit:"mm" above:"0" doc:"Height from the rail's seat to the carriage's top."`
	Drag      float64 `tf:"drag,req" unit:"N" min:"0" doc:"Friction force without load."`
	Friction  float64 `tf:"friction,req" unit:"1" min:"0" max:"1" doc:"Friction coefficient under load."`
	Moment    float64 `tf:"moment,req" unit:"N·mm" above:"0" doc:"Largest moment about any axis."`
	Mass      float64 `tf:"mass,req" unit:"g" above:"0" doc:"Mass of the carriage."`
	RailMass  float64 `tf:"rail_mass,req" unit:"g" above:"0" doc:"Mass of 100 mm of rail."`
	Source    string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

func (m *Motor) setName(name string) { m.Name = name }
func (m *Motor) like() string        { return "" }
func (m *Motor) inherit(*Motor)      {}
func (s *Slide) setName(name string) { s.Name = name }
func (s *Slide) like() string        { return "" }
func (s *Slide) inherit(*Slide)      {}

func (r Rotary) validate(path string) []error { return ratedBelowStall(path, r.Rated, r.Stall) }
func (l Linear) validate(path string) []error { return ratedBelowStall(path, l.Rated, l.Stall) }

func ratedBelowStall(path string, rated, stall float64) []error {
	if rated <= stall {
		return nil
	}
	return []error{fmt.Errorf("%s.rated: %g, must be at most stall %g", path, rated, stall)}
}

func (s Slide) validate(path string) []error {
	if s.RailWidth < s.Width {
		return nil
	}
	return []error{fmt.Errorf("%s.rail_width: %g mm, must be below the carriage's width %g mm", path, s.RailWidth, s.Width)}
}

// motors are generic sizes that many makers sell; ratings differ between them.
func motors() Table[Motor] {
	const half = math.Pi // servos turn half a turn
	return fresh([]Motor{
		{Name: "servo-9g", Title: "micro servo, 9 g", Mass: 9, Length: 29, Width: 23, Height: 12.5, Source: CommonPractice,
			Rotary: &Rotary{Rated: 50, Stall: 1.8 * KgfCm, Hold: 15, Turn: 0.6, Range: half}},
		{Name: "servo-20kgcm", Title: "standard servo, 20 kgf·cm", Mass: 60, Length: 40, Width: 40, Height: 20, Source: CommonPractice,
			Rotary: &Rotary{Rated: 600, Stall: 20 * KgfCm, Hold: 150, Turn: 0.96, Range: half}},
		{Name: "gearmotor-12mm", Title: "micro gear motor, 12 mm, about 100:1", Mass: 10, Length: 36, Width: 12, Height: 10, Source: CommonPractice,
			Rotary: &Rotary{Rated: 50, Stall: 150, Hold: 10, Turn: 0.2}},
		{Name: "gearmotor-25mm", Title: "gear motor, 25 mm, about 50:1", Mass: 100, Length: 60, Width: 25, Height: 25, Source: CommonPractice,
			Rotary: &Rotary{Rated: 300, Stall: 1200, Hold: 40, Turn: 0.4}},
		{Name: "stepper-28", Title: "stepper motor, 28 mm flange", Mass: 110, Length: 32, Width: 28, Height: 28, Source: CommonPractice,
			Rotary: &Rotary{Rated: 40, Stall: 60, Hold: 3, Turn: 0.2}},
		{Name: "stepper-35", Title: "stepper motor, 35 mm flange", Mass: 180, Length: 34, Width: 35, Height: 35, Source: CommonPractice,
			Rotary: &Rotary{Rated: 90, Stall: 140, Hold: 8, Turn: 0.2}},
		{Name: "stepper-42", Title: "stepper motor, 42 mm flange", Mass: 280, Length: 40, Width: 42.3, Height: 42.3, Source: CommonPractice,
			Rotary: &Rotary{Rated: 250, Stall: 400, Hold: 15, Turn: 0.2}},
		{Name: "actuator-30mm", Title: "micro linear actuator, 30 mm travel", Mass: 20, Length: 70, Width: 18, Height: 15, Source: CommonPractice,
			Linear: &Linear{Rated: 20, Stall: 45, Hold: 30, Speed: 10, Travel: 30}},
		{Name: "actuator-50mm", Title: "small linear actuator, 50 mm travel", Mass: 60, Length: 115, Width: 25, Height: 20, Source: CommonPractice,
			Linear: &Linear{Rated: 60, Stall: 120, Hold: 100, Speed: 10, Travel: 50}},
	}, func(m *Motor) string { return m.Name })
}

// slides are miniature profile rails of the sizes that many makers share.
func slides() Table[Slide] {
	const src = CommonPractice + "; " + FromMemory
	return fresh([]Slide{
		{Name: "rail-5", Title: "miniature profile rail, 5 mm", RailWidth: 5, Width: 12, Length: 16, Height: 6,
			Drag: 0.3, Friction: 0.005, Moment: 800, Mass: 4, RailMass: 14, Source: src},
		{Name: "rail-7", Title: "miniature profile rail, 7 mm", RailWidth: 7, Width: 17, Length: 23, Height: 8,
			Drag: 0.5, Friction: 0.005, Moment: 2500, Mass: 10, RailMass: 22, Source: src},
		{Name: "rail-9", Title: "miniature profile rail, 9 mm", RailWidth: 9, Width: 20, Length: 29, Height: 10,
			Drag: 0.7, Friction: 0.005, Moment: 6000, Mass: 18, RailMass: 33, Source: src},
		{Name: "rail-12", Title: "miniature profile rail, 12 mm", RailWidth: 12, Width: 27, Length: 35, Height: 13,
			Drag: 1, Friction: 0.005, Moment: 11000, Mass: 34, RailMass: 61, Source: src},
	}, func(s *Slide) string { return s.Name })
}
