package driveline

import (
	"math"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/unit"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.8g, want %.8g within %.2g", what, got, want, tol)
	}
}

// stiff is a vehicle without load transfer, 5000 N on every wheel, r = 0.35 m.
func stiff() Chassis {
	return Chassis{Mass: 20000 / unit.GravityStandard, FrontShare: 0.5, TyreRadius: 0.35,
		Rear: Axle{Driven: true}, FinalDrive: 4}
}

func most(t *testing.T, c Chassis, g Ground) *State {
	t.Helper()
	s, err := Solve(c, g, Most)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Computed from equal torque (open) and the sum of limits (locked).
func TestAxleTorque(t *testing.T) {
	c, g := stiff(), Even(0.8)
	g.Friction[RearLeft] = 0.2
	c.Rear.Differential = Differential{Kind: Open}
	near(t, "open", most(t, c, g).RearShaft*4, 700, 1e-6)
	c.Rear.Differential.Kind = Locked
	near(t, "locked", most(t, c, g).RearShaft*4, 1750, 1e-6)
	c.Rear.Differential = Differential{Kind: BrakeControlled, Brake: 300}
	s := most(t, c, g)
	near(t, "brakes: carrier", s.RearShaft*4, 1300, 1e-6)
	near(t, "brakes: good wheel", s.Wheel[RearRight].Torque, 650, 1e-6)
	near(t, "brakes: held", s.Wheel[RearLeft].Brake, 300, 1e-6)
	near(t, "brakes: at the ground", s.Thrust*0.35, 1000, 1e-6)
	c.Rear.Differential = Differential{Kind: Limited, Bias: 2}
	near(t, "limited, bias 2", most(t, c, g).RearShaft*4, 350+700, 1e-6)
}

// 400 lb·ft · 4 = 1600 at the transfer case, · 2.73 = 4368: 2184 a tyre on two
// wheels, 1092 on four (read: fourwheeler.com 1106, photo 16).
func TestLowRangeTorque(t *testing.T) {
	c := stiff()
	c.FinalDrive, c.Transfer = 2.73, 4
	const lbft = unit.PoundForce * unit.Foot
	g := Even(3)
	s, err := Solve(c, g, 400*lbft)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "gearbox", s.Gearbox/lbft, 400, 1e-9)
	near(t, "shaft", s.RearShaft/lbft, 1600, 1e-9)
	near(t, "two wheels", s.Wheel[RearLeft].Torque/lbft, 2184, 1e-9)
	c.Front.Driven, c.Centre.Kind = true, Locked
	if s, err = Solve(c, g, 400*lbft); err != nil {
		t.Fatal(err)
	}
	near(t, "four wheels", s.Wheel[FrontRight].Torque/lbft, 1092, 1e-9)
}

