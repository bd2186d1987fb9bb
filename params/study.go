package params

import (
	"slices"
	"strings"
)

// Scatter says how printed copies differ where a number comes from no dimension
// with a scatter of its own. What is left out comes from the printer and
// material tables.
type Scatter struct {
	Outline  *SizeScatter  `tf:"outline" doc:"Heights of ramps and hooks, thicknesses of rails and arms; default: normal, the printer's."`
	Gap      *SizeScatter  `tf:"gap" doc:"Play of slots; default: normal, the printer's."`
	Modulus  *ShareScatter `tf:"modulus" doc:"Young's modulus of each plastic; default: the material's range, triangular."`
	Friction *ShareScatter `tf:"friction" doc:"Friction coefficients, one factor for all that meet steel and one for plastic on plastic; default: the material's ranges, triangular."`
	Hold     *ShareScatter `tf:"hold" doc:"Torque of each hold; default: does not scatter."`
}

// SizeScatter is the distribution of sizes between copies.
type SizeScatter struct {
	Kind   string  `tf:"kind" enum:"normal|uniform" def:"normal" doc:"Shape of the distribution."`
	Spread float64 `tf:"spread,req" unit:"mm" min:"0" eg:"0.03" doc:"Standard deviation (normal) or half width (uniform); 0: does not scatter."`
}

// ShareScatter is the distribution of a factor around 1 between copies.
type ShareScatter struct {
	Kind   string  `tf:"kind" enum:"normal|uniform" def:"normal" doc:"Shape of the distribution."`
	Spread float64 `tf:"spread,req" unit:"1" min:"0" max:"1" eg:"0.05" doc:"Standard deviation (normal) or half width (uniform) as a share of the value; 0: does not scatter."`
}

// Tune says what tuning may change and what it should reach. The file's order
// rules with their margins and the limits of strain always belong to it.
type Tune struct {
	Free   Named[Free] `tf:"free,req" names:"dimensions" eg:"{rail: {low: 1.2, high: 2}}" doc:"Dimensions that may change; their values must be plain numbers."`
	Limits []TuneLimit `tf:"limits" eg:"[{measure: slide.back, at_most: 30}]" doc:"What a result must keep to."`
	Goals  []TuneGoal  `tf:"goals" eg:"[{measure: slide.out, aim: low}]" doc:"What should be as high or low as it can; none: the limits are to be kept with as much room as possible."`
	Copies *Copies     `tf:"copies" doc:"Makes limits count for printed copies and not for the drawing alone."`
}

// Free is the room of a dimension.
type Free struct {
	Low  *float64 `tf:"low" unit:"own" eg:"1.2" doc:"Smallest value; default: that of the dimension's range."`
	High *float64 `tf:"high" unit:"own" eg:"2" doc:"Largest value; default: that of the dimension's range."`
}

// TuneLimit bounds a measure.
type TuneLimit struct {
	Measure string   `tf:"measure,req" eg:"slide.back" doc:"What is limited; see the table of measures."`
	AtLeast *float64 `tf:"at_least" oneof:"bound" unit:"own" eg:"1.5" doc:"The measure must not be below it."`
	AtMost  *float64 `tf:"at_most" oneof:"bound" unit:"own" eg:"30" doc:"The measure must not be above it."`
}

// TuneGoal is a measure to be improved.
type TuneGoal struct {
	Measure string  `tf:"measure,req" eg:"slide.out" doc:"What is improved; see the table of measures."`
	Aim     string  `tf:"aim,req" enum:"high|low" doc:"Whether it should be high or low."`
	Weight  float64 `tf:"weight" unit:"1" above:"0" def:"1" doc:"Weight against other goals, each taken relative to its value at the start."`
}

// Copies are the printed copies that a tuned design must answer for.
type Copies struct {
	Count int     `tf:"count" def:"30" min:"2" max:"10000" doc:"How many copies each trial looks at."`
	Share float64 `tf:"share" unit:"1" above:"0" max:"1" def:"1" doc:"Share of them that must keep all limits; 1 is the worst case of them."`
	Seed  int     `tf:"seed" def:"1" min:"0" doc:"Picks the copies."`
}

// Measure is a number by which fingers are compared: what tuning limits and
// improves, and a column of a sweep.
type Measure struct {
	Name, Unit string
	Doc        string
}

// measureKinds are the measures, with NAME for an entry of a section.
var measureKinds = []Measure{
	{"order.NAME", "1", "margin of an order rule: smallest holding over driving force"},
	{"ramps.NAME.strain", "%", "largest strain of a ramp's rail over the stroke"},
	{"clips.NAME.strain", "%", "largest strain of a clip's arm over the stroke"},
	{"slide.out", "N", "largest slide force against the motion, out"},
	{"slide.back", "N", "largest slide force against the motion, back"},
	{"motor", "1", "rated over needed drive torque or force"},
	{"opening", "mm", "widest opening between the pads of the grasp"},
	{"grip", "N", "force on each pad when closed, at the grasp's slide force"},
	{"lift", "1", "lift capacity over the object's weight, the grasp's safety factor included"},
	{"mass", "g", "mass of all printed parts, solid; bores along the drawing plane are not taken off"},
	{"blade", "mm", "thickness of the tucked finger along x, inside the place"},
}

