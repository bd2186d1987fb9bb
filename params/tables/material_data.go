package tables

// Sources of the material data.
const (
	srcPrinted  = "public table of printed-plastic properties (range); typical is its middle"
	srcDensity  = "open printing profiles"
	srcRecalled = FromMemory + " (range of moulding and printing data sheets)"
	srcPoisson  = CommonPractice + "; " + FromMemory
	srcStrain   = CommonPractice + ": starting points for printed parts, repeated 0.6 of once " +
		"(plastics makers' snap-fit guides), across layers half; measure a coupon"
	srcZ        = CommonPractice + ": half of the strength in the layer plane"
	srcNoMu     = CommonPractice + "; no trustworthy published value for the printed plastic"
	srcMuRange  = "Shackelford, Materials Science and Engineering Handbook (2001), Table 399, and a public table of rough ranges; they disagree, the range covers both; typical: " + CommonPractice
	srcMuSteel  = CommonPractice
	srcSteel    = FromMemory + " (EN 1993-1-1, 3.2.6: E = 210 000 MPa, ν = 0.3)"
	srcSteelUTS = FromMemory + ": from the hardness range of the pin standard"
	srcSteelMu  = CommonPractice + ": dry or lightly oiled steel on steel"
)

func stress(low, typical, high float64, source string) *Stress {
	return &Stress{Low: low, Typical: typical, High: high, Source: source}
}

func ratio(low, typical, high float64, source string) *Ratio {
	return &Ratio{Low: low, Typical: typical, High: high, Source: source}
}

// strain follows one start value: 0.6 of it repeatedly, half of both across
// layers.
func strain(once float64) *Strain {
	return &Strain{Once: once, Repeated: 0.6 * once, OnceAcross: 0.5 * once, RepeatedAcross: 0.3 * once, Source: srcStrain}
}

