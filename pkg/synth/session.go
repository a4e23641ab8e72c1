package synth

import (
	"fmt"
	"math"
	"math/rand/v2"
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
	var rs []*Run
	for _, r := range s.Runs {
		if r.Kind == Start {
			rs = append(rs, r)
		}
	}
	return rs
}

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
		sc.RestMin, sc.RestMax = 2, 20
	}
	if sc.Brake == 0 {
		sc.Brake = 6
	}
	d := &driver{rng: rand.New(rand.NewPCG(seed, 0x66726f6d72657374)), sc: &sc}
	d.m.begin(sc.HeadingDeg*math.Pi/180, sc.Road.Grade)
	d.m.rest(3 + 3*d.rng.Float64())
	for i, ev := range sc.Events {
		if err := d.drive(ev); err != nil {
			return nil, fmt.Errorf("event %d: %w", i+1, err)
		}
	}
	d.m.rest(4 + 3*d.rng.Float64())
	return &Session{Scenario: sc, Motion: d.m, Runs: d.runs}, nil
}

func (d *driver) drive(ev Event) error {
	switch ev.Kind {
	case Idle:
		d.m.rest(ev.Seconds)
		return nil
	case Creep:
		d.m.toSpeed(0.6+1.4*d.rng.Float64(), 0.6)
		d.m.hold(1.5 + 3*d.rng.Float64())
		d.m.toSpeed(0, 1)
		d.m.rest(0.5 + 2*d.rng.Float64())
		return nil
	case Drive:
		d.about(ev.Seconds)
		return nil
	case Circle:
		d.m.toSpeed(4, 1.2)
		d.m.turn(2*math.Pi, 9)
		d.m.toSpeed(0, 1.5)
		d.m.rest(1 + 2*d.rng.Float64())
		return nil
	}
	d.point(ev.Reverse)
	rest := d.sc.RestMin + (d.sc.RestMax-d.sc.RestMin)*d.rng.Float64()
	d.m.rest(rest)
	if ev.Kind == Pull {
		d.m.toSpeed(ev.From, 1.3)
		d.m.hold(2 + 2*d.rng.Float64())
	}
	return d.run(ev, rest)
}

// about drives about for some time: up to town speed, round a corner now and
// then, with a stop every minute or so.
func (d *driver) about(seconds float64) {
	for end := d.m.End() + seconds; d.m.End() < end; {
		d.m.toSpeed(4+7.5*d.rng.Float64(), 0.7+0.9*d.rng.Float64())
		d.m.hold(3 + 25*d.rng.Float64())
		if d.rng.IntN(2) == 0 {
			d.m.toSpeed(4, 1.2)
			d.m.turn(math.Copysign(math.Pi/2, d.rng.Float64()-0.5), 12)
		}
		if d.rng.IntN(3) == 0 {
			d.m.toSpeed(0, 1.5)
			d.m.rest(1 + 12*d.rng.Float64())
		}
	}
	if d.m.V[d.m.last()] > 0 {
		d.m.toSpeed(0, 1.5)
		d.m.rest(1)
	}
	// Face the way the session thinks the vehicle faces.
	want := d.sc.HeadingDeg * math.Pi / 180
	if d.reverse {
		want += math.Pi
	}
	if turn := math.Remainder(want-d.m.H[d.m.last()], 2*math.Pi); math.Abs(turn) > 1e-6 {
		d.m.toSpeed(4, 1.2)
		d.m.turn(turn, 9)
		d.m.toSpeed(0, 1.5)
		d.m.rest(1)
	}
}

// point turns the vehicle so that the run starts in the wanted direction,
// driving back first when the last run went the same way.
func (d *driver) point(reverse bool) {
	if n := len(d.runs); n > 0 && d.reverse == reverse && d.runs[n-1].Kind == Start {
		d.uturn()
		d.m.toSpeed(11.5, 1.1)
		d.m.hold(d.runs[n-1].S[len(d.runs[n-1].S)-1] / 11.5)
		d.m.toSpeed(0, 1.6)
		d.m.rest(1 + d.rng.Float64())
	}
	if d.reverse != reverse {
		d.uturn()
	}
}

// uturn turns the vehicle round at 4 m/s and stops.
func (d *driver) uturn() {
	d.m.toSpeed(4, 1.2)
	d.m.hold(1 + d.rng.Float64())
	d.m.turn(math.Pi, 7)
	d.m.hold(1 + d.rng.Float64())
	d.m.toSpeed(0, 1.4)
	d.m.rest(0.6 + d.rng.Float64())
	d.reverse = !d.reverse
}

func (d *driver) run(ev Event, rest float64) error {
	tr := ev.Truth
	if tr == nil {
		road, opt := d.sc.Road, d.sc.Variation
		if ev.Reverse {
			road = road.reversed()
		}
		opt.LiftAt, opt.LiftFor, opt.From = ev.LiftAt, ev.LiftFor, ev.From
		if ev.Kind == Aborted {
			opt.Speed = (8 + 15*d.rng.Float64()) * unit.MPH
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
	m.step(0.3, math.Max(0.1, m.V[i]+0.15*(m.A[i]-0.3)), -0.3, 0)
	coast := math.Min(0.3+1.2*d.rng.Float64(), 0.5*m.V[m.last()]/0.3)
	m.step(coast, m.V[m.last()]-0.3*coast, -0.3, 0)
	i = m.last()
	m.toSpeed(0, d.sc.Brake)
	j := m.last()
	r.Braking = Braking{Start: m.T[i], Speed: m.V[i], Distance: m.S[j] - m.S[i], Seconds: m.T[j] - m.T[i]}
	m.rest(0.5 + 2*d.rng.Float64())
	return nil
}

// HeadingDeg is the run's heading in degrees from true north, 0 to 360.
func (r *Run) HeadingDeg() float64 {
	h := math.Mod(r.Heading*180/math.Pi, 360)
	if h < 0 {
		h += 360
	}
	return h
}
