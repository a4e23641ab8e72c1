package driveline

// Does says in words what a wheel does.
func (s *State) Does(wheel int) string {
	switch x := &s.Wheel[wheel]; {
	case x.Load == 0 && x.Driven && x.Spins && x.Brake > 1e-6:
		return "in the air, held by its brake"
	case x.Load == 0 && x.Driven && x.Spins:
		return "in the air and spins"
	case x.Load == 0:
		return "in the air"
	case !x.Driven:
		return "rolls along, not driven"
	case x.Spins && x.Brake > 1e-6:
		return "spins, held by its brake"
	case x.Spins && x.Thrust < 1e-6:
		return "spins and pushes nothing"
	case x.Spins:
		return "pushes at its limit and spins"
	case x.Thrust < 1e-6 && s.Moves:
		return "turns along and pushes nothing"
	case x.Thrust < 1e-6:
		return "stands"
	}
	return "pushes"
}
