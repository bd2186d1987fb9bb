package params

import "tuckfinger/params/tables"

// Printer returns the printing process of the design. The decoder has made sure
// that it exists.
func (d *Design) Printer() tables.Printer { return *d.Lib.Printers.Get(d.Process.Printer) }

// Material returns the material of a body: its own or the process's.
func (d *Design) Material(body string) tables.Material {
	name := d.Process.Material
	if b := d.Bodies.Get(body); b != nil && b.Material != "" {
		name = b.Material
	}
	return *d.Lib.Materials.Get(name)
}

// SlotPin returns the diameter of the pin in a slot, mm: its own or that of the
// pin joint that it shares. It is 0 if the design gives neither.
func (d *Design) SlotPin(s *SlotJoint) float64 {
	if s.Diameter != nil {
		return *s.Diameter
	}
	if j := d.Joints.Get(s.Shares); j != nil && j.Pin != nil {
		return j.Pin.Diameter
	}
	return 0
}

// ErrorAt returns an error at the place of a value, or of the nearest thing
// around it that has a place.
func (d *Design) ErrorAt(path, msg string) Error {
	e := Error{Path: path, Msg: msg}
	if d.Origin != nil {
		e.Pos = d.Origin.At(path)
	}
	return e
}
