package fingers

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"tuckfinger/assembly/study/sample"
	"tuckfinger/params"
	"tuckfinger/params/tables"
)

// Input is a number that differs between printed copies.
type Input struct {
	Name string
	// Nominal is the value of the drawing, in Unit. For a factor (of a modulus,
	// a friction coefficient) it is 1, without a unit.
	Nominal float64
	Unit    string
	Shape   string // the distribution in words: "normal, σ 0.03 mm"
	Source  string // who says so: the finger file or a table
	// Dist is the distribution of the deviation from Nominal.
	Dist sample.Dist

	dimension string                                  // set through the file's dimension
	apply     func(d *params.Design, v float64) error // or on a copy, by deviation
}

// inputs lists everything that scatters in a design: first its dimensions with
// a scatter of their own, then what comes from the printer and material tables,
// where no such dimension stands behind the value already.
func inputs(d *params.Design) ([]Input, error) {
	g := &gather{d: d, s: d.Scatter}
	if g.s == nil {
		g.s = &params.Scatter{}
	}
	g.dimensions()
	g.sizes()
	g.modulus()
	g.friction()
	g.holds()
	return g.list, g.err
}

type gather struct {
	d    *params.Design
	s    *params.Scatter
	list []Input
	err  error
}

func (g *gather) add(in Input, dist sample.Dist, err error) {
	if err != nil && g.err == nil {
		g.err = fmt.Errorf("scatter of %s: %w", in.Name, err)
	}
	in.Dist = dist
	g.list = append(g.list, in)
}

// settled reports whether a value follows from a dimension that scatters.
func (g *gather) settled(path string) bool {
	return slices.ContainsFunc(g.d.Origin.Uses[path], func(name string) bool {
		v := g.d.Dimensions.Get(name)
		return v != nil && v.Vary != nil
	})
}

// shape makes a distribution around zero.
func shape(kind string, spread float64) (sample.Dist, error) {
	if kind == "uniform" {
		return sample.Uniform(-spread, spread)
	}
	return sample.Normal(0, spread)
}

func words(kind string, spread float64, unit string) string {
	if unit == "1" {
		unit = ""
	}
	if unit != "" {
		unit = " " + unit
	}
	if kind == "uniform" {
		return fmt.Sprintf("uniform, ±%g%s", spread, unit)
	}
	return fmt.Sprintf("normal, σ %g%s", spread, unit)
}

func (g *gather) dimensions() {
	for i, name := range g.d.Dimensions.Names {
		v := &g.d.Dimensions.Values[i]
		if v.Vary == nil {
			continue
		}
		in := Input{Name: name, Nominal: v.Value, Unit: v.Unit, Source: "dimensions." + name + ".scatter",
			Shape: words(v.Vary.Kind, v.Vary.Spread, v.Unit), dimension: name}
		dist, err := shape(v.Vary.Kind, v.Vary.Spread)
		g.add(in, dist, err)
	}
}

// size adds a size from a table, or from the section scatter if own is given.
func (g *gather) size(path string, nominal, sigma float64, own *params.SizeScatter, key string, at func(d *params.Design) *float64) {
	if g.settled(path) {
		return
	}
	kind, source := "normal", "printers."+g.d.Process.Printer+".scatter."+key
	if own != nil {
		kind, sigma, source = own.Kind, own.Spread, "scatter."+key
	}
	if sigma == 0 {
		return
	}
	in := Input{Name: path, Nominal: nominal, Unit: "mm", Source: source, Shape: words(kind, sigma, "mm"),
		apply: func(d *params.Design, v float64) error {
			p := at(d)
			if *p += v; *p < 0 {
				return fmt.Errorf("%s comes out as %.3f mm: this copy cannot be put together", path, *p)
			}
			return nil
		}}
	dist, err := shape(kind, sigma)
	g.add(in, dist, err)
}