// Gillespie, Fundamentals of Vehicle Dynamics, chapter 2, example 2 (from
// memory, its printed answers reproduced by arithmetic).
func TestGillespieTractionLimit(t *testing.T) {
	const in, lb = unit.Inch, unit.Pound
	c := Chassis{Mass: 3950 * lb, FrontShare: 2100.0 / 3950, Wheelbase: 108 * in, CGHeight: 21 * in, TyreRadius: 13 * in, FinalDrive: 2.90,
		Rear:  Axle{Driven: true, Solid: true, Track: 59 * in, RollStiffness: 280},
		Front: Axle{Track: 59 * in, RollStiffness: 1150}}
	s := most(t, c, Even(0.62))
	near(t, "open, lb", s.Thrust/unit.PoundForce, 1200.78, 0.05)
	near(t, "open, g", s.Accel/unit.GravityStandard, 0.30400, 5e-5)
	if !s.Wheel[RearRight].Spins || s.Wheel[RearLeft].Spins {
		t.Error("the right wheel must be the one that spins")
	}
	c.Rear.Differential.Kind = Locked
	s = most(t, c, Even(0.62))
	near(t, "locked, lb", s.Thrust/unit.PoundForce, 1304.23, 0.05)
	near(t, "locked, g", s.Accel/unit.GravityStandard, 0.33019, 5e-5)
	rear := s.Thrust
	c.Rear.Driven, c.Front.Driven = false, true
	s = most(t, c, Even(0.62))
	near(t, "front drive, g", s.Accel/unit.GravityStandard, 0.2942, 5e-5)
	c.Rear.Driven, c.Centre.Kind, c.Front.Differential.Kind = true, Locked, Locked
	s = most(t, c, Even(0.62))
	near(t, "all tied, g", s.Accel/unit.GravityStandard, 0.62, 1e-9)
	if s.Thrust < rear {
		t.Error("four wheels push less than two")
	}
	// Physics exercise, read: wyzant.com/answers/5249, with g = 9.81.
	x := Chassis{Mass: 1000, FrontShare: 0.48, TyreRadius: 0.3, Front: Axle{Driven: true}}
	a := most(t, x, Even(0.6)).Accel * 9.81 / unit.GravityStandard
	near(t, "exercise", a, 2.82528, 5e-6)
	near(t, "exercise, s", 105*unit.KMH/a, 10.3235, 1e-4)
}

// fourByFour has both axles driven and everything else in the caller's hands.
func fourByFour(centre, front, rear Kind) Chassis {
	return Chassis{Mass: 2000, FrontShare: 0.5, Wheelbase: 2.8, CGHeight: 0.75, TyreRadius: 0.38, FinalDrive: 4.1,
		Front: Axle{Driven: true, Differential: Differential{Kind: front}, Track: 1.6},
		Rear:  Axle{Driven: true, Differential: Differential{Kind: rear}, Track: 1.6}, Centre: Differential{Kind: centre}}
}

// Facts of the trade (common practice).
func TestDrivelineStates(t *testing.T) {
	grip := Even(0.8)
	weight := 2000 * unit.GravityStandard
	// Rear and centre locked, one front wheel in the air: as if it had grip.
	c, g := fourByFour(Locked, Open, Locked), grip
	g.InAir[FrontLeft] = true
	s := most(t, c, g)
	if s.Thrust < 0.45*0.8*weight || !s.Moves {
		t.Errorf("rear and centre locked, a front wheel in the air: %.0f N", s.Thrust)
	}
	if s.Wheel[RearLeft].Thrust <= 0 {
		t.Errorf("the rear wheels: %+v %+v", s.Wheel[RearLeft], s.Wheel[RearRight])
	}
	// Three wheels without grip, open front: nothing moves.
	g = grip
	g.Friction[FrontLeft], g.Friction[RearLeft], g.Friction[RearRight] = 0, 0, 0
	g.Resistance = 300
	for _, centre := range []Kind{Open, Locked} {
		for _, rear := range []Kind{Open, Locked} {
			if s = most(t, fourByFour(centre, Open, rear), g); s.Thrust != 0 || s.Moves {
				t.Errorf("three wheels without grip, centre %s, rear %s: %.0f N", centre, rear, s.Thrust)
			}
		}
	}
	// Brakes hold the spinning front wheel: the fourth pushes.
	s = most(t, fourByFour(Locked, BrakeControlled, Locked), g)
	if !s.Moves || math.Abs(s.Thrust-s.Wheel[FrontRight].Thrust) > 1e-9 || s.Wheel[FrontLeft].Brake <= 0 {
		t.Errorf("brakes on the spinning front wheel: %.0f N, %+v", s.Thrust, s.Wheel[FrontRight])
	}
	// With everything open and one wheel in the air, nothing moves.
	g = grip
	g.InAir[FrontLeft] = true
	s = most(t, fourByFour(Open, Open, Open), g)
	if s.Thrust != 0 {
		t.Errorf("all open, one in the air: %.0f N", s.Thrust)
	}
	// A locked centre keeps the rear axle pushing.
	s = most(t, fourByFour(Locked, Open, Open), g)
	if s.Thrust <= 0 || s.Wheel[FrontRight].Thrust != 0 {
		t.Errorf("centre locked, one front wheel in the air: %.0f N", s.Thrust)
	}
	// Two-wheel drive and four-wheel drive push alike where nothing slips.
	two := fourByFour(Locked, Open, Open)
	two.Front.Driven = false
	a, _ := Solve(two, grip, 300)
	b, _ := Solve(fourByFour(Locked, Open, Open), grip, 300)
	near(t, "nothing slips", a.Thrust, b.Thrust, 1e-9)
	// Low range gains thrust by its ratio up to the grip limit.
	low := fourByFour(Locked, Open, Open)
	low.Transfer = 2.72
	d, _ := Solve(low, grip, 300)
	near(t, "low range", d.Thrust/b.Thrust, 2.72, 1e-9)
	e, _ := Solve(low, grip, 3000)
	near(t, "low range at the grip limit", e.Thrust, e.Most, 1e-6)
	near(t, "which is high range's too", e.Most, most(t, fourByFour(Locked, Open, Open), grip).Thrust, 1e-6)
}

