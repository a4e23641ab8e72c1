package worlds

import "math/rand/v2"

// Before is what a vehicle does before its launch.
type Before int

// What it does.
const (
	Nothing Before = iota
	RollsBack
	Creeps
	Jabs
)

// Stopping is how a vehicle is brought to a stop after a start.
type Stopping int

// How it is.
const (
	Eased  Stopping = iota // deceleration follows speed down to 0.5 m/s²
	Firm                   // the brake is let go over 0.05 to 0.6 s before the vehicle stands
	Soft                   // over 0.5 to 1.5 s
	Mixed                  // firm and soft ones by turns
	Unseen                 // the log pauses while it brakes
)

// World is what a session is driven with, in and by.
type World struct {
	Name      string
	Vehicle   func(*rand.Rand) Vehicle
	Foot      func(*rand.Rand) Foot
	Before    Before
	Stopping  Stopping
	ShortRest bool // 0.5 to 2 s before each start, and none at the log's begin
	Receiver  Receiver
}

// The build-ups. Ordinary and brisk departures are measured, see docs/accuracy.md; the
// others are assumed.
var (
	quickFoot    = feet(0.03, 0.25)
	slowFoot     = feet(0.4, 1)
	longFoot     = feet(1, 4)
	briskFoot    = measured(0.88, 1.25, 2.35)
	ordinaryFoot = measured(0.45, 1.45, 4.1)
)

func plain(rate, noise float64) Receiver {
	return Receiver{Rate: rate, Noise: noise, Memory: 0.35, Place: 0.5}
}

func with(r Receiver, change func(*Receiver)) Receiver {
	change(&r)
	return r
}

