package linkage

import (
	"fmt"
	"strings"
)

// InputError is a design that makes no mechanism.
type InputError struct {
	Path    string // data path in the finger file
	Problem string
}

func (e *InputError) Error() string { return e.Path + ": " + e.Problem }

// ClosureError says that the joints can't all be closed.
type ClosureError struct {
	S        float64 // slide coordinate (mm)
	Joint    string  // joint with the largest gap
	Residual float64 // that gap (mm; rad for an angle)
	Reason   string
}

func (e *ClosureError) Error() string {
	return fmt.Sprintf("closure lost at s = %.3f mm, joint %s, gap %.3g mm: %s", e.S, e.Joint, e.Residual, e.Reason)
}

// DeadPointError says that the mechanism stands where its closure is singular:
// the commanded coordinates no longer determine the others.
type DeadPointError struct {
	S     float64 // slide coordinate (mm)
	Joint string  // joint whose equation is lost
	Ratio float64 // smallest over largest pivot of the closure's Jacobian
}

func (e *DeadPointError) Error() string {
	return fmt.Sprintf("dead point at s = %.3f mm, joint %s (pivot ratio %.2g); move it outside the travel or change the links that line up there", e.S, e.Joint, e.Ratio)
}

// MobilityError says that a mechanism has the wrong number of freedoms for
// what is asked of it.
type MobilityError struct {
	Mobility Mobility
	Joints   []string // joints (or start angles) that are too many, or bodies that may take one more start angle
	Reason   string
}

func (e *MobilityError) Error() string {
	s := e.Reason
	if len(e.Joints) > 0 {
		s += ": " + strings.Join(e.Joints, ", ")
	}
	return fmt.Sprintf("%s (mobility %d by rank, %d by count)", s, e.Mobility.Freedoms, e.Mobility.Kutzbach)
}
