package parts

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/params/tables"
)

// screwSpots returns the centres of a screws feature in the body frame.
func screwSpots(centres []r2.Vec, s *params.Screws) ([]r2.Vec, error) {
	if s.Circle == nil {
		if s.Count != 1 {
			return nil, fmt.Errorf("count is %d but there is no circle to put them on; give circle, or list the centres under at", s.Count)
		}
		if len(centres) == 0 {
			return nil, fmt.Errorf("no place is given; list centres under at")
		}
		return centres, nil
	}
	if len(centres) == 0 {
		centres = []r2.Vec{{}}
	}
	var out []r2.Vec
	for _, c := range centres {
		for i := range s.Count {
			sin, cos := math.Sincos(s.Angle + 2*math.Pi*float64(i)/float64(s.Count))
			out = append(out, r2.Vec{X: c.X + *s.Circle/2*cos, Y: c.Y + *s.Circle/2*sin})
		}
	}
	return out, nil
}

// screws cuts screw holes; a nut's hexagon is turned so that a corner points
// along angle.
func (b *builder) screws(path string, f *params.Screws) {
	z0, z1, ok := b.span(path, f.Layer)
	var centres []r2.Vec
	for i, s := range f.At {
		at, found := b.spot(fmt.Sprintf("%s.at[%d]", path, i), s)
		centres, ok = append(centres, at), ok && found
	}
	if !ok {
		return
	}
	spots, err := screwSpots(centres, f)
	if err != nil {
		b.fail(path, "%v", err)
		return
	}
	screw, err := b.d.Lib.Screw(f.Screw)
	if err != nil {
		b.fail(path+".screw", "%v", err)
		return
	}
	hole, err := screw.Hole(f.Hole)
	if err != nil {
		b.fail(path+".hole", "%v", err)
		return
	}
	if hole.Depth > z1-z0+1e-9 {
		b.fail(path, "a %s of %s needs a depth of %.3g mm, its layer is %.3g mm", f.Hole, f.Screw, hole.Depth, z1-z0)
		return
	}
	for i, at := range spots {
		label := fmt.Sprintf("%s hole %s", f.Screw, f.Hole)
		if !hole.Hex {
			b.round(path, "", label, at, hole.Size, "none", z0, z1)
			continue
		}
		tag := b.tag(path, fmt.Sprintf("%s nut seat %d", f.Screw, i+1))
		// A nut slips in by hand: the location fit, across flats.
		play, err := b.printer.Fit("location")
		r := hexagon(at, hole.Size+play, f.Angle, tag)
		r, err = b.widened(r, err)
		b.cut(path, r, err, z0, z1)
	}
}

// screwItems lists what a screws feature asks to be bought: inserts and nuts
// always, the screw itself where the feature says listed.
func screwItems(d *params.Design, p *Part, path string, s *params.Screws) ([]Item, error) {
	screw, err := d.Lib.Screw(s.Screw)
	if err != nil {
		return nil, err
	}
	n := max(1, len(s.At)) * s.Count
	var items []Item
	switch s.Hole {
	case "insert":
		items = append(items, Item{Kind: "insert", What: "heat-set insert " + s.Screw, Size: s.Screw, Length: screw.Insert.Length,
			Count: n, Where: p.Name, Path: path, Note: fmt.Sprintf("pilot hole %.3g mm", screw.Insert.Pilot)})
	case "nut":
		items = append(items, Item{Kind: "nut", What: "ISO 4032 - " + s.Screw, Standard: "ISO 4032", Size: s.Screw, Count: n, Where: p.Name, Path: path})
	}
	if !s.Listed {
		return items, nil
	}
	length, problem := 0.0, ""
	if s.Length != nil {
		if length, err = screw.Length(*s.Length, *s.Length); err != nil {
			return items, err
		}
	} else {
		length, problem = screwLength(d, p, s, screw)
	}
	return append(items, Item{Kind: "screw", What: screw.Designation(length), Standard: "ISO 4762", Size: s.Screw, Length: length,
		Count: n, Where: p.Name, Path: path, Problem: problem}), nil
}

// screwLength chooses a standard length: through the layer that lists the
// screw, plus a diameter and a half of thread to hold in what is below it.
// Common practice, no source.
func screwLength(d *params.Design, p *Part, s *params.Screws, screw tables.Screw) (length float64, problem string) {
	l := s.Layer
	if l == nil {
		l = p.Body.Layer
	}
	need := l.To - l.From + 1.5*screw.Thread.Diameter
	var err error
	for _, over := range []float64{1, 2.5, 5} { // the shortest that holds
		var length float64
		if length, err = screw.Length(need, need+over); err == nil {
			return length, ""
		}
	}
	return need, err.Error()
}

// driveItems lists the motor and what turns it into motion.
func driveItems(d *params.Design) ([]Item, error) {
	motor := func(name, path string) (Item, error) {
		m, err := d.Lib.Motor(name)
		return Item{Kind: "drive", What: m.Title, Size: name, Mass: m.Mass, Count: 1, Where: d.Drive.Joint, Path: path}, err
	}
	switch dr := &d.Drive; {
	case dr.Screw != nil:
		screw, err := d.Lib.LeadScrew(dr.Screw.Screw)
		if err != nil {
			return nil, err
		}
		m, err := motor(dr.Screw.Motor, "drive.screw.motor")
		return []Item{m, {Kind: "drive", What: "lead screw and nut " + screw.Name, Size: screw.Name, Count: 1, Where: dr.Joint, Path: "drive.screw.screw"}}, err
	case dr.Rack != nil:
		m, err := motor(dr.Rack.Motor, "drive.rack.motor")
		return []Item{m, {Kind: "drive", What: fmt.Sprintf("pinion, module %.3g, %d teeth", dr.Rack.Module, dr.Rack.Teeth), Size: fmt.Sprintf("pitch diameter %.3g mm", dr.Rack.Module*float64(dr.Rack.Teeth)), Count: 1, Where: dr.Joint, Path: "drive.rack"}}, err
	case dr.Servo != nil:
		m, err := motor(dr.Servo.Motor, "drive.direct.motor")
		return []Item{m}, err
	}
	return nil, nil
}

// ScrewPlaces returns the axes of a part's screws feature in the body's drawing
// plane, mm, and the heights that the holes reach over.
func ScrewPlaces(d *params.Design, p *Part, s *params.Screws) (at []r2.Vec, z0, z1 float64, err error) {
	centres := make([]r2.Vec, len(s.At))
	for i, spot := range s.At {
		if centres[i] = spot.Point; spot.Joint != "" {
			if centres[i], err = JointPoint(d, spot.Joint, p.Name); err != nil {
				return nil, 0, 0, err
			}
		}
	}
	l := s.Layer
	if l == nil {
		l = p.Body.Layer
	}
	at, err = screwSpots(centres, s)
	return at, l.From, l.To, err
}
