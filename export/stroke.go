package export

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"tuckfinger/assembly"
	"tuckfinger/assembly/linkage"
	"tuckfinger/export/folder"
	"tuckfinger/export/page/collect"
	"tuckfinger/export/table"
)

// StrokeTable writes the poses and forces along the stroke, out and back, as
// CSV: what a robot controller needs.
func StrokeTable(w io.Writer, a *assembly.Analysis) error {
	m := a.Mechanism
	cols := []table.Column{{Name: "half"}, {Name: "s", Unit: "mm"}, {Name: "slide_force", Unit: "N"}, {Name: "stored", Unit: "N·mm"}, {Name: "lost", Unit: "N·mm"}}
	moves := moving(m)
	for i, b := range m.Bodies {
		if moves[i] {
			cols = append(cols, table.Column{Name: b.Name + "_x", Unit: "mm"}, table.Column{Name: b.Name + "_y", Unit: "mm"}, table.Column{Name: b.Name + "_angle", Unit: "deg"})
		}
	}
	opening := map[float64]float64{}
	if a.Grasp != nil {
		cols = append(cols, table.Column{Name: "opening", Unit: "mm"})
		for _, g := range a.Grasp.Samples {
			opening[g.S] = g.Opening
		}
	}
	t, err := table.NewWriter(w, cols...)
	if err != nil {
		return err
	}
	var poses []linkage.Pose
	for i := range a.Stroke.Samples {
		s := &a.Stroke.Samples[i]
		poses = a.Stroke.Poses(poses, i)
		row := []any{half(s.Back), s.S, s.Force, s.Stored, s.Friction + s.Snap}
		for b, p := range poses {
			if moves[b] {
				row = append(row, p.X, p.Y, p.Theta*180/math.Pi)
			}
		}
		if a.Grasp != nil {
			if o, ok := opening[s.S]; ok && !s.Back {
				row = append(row, o)
			} else {
				row = append(row, "") // the pads do not face each other there
			}
		}
		if err := t.Row(row...); err != nil {
			return err
		}
	}
	return t.Close()
}

// moving tells which bodies are neither the spine nor fixed to it.
func moving(m *linkage.Mechanism) []bool {
	still := make([]bool, len(m.Bodies))
	still[m.Ground] = true
	for changed := true; changed; {
		changed = false
		for _, j := range m.Joints {
			if j.Kind == linkage.Rigid && still[j.A] != still[j.B] {
				still[j.A], still[j.B], changed = true, true, true
			}
		}
	}
	for i := range still {
		still[i] = !still[i]
	}
	return still
}

func half(back bool) string {
	if back {
		return "back"
	}
	return "out"
}

// StrokeFile writes the stroke table to a file, whole or not at all.
func StrokeFile(name string, a *assembly.Analysis) error {
	var b bytes.Buffer
	if err := StrokeTable(&b, a); err != nil {
		return err
	}
	return folder.WriteFile(name, b.Bytes())
}

// largest is the largest slide force along the stroke, N, with or against it.
func largest(a *assembly.Analysis) (most float64) {
	for i := range a.Stroke.Samples {
		most = math.Max(most, math.Abs(a.Stroke.Samples[i].Force))
	}
	return most
}

// Events prints what happens along the stroke, out and back.
func Events(w io.Writer, a *assembly.Analysis) error {
	b := &strings.Builder{}
	// Small forces with the digits that tell them apart.
	digits := 2
	for most := largest(a); most > 0 && most < 1 && digits < 4; most *= 10 {
		digits++
	}
	newtons := func(f float64) string {
		t := strconv.FormatFloat(f, 'f', digits, 64)
		if strings.Trim(t, "-0.") == "" {
			return strings.TrimPrefix(t, "-") // nothing is left of it, so it has no sign
		}
		return t
	}
	for _, back := range []bool{false, true} {
		fmt.Fprintf(b, "%s\n  %8s  %10s  %s\n", half(back), "s mm", "slide N", "event")
		for i := range a.Stroke.Events {
			if e := &a.Stroke.Events[i]; e.Back == back {
				fmt.Fprintf(b, "  %8.2f  %10s  %s\n", e.S, newtons(e.Force), collect.Words(a.Mechanism, e))
			}
		}
	}
	out, in := a.Stroke.Peak()
	fmt.Fprintf(b, "largest slide force: out %s N, back %s N\n", newtons(out), newtons(in))
	_, err := io.WriteString(w, b.String())
	return err
}