// All are the worlds of the trial.
func All() []World {
	ten, fast := plain(10, 0.05), plain(25, 0.02)
	out := []World{
		{Name: "quick foot", Vehicle: car, Foot: quickFoot, Receiver: ten},
		{Name: "quick foot, 25 Hz", Vehicle: car, Foot: quickFoot, Receiver: fast},
		{Name: "step of thrust", Vehicle: car, Foot: stepped, Receiver: ten},
		{Name: "step of thrust, 25 Hz", Vehicle: car, Foot: stepped, Receiver: fast},
		{Name: "fed in over 0.4-1 s", Vehicle: car, Foot: slowFoot, Receiver: ten},
		{Name: "fed in over 0.4-1 s, 25 Hz", Vehicle: car, Foot: slowFoot, Receiver: fast},
		{Name: "fed in over 1-4 s", Vehicle: car, Foot: longFoot, Receiver: ten},
		{Name: "brisk departures", Vehicle: car, Foot: briskFoot, Receiver: ten},
		{Name: "ordinary departures", Vehicle: car, Foot: ordinaryFoot, Receiver: ten},
		{Name: "truck", Vehicle: truck, Foot: feet(0.2, 0.6), Receiver: ten},
		{Name: "manual gears", Vehicle: manual, Foot: quickFoot, Receiver: ten},
		{Name: "wheels spin and judder", Vehicle: spinning, Foot: quickFoot, Receiver: ten},
		{Name: "engine bogs", Vehicle: bogging, Foot: quickFoot, Receiver: ten},
		{Name: "rolls back", Vehicle: car, Foot: quickFoot, Before: RollsBack, Receiver: ten},
		{Name: "rolls back, 25 Hz", Vehicle: car, Foot: quickFoot, Before: RollsBack, Receiver: fast},
		{Name: "creeps before", Vehicle: car, Foot: quickFoot, Before: Creeps, Receiver: ten},
		{Name: "starts in two", Vehicle: car, Foot: quickFoot, Before: Jabs, Receiver: ten},
		{Name: "rests of 0.5-2 s", Vehicle: car, Foot: quickFoot, ShortRest: true, Receiver: ten},
	}
	for _, r := range []struct {
		name   string
		change func(*Receiver)
		from   Receiver
	}{
		{"lag of 0.1 s", func(r *Receiver) { r.Lag = 0.1 }, ten},
		{"lag of 0.2 s", func(r *Receiver) { r.Lag = 0.2 }, ten},
		{"lag of 0.1 s, 25 Hz", func(r *Receiver) { r.Lag = 0.1 }, fast},
		{"mean of 5", func(r *Receiver) { r.Mean = 5 }, ten},
		{"tracks, held below 0.4 m/s", func(r *Receiver) { r.Track, r.Hold, r.Late = 0.4, 0.4, 1 }, ten},
		{"lag of 0.2 s, held below 0.4 m/s, late by 1", func(r *Receiver) { r.Lag, r.Hold, r.Late = 0.2, 0.4, 1 }, ten},
		{"mean of 5, held below 0.3 m/s, late by 2", func(r *Receiver) { r.Mean, r.Hold, r.Late = 5, 0.3, 2 }, ten},
		{"tracks slowly, held below 0.5 m/s, late by 3", func(r *Receiver) { r.Track, r.Hold, r.Late = 0.3, 0.5, 3 }, ten},
		{"tracks, 25 Hz, held below 0.3 m/s, late by 3", func(r *Receiver) { r.Track, r.Hold, r.Late = 0.25, 0.3, 3 }, fast},
		{"held below 0.3 m/s, 25 Hz, late by 3", func(r *Receiver) { r.Hold, r.Late = 0.3, 3 }, fast},
		{"held below 0.3 m/s, late by 2", func(r *Receiver) { r.Hold, r.Late = 0.3, 2 }, ten},
		{"antenna on a squatting roof, 25 Hz", func(r *Receiver) { r.Squat = 2.6 }, fast},
		{"noise grows with speed", func(r *Receiver) { r.Noise, r.BySpeed = 0.01, 0.03 }, ten},
		{"noise grows with acceleration", func(r *Receiver) { r.Noise, r.ByAccel = 0.03, 0.06 }, ten},
		{"bursts of noise", func(r *Receiver) { r.Bursts = 4 }, ten},
		{"steps of multipath", func(r *Receiver) { r.Steps = 5 }, ten},
		{"heavy tails", func(r *Receiver) { r.Heavy = true }, ten},
		{"steps of 1 kn", func(r *Receiver) { r.Noise, r.Quantum = 0.03, knot }, ten},
		{"steps of 0.1 kn", func(r *Receiver) { r.Noise, r.Quantum = 0.03, knot/10 }, ten},
		{"positions alone, 5 cm", func(r *Receiver) { r.Blank, r.Place = true, 0.05 }, ten},
		{"lag of 0.05 s", func(r *Receiver) { r.Lag = 0.05 }, ten},
		{"lag of 0.3 s", func(r *Receiver) { r.Lag = 0.3 }, ten},
		{"lag of 0.05 s, 25 Hz", func(r *Receiver) { r.Lag = 0.05 }, fast},
		{"lag of 0.2 s, 25 Hz", func(r *Receiver) { r.Lag = 0.2 }, fast},
		{"mean of 3", func(r *Receiver) { r.Mean = 3 }, ten},
		{"tracks", func(r *Receiver) { r.Track = 0.4 }, ten},
	} {
		out = append(out, World{Name: r.name, Vehicle: car, Foot: quickFoot, Receiver: with(r.from, r.change)})
	}
	for _, stop := range []struct {
		name string
		as   Stopping
	}{{"firm", Firm}, {"soft", Soft}, {"mixed", Mixed}, {"unseen", Unseen}} {
		for _, r := range []struct {
			name string
			rx   Receiver
		}{
			{"no filter", ten}, {"no filter, 25 Hz", fast},
			{"lag of 0.1 s", with(ten, func(r *Receiver) { r.Lag = 0.1 })},
			{"lag of 0.1 s, 25 Hz", with(fast, func(r *Receiver) { r.Lag = 0.1 })},
			{"lag of 0.2 s", with(ten, func(r *Receiver) { r.Lag = 0.2 })},
			{"mean of 5", with(ten, func(r *Receiver) { r.Mean = 5 })},
			{"tracks", with(ten, func(r *Receiver) { r.Track = 0.4 })},
			{"held below 0.4 m/s, late by 2", with(ten, func(r *Receiver) { r.Hold, r.Late = 0.4, 2 })},
		} {
			out = append(out, World{Name: r.name + ", " + stop.name + " stops", Vehicle: car, Foot: quickFoot, Stopping: stop.as, Receiver: r.rx})
		}
	}
	return out
}
