package stroke

import "fmt"

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
// way: the travel is longer than the mechanism, or a clip or ramp locks. Halt tells
// what it is.
type BlockedError struct {
	S     float64 // slide coordinate (mm)
	Force float64 // of the slide when it was given up (N); +Inf where links jam
}

func (e *BlockedError) Error() string {
	return fmt.Sprintf("the drive is blocked at s = %.3f mm, with %.0f N", e.S, e.Force)
}
