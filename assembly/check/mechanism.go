package check

import (
	"fmt"
	"math"
	"strings"

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

// leverArms compares the smallest slide travel per turn of every link, while
// the slide turns it, with what a print's play can still steer. Near a dead
// point the arm goes to zero. Snaps, which turn a link at a standing slide, are
// not counted.
func leverArms(in *Input, out *Findings) error {
	const (
		least = 1.0  // mm; common practice, no source
		turns = 1e-4 // rad a step, below which a link does not turn
		moves = 1e-6 // mm a step, below which the slide stands
	)
	for b, body := range in.Mechanism.Bodies {
		if body.Ground {
			continue
		}
		// A link is judged by its fastest turns only: over each half of the
		// cycle, the arm of the step with the largest turn per travel.
		arm, at, total := math.Inf(1), 0.0, 0.0
		for i := 1; i < len(in.S); i++ {
			dq := math.Abs(in.Cycle[i][b].Theta - in.Cycle[i-1][b].Theta)
			ds := math.Abs(in.S[i] - in.S[i-1])
			total += dq
			if dq < turns || ds < moves {
				continue
			}
			if a := ds / dq; a < arm {
				arm, at = a, in.S[i]
			}
		}
		const swings = 0.5 // rad over the cycle: links that only tilt need no lever
		if total < swings || math.IsInf(arm, 1) {
			continue
		}
		out.atLeast(measure{subject: body.Name, value: arm, unit: "mm", limit: "lever arm", def: least,
			source: "common practice, no source", change: "joints", more: true,
			detail: fmt.Sprintf("slide travel per radian, smallest at s = %.2f mm", at)})
	}
	return nil
}
