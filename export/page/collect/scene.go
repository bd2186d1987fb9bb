package collect

import (
	"strconv"

	"tuckfinger/assembly/linkage"
	"tuckfinger/export/glb"
	"tuckfinger/export/page"
)

// Scene is the assembly with its stroke for a GLB file, in the colours of the
// pages. The data must have meshes.
func Scene(d *page.Data) glb.Scene {
	s := glb.Scene{Name: d.Name, Generator: d.Tool}
	st := d.Stroke
	if st != nil && len(st.Frames) > 1 && st.Speed > 0 {
		at := make([]float64, len(st.Frames))
		for i := range at {
			at[i] = st.Frames[i].S
		}
		s.Times = glb.Times(at, st.Speed)
	}
	for i := range d.Bodies {
		b := &d.Bodies[i]
		body := glb.Body{Name: b.Name, Material: b.Material, Colour: colour(d.Colour(i)), Mesh: b.Mesh, Rest: b.Rest}
		for _, p := range d.Pins {
			if p.Body == i {
				body.Pins = append(body.Pins, glb.Pin{Name: p.Name, X: p.At.X, Y: p.At.Y, Z0: p.Z0, Z1: p.Z1, Radius: p.Radius})
			}
		}
		moves := false
		poses := make([]linkage.Pose, len(s.Times))
		for f := range poses {
			poses[f] = st.Frames[f].Poses[i]
			moves = moves || poses[f] != b.Rest
		}
		if moves {
			body.Poses = poses
		}
		s.Bodies = append(s.Bodies, body)
	}
	return s
}

// colour reads #rrggbb.
func colour(hex string) glb.Colour {
	part := func(i int) float64 {
		v, err := strconv.ParseUint(hex[i:i+2], 16, 8)
		if err != nil {
			return 0 // the colours are our own
		}
		return float64(v) / 255
	}
	return glb.Colour{R: part(1), G: part(3), B: part(5)}
}
