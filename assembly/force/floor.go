package force

// FoldStarts reports whether a finger tip pressed on a floor begins to fold by
// itself: the contact must lie farther out from the pivot than friction × height,
// x > μ·h. reach is x − μ·h (mm), the margin; x is counted away from the pivot in
// the direction of the fold, h is the pivot's height above the contact. Decide
// with the contact point of the outline, not of its tip alone.
//
// Source: moment balance of the limiting floor force (1, μ) about the pivot.
func FoldStarts(x, h, mu float64) (reach float64, ok bool) {
	reach = x - mu*h
	return reach, reach > 0
}
