package synth

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"fromrest/pkg/unit"
)

// Kind is what a vehicle does in one event of a session.
type Kind int

// The kinds of events.
const (
	Start   Kind = iota // a standing start
	Aborted             // a standing start given up below 25 mph
	Creep               // a short move at walking speed
	Idle                // standing still, for Seconds
	Circle              // a slow full circle
	Drive               // driving about below 27 mph with corners and stops, for Seconds
	Pull                // a rolling start from the speed From
)

// Event is one thing that happens in a session. The vehicle comes to rest after
// each; before a Start, an Aborted one or a Pull it stands still for 2-20 s.
type Event struct {
	Kind    Kind
	Mode    string
	Vehicle Vehicle
	Truth   *Truth  // a run given ready-made, such as a closed form, instead of Vehicle
	Reverse bool    // in the direction opposite to the scenario's heading
	LiftAt  float64 // s after the launch, for runs in which the driver lifts
	LiftFor float64 // s, 0 for no lift
	Seconds float64 // s, for Idle and Drive
	From    float64 // m/s, for Pull
}

// Scenario is a session to simulate. The zero value of each field is usable.
type Scenario struct {
	Begin      time.Time // UTC; 2026-05-09 08:30:00 if zero
	HeadingDeg float64   // of the surface, degrees from true north
	LatDeg     float64   // degrees north of the first standstill
	LonDeg     float64   // degrees east
	Altitude   float64   // m
	Road       Road      // in the scenario's heading; reversed for the other direction
	Events     []Event
	Variation  Variation
	// RestMin and RestMax bound the standstill before each run; 2 and 20 s if
	// both are 0.
	RestMin, RestMax float64 // s
	Brake            float64 // m/s², deceleration after each run; 6 if 0
}

// Run is one standing start or pull of a session.
type Run struct {
	*Truth
	Kind    Kind // Start, Aborted or Pull
	Mode    string
	Launch  float64 // s since the session's start; of a Pull, when the pedal went down
	Heading float64 // rad clockwise from true north
	Reverse bool
	Rest    float64 // s it stood still before
	Braking Braking
}

// Braking is the stop after a run.
type Braking struct {
	Start    float64 // s since the session's start at which deceleration sets in
	Speed    float64 // m/s there
	Distance float64 // m to the stop
	Seconds  float64 // s to the stop
}

// Session is a simulated session.
type Session struct {
	Scenario Scenario
	Motion   Motion
	Runs     []*Run // in order, aborted ones and pulls too
}

// LaunchTime returns the launch of a run as an instant in UTC.
func (s *Session) LaunchTime(r *Run) time.Time {
	return s.Scenario.Begin.Add(time.Duration(math.Round(r.Launch * 1e9)))
}

// Starts returns the standing starts that were driven out.
func (s *Session) Starts() []*Run {
	return slices.DeleteFunc(slices.Clone(s.Runs), func(r *Run) bool { return r.Kind != Start })
}

// How the driver drives between runs (invented); what is drawn at each stands
// where it is drawn, in s, m/s and m/s².
const (
	shortestRest = 2.0  // s
	longestRest  = 20.0 // s
	hardBrake    = 6.0  // m/s², after a run
	softBrake    = 1.5  // m/s², elsewhere
	coasting     = 0.3  // m/s², off the pedal
	turnSpeed    = 4.0  // m/s
	turnAccel    = 1.2  // m/s²
	turnRadius   = 9.0  // m
	backSpeed    = 11.5 // m/s, driving back to the line
)

// driver moves the vehicle through a scenario.
type driver struct {
	rng     *rand.Rand
	sc      *Scenario
	m       Motion
	runs    []*Run
	reverse bool // which way the vehicle points
}

// Simulate drives the scenario. The same seed gives the same session.
func (sc Scenario) Simulate(seed uint64) (*Session, error) {
	if sc.Begin.IsZero() {
		sc.Begin = time.Date(2026, 5, 9, 8, 30, 0, 0, time.UTC)
	}
	if sc.RestMin == 0 && sc.RestMax == 0 {
		sc.RestMin, sc.RestMax = shortestRest, longestRest
	}
	sc.Brake = cmp.Or(sc.Brake, hardBrake)
	d := &driver{rng: rand.New(rand.NewPCG(seed, 0x66726f6d72657374)), sc: &sc}
	d.m.Grade, d.m.Axis = sc.Road.Grade, sc.HeadingDeg*math.Pi/180
	d.m.push(0, 0, 0, 0, d.m.Axis, 0, 0)
	d.m.hold(d.draw(3, 3))
	for i, ev := range sc.Events {
		if err := d.drive(ev); err != nil {
			return nil, fmt.Errorf("event %d: %w", i+1, err)
		}
	}
	d.m.hold(d.draw(4, 3))
	return &Session{Scenario: sc, Motion: d.m, Runs: d.runs}, nil
}

// draw draws evenly from least to least plus span.
func (d *driver) draw(least, span float64) float64 { return least + span*d.rng.Float64() }

