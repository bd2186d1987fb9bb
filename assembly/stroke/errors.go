package stroke

import (
	"fmt"
	"strings"
)

// SettleError says that no equilibrium was found.
type SettleError struct {
	S        float64 // slide coordinate (mm)
	Joint    string  // joint that moves most in the unsettled direction
	Residual float64 // unbalanced force (N)
	Reason   string
}

func (e *SettleError) Error() string {
	return fmt.Sprintf("no equilibrium at s = %.3f mm, joint %s, unbalanced force %.3g N: %s", e.S, e.Joint, e.Residual, e.Reason)
}

// BlockedError says that the drive pushes against something that does not give
// way: the travel is longer than the mechanism, or a clip or ramp locks.
type BlockedError struct {
	S     float64  // slide coordinate (mm)
	Back  bool     // on the way back
	Force float64  // of the slide when it was given up (N)
	Joint string   // one whose end is met, or the drive
	Ends  []string // stops and slot ends that are met
}

func (e *BlockedError) Error() string {
	half, why := "out", "nothing gives way: a ramp or clip locks, or the links jam; lower its face angle or the friction"
	if e.Back {
		half = "back"
	}
	if len(e.Ends) > 0 {
		why = strings.Join(e.Ends, " and ") + " is met; end the travel before, move them, or let what is between give way"
	}
	return fmt.Sprintf("the drive is blocked on the way %s at s = %.3f mm, with more than %.0f N: %s", half, e.S, blockForce, why)
}
