package explain

import (
	"context"
	"math"
	"testing"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// rig is a vehicle of another longitudinal model than the one that predicts: engine and
// road are two masses with a clutch or a converter between them, and the engine's speed is
// a state of its own. A converter takes capacity·ω²; its torque ratio falls with a bend. A
// clutch passes what holds the engine at the launch speed until both sides meet. A one-speed
// motor is coupled throughout. Steps are 1 ms, by Euler.
type rig struct {
	sheet     sheet.Vehicle
	electric  bool
	converter float64 // stall torque ratio, 0 for a clutch
	axle      float64 // share of the load on the driven axle, 1 for all wheels
	hold      float64 // rad/s that the clutch holds
}

func (r *rig) torque(w float64) float64 {
	v := &r.sheet
	p := v.Torque
	if w > v.LimitSpeed {
		return 0
	}
	for i := 1; i < len(p); i++ {
		if w < p[i].Speed {
			f := max(0, (w-p[i-1].Speed)/(p[i].Speed-p[i-1].Speed))
			return p[i-1].Torque + f*(p[i].Torque-p[i-1].Torque)
		}
	}
	return p[len(p)-1].Torque
}

// drive is the times in s to 30 and 60 mph and a quarter of a mile, and the trace at 50 Hz.
func (r *rig) drive() (out [3]float64, tr motion.Trace) {
	v, d := &r.sheet, &r.sheet.Driveline
	ratio := func(g int) float64 {
		x := v.Gears[g] * v.FinalDrive
		if d.Range == "low" {
			return x * v.TransferLow
		}
		return x
	}
	out = [3]float64{math.NaN(), math.NaN(), math.NaN()}
	const h = 0.001
	engine, speed, way, gear, shift := r.hold, 0.0, 0.0, 0, 0.0
	stall := r.torque(r.hold) / (r.hold * r.hold) // capacity that holds the engine there
	for t := 0.0; t < 90; t += h {
		turbine := speed / v.TyreRadius * ratio(gear)
		rises := 1.0
		if t < d.BuildUp { // another shape than the prediction's
			rises = t / d.BuildUp
		}
		through, inertia := 0.0, 0.0
		switch te := r.torque(engine) - v.Auxiliary/max(engine, 50); {
		case shift > 0:
			shift -= h
			engine = max(r.hold, engine-h*(engine-turbine)*8)
			through = v.ShiftThrust * r.torque(max(turbine, r.hold))
		case r.electric || turbine >= engine*0.999: // coupled
			engine = max(turbine, 1)
			te = r.torque(engine) - v.Auxiliary/max(engine, 50)
			if turbine >= v.LimitSpeed {
				te = 0
			}
			through, inertia = te, v.EngineInertia
		case r.converter > 0:
			sr := turbine / engine
			pump := stall * engine * engine
			if sr > 0.85 {
				pump *= max(0.05, (1-sr)/0.15)
			}
			engine += h * (te - pump) / v.EngineInertia
			through = pump * max(1, r.converter-(r.converter-1)*sr/0.88)
		default: // the clutch holds the engine
			through = te
		}
		fz := v.Mass * unit.GravityStandard
		force := through * rises * ratio(gear) * d.Efficiency / v.TyreRadius
		load := 0.5*1.225*v.DragArea*speed*speed + v.RollingResistance*fz
		wheels := v.WheelInertia / (v.TyreRadius * v.TyreRadius)
		turns := inertia * ratio(gear) * ratio(gear) / (v.TyreRadius * v.TyreRadius)
		a := (force - load) / (v.Mass + wheels + turns)
		most := v.Friction * r.axle * fz
		if r.axle < 1 { // load moves to the rear with thrust
			sign := 1.0
			if d.Driven == "front" {
				sign = -1
			}
			most /= 1 - sign*v.Friction*v.CGHeight/v.Wheelbase
		}
		if v.Mass*a+load > most {
			a = (most - load) / v.Mass
		}
		if n := len(tr.T); float64(n)*0.02 <= t && way < unit.Mile/4 {
			tr.T, tr.S, tr.V, tr.A = append(tr.T, t), append(tr.S, way), append(tr.V, speed), append(tr.A, a)
			tr.SS, tr.SV, tr.SA = append(tr.SS, 0.01), append(tr.SV, 0.005), append(tr.SA, 0.05)
		}
		speed, way = max(0, speed+h*a), way+h*speed
		for i, there := range []bool{speed >= 30*unit.MPH, speed >= 60*unit.MPH, way >= unit.Mile/4} {
			if there && math.IsNaN(out[i]) {
				out[i] = t + h
			}
		}
		if up := v.ShiftSpeed; shift <= 0 && gear+1 < len(v.Gears) && up > 0 && speed/v.TyreRadius*ratio(gear) >= up {
			gear++
			shift = v.ShiftTime
		}
	}
	return out, tr
}

const perMinute = math.Pi / 30

// rigs are vehicles unlike each other, all invented.
func rigs() map[string]*rig {
	curve := func(xs ...float64) (out []sheet.TorquePoint) {
		for i := 0; i < len(xs); i += 2 {
			out = append(out, sheet.TorquePoint{Speed: xs[i] * perMinute, Torque: xs[i+1]})
		}
		return out
	}
	wheels := func(m, r float64) float64 { return 0.038 * m * r * r }
	out := map[string]*rig{
		"front drive, manual": {hold: 2200 * perMinute, axle: 0.62, sheet: sheet.Vehicle{Mass: 1080, TyreRadius: 0.295, Gears: []float64{3.6, 2.05, 1.38, 1.03, 0.82}, FinalDrive: 4.0,
			Torque: curve(1000, 95, 2500, 125, 4200, 138, 5500, 130, 6400, 105), LimitSpeed: 6500 * perMinute, ShiftSpeed: 6200 * perMinute, ShiftTime: 0.5, DragArea: 0.68, RollingResistance: 0.011,
			FrontMass: 670, RearMass: 410, Wheelbase: 2.5, CGHeight: 0.54, Friction: 0.95, Engine: "naturally aspirated", EngineInertia: 0.13, Gearbox: "clutch",
			Driveline: sheet.Driveline{Driven: "front", Efficiency: 0.93, BuildUp: 0.2}}},
		"four-wheel drive, converter": {hold: 2300 * perMinute, converter: 2.0, axle: 1, sheet: sheet.Vehicle{Mass: 2250, TyreRadius: 0.37, Gears: []float64{4.7, 3.1, 2.1, 1.67, 1.29, 1.0, 0.84}, FinalDrive: 3.3,
			Torque: curve(1000, 300, 1800, 460, 4500, 470, 5800, 410, 6300, 340), LimitSpeed: 6300 * perMinute, ShiftSpeed: 6000 * perMinute, ShiftTime: 0.25, ShiftThrust: 0.6, DragArea: 1.0, RollingResistance: 0.012,
			FrontMass: 1190, RearMass: 1060, Wheelbase: 2.85, CGHeight: 0.7, Friction: 0.9, Engine: "turbocharged", EngineInertia: 0.36, Gearbox: "converter", StallRatio: 2.0,
			Driveline: sheet.Driveline{Driven: "all", Centre: "locked", Front: "open", Rear: "open", Efficiency: 0.86, BuildUp: 0.2}}},
		"electric, one speed": {electric: true, axle: 0.53, hold: 1, sheet: sheet.Vehicle{Mass: 1780, TyreRadius: 0.335, Gears: []float64{1}, FinalDrive: 9.6,
			Torque: curve(0, 310, 4600, 310, 6000, 239, 8000, 179, 11000, 130, 15000, 95), LimitSpeed: 15500 * perMinute, DragArea: 0.62, RollingResistance: 0.01,
			FrontMass: 840, RearMass: 940, Wheelbase: 2.75, CGHeight: 0.5, Friction: 0.95, Engine: "electric", EngineInertia: 0.045,
			Driveline: sheet.Driveline{Driven: "rear", Efficiency: 0.94, BuildUp: 0.2}}},
		"truck": {hold: 1100 * perMinute, axle: 0.64, sheet: sheet.Vehicle{Mass: 6000, TyreRadius: 0.4, Gears: []float64{6.0, 3.6, 2.3, 1.5, 1.0, 0.8}, FinalDrive: 4.1,
			Torque: curve(900, 440, 1300, 560, 1900, 560, 2500, 470, 2700, 380), LimitSpeed: 2700 * perMinute, ShiftSpeed: 2500 * perMinute, ShiftTime: 0.8, DragArea: 4.2, RollingResistance: 0.009,
			FrontMass: 2160, RearMass: 3840, Wheelbase: 3.6, CGHeight: 1.0, Friction: 0.8, Engine: "diesel", EngineInertia: 0.9, Gearbox: "clutch",
			Driveline: sheet.Driveline{Driven: "rear", Efficiency: 0.9, BuildUp: 0.4}}},
	}
	low := *out["four-wheel drive, converter"]
	low.sheet.TransferLow, low.sheet.Driveline.Range = 2.7, "low"
	out["low range"] = &low
	rear := *out["front drive, manual"]
	rear.axle, rear.sheet.Driveline.Driven, rear.sheet.FrontMass, rear.sheet.RearMass = 0.5, "rear", 540, 540
	rear.sheet.Torque = curve(1000, 170, 3000, 240, 5500, 245, 7000, 205)
	rear.sheet.LimitSpeed, rear.sheet.ShiftSpeed, rear.sheet.EngineInertia = 7100*perMinute, 6900*perMinute, 0.2
	out["rear drive, manual"] = &rear
	for _, r := range out {
		r.sheet.WheelInertia = wheels(r.sheet.Mass, r.sheet.TyreRadius)
		if !r.electric {
			r.sheet.LaunchSpeed = r.hold
		}
	}
	return out
}

// A full sheet predicts what another model of the vehicle does within 5 %, and within its
// interval; one that leaves out what a data sheet leaves out says so by its interval.
func TestOtherVehicles(t *testing.T) {
	for name, r := range rigs() {
		truth, _ := r.drive()
		for _, full := range []bool{true, false} {
			v := r.sheet
			if !full {
				v.EngineInertia, v.WheelInertia, v.LaunchSpeed, v.StallRatio, v.ShiftTime, v.ShiftThrust, v.DragArea, v.RollingResistance = 0, 0, 0, 0, 0, 0, 0, 0
				v.FrontMass, v.RearMass, v.Wheelbase, v.CGHeight, v.Friction, v.Gearbox = 0, 0, 0, 0, 0, ""
				v.Driveline.Efficiency, v.Driveline.BuildUp, v.Driveline.Centre = 0, 0, ""
			}
			p, err := Predict(context.Background(), &sheet.Sheet{Vehicle: v}, "")
			if err != nil || p.Run == nil {
				t.Fatal(name, err)
			}
			for i, target := range Targets {
				x, ok := p.Time(target)
				if ok != !math.IsNaN(truth[i]) {
					t.Errorf("%s, %s: predicted %.2f s, is %.2f s", name, target.Name, x.X, truth[i])
					continue
				}
				if !ok {
					continue
				}
				off := x.X/truth[i] - 1
				t.Logf("%-28s full %-5v %-8s predicted %.2f ±%.2f s, is %.2f s, %+.1f %%", name, full, target.Name, x.X, x.U95(), truth[i], 100*off)
				if math.Abs(x.X-truth[i]) > x.U95() {
					t.Errorf("%s, full %v, %s: outside the interval", name, full, target.Name)
				}
				if full && math.Abs(off) > 0.05 {
					t.Errorf("%s, %s: off by %.1f %%", name, target.Name, 100*off)
				}
			}
		}
	}
}

// A sheet with a wrong friction, a mass off by a tenth or no word on the centre
// differential leads to no false claim: what is said to be contradicted is wrong, the
// friction that the pulls are said to show is there, and grip is not said to limit by a
// friction that the pulls exceed.
func TestWrongSheetsAreNotBelieved(t *testing.T) {
	level := 0.0
	for name, r := range rigs() {
		_, tr := r.drive()
		for what, edit := range map[string]func(*sheet.Vehicle){
			"as it is": func(*sheet.Vehicle) {}, "friction 0.5": func(v *sheet.Vehicle) { v.Friction = 0.5 }, "friction 1.2": func(v *sheet.Vehicle) { v.Friction = 1.2 },
			"a tenth heavy": func(v *sheet.Vehicle) { v.Mass *= 1.1 }, "a tenth light": func(v *sheet.Vehicle) { v.Mass *= 0.9 },
			"no friction": func(v *sheet.Vehicle) { v.Friction = 0 }, "no centre": func(v *sheet.Vehicle) { v.Driveline.Centre = "" },
			"half the torque": func(v *sheet.Vehicle) {
				v.Torque = append([]sheet.TorquePoint(nil), v.Torque...)
				for i := range v.Torque {
					v.Torque[i].Torque /= 2
				}
			},
		} {
			v := r.sheet
			edit(&v)
			sh := &sheet.Sheet{Vehicle: v, Conditions: sheet.Conditions{Grade: &level, GradeHeading: &level, Wind: &level, WindFrom: &level}, Modes: []sheet.Mode{{Name: "m", PowerShare: 1}}}
			run := &session.TimedRun{ID: "a#1", Kind: segment.StandingStart, Mode: "m", Log: &session.Log{Quality: session.Quality{Rate: 50}}, Counted: true, Trace: tr}
			for _, x := range tr.V {
				run.MaxSpeed = math.Max(run.MaxSpeed, x)
			}
			c := RunConditions{Run: run, HeadWind: nothing, Grade: nothing, CrossWind: math.NaN()}
			c.fromSheet(sh)
			traced := TraceOf(context.Background(), nil, []RunConditions{c}, sh)
			p, err := predict(context.Background(), sh, "m", traced.evidence("m", []RunConditions{c}, sh))
			if err != nil {
				t.Fatal(err)
			}
			if f := traced.leastFriction(sh); f > r.sheet.Friction*1.01 {
				t.Errorf("%s, %s: the pulls are said to show a friction of %.2f, there is %.2f", name, what, f, r.sheet.Friction)
			}
			e := &Explanation{Sheet: sh, Traced: traced, Predictions: []*Prediction{p}}
			said := e.against()
			if what == "as it is" || what == "no centre" || what == "no friction" {
				for _, s := range said {
					t.Errorf("%s, %s: %s", name, what, s)
				}
			}
			if what == "half the torque" && len(said) == 0 {
				t.Errorf("%s: half the engine's torque is believed", name)
			}
			if g := &traced.Runs[0].Grip; what == "friction 0.5" && g.Peak.X > 1.3 && (!g.contradicted() || traced.leastFriction(sh) <= 0.5) {
				t.Errorf("%s: a pull of %.0f %% of the grip contradicts nothing", name, 100*g.Peak.X)
			}
			if g := &traced.Runs[0].Grip; g.contradicted() && gripped([]*TracedRun{&traced.Runs[0]}, 5) {
				t.Errorf("%s, %s: limited by a grip that is exceeded", name, what)
			}
		}
	}
}