func materials() Table[Material] {
	filament := []string{"filament"}
	return fresh([]Material{
		{
			Name: "PLA", Title: "polylactide", Forms: filament,
			Modulus: stress(3000, 3500, 4000, srcPrinted), Poisson: ratio(0.33, 0.36, 0.40, srcPoisson),
			StrengthXY: stress(50, 57.5, 65, srcPrinted), StrengthZ: stress(35, 40, 45, srcPrinted),
			Strain: strain(0.010), Density: &Density{1.24, srcDensity},
			FrictionSelf: ratio(0.20, 0.30, 0.50, srcNoMu), FrictionSteel: ratio(0.15, 0.25, 0.40, srcNoMu),
		},
		{
			Name: "PETG", Title: "glycol-modified PET", Forms: filament,
			Modulus: stress(2000, 2500, 3000, srcPrinted), Poisson: ratio(0.36, 0.38, 0.40, srcPoisson),
			StrengthXY: stress(44, 50, 56, srcPrinted), StrengthZ: stress(25, 31.5, 38, srcPrinted),
			Strain: strain(0.020), Density: &Density{1.27, srcDensity},
			FrictionSelf: ratio(0.20, 0.30, 0.50, srcNoMu), FrictionSteel: ratio(0.13, 0.25, 0.40, srcNoMu),
		},
		{
			Name: "ABS", Title: "acrylonitrile butadiene styrene", Forms: filament,
			Modulus: stress(1700, 2000, 2400, srcRecalled), Poisson: ratio(0.33, 0.35, 0.40, srcPoisson),
			StrengthXY: stress(28, 36, 45, srcRecalled), StrengthZ: stress(14, 18, 22.5, srcZ),
			Strain: strain(0.020), Density: &Density{1.04, srcDensity},
			FrictionSelf: ratio(0.20, 0.50, 0.75, srcMuRange), FrictionSteel: ratio(0.20, 0.35, 0.50, srcMuSteel),
		},
		{
			Name: "ASA", Title: "acrylonitrile styrene acrylate", Forms: filament,
			Modulus: stress(1700, 2000, 2400, srcRecalled), Poisson: ratio(0.33, 0.35, 0.40, srcPoisson),
			StrengthXY: stress(30, 40, 50, srcRecalled), StrengthZ: stress(15, 20, 25, srcZ),
			Strain: strain(0.020), Density: &Density{1.07, srcDensity},
			FrictionSelf: ratio(0.20, 0.50, 0.75, CommonPractice+": as ABS"), FrictionSteel: ratio(0.20, 0.35, 0.50, srcMuSteel),
		},
		{
			Name: "PA12", Title: "polyamide 12", Forms: []string{"filament", "powder"},
			Modulus: stress(1200, 1500, 1800, srcRecalled), Poisson: ratio(0.35, 0.40, 0.42, srcPoisson),
			StrengthXY: stress(40, 45, 50, srcRecalled), StrengthZ: stress(20, 22.5, 25, srcZ+"; sintered parts reach more"),
			Strain: strain(0.030), Density: &Density{1.01, FromMemory},
			FrictionSelf: ratio(0.04, 0.30, 0.50, srcMuRange+"; both for polyamide 6/6 or unnamed grades"), FrictionSteel: ratio(0.10, 0.20, 0.35, srcMuSteel),
		},
		{
			Name: "PC", Title: "polycarbonate", Forms: filament,
			Modulus: stress(2000, 2200, 2400, srcRecalled), Poisson: ratio(0.35, 0.37, 0.39, srcPoisson),
			StrengthXY: stress(55, 62, 70, srcRecalled), StrengthZ: stress(27.5, 31, 35, srcZ),
			Strain: strain(0.025), Density: &Density{1.22, srcDensity + " (a PC blend)"},
			FrictionSelf: ratio(0.40, 0.52, 0.65, "Shackelford, Materials Science and Engineering Handbook (2001), Table 399 (typical), and a public table of rough ranges"), FrictionSteel: ratio(0.20, 0.35, 0.50, srcMuSteel),
		},
		{
			Name: "TPU-95A", Title: "thermoplastic polyurethane, 95 Shore A", Forms: []string{"filament", "powder"},
			Modulus: stress(20, 60, 150, srcRecalled), Poisson: ratio(0.45, 0.48, 0.49, srcPoisson),
			StrengthXY: stress(25, 35, 50, srcRecalled), StrengthZ: stress(12.5, 17.5, 25, srcZ),
			Strain: strain(0.10), Density: &Density{1.22, srcDensity + " (flexible filament)"},
			FrictionSelf: ratio(0.50, 0.80, 1.20, srcNoMu), FrictionSteel: ratio(0.40, 0.60, 1.00, srcNoMu),
		},
		{
			Name: "resin", Title: "tough photopolymer resin", Forms: []string{"resin"},
			Modulus: stress(1500, 2000, 2800, srcRecalled), Poisson: ratio(0.35, 0.40, 0.45, srcPoisson),
			StrengthXY: stress(35, 45, 60, srcRecalled), StrengthZ: stress(28, 36, 48, CommonPractice+": 0.8 of the strength in the layer plane"),
			Strain: strain(0.020), Density: &Density{1.15, FromMemory},
			FrictionSelf: ratio(0.20, 0.35, 0.60, srcNoMu), FrictionSteel: ratio(0.15, 0.30, 0.50, srcNoMu),
		},
		{
			Name: "steel", Title: "steel, unhardened", Forms: []string{"stock"},
			Modulus: stress(200e3, 210e3, 215e3, srcSteel), Poisson: ratio(0.27, 0.30, 0.30, srcSteel),
			StrengthXY: stress(400, 500, 780, srcSteelUTS), StrengthZ: stress(400, 500, 780, srcSteelUTS),
			Strain: elastic(0.001), Density: &Density{7.85, FromMemory + " (nominal density of steel)"},
			FrictionSelf: ratio(0.10, 0.15, 0.25, srcSteelMu), FrictionSteel: ratio(0.10, 0.15, 0.25, srcSteelMu),
		},
		{
			Name: "steel-hardened", Title: "steel, through-hardened", Forms: []string{"stock"},
			Modulus: stress(200e3, 210e3, 215e3, srcSteel), Poisson: ratio(0.27, 0.30, 0.30, srcSteel),
			StrengthXY: stress(1600, 1800, 2100, srcSteelUTS), StrengthZ: stress(1600, 1800, 2100, srcSteelUTS),
			Strain: elastic(0.004), Density: &Density{7.85, FromMemory + " (nominal density of steel)"},
			FrictionSelf: ratio(0.10, 0.15, 0.25, srcSteelMu), FrictionSteel: ratio(0.10, 0.15, 0.25, srcSteelMu),
		},
	}, func(m *Material) string { return m.Name })
}

// elastic is the strain limit of a metal: about half its yield strain, the same
// in every direction.
func elastic(limit float64) *Strain {
	return &Strain{Once: limit, Repeated: limit, OnceAcross: limit, RepeatedAcross: limit,
		Source: CommonPractice + ": about half of the yield strain"}
}
