package worlds

import (
	"math"
	"math/rand/v2"
)

const (
	tick     = 0.001      // s
	foot1    = 0.3048     // m, the rollout
	quarter  = 402.336    // m
	mph      = 0.44704    // m/s
	gravity  = 9.80665    // m/s²
	starts   = 6          // of a session
	longest  = 32.0       // s of a run
	drag     = 4e-4       // 1/m, of the square of speed over mass
	hardStop = 4.5        // m/s², braking
	beyond   = 1.02       // of the last mark, before braking
	topMark  = 60.0 * mph // m/s
	creepAt  = 0.3        // m/s
	rollAway = 0.35       // m/s², rolling back
	bodyLag  = 0.12       // s, of the body's pitch behind acceleration
)

// Target is a mark that a start is timed to.
type Target struct {
	Name     string
	Speed    float64 // m/s, 0 for a distance
	Distance float64 // m
}

// Targets are the marks of the trial.
func Targets() []Target {
	return []Target{{"0-30 mph", 30 * mph, 0}, {"0-60 mph", topMark, 0}, {"1/4 mile", 0, quarter}}
}

// Start is what really happened in one start.
type Start struct {
	Moved   float64            // s, first motion of any kind
	Launch  float64            // s, from here on it goes forwards for good
	Rest    map[string]float64 // s, times from rest by target; only those reached
	Rollout map[string]float64 // s, times with rollout
}

// Motion is a session's motion, a value each tick.
type Motion struct {
	S, V, A []float64 // m, m/s, m/s²
	Starts  []Start
	Pauses  [][2]int // ticks in which nothing was logged
}

// driver integrates a motion.
type driver struct {
	m    Motion
	s, v float64
}

func (d *driver) step(a float64) {
	v := d.v + a*tick
	d.s += (d.v + v) / 2 * tick
	d.v = v
	d.m.S, d.m.V, d.m.A = append(d.m.S, d.s), append(d.m.V, d.v), append(d.m.A, a)
}

func (d *driver) now() float64 { return float64(len(d.m.S)) * tick }

func (d *driver) rest(seconds float64) {
	d.v = 0
	for range int(seconds / tick) {
		d.step(0)
	}
}

// Drive drives a world once.
func (w *World) Drive(rng *rand.Rand) *Motion {
	d := &driver{}
	f := w.Foot(rng) // one vehicle and one driver a session, who differ from start to start
	car := w.Vehicle(rng)
	d.rest(within(rng, 4, 8))
	for i := range starts {
		lo, hi := 3.0, 9.0
		if w.ShortRest {
			lo, hi = 0.5, 2
		}
		if i > 0 || !w.ShortRest {
			d.rest(within(rng, lo, hi))
		}
		d.start(w, f.again(rng), car.again(rng), rng)
		d.brake(w.Stopping, i, rng)
	}
	d.rest(within(rng, 3, 5))
	return &d.m
}

