package export

import (
	"fmt"

	"tuckfinger/assembly"
	"tuckfinger/export/bom"
)

// bomKinds are the kinds of parts.Item in a bill.
var bomKinds = map[string]bom.Kind{
	"pin": bom.Pin, "screw": bom.Screw, "nut": bom.Nut, "washer": bom.Washer, "insert": bom.Insert,
	"spring": bom.Spring, "pad": bom.Pad, "drive": bom.Drive,
}

// billOfMaterials counts what is placed: printed parts and bought items.
func billOfMaterials(a *assembly.Analysis) (bom.Bill, error) {
	var all []bom.Instance
	for _, p := range a.Prints {
		box := p.Mesh.Box()
		one := bom.Instance{Kind: bom.Printed, Item: p.Part.Name, Mass: p.Mass, Material: p.Part.Material.Name, Where: p.Part.Body.Role,
			Size: fmt.Sprintf("%.1f × %.1f × %.1f mm", box.Max.X-box.Min.X, box.Max.Y-box.Min.Y, box.Max.Z-box.Min.Z)}
		for range p.Part.Body.Print.Copies {
			all = append(all, one)
		}
	}
	for _, it := range a.Items {
		kind, ok := bomKinds[it.Kind]
		if !ok {
			kind = bom.Other
		}
		note := it.Note
		if it.Problem != "" {
			note = "no standard length fits"
		}
		one := bom.Instance{Kind: kind, Item: it.What, Standard: it.Standard, Size: it.Size, Length: it.Length, Mass: it.Mass, Where: it.Where, Note: note}
		for range it.Count {
			all = append(all, one)
		}
	}
	return bom.Collect(all)
}
