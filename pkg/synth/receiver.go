package synth

import (
	"cmp"
	"math"
	"math/rand/v2"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// Receiver is a GNSS receiver and the logger behind it. The zero value is a
// perfect receiver at 10 Hz.
type Receiver struct {
	Rate  float64 // Hz, 10 if 0; instants are whole multiples of 1/Rate
	Noise float64 // m/s, standard deviation of the north and of the east velocity

	// Correlation of the noise of neighbouring samples, 0.35 if 0; negative for
	// white noise.
	Correlation float64

	Hold       float64 // m/s: below it speed is shown as 0 and course is empty
	CourseFrom float64 // m/s: below it course is empty, 0 for never
	Step       float64 // m/s: resolution of the speed printed, 0 for none
	Unit       float64 // m/s: the unit it is printed in, a knot if 0
	Jitter     float64 // s, standard deviation of honest time stamps about the cadence
	StampError float64 // s, standard deviation of a stamp from the true instant
	Outliers   float64 // share of samples at which a jump of 2-10 m/s starts
	DropOuts   float64 // drop-outs per minute
	DropOutFor float64 // s, mean length of a drop-out, 2 if 0

	// PositionNoise is the standard deviation of north and of east in metres,
	// wandering over 30 s; altitude has 1.5 times as much.
	PositionNoise float64
	NoPosition    bool // no positions are recorded
	Velocity      bool // north, east and up velocity are recorded too
}

// What receivers do where nothing else is asked for (common practice).
const (
	usualRate        = 10.0 // Hz
	usualCorrelation = 0.35 // of neighbouring samples' noise
	usualDropOut     = 2.0  // s
	wander           = 30.0 // s; time constant of the noise of positions
	altitudeNoise    = 1.5  // times that of north and east
	upNoise          = 2    // times that of north and east velocity
	mostJitter       = 0.4  // of an interval
	leastJump        = 2.0  // m/s; size of an outlier
	jumpSpan         = 8.0  // m/s more at most
	mostJumps        = 3    // samples that one outlier lasts at most
	usualHDOP        = 0.7
	usualSatellites  = 17
)

// spec fills in the defaults.
func (rx Receiver) spec() Receiver {
	rx.Rate, rx.Unit = cmp.Or(rx.Rate, usualRate), cmp.Or(rx.Unit, unit.Knot)
	rx.Correlation = max(0, cmp.Or(rx.Correlation, usualCorrelation))
	rx.DropOutFor = cmp.Or(rx.DropOutFor, usualDropOut)
	return rx
}

// ar1 is noise of unit variance whose neighbours are correlated.
type ar1 struct {
	rho, x float64
	rng    *rand.Rand
}

func newAR1(rng *rand.Rand, rho float64) *ar1 { return &ar1{rho, rng.NormFloat64(), rng} }

func (a *ar1) next() float64 {
	x := a.x
	a.x = a.rho*a.x + math.Sqrt(1-a.rho*a.rho)*a.rng.NormFloat64()
	return x
}

// observer is a receiver at work.
type observer struct {
	rx              Receiver
	sc              *Scenario
	rng             *rand.Rand
	north, east, up *ar1       // noise of velocity
	pn, pe, pu      *ar1       // noise of position
	jump            [2]float64 // m/s, the outlier in progress
	jumpLeft        int
	gapUntil        float64
	radiusN, rE     float64 // m per radian of latitude and longitude
}

// Track returns what the receiver logs of the session. The same seed gives the
// same track.
func (s *Session) Track(rx Receiver, seed uint64) *recording.Track {
	rx = rx.spec()
	rng := rand.New(rand.NewPCG(seed, 0x7265636569766572))
	slow := math.Exp(-1 / (wander * rx.Rate))
	o := &observer{rx: rx, sc: &s.Scenario, rng: rng,
		north: newAR1(rng, rx.Correlation), east: newAR1(rng, rx.Correlation), up: newAR1(rng, rx.Correlation),
		pn: newAR1(rng, slow), pe: newAR1(rng, slow), pu: newAR1(rng, slow), gapUntil: -1}
	o.place()
	tr := &recording.Track{Source: recording.GNSS, Name: "RMC", SpeedStep: rx.Step, SpeedUnit: rx.Unit, TimeStep: time.Millisecond}
	begin := recording.Nano(s.Scenario.Begin)
	cur := cursor{m: &s.Motion}
	n := int(s.Motion.End() * rx.Rate)
	prev := begin - 1
	for i := 0; i <= n; i++ {
		t := float64(i) / rx.Rate
		if rx.Jitter > 0 {
			t += max(-mostJitter/rx.Rate, min(mostJitter/rx.Rate, rx.Jitter*rng.NormFloat64()))
		}
		stamp := begin + int64(math.Round(t*1e9))
		if rx.StampError > 0 {
			t += rx.StampError * rng.NormFloat64()
		}
		q := o.observe(cur.at(t))
		if o.lost(t) || stamp <= prev {
			continue
		}
		tr.AppendNano(stamp, &q)
		prev = stamp
	}
	return tr
}

// lost reports whether the sample at t falls into a drop-out.
func (o *observer) lost(t float64) bool {
	if o.rx.DropOuts <= 0 {
		return false
	}
	if t > o.gapUntil && o.rng.Float64() < o.rx.DropOuts/60/o.rx.Rate {
		o.gapUntil = t + o.rx.DropOutFor*(0.5+o.rng.Float64())
	}
	return t <= o.gapUntil
}

// observe makes one fix of a state.
func (o *observer) observe(st State) [recording.Columns]float64 {
	rx := &o.rx
	sin, cos := math.Sincos(st.Heading)
	vn := st.V*cos + rx.Noise*o.north.next()
	ve := st.V*sin + rx.Noise*o.east.next()
	dn, de := o.outlier()
	vn, ve = vn+dn, ve+de
	q := recording.NewFix(time.Time{}).Q
	speed := math.Hypot(vn, ve)
	course := math.Atan2(ve, vn) * 180 / math.Pi
	if course < 0 {
		course += 360
	}
	if speed < rx.Hold {
		speed, course, vn, ve = 0, math.NaN(), 0, 0
	}
	if speed < rx.CourseFrom {
		course = math.NaN()
	}
	if rx.Step > 0 {
		speed = math.Round(speed/rx.Step) * rx.Step
	}
	q[recording.Speed], q[recording.Course] = speed, course
	if rx.Velocity {
		q[recording.VelNorth], q[recording.VelEast] = vn, ve
		q[recording.VelUp] = st.V*math.Sin(math.Atan(st.Grade)) + upNoise*rx.Noise*o.up.next()
	}
	n := st.North + rx.PositionNoise*o.pn.next()
	e := st.East + rx.PositionNoise*o.pe.next()
	if !rx.NoPosition {
		axis := o.sc.HeadingDeg * math.Pi / 180 // in which Altitude rises with the grade
		q[recording.LatDeg] = o.sc.LatDeg + n/o.radiusN*180/math.Pi
		q[recording.LonDeg] = math.Remainder(o.sc.LonDeg+e/o.rE*180/math.Pi, 360)
		q[recording.Altitude] = o.sc.Altitude + altitudeNoise*rx.PositionNoise*o.pu.next() +
			o.sc.Road.Grade*(st.North*math.Cos(axis)+st.East*math.Sin(axis))
	}
	q[recording.HDOP], q[recording.Satellites] = usualHDOP, usualSatellites
	return q
}

// outlier returns the jump that the present sample suffers, in m/s.
func (o *observer) outlier() (north, east float64) {
	if o.rx.Outliers <= 0 {
		return 0, 0
	}
	if o.jumpLeft == 0 && o.rng.Float64() < o.rx.Outliers {
		size, dir := leastJump+jumpSpan*o.rng.Float64(), 2*math.Pi*o.rng.Float64()
		o.jump = [2]float64{size * math.Cos(dir), size * math.Sin(dir)}
		o.jumpLeft = 1 + o.rng.IntN(mostJumps)
	}
	if o.jumpLeft == 0 {
		return 0, 0
	}
	o.jumpLeft--
	return o.jump[0], o.jump[1]
}

// place fixes the origin and its radii of curvature on the WGS 84 ellipsoid.
func (o *observer) place() {
	sc := o.sc
	_, cos := math.Sincos(sc.LatDeg * math.Pi / 180)
	n, e := unit.EarthRadii(sc.LatDeg)
	o.radiusN, o.rE = n+sc.Altitude, e+sc.Altitude*cos
}

// Recording returns the session as a receiver and, unless acc is nil, an
// accelerometer log it: what a reader of the log would return.
func (s *Session) Recording(rx Receiver, acc *Accelerometer, seed uint64) *recording.Recording {
	r := &recording.Recording{Name: "simulated", Format: "nmea", Clock: "utc",
		Tracks: []*recording.Track{s.Track(rx, seed)}}
	if acc != nil {
		r.Accel = s.Accel(*acc, seed)
	}
	return r
}

// Single is a session of one run: a standstill of rest seconds, the run, a stop.
// It is the cheap way to many runs for a trial.
func Single(tr *Truth, headingDeg, rest float64) *Session {
	ev := Event{Kind: Start, Mode: tr.Vehicle.Name, Truth: tr}
	s, _ := Scenario{HeadingDeg: headingDeg, RestMin: rest, RestMax: rest, Events: []Event{ev}, Road: tr.Road}.Simulate(math.Float64bits(rest))
	return s // a ready-made run cannot fail
}
