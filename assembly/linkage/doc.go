// Package linkage computes the poses of a planar mechanism from its closure.
//
// Every body has a pose (x, y, θ) in the frame of the grounded spine: mm, mm and
// radians, θ counter-clockwise. Joints are equations between poses: a pin two, a
// slide two, a slot one, a rigid connection three. What the equations leave free
// is the mobility; one freedom is the drive, the others are passive and settle
// under forces (package stroke).
//
//	New            a Mechanism from a design: bodies, joints, mobility, tucked pose
//	Mechanism.Move from one configuration to another by adaptive continuation
//	Mechanism.Poses, Coord, Sensitivity  what others read from a configuration
//	Work           the allocation-free kernel: residual, Jacobian, factors
//
// A configuration is a []float64 with three numbers per body, in the order of
// Mechanism.Bodies, the spine's included (always 0).
//
// The equations are those of absolute (Cartesian) coordinates, Haug, "Computer
// Aided Kinematics and Dynamics of Mechanical Systems", ch. 3 (from memory);
// the choice of independent coordinates by pivoting is Wehage & Haug's
// coordinate partitioning, J. Mech. Design 104 (1982) 247 (from memory).
package linkage
