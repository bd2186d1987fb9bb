package tables

import (
	"fmt"
	"math"
)

// Printer is a printing process as set up on one printer: what it can make, by
// how much its holes and outlines miss, and which clearance gives which fit.
type Printer struct {
	Name         string        `tf:"-"`
	Title        string        `tf:"title" doc:"What it is, for reports."`
	Like         string        `tf:"like" doc:"Printer from which groups not given here are taken."`
	Feed         string        `tf:"feed" need:"1" enum:"filament|powder|resin" doc:"Form of the materials that it prints."`
	Layer        *Layer        `tf:"layer" need:"1" doc:"Line and layer sizes."`
	Minimum      *Minimum      `tf:"minimum" need:"1" doc:"Smallest features."`
	Compensation *Compensation `tf:"compensation" need:"1" doc:"What is added in the model so that the print comes out right."`
	Scatter      *Scatter      `tf:"scatter" need:"1" doc:"Differences between copies."`
	Overhang     *Overhang     `tf:"overhang" need:"1" doc:"What prints without support."`
	Bed          *Bed          `tf:"bed" need:"1" doc:"Usable space."`
	Fits         *Fits         `tf:"fits" need:"1" doc:"Clearances of fits."`
}

// Layer are the sizes of what is laid down.
type Layer struct {
	Nozzle float64 `tf:"nozzle,req" unit:"mm" min:"0" max:"5" doc:"Nozzle diameter or spot size; 0 where there is none."`
	Height float64 `tf:"height,req" unit:"mm" above:"0" max:"2" doc:"Layer height."`
	Source string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Minimum are the smallest features that come out.
type Minimum struct {
	Wall   float64 `tf:"wall,req" unit:"mm" above:"0" doc:"Thickness of a wall."`
	Gap    float64 `tf:"gap,req" unit:"mm" above:"0" doc:"Gap between two bodies printed together that must stay free."`
	Slit   float64 `tf:"slit,req" unit:"mm" above:"0" doc:"Width of a slit inside one body."`
	Hole   float64 `tf:"hole,req" unit:"mm" above:"0" doc:"Diameter of a hole along the printing direction."`
	Pin    float64 `tf:"pin,req" unit:"mm" above:"0" doc:"Diameter of an upright printed pin."`
	Source string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Compensation is what the model gets so that the print has the nominal size.
type Compensation struct {
	Hole   float64 `tf:"hole,req" unit:"mm" min:"-1" max:"1" doc:"Added to the diameter of round holes."`
	Slot   float64 `tf:"slot,req" unit:"mm" min:"-1" max:"1" doc:"Added to the width of slots and slits."`
	Outer  float64 `tf:"outer,req" unit:"mm" min:"-1" max:"1" doc:"Added to outer widths and diameters; negative where prints come out large."`
	Foot   float64 `tf:"foot,req" unit:"mm" min:"0" max:"2" doc:"45° chamfer on the edges that lie on the bed, against elephant foot."`
	Source string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Scatter are standard deviations (1σ) between copies after compensation.
type Scatter struct {
	Gap     float64 `tf:"gap,req" unit:"mm" min:"0" max:"1" doc:"Of the width of slots and gaps."`
	Hole    float64 `tf:"hole,req" unit:"mm" min:"0" max:"1" doc:"Of hole diameters."`
	Outline float64 `tf:"outline,req" unit:"mm" min:"0" max:"1" doc:"Of outer widths and wall thicknesses."`
	Source  string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Overhang is what prints without support.
type Overhang struct {
	Angle  float64 `tf:"angle,req" unit:"deg" min:"0" max:"90" doc:"Largest lean of a face from the vertical; 90: any."`
	Span   float64 `tf:"span,req" unit:"mm" min:"0" doc:"Longest flat ledge held at one end."`
	Bridge float64 `tf:"bridge,req" unit:"mm" min:"0" doc:"Longest flat span held at both ends."`
	Source string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Bed is the usable space.
type Bed struct {
	X      float64 `tf:"x,req" unit:"mm" above:"0" doc:"Width."`
	Y      float64 `tf:"y,req" unit:"mm" above:"0" doc:"Depth."`
	Z      float64 `tf:"z,req" unit:"mm" above:"0" doc:"Height."`
	Source string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Fits are diametral clearances between a pin of nominal size and the printed
// hole, after compensation; negative is interference.
type Fits struct {
	Press    float64 `tf:"press,req" unit:"mm" min:"-1" max:"2" doc:"The pin is pushed in and stays."`
	Location float64 `tf:"location,req" unit:"mm" min:"-1" max:"2" doc:"Goes together by hand, without play to speak of."`
	Turning  float64 `tf:"turning,req" unit:"mm" min:"-1" max:"2" doc:"Turns freely."`
	Sliding  float64 `tf:"sliding,req" unit:"mm" min:"-1" max:"2" doc:"Slides freely over a length."`
	Source   string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// FitNames are the fits that Printer.Fit knows, from tight to free.
var FitNames = []string{"press", "location", "turning", "sliding"}

// Fit returns the diametral clearance (mm, negative: interference) of a fit of
// FitNames; "none" is 0.
func (p *Printer) Fit(name string) (float64, error) {
	switch name {
	case "press":
		return p.Fits.Press, nil
	case "location":
		return p.Fits.Location, nil
	case "turning":
		return p.Fits.Turning, nil
	case "sliding":
		return p.Fits.Sliding, nil
	case "none":
		return 0, nil
	}
	return 0, fmt.Errorf("no fit %q%s; there are %s, none", name, Suggest(name, FitNames), list(FitNames))
}

// Size is a printed size: the clearance is diametral, or across a slot.
type Size struct {
	Nominal   float64 // mm, of the pin or of the part that goes in
	Clearance float64 // mm, added for the fit
	Modelled  float64 // mm, what the solid gets: nominal + clearance + compensation
}

// Printed returns the size that the print is meant to have, mm.
func (s Size) Printed() float64 { return s.Nominal + s.Clearance }

// Hole returns the size of a round hole for a pin of the given diameter (mm).
// It is the one place where clearance and hole compensation meet.
func (p *Printer) Hole(diameter float64, fit string) (Size, error) {
	c, err := p.Fit(fit)
	if err != nil {
		return Size{}, err
	}
	return Size{Nominal: diameter, Clearance: c, Modelled: diameter + c + p.Compensation.Hole}, nil
}

// Slot returns the width of a slot for a pin of the given diameter with the
// given play (mm, both sides together).
func (p *Printer) Slot(diameter, play float64) Size {
	return Size{Nominal: diameter, Clearance: play, Modelled: diameter + play + p.Compensation.Slot}
}

// Outer returns the width of an outer feature of nominal width (mm).
func (p *Printer) Outer(width float64) Size {
	return Size{Nominal: width, Modelled: width + p.Compensation.Outer}
}

func (p *Printer) setName(name string) { p.Name = name }
func (p *Printer) like() string        { return p.Like }

func (p *Printer) inherit(b *Printer) {
	if p.Title == "" {
		p.Title = b.Title
	}
	if p.Feed == "" {
		p.Feed = b.Feed
	}
	p.Layer = or(p.Layer, b.Layer)
	p.Minimum = or(p.Minimum, b.Minimum)
	p.Compensation = or(p.Compensation, b.Compensation)
	p.Scatter = or(p.Scatter, b.Scatter)
	p.Overhang = or(p.Overhang, b.Overhang)
	p.Bed = or(p.Bed, b.Bed)
	p.Fits = or(p.Fits, b.Fits)
}

func (f Fits) validate(path string) []error {
	if f.Press < f.Location && f.Location <= f.Turning && f.Turning <= f.Sliding {
		return nil
	}
	return []error{fmt.Errorf("%s: press %g, location %g, turning %g, sliding %g mm; must not fall, and press must be below location",
		path, f.Press, f.Location, f.Turning, f.Sliding)}
}

// Sources of the printer data.
const (
	srcBureau = CommonPractice + "; gap, hole and pin after the published design rules of print bureaus, which disagree"
	srcFits   = CommonPractice + ": print the clearance coupon and set your own"
	srcBed    = CommonPractice + ": a usual size"
)

const anyAngle = math.Pi / 2

func printers() Table[Printer] {
	return fresh([]Printer{
		{
			Name: "fdm-0.4", Title: "filament printer, 0.4 mm nozzle", Feed: "filament",
			Layer:        &Layer{0.4, 0.2, CommonPractice},
			Minimum:      &Minimum{Wall: 0.8, Gap: 0.5, Slit: 0.4, Hole: 2, Pin: 3, Source: srcBureau},
			Compensation: &Compensation{Hole: 0.2, Slot: 0.1, Outer: -0.05, Foot: 0.4, Source: srcFits},
			Scatter:      &Scatter{Gap: 0.04, Hole: 0.035, Outline: 0.04, Source: CommonPractice},
			Overhang:     &Overhang{Angle: math.Pi / 4, Span: 0.5, Bridge: 10, Source: CommonPractice},
			Bed:          &Bed{220, 220, 220, srcBed},
			Fits:         &Fits{Press: -0.1, Location: 0.05, Turning: 0.12, Sliding: 0.2, Source: srcFits},
		},
		{
			Name: "fdm-0.25", Title: "filament printer, 0.25 mm nozzle", Feed: "filament",
			Layer:        &Layer{0.25, 0.12, CommonPractice},
			Minimum:      &Minimum{Wall: 0.5, Gap: 0.4, Slit: 0.3, Hole: 1.2, Pin: 2, Source: CommonPractice},
			Compensation: &Compensation{Hole: 0.12, Slot: 0.06, Outer: -0.03, Foot: 0.25, Source: srcFits},
			Scatter:      &Scatter{Gap: 0.03, Hole: 0.025, Outline: 0.03, Source: CommonPractice},
			Overhang:     &Overhang{Angle: math.Pi / 4, Span: 0.3, Bridge: 8, Source: CommonPractice},
			Bed:          &Bed{220, 220, 220, srcBed},
			Fits:         &Fits{Press: -0.08, Location: 0.04, Turning: 0.08, Sliding: 0.15, Source: srcFits},
		},
		{
			Name: "sls", Title: "laser sintering of powder", Feed: "powder",
			Layer:        &Layer{0, 0.1, CommonPractice},
			Minimum:      &Minimum{Wall: 0.8, Gap: 0.5, Slit: 0.5, Hole: 1.5, Pin: 0.8, Source: CommonPractice},
			Compensation: &Compensation{Hole: 0.15, Slot: 0.1, Outer: -0.05, Foot: 0, Source: srcFits},
			Scatter:      &Scatter{Gap: 0.07, Hole: 0.07, Outline: 0.07, Source: CommonPractice},
			Overhang:     &Overhang{Angle: anyAngle, Span: 200, Bridge: 200, Source: CommonPractice + ": the powder is the support"},
			Bed:          &Bed{200, 200, 300, srcBed},
			Fits:         &Fits{Press: -0.15, Location: 0.1, Turning: 0.2, Sliding: 0.25, Source: srcFits},
		},
		{
			Name: "resin", Title: "vat photopolymerisation", Feed: "resin",
			Layer:        &Layer{0, 0.05, CommonPractice},
			Minimum:      &Minimum{Wall: 0.6, Gap: 0.4, Slit: 0.3, Hole: 0.8, Pin: 0.8, Source: CommonPractice},
			Compensation: &Compensation{Hole: 0.08, Slot: 0.05, Outer: -0.03, Foot: 0.3, Source: srcFits},
			Scatter:      &Scatter{Gap: 0.03, Hole: 0.03, Outline: 0.03, Source: CommonPractice},
			Overhang:     &Overhang{Angle: math.Pi / 4, Span: 1, Bridge: 5, Source: CommonPractice},
			Bed:          &Bed{130, 80, 160, srcBed},
			Fits:         &Fits{Press: -0.08, Location: 0.03, Turning: 0.08, Sliding: 0.12, Source: srcFits},
		},
	}, func(p *Printer) string { return p.Name })
}
