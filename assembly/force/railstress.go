package force

// Stress returns what the rail bears with the pin at x; zero where the pin does
// not squeeze it or the wall is no rail.
func (l *RampLaw) Stress(x float64) RailStress {
	rail, ok := l.ramp.Wall.(*RailLaw)
	s := l.At(x)
	if !ok || s.Deflection <= 0 {
		return RailStress{}
	}
	return rail.Stress(l.ramp.Origin+x, s.Deflection)
}
