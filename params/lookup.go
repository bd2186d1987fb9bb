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

// ErrorAt returns an error at the place of a value, or of the nearest thing
// around it that has a place.
func (d *Design) ErrorAt(path, msg string) Error {
	e := Error{Path: path, Msg: msg}
	for at := path; d.Origin != nil; at = parentPath(at) {
		if pos, ok := d.Origin.Pos[at]; ok {
			e.Pos = pos
			break
		}
		if at == "" {
			break
		}
	}
	return e
}

// Sort orders errors by file, line, column and path.
func (es Errors) Sort() { es.sort() }
