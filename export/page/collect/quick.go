package collect

import (
	"fmt"

	"tuckfinger/assembly"
	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/export/page"
	"tuckfinger/params"
	"tuckfinger/parts"
)

// Quick computes what the mechanism view needs and nothing else: parts without
// meshes, and the stroke. It is what a live page shows first.
func Quick(d *params.Design) (*page.Data, error) {
	in := &Input{Design: d}
	var err error
	if in.Parts, err = parts.Build(d); err != nil {
		return nil, err
	}
	if in.Items, err = parts.Hardware(d, in.Parts); err != nil {
		return nil, err
	}
	if in.Mechanism, err = linkage.New(d); err != nil {
		return nil, withPlace(d, err)
	}
	model, err := stroke.With(in.Mechanism, d, stroke.Options{Step: assembly.PoseStep, Weights: assembly.Weights(in.Parts)})
	if err != nil {
		return nil, err
	}
	if in.Stroke, err = model.Run(); err != nil {
		return nil, withPlace(d, err)
	}
	out, err := Data(in)
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	return out, nil
}

// withPlace gives an error its place in the file by taking the long way, which
// fails at the same point.
func withPlace(d *params.Design, err error) error {
	if _, better := assembly.Examine(d, nil); better != nil {
		return better
	}
	return err
}
