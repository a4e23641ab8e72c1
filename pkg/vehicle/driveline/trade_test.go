package driveline

import (
	"context"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/unit"
)

// What the shafts carry adds up from the gearbox to the wheels, whichever axles
// are driven and however they are tied.
func TestShaftsAddUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 3))
	for n := range 2000 {
		c, g := randomChassis(rng)
		s, err := Solve(c, g, Most)
		if err != nil {
			t.Fatalf("case %d: %v", n, err)
		}
		tol := 1e-7 * (1 + s.Gearbox*c.Transfer)
		near(t, "gearbox to propeller shafts", s.FrontShaft+s.RearShaft, s.Gearbox*c.Transfer, tol)
		near(t, "front shaft to wheels", s.Wheel[FrontLeft].Torque+s.Wheel[FrontRight].Torque, s.FrontShaft*c.FinalDrive, tol*c.FinalDrive)
		near(t, "rear shaft to wheels", s.Wheel[RearLeft].Torque+s.Wheel[RearRight].Torque, s.RearShaft*c.FinalDrive, tol*c.FinalDrive)
		thrust := 0.0
		for _, w := range s.Wheel {
			near(t, "torque of a wheel to thrust and brake", w.Thrust*c.TyreRadius+w.Brake, w.Torque, 1e-7*(1+w.Torque))
			thrust += w.Thrust
		}
		near(t, "thrust", thrust, s.Thrust, 1e-7*(1+s.Thrust))
		if !c.Front.Driven && s.FrontShaft != 0 || !c.Rear.Driven && s.RearShaft != 0 {
			t.Errorf("a shaft to an axle that is not driven carries torque: %g, %g N·m", s.FrontShaft, s.RearShaft)
		}
		if t.Failed() {
			t.Fatalf("case %d: %+v %+v", n, c, g)
		}
	}
}

// Common practice: two-wheel drive and part-time four-wheel drive give equal
// times where nothing slips, but for the loss in the second axle's shafts.
func TestEqualTimesWhereNothingSlips(t *testing.T) {
	time := func(front bool, efficiency, friction float64) float64 {
		c := fourByFour(Locked, Open, Open)
		c.Mass, c.Front.Driven = 2200, front
		p := van()
		p.Gears, p.Efficiency = []float64{2.3, 1.5, 1.1}, efficiency
		p.Grip = most(t, c, Even(friction)).Thrust
		r, err := p.Accelerate(context.Background(), 0, 60*unit.MPH)
		if err != nil {
			t.Fatal(err)
		}
		s, ok := r.ReachSpeed(60 * unit.MPH)
		if !ok {
			t.Fatalf("60 mph was not reached: %s", r.Stuck)
		}
		return s
	}
	two, four := time(false, 0.9, 0.9), time(true, 0.9, 0.9)
	near(t, "nothing slips", two, four, 1e-9)
	lossy := time(true, 0.9*0.97, 0.9)
	if gain := lossy/two - 1; gain < 0.02 || gain > 0.06 {
		t.Errorf("3 %% more loss costs %.2f %% of the time", 100*gain)
	}
	if ice2, ice4 := time(false, 0.9, 0.3), time(true, 0.9, 0.3); ice4 > 0.95*ice2 {
		t.Errorf("where the driven wheels slip four of them must be quicker: %.2f s and %.2f s", ice2, ice4)
	}
}

// Common practice: low range gains thrust by its ratio up to the grip limit and
// runs out of engine speed sooner by the same ratio.
func TestLowRangeTradesSpeedForThrust(t *testing.T) {
	const ratio = 2.72
	high := van()
	high.Grip = 0
	low := van()
	low.Grip, low.Transfer = 0, ratio
	const w = 3000 * rpm
	near(t, "thrust at one engine speed", low.Force(2, low.RoadSpeed(2, w))/high.Force(2, high.RoadSpeed(2, w)), ratio, 1e-9)
	near(t, "road speed at one engine speed", high.RoadSpeed(2, w)/low.RoadSpeed(2, w), ratio, 1e-12)
	near(t, "road speed at the engine's limit", high.RoadSpeed(4, high.Engine.Limit)/low.RoadSpeed(4, low.Engine.Limit), ratio, 1e-12)
}

// Without a track the shift of load over a solid axle cannot be had, and the
// answer says so.
func TestSolidAxleWithoutTrackIsNoted(t *testing.T) {
	c := fourByFour(Locked, Open, Open)
	c.Rear.Solid, c.Front.RollStiffness, c.Rear.RollStiffness = true, 0.6, 0.4
	with := most(t, c, Even(0.8))
	if l, r := with.Wheel[RearLeft].Load, with.Wheel[RearRight].Load; l <= r {
		t.Errorf("the shaft's torque must load the rear left wheel: %.0f and %.0f N", l, r)
	}
	c.Rear.Track = 0
	without := most(t, c, Even(0.8))
	near(t, "no shift", without.Wheel[RearLeft].Load, without.Wheel[RearRight].Load, 1e-9)
	if len(without.Notes) != len(with.Notes)+1 {
		t.Errorf("notes: %q", without.Notes)
	}
}
