package driveline

import (
	"context"
	"math"
	"testing"

	"fromrest/pkg/unit"
)

const rpm = 2 * math.Pi / 60

func flat(torque, top float64) *Engine {
	e, err := NewEngine([]float64{0, top}, []float64{torque, torque}, 0)
	if err != nil {
		panic(err)
	}
	return e
}

// wide is a single-speed powertrain with constant force at the wheels.
func constantForce(force, mass float64) *Powertrain {
	return &Powertrain{Engine: flat(force*0.35, 1e6), Gears: []float64{1}, TyreRadius: 0.35, Mass: mass, Inertia: 1}
}

// Gillespie, equation 2-10 (from memory), computed: what turns with the engine weighs
// 0.25 % of the mass for each square of the overall ratio, wheels and shafts 4 %.
func TestFactor(t *testing.T) {
	for _, r := range [][2]float64{{4, 1.08}, {6, 1.13}, {13.2, 1.4756}, {13.2 * 2.72, 4.262743}, {13.2 * 4, 8.0096}} {
		p := Powertrain{Gears: []float64{r[0]}, TyreRadius: 0.3, Mass: 1500, Spinning: 0.0025 * 1500 * 0.3 * 0.3, Wheels: 0.04 * 1500 * 0.3 * 0.3}
		near(t, "factor", p.Factor(0), r[1], 5e-7)
		p.Wheels = 0
		near(t, "factor of the mass", p.Factor(0), r[1], 5e-7)
	}
}

// Below the engine speed that a clutch holds, the engine does not speed up with the road.
func TestSlippingClutchCarriesNoInertia(t *testing.T) {
	p := van()
	p.Launch, p.Spinning = 1800*rpm, 0.4
	at := p.RoadSpeed(0, p.Launch)
	if p.Coupled(0, at*0.99) || !p.Coupled(0, at) {
		t.Error("coupled at the wrong speed")
	}
	near(t, "slipping", p.factor(0, at/2), NeutralFactor, 1e-12)
	near(t, "coupled", p.factor(0, at), p.Factor(0), 1e-12)
}

// A converter multiplies by its stall ratio at rest and by nothing where it couples.
func TestConverter(t *testing.T) {
	p := van()
	p.Launch, p.Stall = 2000*rpm, 2.1
	plain := van()
	plain.Launch = p.Launch
	at := p.RoadSpeed(0, p.Launch)
	near(t, "stall", p.Force(0, 0)/plain.Force(0, 0), 2.1, 1e-9)
	near(t, "coupling", p.Force(0, at*couplingRatio)/plain.Force(0, at*couplingRatio), 1, 1e-9)
}

// An electric motor of 300 N·m and 150 kW has both at 500 rad/s.
func TestMotor(t *testing.T) {
	m, err := Motor(300, 150e3, 1500)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "at rest", m.At(0), 300, 1e-9)
	near(t, "where both meet", m.At(500), 300, 1e-9)
	near(t, "at twice that", m.At(1000), 150, 0.3)
	if w, at := m.PeakPower(); math.Abs(w-150e3) > 300 || at < 499 {
		t.Errorf("%.0f W at %.0f rad/s", w, at)
	}
	if _, err := Motor(0, 1, 0); err == nil {
		t.Error("a motor without torque is one")
	}
}

// Steps of 10 ms differ from those of 2 ms by a hundredth of a second at most.
func TestRoughly(t *testing.T) {
	p := van()
	fine, err := p.Accelerate(context.Background(), 402.336, 60*unit.MPH)
	if err != nil {
		t.Fatal(err)
	}
	rough, err := p.Roughly(context.Background(), 402.336, 60*unit.MPH)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []float64{5, 13.4, 26.8} {
		a, _ := fine.ReachSpeed(v)
		b, _ := rough.ReachSpeed(v)
		near(t, "time to speed", b, a, 1e-2)
	}
	a, _ := fine.ReachDistance(402.336)
	b, _ := rough.ReachDistance(402.336)
	near(t, "1/4 mile", b, a, 1e-2)
}

// Tyres that spin pass what they slide with.
func TestSlide(t *testing.T) {
	p := van()
	p.Grip, p.Slide = 9000, 8000
	r, err := p.Accelerate(context.Background(), 50, 5)
	if err != nil {
		t.Fatal(err)
	}
	for i, by := range r.By {
		if by == ByGrip && math.Abs(r.Tyre[i]-8000) > 1e-6 {
			t.Fatalf("%.0f N where the tyres spin", r.Tyre[i])
		}
	}
}