func randomChassis(rng *rand.Rand) (Chassis, Ground) {
	kinds := []Kind{Open, Limited, Locked, BrakeControlled}
	diff := func() Differential {
		d := Differential{Kind: kinds[rng.IntN(4)], Bias: 1 + 4*rng.Float64()}
		if rng.IntN(2) == 0 {
			d.Brake = 2000 * rng.Float64()
		}
		return d
	}
	c := Chassis{Mass: 800 + 3000*rng.Float64(), FrontShare: 0.3 + 0.4*rng.Float64(), Wheelbase: 2.2 + 2*rng.Float64(),
		CGHeight: 0.4 + 0.6*rng.Float64(), TyreRadius: 0.28 + 0.15*rng.Float64(), FinalDrive: 2.5 + 3*rng.Float64(), Transfer: 1 + 2*rng.Float64(),
		Centre: diff()}
	c.Centre.Share = 0.2 + 0.6*rng.Float64()
	c.Front = Axle{Driven: true, Differential: diff(), Track: 1.5, Solid: rng.IntN(2) == 0, RollStiffness: 300 + 1000*rng.Float64()}
	c.Rear = Axle{Driven: true, Differential: diff(), Track: 1.6, Solid: rng.IntN(2) == 0, RollStiffness: 300 + 1000*rng.Float64()}
	switch rng.IntN(4) {
	case 0:
		c.Front.Driven = false
	case 1:
		c.Rear.Driven = false
	}
	var g Ground
	for i := range g.Friction {
		g.Friction[i] = []float64{0, 0.1, 0.3, 0.8, 1}[rng.IntN(5)] * (0.8 + 0.2*rng.Float64())
		g.InAir[i] = rng.IntN(12) == 0
	}
	g.Grade = 0.4 * (rng.Float64() - 0.5)
	return c, g
}