// start drives from standstill through the last mark.
func (d *driver) start(w *World, f Foot, car Vehicle, rng *rand.Rand) {
	moved := math.NaN()
	switch w.Before {
	case RollsBack:
		moved = d.now()
		far := within(rng, 0.05, 0.2)
		for from := d.s; from-d.s < far/2; {
			d.step(-rollAway)
		}
	case Creeps:
		moved = d.now()
		for d.v < creepAt {
			d.step(1)
		}
		for range int(within(rng, 2, 5) / tick) {
			d.step(0)
		}
	case Jabs: // a first touch of the pedal, which is taken back
		moved = d.now()
		a := within(rng, 0.8, 1.5)
		for range int(within(rng, 0.3, 0.5) / tick) {
			d.step(a)
		}
		for d.v > 0 {
			d.step(-1.2)
		}
		d.rest(within(rng, 0.3, 0.8))
	}
	begin, t := len(d.m.S), 0.0
	launched := d.v >= 0
	from, at := d.s, d.now()
	reached := func() bool { return d.v >= topMark*beyond && d.s-from > (foot1+quarter)*beyond }
	gear, shifting := 0, 0.0
	for ; t < longest && !reached(); t += tick {
		if gear < len(car.Gears) && d.v >= car.Gears[gear] {
			gear, shifting = gear+1, t+car.Shift
		}
		a := 0.0
		if t >= shifting {
			a = car.thrust(f.Thrust(t), d.v, t)
		}
		switch {
		case d.v == 0 && a <= car.Rolling: // the tyres hold it
			d.step(0)
			at, begin = d.now(), len(d.m.S)
		case d.v < 0: // rolling resistance helps
			d.step(a + car.Rolling)
		default:
			d.step(a - car.Rolling - drag*d.v*d.v)
		}
		if !launched && d.v >= 0 { // it has come round
			launched, from, at, begin = true, d.s, d.now(), len(d.m.S)
		}
	}
	if math.IsNaN(moved) {
		moved = at
	}
	st := Start{Moved: moved, Launch: at, Rest: map[string]float64{}, Rollout: map[string]float64{}}
	st.time(&d.m, begin, from)
	d.m.Starts = append(d.m.Starts, st)
}

// brake brings the vehicle to a stop, the pedal pressed and let go as the world says.
func (d *driver) brake(as Stopping, nth int, rng *rand.Rand) {
	press, a := within(rng, 0.2, 0.6), 0.0
	hard := within(rng, 0.7, 1.2) * hardStop
	soft := as == Soft || as == Mixed && nth%2 == 1
	begin := len(d.m.S)
	if as == Eased || as == Unseen {
		for d.v > 0 {
			a = min(hard, a+hard/press*tick)
			if ease := 0.5 + d.v*1.2; a > ease {
				a = ease
			}
			d.step(-a)
		}
		d.v = 0
		d.unseen(as == Unseen, begin)
		return
	}
	release, left := within(rng, 0.05, 0.6), within(rng, 0.1, 0.6)
	if soft {
		release, left = within(rng, 0.5, 1.5), within(rng, 0.05, 0.3)
	}
	// What speed is lost while the brake is let go, and so from where on it is.
	lost := hard * release * (1 + left) / 2
	for d.v > lost {
		a = min(hard, a+hard/press*tick)
		d.step(-a)
	}
	for t := 0.0; d.v > 0; t += tick {
		d.step(-hard * (1 - (1-left)*min(t/release, 1)))
	}
	d.v = 0
}

// unseen marks what was driven since a tick as not logged.
func (d *driver) unseen(yes bool, begin int) {
	if yes {
		d.m.Pauses = append(d.m.Pauses, [2]int{begin, len(d.m.S)})
	}
}

// time fills in when the marks were passed, counted from the launch and from a foot on.
func (st *Start) time(m *Motion, begin int, from float64) {
	crossing := func(col []float64, x float64) float64 {
		for i := begin; i < len(col); i++ {
			prev := 0.0
			if i > 0 {
				prev = col[i-1]
			}
			if col[i] >= x && prev < x {
				return (float64(i) + (x-prev)/(col[i]-prev)) * tick
			}
		}
		return math.NaN()
	}
	roll := crossing(m.S, from+foot1)
	for _, t := range Targets() {
		end, endRoll := crossing(m.V, t.Speed), crossing(m.V, t.Speed)
		if t.Distance > 0 {
			end, endRoll = crossing(m.S, from+t.Distance), crossing(m.S, from+foot1+t.Distance)
		}
		if !math.IsNaN(end) {
			st.Rest[t.Name] = end - st.Launch
		}
		if !math.IsNaN(endRoll - roll) {
			st.Rollout[t.Name] = endRoll - roll
		}
	}
}

func within(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

// about draws a number near another, by a share of it.
func about(rng *rand.Rand, x, share float64) float64 { return x * math.Exp(share*rng.NormFloat64()) }
