// Package solid holds the bodies that parts are made of.
//
// A Layered solid is a stack of slabs, each a plane region between two heights
// with optional 45° chamfers. Everything about it comes from the regions' lines
// and arcs: its signed distance, its mesh with sharp edges kept, its volume and
// inertia, its walls and gaps. Bodies that layers cannot describe are fields
// (FromSDF3), and Union, Difference and Drill combine the two.
//
// A map of the package:
//
//   - Solid, what every body can do: solid.go; fields made by others, unions:
//     wrap.go; bores: drill.go, carve.go; turned bodies: turn.go
//   - Slab, Layered, sections: layered.go; Builder: builder.go; moved and turned
//     over: place.go
//   - the signed distance: field.go, outline.go
//   - the mesher: mesher.go, flatten.go, emit.go; chamfers: band.go, bandfit.go; what
//     meets in a face or side by side: imprint.go, conform.go, seam.go; the
//     triangulation: plane.go, constrain.go
//   - volume, centroid, inertia, faces: measure.go; floors, gaps and walls:
//     columns.go; clearance: clearance.go; room about shafts: shaft.go; walls around
//     bores: borewall.go
//
// Lengths are millimetres, z is the printing direction. Fields are negative
// inside.
package solid

import (
	"github.com/deadsy/sdfx/sdf"

	"tuckfinger/parts/mesh"
)

// Solid is a body with a signed-distance field that can be meshed. It is safe
// for concurrent use.
type Solid interface {
	// Evaluate returns the signed distance in mm, negative inside; how true it
	// is, Precision tells. BoundingBox holds the body.
	sdf.SDF3
	// Lipschitz bounds how much Evaluate changes per mm of way. A search may
	// step by |Evaluate|/Lipschitz without passing the surface.
	Lipschitz() float64
	// Precision says what Evaluate's value means beyond its sign.
	Precision() Precision
	// Mesh returns a closed, oriented, edge-manifold surface within deviation mm
	// of the body's and a report of how it was made.
	Mesh(deviation float64) (*mesh.Mesh, Report, error)
}

// Precision says what the value of a field means. Clearances and walls may be
// read from an exact field only.
type Precision int

const (
	// Exact: the distance to the surface, to rounding.
	Exact Precision = iota
	// ExactInside: exact inside; outside never more than the distance.
	ExactInside
	// Bound: never more than the distance, on both sides.
	Bound
	// SignOnly: the value divided by Lipschitz never exceeds the distance.
	SignOnly
)

func (p Precision) String() string {
	switch p {
	case Exact:
		return "exact"
	case ExactInside:
		return "exact inside, lower bound outside"
	case Bound:
		return "lower bound"
	}
	return "lower bound times the Lipschitz constant"
}
