// Package stroke lets forces decide the order in which a finger moves.
//
// A Model is a mechanism (package linkage) with its force elements (laws of
// package force). The drive is moved in small steps of its coordinate s, out and
// back. At each step the passive coordinates, what the closure and the drive
// leave free, go to the nearest rest: stored energy and friction work least,
// joints closed, one-sided contacts respected. Friction at pins, slots and slides
// follows the joint forces. Where no rest is near, the mechanism falls to the next
// one at fixed s, and the jump is reported. Nothing here knows an order; it comes
// out as a list of events.
//
//	New, With       a Model from a design
//	Model.Run       the full stroke: samples, forces, energies, events
//	Model.Rules     the order rules: holding and driving force, margin, verdict
//	Model.Passive   folding on a floor with the drive released
//	Model.Grasp     opening, pad forces, usable range; Model.Drive motor demand
//	Model.Strains   largest strain of every rail and snap arm
//
// # Inside
//
//   - element.go is the interface of force elements; ramp.go, clip.go,
//     simple.go, grip.go, passive.go hold one or several each, build.go makes them
//     from the design. A new element is one file and a line in build.go.
//   - view.go shows elements a configuration and turns forces at points into
//     generalised ones.
//   - solver.go, frame.go and derive.go linearise forces along the passive coordinates
//     and move to rest; friction.go lets friction follow joint and contact forces.
//   - local.go and newton.go solve the linearised problem exactly from kink to
//     kink, one.go the usual case of one passive coordinate.
//   - run.go steps along s; step.go tries and chooses steps, work.go keeps their
//     energies, marks.go finds events in them; fall.go follows falls; halt.go tells why a half of the stroke ends early; rules.go and party.go judge
//     order rules;
//     report.go makes events; result.go, state.go, strain.go are what others read.
//
// # Conventions
//
// Lengths are mm, forces N, couples N·mm, energies N·mm, angles rad. The slide
// force is what the motor puts on the slide, positive along growing s. Passive
// coordinates are measured in mm: an angle times linkage.Mechanism.Scale.
//
// # Method
//
// The steps are those of rate-independent evolution by incremental minimisation
// (Mielke & Roubíček, Rate-Independent Systems, 2015, from memory), with two
// departures: friction bounds follow the joint forces and are iterated to
// consistency, and a step never crosses a barrier: it goes downhill only, so that
// snaps happen where stability is lost and not earlier. Energy is conserved by
// account: work in = stored + friction + snaps, Result.Imbalance is what
// integration misses.
//
// Hard stops and the floor are stiff springs; their stiffness is no property of a
// part and only has to be large against rails, arms and pads.
package stroke