// drive drives one event.
func (d *driver) drive(ev Event) error {
	switch ev.Kind {
	case Idle:
		d.m.hold(ev.Seconds)
	case Creep:
		d.m.toSpeed(d.draw(0.6, 1.4), 0.6)
		d.m.hold(d.draw(1.5, 3))
		d.stop(1, d.draw(0.5, 2))
	case Drive:
		d.about(ev.Seconds)
	case Circle:
		d.bend(2*math.Pi, turnRadius)
		d.stop(softBrake, d.draw(1, 2))
	default:
		return d.run(ev)
	}
	return nil
}

// bend goes to walking pace and turns by an angle on a radius.
func (d *driver) bend(angle, radius float64) {
	d.m.toSpeed(turnSpeed, turnAccel)
	d.m.turn(angle, radius)
}

// stop brakes to rest and stands there for some seconds.
func (d *driver) stop(brake, seconds float64) {
	d.m.toSpeed(0, brake)
	d.m.hold(seconds)
}

// about drives about for some time: up to town speed, round a corner now and
// then, with a stop every minute or so.
func (d *driver) about(seconds float64) {
	for end := d.m.End() + seconds; d.m.End() < end; {
		d.m.toSpeed(d.draw(4, 7.5), d.draw(0.7, 0.9))
		d.m.hold(d.draw(3, 25))
		if d.rng.IntN(2) == 0 {
			d.bend(math.Copysign(math.Pi/2, d.rng.Float64()-0.5), 12)
		}
		if d.rng.IntN(3) == 0 {
			d.stop(softBrake, d.draw(1, 12))
		}
	}
	if d.m.V[d.m.last()] > 0 {
		d.stop(softBrake, 1)
	}
	// Face the way the session thinks the vehicle faces.
	want := d.sc.HeadingDeg * math.Pi / 180
	if d.reverse {
		want += math.Pi
	}
	const aligned = 1e-6 // rad
	if turn := math.Remainder(want-d.m.H[d.m.last()], 2*math.Pi); math.Abs(turn) > aligned {
		d.bend(turn, turnRadius)
		d.stop(softBrake, 1)
	}
}

// point turns the vehicle so that the run starts in the wanted direction,
// driving back first when the last run went the same way.
func (d *driver) point(reverse bool) {
	if n := len(d.runs); n > 0 && d.reverse == reverse && d.runs[n-1].Kind == Start {
		last := d.runs[n-1]
		d.uturn()
		d.m.toSpeed(backSpeed, 1.1)
		d.m.hold(last.S[last.last()] / backSpeed)
		d.stop(1.6, d.draw(1, 1))
	}
	if d.reverse != reverse {
		d.uturn()
	}
}

// uturn turns the vehicle round and stops.
func (d *driver) uturn() {
	d.m.toSpeed(turnSpeed, turnAccel)
	d.m.hold(d.draw(1, 1))
	d.m.turn(math.Pi, 7)
	d.m.hold(d.draw(1, 1))
	d.stop(1.4, d.draw(0.6, 1))
	d.reverse = !d.reverse
}

// run drives a start or a pull out, and stops.
func (d *driver) run(ev Event) error {
	d.point(ev.Reverse)
	rest := d.draw(d.sc.RestMin, d.sc.RestMax-d.sc.RestMin)
	d.m.hold(rest)
	if ev.Kind == Pull {
		d.m.toSpeed(ev.From, 1.3)
		d.m.hold(d.draw(2, 2))
	}
	tr := ev.Truth
	if tr == nil {
		road, opt := d.sc.Road, d.sc.Variation
		if ev.Reverse {
			road.Grade, road.HeadWind = -road.Grade, -road.HeadWind
		}
		opt.LiftAt, opt.LiftFor, opt.From = ev.LiftAt, ev.LiftFor, ev.From
		if ev.Kind == Aborted {
			opt.Speed = d.draw(8, 15) * unit.MPH
		}
		var err error
		if tr, err = SimulateRun(d.rng, ev.Vehicle, road, opt); err != nil {
			return err
		}
	}
	r := &Run{Truth: tr, Kind: ev.Kind, Mode: ev.Mode, Rest: rest, Reverse: ev.Reverse, Heading: d.m.H[d.m.last()]}
	r.Launch = d.m.append(tr)
	d.runs = append(d.runs, r)
	// The driver comes off the pedal, coasts, and brakes.
	m := &d.m
	i := m.last()
	m.step(jerkTime, max(0.1, m.V[i]+jerkTime/2*(m.A[i]-coasting)), -coasting, 0)
	coast := min(d.draw(0.3, 1.2), 0.5*m.V[m.last()]/coasting)
	m.step(coast, m.V[m.last()]-coasting*coast, -coasting, 0)
	i = m.last()
	m.toSpeed(0, d.sc.Brake)
	j := m.last()
	r.Braking = Braking{Start: m.T[i], Speed: m.V[i], Distance: m.S[j] - m.S[i], Seconds: m.T[j] - m.T[i]}
	m.hold(d.draw(0.5, 2))
	return nil
}

// HeadingDeg is the run's heading in degrees from true north, 0 to 360.
func (r *Run) HeadingDeg() float64 {
	return math.Mod(math.Mod(r.Heading*180/math.Pi, 360)+360, 360)
}
