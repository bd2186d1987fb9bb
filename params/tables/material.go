package tables

import (
	"fmt"
	"math"
)

// Material is a plastic or metal. Low ends serve checks of strength, typical
// values serve predictions, and the whole range serves scatter.
type Material struct {
	Name          string   `tf:"-"`
	Title         string   `tf:"title" doc:"What it is, for the bill of materials."`
	Like          string   `tf:"like" doc:"Material from which groups not given here are taken."`
	Forms         []string `tf:"forms" need:"1" enum:"filament|powder|resin|stock" doc:"How it is supplied; stock is not printed."`
	Modulus       *Stress  `tf:"modulus" need:"1" doc:"Young's modulus in the layer plane."`
	Poisson       *Ratio   `tf:"poisson" need:"1" doc:"Poisson's ratio."`
	StrengthXY    *Stress  `tf:"strength_xy" need:"1" doc:"Tensile strength in the layer plane."`
	StrengthZ     *Stress  `tf:"strength_z" need:"1" doc:"Tensile strength across layers."`
	Strain        *Strain  `tf:"strain" need:"1" doc:"Allowable strain."`
	Density       *Density `tf:"density" need:"1" doc:"Density of the solid material."`
	FrictionSelf  *Ratio   `tf:"friction_self" need:"1" doc:"Coulomb friction coefficient on itself; for plastics, plastic on plastic."`
	FrictionSteel *Ratio   `tf:"friction_steel" need:"1" doc:"Coulomb friction coefficient on smooth steel."`
}

// Stress is a range of a modulus or strength between materials of one name.
type Stress struct {
	Low     float64 `tf:"low,req" unit:"MPa" above:"0" doc:"Low end of the range."`
	Typical float64 `tf:"typical,req" unit:"MPa" above:"0" doc:"Value used for predictions."`
	High    float64 `tf:"high,req" unit:"MPa" above:"0" doc:"High end of the range."`
	Source  string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Ratio is a range of a pure number.
type Ratio struct {
	Low     float64 `tf:"low,req" unit:"1" min:"0" max:"5" doc:"Low end of the range."`
	Typical float64 `tf:"typical,req" unit:"1" min:"0" max:"5" doc:"Value used for predictions."`
	High    float64 `tf:"high,req" unit:"1" min:"0" max:"5" doc:"High end of the range."`
	Source  string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Strain is the largest allowable strain at the surface, a pure number (0.02 is
// 2 %): once in the assembly of a part, or repeatedly in use.
type Strain struct {
	Once           float64 `tf:"once,req" unit:"1" above:"0" max:"5" doc:"Once, in the layer plane."`
	Repeated       float64 `tf:"repeated,req" unit:"1" above:"0" max:"5" doc:"Repeatedly, in the layer plane."`
	OnceAcross     float64 `tf:"once_across,req" unit:"1" above:"0" max:"5" doc:"Once, across layers."`
	RepeatedAcross float64 `tf:"repeated_across,req" unit:"1" above:"0" max:"5" doc:"Repeatedly, across layers."`
	Source         string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Density is a mass per volume.
type Density struct {
	Value  float64 `tf:"value,req" unit:"g/cm3" above:"0" max:"25" doc:"Density of the solid material."`
	Source string  `tf:"source,req" doc:"Where the value comes from, or: common practice, no source."`
}

// Allowable returns the allowable strain for repeated or single loading, in the
// layer plane or across layers.
func (s Strain) Allowable(repeated, across bool) float64 {
	switch {
	case repeated && across:
		return s.RepeatedAcross
	case repeated:
		return s.Repeated
	case across:
		return s.OnceAcross
	}
	return s.Once
}

// ZRatio returns the strength across layers over the strength in the layer
// plane: the extremes that the two ranges allow, and the typical one.
func (m *Material) ZRatio() (low, typical, high float64) {
	z, xy := m.StrengthZ, m.StrengthXY
	return z.Low / xy.High, z.Typical / xy.Typical, z.High / xy.Low
}

// ShearModulus returns G = E/(2(1+ν)) in MPa from the typical E and ν, the
// relation of an isotropic solid.
func (m *Material) ShearModulus() float64 {
	return m.Modulus.Typical / (2 * (1 + m.Poisson.Typical))
}

// Mass returns the mass in g of a volume in mm³.
func (m *Material) Mass(volume float64) float64 { return m.Density.Value * volume / 1000 }

// FilamentLength returns how many metres of round filament (diameter in mm)
// weigh mass g.
func (m *Material) FilamentLength(mass, diameter float64) float64 {
	section := math.Pi / 4 * diameter * diameter // mm², and cm³ per metre
	return mass / (m.Density.Value * section)
}

func (m *Material) setName(name string) { m.Name = name }
func (m *Material) like() string        { return m.Like }

func (m *Material) inherit(b *Material) {
	if m.Title == "" {
		m.Title = b.Title
	}
	if m.Forms == nil {
		m.Forms = b.Forms
	}
	m.Modulus = or(m.Modulus, b.Modulus)
	m.Poisson = or(m.Poisson, b.Poisson)
	m.StrengthXY = or(m.StrengthXY, b.StrengthXY)
	m.StrengthZ = or(m.StrengthZ, b.StrengthZ)
	m.Strain = or(m.Strain, b.Strain)
	m.Density = or(m.Density, b.Density)
	m.FrictionSelf = or(m.FrictionSelf, b.FrictionSelf)
	m.FrictionSteel = or(m.FrictionSteel, b.FrictionSteel)
}

func (m Material) validate(path string) []error {
	// An isotropic elastic solid is stable only for ν < 1/2.
	if nu := m.Poisson.High; nu >= 0.5 {
		return []error{fmt.Errorf("%s.poisson.high: %g, must be below 0.5", path, nu)}
	}
	return nil
}

func (s Stress) validate(path string) []error { return ordered(path, s.Low, s.Typical, s.High) }
func (r Ratio) validate(path string) []error  { return ordered(path, r.Low, r.Typical, r.High) }

func ordered(path string, low, typical, high float64) []error {
	if low <= typical && typical <= high {
		return nil
	}
	return []error{fmt.Errorf("%s: low %g, typical %g, high %g; must not fall", path, low, typical, high)}
}

func (s Strain) validate(path string) []error {
	var errs []error
	if s.Repeated > s.Once {
		errs = append(errs, fmt.Errorf("%s.repeated: %g, must be at most once %g", path, s.Repeated, s.Once))
	}
	if s.RepeatedAcross > s.OnceAcross {
		errs = append(errs, fmt.Errorf("%s.repeated_across: %g, must be at most once_across %g", path, s.RepeatedAcross, s.OnceAcross))
	}
	return errs
}