func (g *gather) sizes() {
	sigma := g.d.Printer().Scatter
	for i, name := range g.d.Ramps.Names {
		r := &g.d.Ramps.Values[i]
		at := "ramps." + name
		g.size(at+".height", r.Rise, sigma.Outline, g.s.Outline, "outline", func(d *params.Design) *float64 { return &d.Ramps.Values[i].Rise })
		g.size(at+".rail.thickness", r.Rail.Thickness, sigma.Outline, g.s.Outline, "outline", func(d *params.Design) *float64 { return &d.Ramps.Values[i].Rail.Thickness })
	}
	for i, name := range g.d.Clips.Names {
		a := &g.d.Clips.Values[i].Arm
		at := "clips." + name + ".arm"
		g.size(at+".thickness", a.Thickness, sigma.Outline, g.s.Outline, "outline", func(d *params.Design) *float64 { return &d.Clips.Values[i].Arm.Thickness })
		g.size(at+".hook_height", a.Height, sigma.Outline, g.s.Outline, "outline", func(d *params.Design) *float64 { return &d.Clips.Values[i].Arm.Height })
	}
	for i, name := range g.d.Joints.Names {
		if s := g.d.Joints.Values[i].Slot; s != nil {
			g.size("joints."+name+".slot.play", s.Play, sigma.Gap, g.s.Gap, "gap", func(d *params.Design) *float64 { return &d.Joints.Values[i].Slot.Play })
		}
	}
}

// share adds a factor: from the section scatter if own is given, else a
// triangular distribution over a table's range.
func (g *gather) share(name string, r tables.Ratio, own *params.ShareScatter, key, source string, apply func(d *params.Design, f float64)) {
	in := Input{Name: name, Nominal: 1, Source: source, apply: func(d *params.Design, v float64) error {
		if 1+v <= 0 {
			return fmt.Errorf("%s comes out %.2f times its value: this copy cannot be", name, 1+v)
		}
		apply(d, 1+v)
		return nil
	}}
	if own != nil {
		if own.Spread == 0 {
			return
		}
		in.Source, in.Shape = "scatter."+key, words(own.Kind, own.Spread, "")
		dist, err := shape(own.Kind, own.Spread)
		g.add(in, dist, err)
		return
	}
	if !(r.Typical > 0) || r.Low == r.High {
		return
	}
	low, high := r.Low/r.Typical-1, r.High/r.Typical-1
	in.Shape = fmt.Sprintf("triangular, %+.0f to %+.0f %%", 100*low, 100*high)
	g.add(in, distuv.NewTriangle(low, high, 0, nil), nil)
}

// elastic lists the materials of rails and arms, in the order of the file.
func (g *gather) elastic() []string {
	var list []string
	see := func(body string) {
		if m := g.d.Material(body).Name; !slices.Contains(list, m) {
			list = append(list, m)
		}
	}
	for i := range g.d.Ramps.Values {
		if j := g.d.Joints.Get(g.d.Ramps.Values[i].Slot); j != nil && j.Slot != nil {
			see(j.Slot.On)
		}
	}
	for i := range g.d.Clips.Values {
		see(g.d.Clips.Values[i].Arm.Body)
	}
	return list
}

func (g *gather) modulus() {
	given := g.d.Process.Modulus != nil
	for _, name := range g.elastic() {
		if given && name == g.d.Process.Material && g.settled("process.modulus") {
			continue
		}
		m := g.d.Lib.Materials.Get(name).Modulus
		g.share("modulus of "+name, tables.Ratio{Low: m.Low, Typical: m.Typical, High: m.High}, g.s.Modulus, "modulus", "materials."+name+".modulus",
			func(d *params.Design, f float64) {
				if given && name == d.Process.Material {
					*d.Process.Modulus *= f
				}
				material(d, name).Modulus = scaled(d.Lib.Materials.Get(name).Modulus, f)
			})
	}
}

// material gives a copy its own entry of the materials table, to be changed.
func material(d *params.Design, name string) *tables.Material {
	lib := *d.Lib
	lib.Materials.Values = slices.Clone(lib.Materials.Values)
	d.Lib = &lib
	return lib.Materials.Get(name)
}

func scaled(s *tables.Stress, f float64) *tables.Stress {
	out := *s
	out.Typical *= f
	return &out
}