// Gillespie, chapter 2, example 1 (from memory, printed answers reproduced).
func TestGillespieTractiveForce(t *testing.T) {
	const in, lbft = unit.Inch, unit.PoundForce * unit.Foot
	p := &Powertrain{Engine: flat(201*lbft, 4400*rpm), Gears: []float64{4.28, 2.79, 1.83, 1.36, 1.00}, Final: 2.92,
		TyreRadius: 63360.0 / 801 / (2 * math.Pi) * in, Mass: 1500, Efficiency: 0.966 * 0.99}
	near(t, "tyre, in", p.TyreRadius/in, 12.59, 0.005)
	v := p.RoadSpeed(0, 4400*rpm)
	near(t, "first, mph", v/unit.MPH, 26.4, 0.05)
	near(t, "first, lb", p.Force(0, v)/unit.PoundForce, 2289.8, 0.5)
	p.Efficiency = 0.97 * 0.99
	v = p.RoadSpeed(4, 4400*rpm)
	near(t, "fifth, mph", v/unit.MPH, 112.87, 0.05)
	near(t, "fifth, lb", p.Force(4, v)/unit.PoundForce, 537.2, 0.1)
}

// Crawl ratios, read: high-impact.net definitions_page; speeds computed.
func TestLowRangeRatios(t *testing.T) {
	p := &Powertrain{Engine: flat(300, 6000*rpm), Gears: []float64{6.32}, Final: 4.56, Transfer: 2.72, TyreRadius: 2.36 / (2 * math.Pi), Mass: 2000}
	near(t, "crawl", p.Overall(0), 78.39, 0.005)
	near(t, "crawl with a 4:1 box", p.Overall(0)*4, 313.55, 0.005)
	for _, r := range [][4]float64{{13.65, 1, 17.289377, 38.68}, {13.65, 2.72, 6.356389, 14.22}, {3.9, 2.72, 22.247360, 49.77}} {
		q := *p
		q.Gears, q.Final, q.Transfer = []float64{1}, r[0], r[1]
		near(t, "top, m/s", q.RoadSpeed(0, 6000*rpm), r[2], 1e-6)
		near(t, "top, mph", q.TopSpeed()/unit.MPH, r[3], 0.006)
	}
	// 0-60 mph is out of reach of the last of these, and the run says why.
	q := *p
	q.Gears, q.Final, q.Transfer, q.Engine = []float64{3.6, 1}, 3.9, 2.72, flat(300, 6000*rpm)
	r, err := q.Accelerate(context.Background(), 0, 60*unit.MPH)
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := r.ReachSpeed(60 * unit.MPH); ok || r.Stuck != "the engine's limit ends the last gear" {
		t.Errorf("60 mph in low range: %q", r.Stuck)
	}
	if v := r.V[len(r.V)-1]; v > 22.25 || v < 22 {
		t.Errorf("low range ends at %.3f m/s", v)
	}
}

// Closed forms, computed.
func TestRunAgainstClosedForms(t *testing.T) {
	ctx := context.Background()
	p := constantForce(4000, 1000)
	p.DragArea, p.Density = 2*4000/3600.0/1.225, 1.225 // terminal speed 60 m/s
	r, err := p.Accelerate(ctx, 402.336, 0)
	if err != nil {
		t.Fatal(err)
	}
	got, _ := r.ReachSpeed(60 * unit.MPH)
	near(t, "0-60 force and drag", got, 7.214923, 2e-5)
	got, _ = r.ReachDistance(402.336)
	near(t, "1/4 mile force and drag", got, 15.259915, 2e-5)
	near(t, "speed there", r.V[len(r.V)-1], 46.126551, 0.01)

	// Traction limit 0.5 g, then 100 W/kg.
	e := &Engine{Limit: 200}
	for i := range 4000 {
		w := 1 + 0.05*float64(i)
		e.Speed, e.Torque = append(e.Speed, w), append(e.Torque, 1e5/w)
	}
	p = &Powertrain{Engine: e, Gears: []float64{1}, TyreRadius: 1, Mass: 1000, Inertia: 1, Grip: 1000 * 4.903325}
	if r, err = p.Accelerate(ctx, 402.336, 0); err != nil {
		t.Fatal(err)
	}
	for _, k := range [][2]float64{{60 * unit.MPH, 5.676848}, {100 * unit.KMH, 5.937667}} {
		got, _ = r.ReachSpeed(k[0])
		near(t, "traction then power", got, k[1], 5e-5)
	}
	got, _ = r.ReachDistance(402.336)
	near(t, "1/4 mile", got, 14.003588, 5e-5)
	if r.By[100] != ByGrip || r.By[len(r.By)-1] != ByPower {
		t.Errorf("limits %s, %s", r.By[100], r.By[len(r.By)-1])
	}
}

func van() *Powertrain {
	e, _ := Rated{Torque: 340, TorqueSpeed: 1800 * rpm, Power: 110e3, PowerSpeed: 4000 * rpm}.Engine()
	return &Powertrain{Engine: e, Gears: []float64{4.1, 2.3, 1.5, 1.1, 0.85}, Final: 4.2, TyreRadius: 0.34, Efficiency: 0.9,
		ShiftTime: 0.4, BuildUp: 0.15, Mass: 2200, DragArea: 1.4, Rolling: 0.012, Grip: 9000}
}

