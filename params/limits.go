package params

// LimitInfo describes a limit of a check that a file may override.
type LimitInfo struct {
	Name, Unit string
	AtLeast    bool // the measured value must not be below it
	Doc        string
}

// LimitTable is every limit that the section limits may name.
var LimitTable = []LimitInfo{
	{"wall", "mm", true, "thinnest wall of a printed part, around bores too; default: the printer's minimum"},
	{"slit", "mm", true, "narrowest slit or gap inside a printed part; default: the printer's minimum"},
	{"hole", "mm", true, "smallest modelled hole; default: the printer's minimum"},
	{"running play", "mm", true, "smallest play of a turning or sliding pin over tolerance and scatter"},
	{"loose play", "mm", false, "largest play of a turning or sliding pin over tolerance and scatter"},
	{"press", "mm", true, "smallest interference of a press fit over tolerance and scatter"},
	{"retention", "1", true, "length of a pin's press fits over its diameter"},
	{"clearance", "mm", true, "smallest clearance between two parts that pass each other"},
	{"touch", "mm", true, "deepest overlap of two parts that meet by design (negative)"},
	{"lever arm", "mm", true, "smallest lever arm of a pinned link while it turns"},
	{"blade side", "mm", true, "smallest air on either side of the inserted blade"},
	{"switch air", "mm", true, "smallest air to wall, floor, object and ceiling while the finger switches"},
	{"ledge", "mm", false, "longest unsupported ledge; default: the printer's"},
	{"bridge", "mm", false, "longest bridge held at both ends; default: the printer's"},
	{"rail strain", "%", false, "strain of a rail when its ramp is passed; default: the material's, repeated"},
	{"arm strain", "%", false, "strain of a snap arm; default: the material's, repeated"},
	{"safety", "1", true, "safety factor of pins, bearing holes, lugs and links"},
	{"pin tilt", "1", true, "strength of a hole over the edge pressure of the pin that tilts in it"},
	{"slot wall", "1", true, "pressure at which a slot wall yields over the pin's pressure"},
	{"motor", "1", true, "rated over needed drive torque or force"},
	{"holding", "1", true, "slide force that turns the released drive back over what pushes on it; default 0, not asked for"},
	{"lift", "1", true, "lift capacity over the object's weight, the grasp's safety factor included"},
}

// limitUnit returns the unit of a limit, "" if there is no such limit.
func limitUnit(name string) string {
	for _, l := range LimitTable {
		if l.Name == name {
			return l.Unit
		}
	}
	return ""
}

// LimitNames returns the names of the table.
func LimitNames() []string {
	names := make([]string, len(LimitTable))
	for i, l := range LimitTable {
		names[i] = l.Name
	}
	return names
}