func TestBalanceAtEveryDifferential(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	for n := range 3000 {
		c, g := randomChassis(rng)
		torque := Most
		if rng.IntN(2) == 0 {
			torque = 1500 * rng.Float64()
		}
		s, err := Solve(c, g, torque)
		if err != nil {
			t.Fatalf("case %d: %v: %+v %+v", n, err, c, g)
		}
		in := s.Gearbox * c.Transfer * c.FinalDrive
		type split struct {
			name     string
			d        Differential
			share    float64
			in, a, b float64 // N·m
		}
		splits := []split{
			{"front", c.Front.Differential, 0.5, s.FrontShaft * c.FinalDrive, s.Wheel[FrontLeft].Torque, s.Wheel[FrontRight].Torque},
			{"rear", c.Rear.Differential, 0.5, s.RearShaft * c.FinalDrive, s.Wheel[RearLeft].Torque, s.Wheel[RearRight].Torque},
		}
		if c.Front.Driven && c.Rear.Driven {
			splits = append(splits, split{"centre", c.Centre, c.Centre.Share, in, s.FrontShaft * c.FinalDrive, s.RearShaft * c.FinalDrive})
		}
		for _, sp := range splits {
			scale := 1e-9 * (1 + sp.in)
			if math.Abs(sp.in-sp.a-sp.b) > scale || sp.a < -scale || sp.b < -scale {
				t.Fatalf("case %d, %s: %g in, %g and %g out", n, sp.name, sp.in, sp.a, sp.b)
			}
			if (sp.d.Kind == Open || sp.d.Kind == BrakeControlled) && math.Abs(sp.a-sp.share*sp.in) > scale {
				t.Fatalf("case %d, %s: an open differential gave %g of %g", n, sp.name, sp.a, sp.in)
			}
		}
		sum := 0.0
		for i, w := range s.Wheel {
			if w.Thrust > w.Limit*(1+1e-9) || w.Thrust < 0 || w.Brake < -1e-9 {
				t.Fatalf("case %d, %s: %+v", n, WheelName(i), w)
			}
			sum += w.Torque
		}
		near(t, "torque", sum, in, 1e-7*(1+in))
		load := 0.0
		for _, w := range s.Wheel {
			load += w.Load
		}
		if n, want := countAir(g), c.weight()*math.Cos(math.Atan(g.Grade)); n == 0 {
			near(t, "weight", load, want, 1e-6*want)
		}
		if t.Failed() {
			t.Fatalf("case %d: %+v %+v", n, c, g)
		}
	}
}

func countAir(g Ground) int {
	n := 0
	for _, a := range g.InAir {
		if a {
			n++
		}
	}
	return n
}

func TestMoreGripNeverGivesLessThrust(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 2))
	for n := range 5000 {
		c, g := randomChassis(rng)
		torque := Most
		if rng.IntN(2) == 0 {
			torque = 1500 * rng.Float64()
		}
		a, err := Solve(c, g, torque)
		if err != nil {
			t.Fatal(err)
		}
		i := rng.IntN(Wheels)
		more := g
		more.Friction[i] += 0.5 * rng.Float64()
		b, err := Solve(c, more, torque)
		if err != nil {
			t.Fatal(err)
		}
		// A propeller shaft's torque rolls load from one wheel to the other; more
		// torque through one shaft may so take a little grip from another wheel.
		allow := 1e-6
		if c.Front.Solid || c.Rear.Solid {
			allow = 0.01
		}
		if b.Thrust < a.Thrust*(1-allow)-1e-6 {
			t.Fatalf("case %d: %s from %.3f to %.3f, thrust from %.3f to %.3f N\n%+v\n%+v", n, WheelName(i),
				g.Friction[i], more.Friction[i], a.Thrust, b.Thrust, c, g)
		}
	}
}

func TestSolveRefusesNonsense(t *testing.T) {
	ok := fourByFour(Open, Open, Open)
	bad := []func(*Chassis, *Ground){
		func(c *Chassis, _ *Ground) { c.Mass = 0 },
		func(c *Chassis, _ *Ground) { c.TyreRadius = math.NaN() },
		func(c *Chassis, _ *Ground) { c.FrontShare = 1.2 },
		func(c *Chassis, _ *Ground) { c.Front.Driven, c.Rear.Driven = false, false },
		func(c *Chassis, _ *Ground) { c.Centre.Kind = "viscous" },
		func(_ *Chassis, g *Ground) { g.Friction[2] = -1 },
		func(_ *Chassis, g *Ground) { g.Grade = math.Inf(1) },
	}
	for i, f := range bad {
		c, g := ok, Even(0.8)
		f(&c, &g)
		if _, err := Solve(c, g, Most); err == nil {
			t.Errorf("case %d was accepted", i)
		}
	}
	if _, err := Solve(ok, Even(0.8), -1); err == nil {
		t.Error("a negative torque was accepted")
	}
}