func TestEnergyBalance(t *testing.T) {
	for name, change := range map[string]func(*Powertrain){
		"as it is": func(*Powertrain) {}, "low range": func(p *Powertrain) { p.Transfer = 2.72 }, "icy": func(p *Powertrain) { p.Grip = 2500 },
		"constant inertia": func(p *Powertrain) { p.Inertia = 1.07 },
		"shift speed":      func(p *Powertrain) { p.ShiftSpeed = 3500 * rpm },
	} {
		p := van()
		change(p)
		r, err := p.Accelerate(context.Background(), 402.336, 60*unit.MPH)
		if err != nil {
			t.Fatal(err)
		}
		// What the tyres do is kinetic energy and what the road takes; what the
		// driveline does besides speeds up rotating parts.
		tyre, drive, road := 0.0, 0.0, 0.0
		for i := 1; i < len(r.T); i++ {
			for _, k := range []int{i - 1, i} {
				way := (r.T[i] - r.T[i-1]) / 2 * r.V[k]
				tyre, drive, road = tyre+r.Tyre[k]*way, drive+r.Drive[k]*way, road+p.RoadLoad(r.V[k])*way
			}
		}
		v := r.V[len(r.V)-1]
		if want := p.Mass*v*v/2 + road; math.Abs(tyre-want) > 1e-3*want {
			t.Errorf("%s: tyres did %.0f J, want %.0f J", name, tyre, want)
		}
		if least := p.Mass * v * v / 2 * (p.Factor(r.Gear[len(r.V)-1]) - 1); drive-tyre < least*(1-1e-3) {
			t.Errorf("%s: rotating parts hold %.0f J and were given %.0f J", name, least, drive-tyre)
		}
		for i, f := range r.Tyre {
			if f > p.Grip*(1+1e-9) {
				t.Fatalf("%s: tyre force %.0f N at %d", name, f, i)
			}
		}
		if parts := r.Parts(r.T[len(r.T)-1]); len(parts) < 2 || parts[0].By != ByStart {
			t.Errorf("%s: parts %+v", name, parts)
		}
	}
}

func TestLowRangeDoesNotAccelerateInProportion(t *testing.T) {
	p := van()
	p.Grip, p.Engine, p.Spinning = 0, flat(300, 6000*rpm), 0.5
	ah, hi, _, _ := p.state(1, 3, 0, false)
	p.Transfer = 2.72
	al, lo, _, _ := p.state(1, 3, 0, false)
	near(t, "force", lo/hi, 2.72, 1e-9)
	if al/ah > 1.5 {
		t.Errorf("rotating parts must eat most of low range: acceleration %.2f times", al/ah)
	}
}

func TestRatedEngine(t *testing.T) {
	r := Rated{Torque: 340, TorqueSpeed: 1800 * rpm, Power: 110e3, PowerSpeed: 4000 * rpm}
	e, err := r.Engine()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "torque", e.At(r.TorqueSpeed), 340, 1e-9)
	near(t, "power", e.At(r.PowerSpeed)*r.PowerSpeed, 110e3, 1e-6)
	if e.At(e.Limit*1.01) != 0 {
		t.Error("torque above the limit")
	}
	for _, bad := range []Rated{{}, {Torque: 100, TorqueSpeed: 100, Power: 1e5, PowerSpeed: 300}, {Torque: 340, TorqueSpeed: 400, Power: 1e5, PowerSpeed: 300}} {
		if _, err := bad.Engine(); err == nil {
			t.Errorf("%+v was accepted", bad)
		}
	}
}

func TestCoastDown(t *testing.T) {
	// Closed form, computed: A 200, C 0.6, 1800 kg, 100 to 50 km/h.
	s, x := CoastTime(1800, 200, 0.6, 100*unit.KMH, 50*unit.KMH)
	near(t, "s", s, 55.703230, 1e-6)
	near(t, "m", x, 1112.696535, 1e-5)
	a, c := 200/1800.0, 0.6/1800
	var ts, vs []float64
	for i := range 500 {
		tt := 0.1 * float64(i)
		arg := math.Atan(100*unit.KMH*math.Sqrt(c/a)) - math.Sqrt(a*c)*tt
		ts, vs = append(ts, tt), append(vs, math.Tan(arg)/math.Sqrt(c/a)+0.03*math.Sin(float64(i*i)))
	}
	f, err := FitCoast(ts, vs)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "A", f.A, a, 3*f.UA)
	near(t, "C", f.C, c, 3*f.UC)
	if f.UA > 0.05*a || f.UC > 0.05*c {
		t.Errorf("uncertainties %g of %g, %g of %g", f.UA, a, f.UC, c)
	}
}

// Drag, computed.
func TestRoadLoad(t *testing.T) {
	p := &Powertrain{DragArea: 0.45 * 2.8}
	near(t, "drag", p.RoadLoad(60*unit.MPH), 555.229, 6e-4)
}

// Where the tyres limit in two gears the next one gains nothing, whatever it turns.
func TestNoUpshiftWhileTheTyresLimit(t *testing.T) {
	p := van()
	p.Engine, p.Grip, p.Spinning = flat(340, 4200*rpm), 4000, 1.5
	v := p.RoadSpeed(0, p.Engine.Limit)
	if p.Force(1, v) < 2*p.Grip {
		t.Fatal("the next gear is not limited by the tyres")
	}
	near(t, "shift", p.UpshiftSpeed(0), v, 1e-9)
}
