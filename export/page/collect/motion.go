package collect

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/export/page"
)

// stroke copies the cycle: poses of the parts, events in words, quantities.
func (in *Input) stroke(out *page.Data) {
	r := in.Stroke
	if r == nil || len(r.Samples) == 0 {
		return
	}
	st := &page.Stroke{Travel: in.Mechanism.Travel, Speed: in.Design.Drive.Speed, Turn: r.Turn, Grasp: -1}
	at := make([]int, len(in.Parts))
	for i, p := range in.Parts {
		at[i] = in.Mechanism.BodyIndex(p.Name)
	}
	var all []linkage.Pose
	for i := range r.Samples {
		all = r.Poses(all, i)
		poses := make([]linkage.Pose, len(at))
		for k, b := range at {
			poses[k] = all[b]
		}
		st.Frames = append(st.Frames, page.Frame{S: r.Samples[i].S, Force: r.Samples[i].Force, Poses: poses})
	}
	for _, e := range r.Events {
		st.Events = append(st.Events, page.Event{Frame: min(e.Sample, len(st.Frames)-1), S: e.S, Force: e.Force, Back: e.Back, Text: Words(in.Mechanism, &e),
			Joint: e.Kind == stroke.JointStarts || e.Kind == stroke.JointStops})
	}
	st.Series = append(in.quantities(out, st), in.Series...)
	in.grasp(out, st)
	out.Stroke = st
}

// Words says what an event is.
func Words(m *linkage.Mechanism, e *stroke.Event) string {
	switch e.Kind {
	case stroke.JointStarts:
		return e.Subject + " starts to move"
	case stroke.JointStops:
		return e.Subject + " comes to rest"
	case stroke.Jump:
		size := fmt.Sprintf("%.2f mm", math.Abs(e.Size))
		if k := m.JointIndex(e.Subject); k >= 0 && m.Joints[k].Kind == linkage.Pin {
			size = fmt.Sprintf("%.1f°", math.Abs(e.Size)*180/math.Pi)
		}
		return fmt.Sprintf("%s jumps by %s", e.Subject, size)
	case stroke.DriveBlocked:
		return "the drive is blocked"
	case stroke.LinksEnd:
		return "the links reach no further: " + e.Subject
	case stroke.Undetermined:
		return fmt.Sprintf("order undetermined: %s and %s at the same force", e.Subject, e.Other)
	}
	return e.Subject + ": " + string(e.Kind)
}

// quantities are the curves that the samples hold: opening, energy, and the
// force in every pin and slot.
func (in *Input) quantities(out *page.Data, st *page.Stroke) []page.Series {
	r := in.Stroke
	n := len(r.Samples)
	column := func(name, unit, key string, at func(i int) float64) page.Series {
		s := page.Series{Name: name, Unit: unit, Key: key, Values: make([]float64, n)}
		for i := range s.Values {
			s.Values[i] = at(i)
		}
		return s
	}
	var list []page.Series
	if len(out.Pads) == 2 {
		list = append(list, column("jaw opening", "mm", "opening", func(i int) float64 { return opening(out.Pads, st.Frames[i].Poses) }))
	}
	list = append(list, column("stored energy", "N·mm", "stored", func(i int) float64 { return r.Samples[i].Stored }))
	for k := range in.Mechanism.Joints {
		j := &in.Mechanism.Joints[k]
		switch j.Kind {
		case linkage.Pin:
			list = append(list, column("force in pin "+j.Name, "N", "", func(i int) float64 { f := r.JointForce(i, k); return math.Hypot(f[0], f[1]) }))
		case linkage.Slot:
			list = append(list, column("side force in slot "+j.Name, "N", "", func(i int) float64 { return math.Abs(r.JointForce(i, k)[0]) }))
		}
	}
	return list
}

// opening is the smallest distance across between two pad surfaces, over the
// ends of each that lie beside the other; NaN while they do not face.
func opening(pads []page.Pad, poses []linkage.Pose) float64 {
	best := math.NaN()
	for k := range 2 {
		on, of := pads[k], pads[1-k]
		a, b := poses[on.Body].Apply(on.From), poses[on.Body].Apply(on.To)
		along := r2.Sub(b, a)
		length := r2.Norm(along)
		out := r2.Vec{X: along.Y / length, Y: -along.X / length}
		for _, e := range []r2.Vec{of.From, of.To} {
			p := poses[of.Body].Apply(e)
			u := r2.Dot(r2.Sub(p, a), along) / (length * length)
			if gap := r2.Dot(r2.Sub(p, a), out); u >= 0 && u <= 1 && gap >= 0 && !(gap >= best) {
				best = gap
			}
		}
	}
	return best
}

// grasp finds the frame in which the jaws, closing on the way out, are as far
// apart as the object is high; without one, where they are at the end.
func (in *Input) grasp(out *page.Data, st *page.Stroke) {
	if len(out.Pads) != 2 {
		return
	}
	st.Grasp = st.Turn
	if out.Object == nil {
		return
	}
	open := st.Series[0].Values
	for i := st.Turn; i > 0; i-- {
		if open[i] <= out.Object.Height && open[i-1] > out.Object.Height {
			st.Grasp = i
			return
		}
	}
}
