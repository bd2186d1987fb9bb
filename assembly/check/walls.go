package check

import (
	"fmt"
	"math"
	"strings"

	"tuckfinger/parts"
	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

// raySpacing is the distance of wall and gap measurements along an edge, mm;
// the thinnest places found are refined.
const raySpacing = 0.5

// Wall is the thinnest wall, or the narrowest gap, of a part.
type Wall struct {
	Thickness float64 // mm; 0 if there is none
	profile.Wall
	Z0, Z1 float64 // of the slab where it is, as printed
}

// ThinnestWall returns the thinnest wall of a part as modelled, over all its
// slabs. Floors and roofs count as walls.
func ThinnestWall(p *parts.Part) (Wall, error) {
	return narrowest(p, profile.MinThickness)
}

func narrowest(p *parts.Part, measure func(profile.Region, float64) (profile.Wall, bool, error)) (Wall, error) {
	best := Wall{Thickness: math.Inf(1)}
	for _, s := range p.Layered.Slabs() {
		w, ok, err := measure(s.Region, raySpacing)
		if err != nil {
			return Wall{}, err
		}
		if ok && w.Width < best.Thickness {
			best = Wall{Thickness: w.Width, Wall: w, Z0: s.Z0, Z1: s.Z1}
		}
	}
	if math.IsInf(best.Thickness, 1) {
		return Wall{}, nil
	}
	return best, nil
}

func walls(in *Input, out *Findings) error {
	for _, p := range in.Parts {
		w, err := ThinnestWall(p)
		if err != nil {
			return err
		}
		if w.Thickness == 0 {
			continue
		}
		out.atLeast(measure{
			subject: p.Name, value: w.Thickness, unit: "mm", limit: "wall", def: in.printer.Minimum.Wall,
			source: in.printer.Minimum.Source, change: thin(p, w), more: true,
			detail: between(p, w),
		})
	}
	return nil
}

// thickBore is the wall around a bore, mm, from which on it is of no interest.
const thickBore = 5.0

// BoreWall returns the thinnest wall of a part as modelled around its bore with
// index i; ok is false if none is below 5 mm.
func BoreWall(p *parts.Part, i int) (w solid.BoreWall, ok bool) {
	bores := make([]solid.Bore, len(p.PrintedBores))
	for k, b := range p.PrintedBores {
		bores[k] = b.Bore
	}
	return p.Layered.BoreWall(bores, i, thickBore)
}

// boreWalls checks what is left around bores, which no section along the layers
// shows.
func boreWalls(in *Input, out *Findings) error {
	for _, p := range in.Parts {
		for i, b := range p.Bores {
			w, ok := BoreWall(p, i)
			if !ok {
				continue
			}
			other := "a face along the layers or a chamfer"
			switch {
			case w.Other >= 0:
				other = boreName(p.Bores[w.Other])
			case w.Tag > 0:
				other = p.Label(w.Tag)
			}
			out.atLeast(measure{
				subject: p.Name + " " + boreName(b), value: w.Width, unit: "mm", limit: "wall", def: in.printer.Minimum.Wall,
				source: in.printer.Minimum.Source, change: b.Path + ".diameter",
				detail: fmt.Sprintf("between it and %s at (%.2f, %.2f), z %.2f mm as printed", other, w.P.X, w.P.Y, w.P.Z),
			})
		}
	}
	return nil
}

func boreName(b parts.Bore) string {
	return fmt.Sprintf("bore from (%.1f, %.1f), z %.1f mm", b.From.X, b.From.Y, b.Z)
}

func slits(in *Input, out *Findings) error {
	for _, p := range in.Parts {
		w, err := narrowest(p, profile.MinGap)
		if err != nil {
			return err
		}
		if w.Thickness == 0 {
			continue
		}
		out.atLeast(measure{
			subject: p.Name, value: w.Thickness, unit: "mm", limit: "slit", def: in.printer.Minimum.Slit,
			source: in.printer.Minimum.Source, change: p.Path(w.Tag), more: true,
			detail: between(p, w),
		})
	}
	return nil
}

// thin returns the path of the feature to change for a thin wall: of the two
// sides the one that adds material, and is not just the outline.
func thin(p *parts.Part, w Wall) string {
	rank := func(tag int32) int {
		path := p.Path(tag)
		switch {
		case strings.HasSuffix(path, ".hole") || strings.HasSuffix(path, ".screws"):
			return 2 // its size is that of what goes in
		case p.Label(tag) == "outline":
			return 1
		}
		return 0
	}
	if rank(w.Tag) <= rank(w.OtherTag) {
		return p.Path(w.Tag)
	}
	return p.Path(w.OtherTag)
}

func between(p *parts.Part, w Wall) string {
	where := fmt.Sprintf("between %s and %s", p.Label(w.Tag), p.Label(w.OtherTag))
	if w.Tag == w.OtherTag {
		where = "across " + p.Label(w.Tag)
	}
	return fmt.Sprintf("%s at (%.2f, %.2f) mm, z %.2f to %.2f mm as printed", where, w.P.X, w.P.Y, w.Z0, w.Z1)
}

// relief checks that the slit behind a rail is wide enough for the ramp to be
// pushed out of the pin's way.
func relief(in *Input, out *Findings) error {
	const spare = 0.1 // mm; common practice, no source
	for i, name := range in.Design.Ramps.Names {
		r := &in.Design.Ramps.Values[i]
		slot := in.Design.Joints.Get(r.Slot).Slot
		push := r.Rise - slot.Play
		out.atLeast(measure{
			subject: "ramp " + name, value: r.Rail.Slit - push, unit: "mm", def: spare, source: "common practice, no source",
			change: "ramps." + name + ".rail.slit", more: true,
			detail: fmt.Sprintf("slit %.2f mm, the rail gives way by %.2f mm", r.Rail.Slit, push),
		})
	}
	return nil
}

// onePiece checks that each part hangs together.
func onePiece(in *Input, out *Findings) error {
	for _, p := range in.Parts {
		n, err := pieces(p.Layered)
		if err != nil {
			return err
		}
		out.atMost(measure{subject: p.Name, value: float64(n), unit: "1", def: 1, source: "a part is one solid",
			change: "bodies." + p.Name + ".features", detail: fmt.Sprintf("%d separate solids", n)})
	}
	return nil
}

// pieces counts connected solids: the slabs of a Layered are connected each, so
// only faces where two of them meet are looked at.
func pieces(l *solid.Layered) (int, error) {
	slabs := l.Slabs()
	group := make([]int, len(slabs))
	for i := range group {
		group[i] = i
	}
	root := func(i int) int {
		for group[i] != i {
			i = group[i]
		}
		return i
	}
	const (
		same  = 1e-6 // mm: heights of touching faces
		joint = 1e-3 // mm² of common face that holds two slabs together
	)
	for i, a := range slabs {
		for j := i + 1; j < len(slabs); j++ {
			b := slabs[j]
			if math.Abs(a.Z1-b.Z0) > same && math.Abs(b.Z1-a.Z0) > same {
				continue
			}
			common, err := profile.Intersect(a.Region, b.Region)
			if err != nil {
				return 0, err
			}
			if common.Area() > joint {
				group[root(j)] = root(i)
			}
		}
	}
	n := 0
	for i := range group {
		if root(i) == i {
			n++
		}
	}
	return n, nil
}
