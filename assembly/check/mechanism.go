package check

import (
	"fmt"
	"math"
	"strings"

	"tuckfinger/assembly/stroke"
	"tuckfinger/params/finding"
)

// mobility states what was counted. A mechanism that can't move or is not
// closed never gets this far: it is refused when it is built.
func mobility(in *Input, out *Findings) error {
	m := in.Mechanism.Mobility
	detail := fmt.Sprintf("%d by the rank of the closure's Jacobian, %d by the Kutzbach count", m.Freedoms, m.Kutzbach)
	const source = "Chebychev-Grübler-Kutzbach criterion"
	switch {
	case len(m.Redundant) > 0:
		out.state("mechanism", finding.Warn, "joints."+m.Redundant[0], source,
			detail+"; not determined by statics: "+strings.Join(m.Redundant, ", "))
	default:
		out.state("mechanism", finding.Pass, "joints", source, detail)
	}
	return nil
}

// travel compares how far the slide gets with how far it is sent, both ways.
func travel(in *Input, out *Findings) error {
	all, turn := in.Stroke.Samples, in.Stroke.Samples[in.Stroke.Turn].S
	const rounding = 1e6 // per mm
	way := func(subject string, gone, whole float64, h *stroke.Halt) {
		m := measure{subject: subject, value: math.Round(gone*rounding) / rounding, unit: "mm", def: math.Round(whole*rounding) / rounding,
			source: "this finger file: drive.travel", change: "drive.travel"}
		if h != nil {
			m.change, m.detail = h.Change, h.Error()
		}
		out.atLeast(m)
	}
	way("way out", turn-all[0].S, in.Mechanism.Travel, in.Stroke.Halt(false))
	way("way back", turn-all[len(all)-1].S, turn, in.Stroke.Halt(true))
	return nil
}

// leverArms compares the slide travel per turn of every link, while the slide
// turns it, with what a print's play can still steer: near a dead point the arm
// goes to zero. It is taken over stretches of the stroke; those with a jump,
// which turns a link at a standing slide, are not counted.
func leverArms(in *Input, out *Findings) error {
	const (
		least   = 1.0  // mm; common practice, no source
		stretch = 0.25 // mm of slide travel
		turns   = 0.01 // rad a stretch, below which a link does not turn
		swings  = 0.5  // rad over the cycle: links that only tilt need no lever
	)
	for b, body := range in.Mechanism.Bodies {
		if body.Ground {
			continue
		}
		arm, at, total := math.Inf(1), 0.0, 0.0
		from, jumped := 0, false
		for i := 1; i < len(in.S); i++ {
			jumped = jumped || in.Jumps[i]
			if i == in.Turn { // the slide turns round
				from, jumped = i, false
				continue
			}
			ds := math.Abs(in.S[i] - in.S[from])
			if ds < stretch {
				continue
			}
			dq := math.Abs(in.Cycle[i][b].Theta - in.Cycle[from][b].Theta)
			if !jumped {
				total += dq
				if dq > turns && ds/dq < arm {
					arm, at = ds/dq, in.S[i]
				}
			}
			from, jumped = i, false
		}
		if total < swings || math.IsInf(arm, 1) {
			continue
		}
		out.atLeast(measure{subject: body.Name, value: arm, unit: "mm", limit: "lever arm", def: least,
			source: "common practice, no source", change: "joints", more: true,
			detail: fmt.Sprintf("slide travel per radian, smallest at s = %.2f mm", at)})
	}
	return nil
}
