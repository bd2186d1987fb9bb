package tables

import (
	"fmt"
	"math"
)

// LeadScrew is a power screw: a trapezoidal thread (ISO 2901) or a metric rod.
type LeadScrew struct {
	Name     string  `tf:"-"`
	Form     string  `tf:"form,req" enum:"trapezoidal|metric" doc:"Thread form: 30° or 60° between flanks."`
	Diameter float64 `tf:"diameter,req" unit:"mm" above:"0" max:"100" doc:"Nominal diameter (d)."`
	Pitch    float64 `tf:"pitch,req" unit:"mm" above:"0" doc:"Axial distance of neighbouring threads (P)."`
	Starts   int     `tf:"starts,req" min:"1" max:"12" doc:"Number of starts; the lead is the pitch times this."`
	Source   string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
	Friction *Ratio  `tf:"friction" need:"1" doc:"Coulomb friction coefficient in the thread."`
}

// Lead returns the travel in a turn, mm.
func (l *LeadScrew) Lead() float64 { return l.Pitch * float64(l.Starts) }

// FlankAngle returns the angle in radians between a flank and the plane across
// the axis: 15° trapezoidal (ISO 2901), 30° metric (ISO 68-1).
func (l *LeadScrew) FlankAngle() float64 {
	if l.Form == "metric" {
		return math.Pi / 6
	}
	return math.Pi / 12
}

// PitchDiameter returns d2: d − P/2 trapezoidal (ISO 2904), d − (3√3/8)·P metric
// (ISO 68-1). Friction acts there.
func (l *LeadScrew) PitchDiameter() float64 {
	if l.Form == "metric" {
		return l.Diameter - 3*math.Sqrt(3)/8*l.Pitch
	}
	return l.Diameter - l.Pitch/2
}

// LeadAngle returns atan(lead/(π·d2)) in radians.
func (l *LeadScrew) LeadAngle() float64 {
	return math.Atan(l.Lead() / (math.Pi * l.PitchDiameter()))
}

// BackdriveFriction returns the friction coefficient below which an axial force
// turns the screw (no collar): lead·cos(flank)/(π·d2). It is the zero of the
// lowering torque F·d2/2·(π·μ·d2·sec α − l)/(π·d2 + μ·l·sec α); see Shigley,
// Mechanical Engineering Design, power screws.
func (l *LeadScrew) BackdriveFriction() float64 {
	return l.Lead() * math.Cos(l.FlankAngle()) / (math.Pi * l.PitchDiameter())
}

// BasicSizes are the basic sizes of a trapezoidal thread in mm, by the letters
// of ISO 2901 and ISO 2904.
type BasicSizes struct {
	H1 float64 // height of flank overlap, P/2
	AC float64 // crest clearance
	H3 float64 // height of both threads, H1 + ac
	D2 float64 // pitch diameter, d − P/2
	D3 float64 // core of the screw, d − P − 2·ac
	D1 float64 // core of the nut, d − P
	D4 float64 // outer diameter of the nut's thread, d + 2·ac
}

// BasicSizes returns the basic sizes of a trapezoidal thread of pitch 1.5 to
// 5 mm (ISO 2901: ac is 0.15 at pitch 1.5, 0.25 at pitches 2 to 5). Another form
// or pitch is an error.
func (l *LeadScrew) BasicSizes() (BasicSizes, error) {
	if l.Form != "trapezoidal" {
		return BasicSizes{}, fmt.Errorf("lead screw %q is %s; ISO 2904 sizes are those of trapezoidal threads", l.Name, l.Form)
	}
	d, p := l.Diameter, l.Pitch
	var ac float64
	switch {
	case p == 1.5:
		ac = 0.15
	case p >= 2 && p <= 5:
		ac = 0.25
	default:
		return BasicSizes{}, fmt.Errorf("lead screw %q: the crest clearance of pitch %g mm is not tabulated (1.5, and 2 to 5 mm are)", l.Name, p)
	}
	return BasicSizes{H1: p / 2, AC: ac, H3: p/2 + ac, D2: d - p/2, D3: d - p - 2*ac, D1: d - p, D4: d + 2*ac}, nil
}

func (l *LeadScrew) setName(name string)  { l.Name = name }
func (l *LeadScrew) like() string         { return "" }
func (l *LeadScrew) inherit(b *LeadScrew) { l.Friction = or(l.Friction, b.Friction) }

func (l LeadScrew) validate(path string) []error {
	if l.Pitch < l.Diameter/2 {
		return nil
	}
	return []error{fmt.Errorf("%s.pitch: %g mm, must be below half of the diameter %g mm", path, l.Pitch, l.Diameter)}
}

func leadScrews() Table[LeadScrew] {
	const (
		iso    = "ISO 2904"
		facto  = CommonPractice + ": usual in printers, not among the 8 mm threads of ISO 2904; sizes by its formulas"
		metric = FromMemory + " (ISO 261)"
	)
	nut := ratio(0.10, 0.20, 0.30, CommonPractice+": steel screw, brass or plastic nut")
	rod := ratio(0.12, 0.20, 0.30, CommonPractice+": steel rod and nut, greased")
	return fresh([]LeadScrew{
		{"Tr8x1.5", "trapezoidal", 8, 1.5, 1, iso, nut},
		{"Tr8x2", "trapezoidal", 8, 2, 1, facto, nut},
		{"Tr8x4P2", "trapezoidal", 8, 2, 2, facto, nut},
		{"Tr8x8P2", "trapezoidal", 8, 2, 4, facto, nut},
		{"Tr10x2", "trapezoidal", 10, 2, 1, iso, nut},
		{"Tr12x3", "trapezoidal", 12, 3, 1, iso, nut},
		{"Tr16x4", "trapezoidal", 16, 4, 1, iso, nut},
		{"M3x0.5", "metric", 3, 0.5, 1, metric, rod},
		{"M4x0.7", "metric", 4, 0.7, 1, metric, rod},
		{"M5x0.8", "metric", 5, 0.8, 1, metric, rod},
		{"M6x1", "metric", 6, 1, 1, metric, rod},
		{"M8x1.25", "metric", 8, 1.25, 1, metric, rod},
	}, func(l *LeadScrew) string { return l.Name })
}
