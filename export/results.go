package export

import (
	"io"

	"tuckfinger/assembly"
	"tuckfinger/export/bom"
	"tuckfinger/export/results"
	"tuckfinger/params/finding"
)

// resultsFile is results.json: all that a build computed, for programs.
type resultsFile struct {
	Finger    fingerInfo        `json:"finger"`
	Parts     []partInfo        `json:"parts"`
	BOM       bom.Bill          `json:"bom"`
	BOMTotals bom.Totals        `json:"bom_totals"`
	Mechanism mechanismInfo     `json:"mechanism"`
	Stroke    strokeInfo        `json:"stroke"`
	Order     []orderInfo       `json:"order"`
	Passive   *passiveInfo      `json:"passive"`
	Drive     driveInfo         `json:"drive"`
	Grasp     *graspInfo        `json:"grasp"`
	Place     *placeInfo        `json:"place"`
	Strength  []strengthInfo    `json:"strength"`
	Findings  []finding.Finding `json:"findings"`
}

type fingerInfo struct {
	Name     string  `json:"name"`
	Note     string  `json:"note"`
	Status   string  `json:"status"`
	Printer  string  `json:"printer"`
	Material string  `json:"material"`
	Mass     float64 `json:"printed_mass_g"`
}

type partInfo struct {
	Name      string     `json:"name"`
	Material  string     `json:"material"`
	Box       [3]float64 `json:"box_mm"`
	Volume    float64    `json:"volume_mm3"`
	Mass      float64    `json:"mass_g"`
	Triangles int        `json:"triangles"`
	Deviation float64    `json:"deviation_mm"`
	MinWall   float64    `json:"min_wall_mm"`
	Holes     []holeInfo `json:"holes"`
}

type holeInfo struct {
	Joint     string  `json:"joint"`
	Fit       string  `json:"fit"`
	Nominal   float64 `json:"nominal_mm"`
	Clearance float64 `json:"clearance_mm"`
	Modelled  float64 `json:"modelled_mm"`
}

type mechanismInfo struct {
	Mobility  int      `json:"mobility"`
	Kutzbach  int      `json:"kutzbach"`
	Redundant []string `json:"redundant"`
	Travel    float64  `json:"travel_mm"`
}

// Results writes all results as JSON.
func Results(w io.Writer, a *assembly.Analysis) error {
	bill, err := billOfMaterials(a)
	if err != nil {
		return err
	}
	d, m := a.Design, a.Mechanism
	out := resultsFile{
		Finger: fingerInfo{Name: d.Name, Note: d.Note, Status: finding.Worst(a.Findings).String(),
			Printer: d.Process.Printer, Material: d.Process.Material},
		Parts: []partInfo{}, BOM: bill, BOMTotals: bill.Totals(), Findings: a.Findings,
		Stroke: strokeResults(a), Order: orderResults(a), Passive: passiveResults(a), Drive: driveResults(a), Grasp: graspResults(a), Place: placeResults(a), Strength: strengthResults(a),
		Mechanism: mechanismInfo{Mobility: m.Mobility.Freedoms, Kutzbach: m.Mobility.Kutzbach, Redundant: append([]string{}, m.Mobility.Redundant...), Travel: m.Travel},
	}
	for _, p := range a.Prints {
		box := p.Mesh.Box()
		info := partInfo{Name: p.Part.Name, Material: p.Part.Material.Name,
			Box:    [3]float64{box.Max.X - box.Min.X, box.Max.Y - box.Min.Y, box.Max.Z - box.Min.Z},
			Volume: p.Volume, Mass: p.Mass, Triangles: len(p.Mesh.Triangles), Deviation: p.Deviation, MinWall: p.MinWall, Holes: []holeInfo{}}
		for _, h := range p.Part.Holes {
			info.Holes = append(info.Holes, holeInfo{h.Joint, h.Fit, h.Nominal, h.Clearance, h.Modelled})
		}
		out.Parts = append(out.Parts, info)
		out.Finger.Mass += p.Mass * float64(p.Part.Body.Print.Copies)
	}
	return results.Write(w, out, 0)
}
