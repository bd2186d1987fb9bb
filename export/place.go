package export

import "tuckfinger/assembly"

// placeInfo is what the place asks of the arm; null without a place.
type placeInfo struct {
	Insertion  float64    `json:"insertion_mm"`
	Deepest    float64    `json:"deepest_mm"`
	FreeHeight float64    `json:"free_height_mm"`
	BladeFrom  float64    `json:"blade_from_x_mm"`
	Blade      float64    `json:"blade_mm"`
	Opening    float64    `json:"opening_mm"`
	Swept      float64    `json:"swept_area_mm2"`
	Moves      []moveInfo `json:"moves"`
}

type moveInfo struct {
	What     string  `json:"what"`
	Axis     string  `json:"axis"`
	Distance float64 `json:"distance_mm"`
}

func placeResults(a *assembly.Analysis) *placeInfo {
	p := a.Place
	if p == nil {
		return nil
	}
	out := &placeInfo{Insertion: p.Insertion, Deepest: p.Deepest, FreeHeight: p.Free, BladeFrom: p.BladeLo, Blade: p.Blade,
		Opening: p.Opening, Swept: p.Swept.Area(), Moves: []moveInfo{}}
	for _, m := range p.Moves {
		out.Moves = append(out.Moves, moveInfo{m.What, m.Axis, m.Distance})
	}
	return out
}
