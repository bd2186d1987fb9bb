package params

import (
	"fmt"
	"math"
	"strings"
)

// unit is the exponents of mm, deg, N, g and s; or, if opaque is set, a unit
// that takes no part in arithmetic beyond being scaled ("g/cm³").
type unit struct {
	exp    [5]int8
	opaque string
}

var pure unit // the unit of a pure number

var baseNames = [5]string{"mm", "deg", "N", "g", "s"}

// units are the units that a dimension may have, by their name in files.
var units = map[string]unit{
	"1":        pure,
	"mm":       {exp: [5]int8{1, 0, 0, 0, 0}},
	"mm²":      {exp: [5]int8{2, 0, 0, 0, 0}},
	"deg":      {exp: [5]int8{0, 1, 0, 0, 0}},
	"N":        {exp: [5]int8{0, 0, 1, 0, 0}},
	"N·mm":     {exp: [5]int8{1, 0, 1, 0, 0}},
	"N/mm":     {exp: [5]int8{-1, 0, 1, 0, 0}},
	"MPa":      {exp: [5]int8{-2, 0, 1, 0, 0}},
	"N·mm/deg": {exp: [5]int8{1, -1, 1, 0, 0}},
	"g":        {exp: [5]int8{0, 0, 0, 1, 0}},
	"s":        {exp: [5]int8{0, 0, 0, 0, 1}},
	"mm/s":     {exp: [5]int8{1, 0, 0, 0, -1}},
}

// typed maps spellings for keyboards without a middle dot to the names above.
var typed = map[string]string{
	"N*mm": "N·mm", "N*mm/deg": "N·mm/deg", "mm2": "mm²",
}

// foreign are units that people write and files do not use: the unit to write
// instead, and by what to multiply.
var foreign = map[string]struct {
	use    string
	factor float64
}{
	"cm": {"mm", 10}, "m": {"mm", 1000}, "µm": {"mm", 0.001}, "μm": {"mm", 0.001}, "um": {"mm", 0.001},
	"in": {"mm", 25.4}, "inch": {"mm", 25.4}, "rad": {"deg", 180 / math.Pi}, "°": {"deg", 1}, "degree": {"deg", 1}, "degrees": {"deg", 1},
	"kN": {"N", 1000}, "mN": {"N", 0.001}, "Nm": {"N·mm", 1000}, "N·m": {"N·mm", 1000}, "N*m": {"N·mm", 1000},
	"Nmm": {"N·mm", 1}, "kg": {"g", 1000}, "mg": {"g", 0.001}, "GPa": {"MPa", 1000}, "kPa": {"MPa", 0.001},
	"Pa": {"MPa", 1e-6}, "ms": {"s", 0.001}, "min": {"s", 60}, "%": {"1", 0.01},
}

// quantityNames say what a unit measures.
var quantityNames = map[string]string{
	"mm": "a length in mm", "mm²": "an area in mm²", "deg": "an angle in deg", "N": "a force in N",
	"N·mm": "a torque in N·mm", "N/mm": "a stiffness in N/mm", "MPa": "a stress in MPa",
	"N·mm/deg": "a torsional stiffness in N·mm/deg", "g": "a mass in g", "s": "a time in s",
	"mm/s": "a speed in mm/s", "1": "a pure number",
}

// unitOf returns the unit of that name.
func unitOf(name string) unit {
	if t, ok := typed[name]; ok {
		name = t
	}
	if name == "" {
		return pure
	}
	if u, ok := units[name]; ok {
		return u
	}
	return unit{opaque: name}
}

func (u unit) mul(v unit, sign int8) (unit, bool) {
	if u.opaque != "" || v.opaque != "" {
		if v == pure {
			return u, true
		}
		return v, u == pure && sign > 0
	}
	for i := range u.exp {
		e := int(u.exp[i]) + int(sign)*int(v.exp[i])
		if e < -100 || e > 100 {
			return u, false
		}
		u.exp[i] = int8(e)
	}
	return u, true
}

// String names the unit, "mm³" or "N²/mm" where it has no name of its own.
func (u unit) String() string {
	if u.opaque != "" {
		return u.opaque
	}
	for name, v := range units {
		if u == v {
			return name
		}
	}
	var over, under []string
	for i, e := range u.exp {
		switch {
		case e > 0:
			over = append(over, power(baseNames[i], int(e)))
		case e < 0:
			under = append(under, power(baseNames[i], -int(e)))
		}
	}
	s := strings.Join(over, "·")
	if s == "" {
		s = "1"
	}
	if len(under) == 1 {
		return s + "/" + under[0]
	}
	if len(under) > 1 {
		return s + "/(" + strings.Join(under, "·") + ")"
	}
	return s
}

func power(name string, e int) string {
	switch e {
	case 1:
		return name
	case 2:
		return name + "²"
	case 3:
		return name + "³"
	}
	return fmt.Sprintf("%s^%d", name, e)
}

// quantity says what the unit measures, for messages.
func (u unit) quantity() string {
	if s, ok := quantityNames[u.String()]; ok {
		return s
	}
	return "in " + u.String()
}

// inside converts a value in the file's unit to the program's: every degree
// becomes a radian, so N·mm/deg becomes N·mm/rad.
func (u unit) inside(v float64) float64 {
	switch e := u.exp[1]; {
	case e == 0:
		return v
	case e == 1:
		return v * (math.Pi / 180)
	case e == -1:
		return v * (180 / math.Pi)
	default:
		return v * math.Pow(math.Pi/180, float64(e))
	}
}

// sinCosDeg is exact at multiples of 90°.
func sinCosDeg(a float64) (sin, cos float64) {
	switch m := math.Mod(a, 360); m {
	case 0:
		return 0, 1
	case 90, -270:
		return 1, 0
	case 180, -180:
		return 0, -1
	case 270, -90:
		return -1, 0
	}
	return math.Sincos(math.Mod(a, 360) * math.Pi / 180)
}
