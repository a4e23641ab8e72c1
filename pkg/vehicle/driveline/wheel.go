package driveline

// The wheels, as indices.
const (
	FrontLeft = iota
	FrontRight
	RearLeft
	RearRight
	Wheels
)

// WheelName names a wheel.
func WheelName(i int) string {
	return [Wheels]string{"front left", "front right", "rear left", "rear right"}[i]
}

// Wheel is what one wheel does.
type Wheel struct {
	Load   float64 // N
	Limit  float64 // N it can pass
	Thrust float64 // N it passes
	Torque float64 // N·m on its half shaft
	Brake  float64 // N·m held by its brake
	Driven bool
	Spins  bool // torque beyond its grip makes it spin
}

// Does says in words what a wheel does.
func (s *State) Does(wheel int) string {
	x := &s.Wheel[wheel]
	air, held, idle := x.Load == 0, x.Brake > noForce, x.Thrust < noForce
	switch {
	case air && x.Driven && x.Spins && held:
		return "in the air, held by its brake"
	case air && x.Driven && x.Spins:
		return "in the air and spins"
	case air:
		return "in the air"
	case !x.Driven:
		return "rolls along, not driven"
	case x.Spins && held:
		return "spins, held by its brake"
	case x.Spins && idle:
		return "spins and pushes nothing"
	case x.Spins:
		return "pushes at its limit and spins"
	case idle && s.Moves:
		return "turns along and pushes nothing"
	case idle:
		return "stands"
	}
	return "pushes"
}
