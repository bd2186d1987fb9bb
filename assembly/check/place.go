package check

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/parts/profile"
)

// bladeSide is the air that the inserted blade keeps on either side, mm.
// Common practice, no source.
const bladeSide = 0.3

// Reach is an x range in the spine's frame, mm, and the parts at its ends.
type Reach struct {
	Low, High     float64
	LowBy, HighBy string
}

// Blade returns the x range of the tucked finger as far as it goes into the
// place; ok is false without a place or where nothing goes in. It needs the
// design, parts and mechanism of the input and the first pose of the cycle.
func Blade(in *Input) (r Reach, ok bool, err error) {
	place := in.Design.Place
	if place == nil || len(in.Cycle) == 0 {
		return r, false, nil
	}
	mouth := place.Floor + place.Depth
	r.Low, r.High = math.Inf(1), math.Inf(-1)
	err = in.outlines(in.Cycle[0], func(name string, region profile.Region, pose linkage.Pose) error {
		x0, x1, ok, err := reachBelow(region, pose, mouth)
		if err != nil || !ok {
			return err
		}
		if x0 < r.Low {
			r.Low, r.LowBy = x0, name
		}
		if x1 > r.High {
			r.High, r.HighBy = x1, name
		}
		return nil
	})
	return r, err == nil && r.LowBy != "", err
}

// blade compares the tucked finger with the gap: at s = 0 its outlines below the
// mouth must leave air to the wall and to the object.
func blade(in *Input, out *Findings) error {
	place := in.Design.Place
	r, ok, err := Blade(in)
	if err != nil || !ok {
		return err
	}
	detail := fmt.Sprintf("blade from x = %.2f mm (%s) to %.2f mm (%s), %.2f mm thick, in a gap of %.2f mm", r.Low, r.LowBy, r.High, r.HighBy, r.High-r.Low, place.Gap)
	out.atLeast(measure{subject: "to the wall", value: r.Low - place.Wall, unit: "mm", limit: "blade side", def: bladeSide,
		source: "common practice, no source", change: "place.gap", more: true, detail: detail})
	out.atLeast(measure{subject: "to the object", value: place.Wall + place.Gap - r.High, unit: "mm", limit: "blade side", def: bladeSide,
		source: "common practice, no source", change: "place.gap", more: true, detail: detail})
	return nil
}

// outlines visits the outline of every slab of every part that moves or stands
// in the motion plane, with its pose.
func (in *Input) outlines(poses []linkage.Pose, visit func(string, profile.Region, linkage.Pose) error) error {
	for _, p := range in.Parts {
		if p.Body.Plane == "xz" {
			continue
		}
		pose := poses[in.Mechanism.BodyIndex(p.Name)]
		for _, s := range p.Solid.Slabs() {
			if err := visit(p.Name, s.Region, pose); err != nil {
				return err
			}
		}
	}
	return nil
}

// reachBelow returns the x range, in the spine frame, of the part of a posed
// region that lies below y = top.
func reachBelow(r profile.Region, pose linkage.Pose, top float64) (x0, x1 float64, ok bool, err error) {
	moved := r.Transform(profile.Rigid(pose.Theta, r2.Vec{X: pose.X, Y: pose.Y}))
	box, any := moved.Box()
	if !any || box.Min.Y >= top {
		return 0, 0, false, nil
	}
	if box.Max.Y > top {
		cut, err := profile.Rect(r2.Vec{X: box.Min.X - 1, Y: box.Min.Y - 1}, r2.Vec{X: box.Max.X + 1, Y: top}, 0)
		if err != nil {
			return 0, 0, false, err
		}
		if moved, err = profile.Intersect(moved, cut); err != nil {
			return 0, 0, false, err
		}
		if box, any = moved.Box(); !any {
			return 0, 0, false, nil
		}
	}
	return box.Min.X, box.Max.X, true, nil
}