// jointFriction is where a joint's own coefficient stands; nil without one.
func jointFriction(j *params.Joint) (mu *float64, kind string, steel bool) {
	switch {
	case j.Pin != nil:
		return j.Pin.Friction, "pin", j.Pin.Standard != "printed"
	case j.Slot != nil:
		return j.Slot.Friction, "slot", j.Slot.Standard != "printed"
	case j.Slide != nil:
		return j.Slide.Friction, "slide", false
	}
	return nil, "", false
}

// friction adds a factor for what meets steel and one for plastic on plastic; or
// a single one where the process gives one coefficient for both.
func (g *gather) friction() {
	d := g.d
	m := d.Lib.Materials.Get(d.Process.Material)
	joints := func(steel bool) (list []int) {
		for i, name := range d.Joints.Names {
			mu, kind, s := jointFriction(&d.Joints.Values[i])
			if mu != nil && s == steel && !g.settled("joints."+name+"."+kind+".friction") {
				list = append(list, i)
			}
		}
		return list
	}
	scale := func(d *params.Design, list []int, f float64) {
		for _, i := range list {
			mu, _, _ := jointFriction(&d.Joints.Values[i])
			*mu *= f
		}
	}
	onSteel, onSelf := joints(true), joints(false)
	if d.Process.Friction != nil {
		all := append(slices.Clone(onSteel), onSelf...)
		process := !g.settled("process.friction")
		if !process && len(all) == 0 {
			return
		}
		wide := tables.Ratio{Typical: 1,
			Low:  math.Min(m.FrictionSteel.Low/m.FrictionSteel.Typical, m.FrictionSelf.Low/m.FrictionSelf.Typical),
			High: math.Max(m.FrictionSteel.High/m.FrictionSteel.Typical, m.FrictionSelf.High/m.FrictionSelf.Typical)}
		g.share("friction", wide, g.s.Friction, "friction", "materials."+m.Name+".friction_steel, friction_self", func(d *params.Design, f float64) {
			if process {
				*d.Process.Friction *= f
			}
			scale(d, all, f)
		})
		return
	}
	for _, steel := range []bool{true, false} {
		name, key, r, list := "friction on steel", "friction_steel", *m.FrictionSteel, onSteel
		if !steel {
			name, key, r, list = "friction of plastic on plastic", "friction_self", *m.FrictionSelf, onSelf
		}
		g.share(name, r, g.s.Friction, "friction", "materials."+m.Name+"."+key, func(d *params.Design, f float64) {
			scale(d, list, f)
			for _, used := range bodyMaterials(d) {
				m := material(d, used)
				at := &m.FrictionSteel
				if !steel {
					at = &m.FrictionSelf
				}
				c := **at
				c.Typical *= f
				*at = &c
			}
		})
	}
}

// bodyMaterials lists the materials of all bodies.
func bodyMaterials(d *params.Design) []string {
	list := []string{d.Process.Material}
	for i := range d.Bodies.Values {
		if m := d.Bodies.Values[i].Material; m != "" && !slices.Contains(list, m) {
			list = append(list, m)
		}
	}
	return list
}

// holds scatter only if the file says so: no table knows magnets and plungers.
func (g *gather) holds() {
	for i, name := range g.d.Holds.Names {
		at := "holds." + name + ".torque"
		if g.s.Hold == nil || g.settled(at) {
			continue
		}
		g.share(at, tables.Ratio{}, g.s.Hold, "hold", "", func(d *params.Design, f float64) { d.Holds.Values[i].Torque *= f })
	}
}

// printed makes a copy of a design whose inputs deviate by v.
func printed(d *params.Design, in []Input, v []float64) (*params.Design, error) {
	dims := map[string]float64{}
	for i := range in {
		if in[i].dimension != "" {
			dims[in[i].dimension] = v[i]
		}
	}
	c, err := d.Copy(dims)
	if err != nil {
		return nil, short(err)
	}
	for i := range in {
		if in[i].apply != nil {
			if err := in[i].apply(c, v[i]); err != nil {
				return nil, err
			}
		}
	}
	return c, nil
}