// MeasureKinds lists the measures as the reference page shows them.
func MeasureKinds() []Measure { return slices.Clone(measureKinds) }

// MeasureSection is the section of the finger file that a measure is about, or
// the measure's own first word.
func MeasureSection(name string) string {
	section, _, _ := strings.Cut(name, ".")
	return section
}

// measureUnit is the unit of a measure by the form of its name, "1" if there is
// no such form.
func measureUnit(name string) string {
	first, rest, _ := strings.Cut(name, ".")
	for _, m := range measureKinds {
		f, r, _ := strings.Cut(m.Name, ".NAME")
		if m.Name == name || f == first && rest != "" && strings.HasSuffix(rest, r) {
			return m.Unit
		}
	}
	return "1"
}

// Measures lists the measures that a design has, in a fixed order.
func (d *Design) Measures() []Measure {
	var out []Measure
	for _, m := range measureKinds {
		section, _, many := strings.Cut(m.Name, ".NAME")
		var names []string
		switch {
		case many:
			switch section {
			case "order":
				names = d.Order.Names
			case "ramps":
				names = d.Ramps.Names
			case "clips":
				names = d.Clips.Names
			}
			for _, n := range names {
				out = append(out, Measure{strings.Replace(m.Name, "NAME", n, 1), m.Unit, m.Doc})
			}
			continue
		case m.Name == "opening" || m.Name == "grip":
			if d.Grasp == nil {
				continue
			}
		case m.Name == "lift":
			if d.Grasp == nil || d.Object == nil {
				continue
			}
		case m.Name == "blade":
			if d.Place == nil {
				continue
			}
		}
		out = append(out, m)
	}
	return out
}

// tune checks the section tune against the dimensions and measures.
func (c *checker) tune() {
	t := c.design.Tune
	if t == nil {
		return
	}
	if c.given("tune.free") && t.Free.Len() == 0 {
		c.errorf("tune.free", "is empty; name one or more dimensions that may change")
	}
	for i, name := range t.Free.Names {
		c.free(name, &t.Free.Values[i], "tune.free."+name)
	}
	known := true
	for _, section := range []string{"order", "ramps", "clips"} {
		_, has := c.d.names[section]
		known = known && has && c.ok(section)
	}
	var names []string
	for _, m := range c.design.Measures() {
		names = append(names, m.Name)
	}
	measure := func(name, at string) {
		if known && c.given(at) && !slices.Contains(names, name) {
			c.errorf(at, "%s", notThere(name, "a measure of this finger", names, "there are "))
		}
	}
	sides := map[string]int{}
	for i := range t.Limits {
		l, at := &t.Limits[i], index("tune.limits", i)
		measure(l.Measure, at+".measure")
		side := l.Measure + " at_most"
		if l.AtLeast != nil {
			side = l.Measure + " at_least"
		}
		if first, twice := sides[side]; twice && c.ok(at) {
			c.errorf(at, "limits %s on the same side as %s; delete one", l.Measure, index("tune.limits", first))
		}
		sides[side] = i
	}
	for i := range t.Goals {
		measure(t.Goals[i].Measure, index("tune.goals", i)+".measure")
	}
}

// free checks the room of a dimension and fills in what its range gives.
func (c *checker) free(name string, f *Free, at string) {
	dim := c.design.Dimensions.Get(name)
	if dim == nil || !c.ok(at, "dimensions."+name) {
		return
	}
	if used := c.design.Origin.Uses["dimensions."+name+".value"]; len(used) > 0 {
		c.errorf(at, "dimension %q is computed from %s; free those, or give it a number", name, wordList(used, "and"))
		return
	}
	for k, end := range []**float64{&f.Low, &f.High} {
		key := []string{"low", "high"}[k]
		switch {
		case *end != nil:
			if r := dim.Range; len(r) == 2 && (**end < r[0] || **end > r[1]) {
				c.errorf(at+"."+key, "is %s%s, outside the dimension's range of %s to %s%s", exactNum(**end), unitSuffix(dim.Unit),
					exactNum(r[0]), exactNum(r[1]), unitSuffix(dim.Unit))
			}
		case len(dim.Range) == 2:
			v := dim.Range[k]
			*end = &v
		default:
			c.errorf(at, "needs %q, since dimension %q has no range", key, name)
		}
	}
	if f.Low == nil || f.High == nil || !c.ok(at) {
		return
	}
	if unit := unitSuffix(dim.Unit); *f.Low >= *f.High {
		c.errorf(at, "is empty: high (%s%s) must be above low (%s%s)", exactNum(*f.High), unit, exactNum(*f.Low), unit)
	}
}
