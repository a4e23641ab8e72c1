package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// checker looks at the values of a table and collects what is wrong.
type checker struct {
	s     *Sheet
	table string // with its dot, "" at the top
	from  int    // line that the table begins on, 0 for the first of its name
	errs  []error
}

// fault takes up a mistake at a key.
func (c *checker) fault(key, format string, args ...any) {
	c.errs = append(c.errs, c.s.ErrorAt(c.s.text.Line(c.table+key, c.from), format, args...))
}

// number wants a value to be as it should.
func (c *checker) number(key string, v float64, ok bool, want string) {
	if !ok {
		c.fault(key, "%s = %g: want %s", key, v, want)
	}
}

// word checks a word and writes it in lower case; the empty one means not given.
func (c *checker) word(key string, v *string, allowed ...string) {
	*v = strings.ToLower(strings.TrimSpace(*v))
	if *v != "" && !slices.Contains(allowed, *v) {
		c.fault(key, "%s = %q: want one of %s", key, *v, strings.Join(allowed, ", "))
	}
}

const aShare = "a share from 0 to 1"

func (c *checker) driveline(w *Driveline) {
	diffs := []string{"open", "limited-slip", "locked", "brake-controlled", "none"}
	c.word("driven", &w.Driven, "front", "rear", "all", "part-time")
	c.word("range", &w.Range, "high", "low")
	c.word("front_differential", &w.Front, diffs...)
	c.word("centre_differential", &w.Centre, diffs...)
	c.word("rear_differential", &w.Rear, diffs...)
	c.number("driveline_efficiency", w.Efficiency, w.Efficiency >= 0 && w.Efficiency <= 1, aShare)
	c.number("torque_bias", w.Bias, (w.Bias == 0 || w.Bias >= 1) && !math.IsInf(w.Bias, 0), "a ratio of 1 or more")
	c.number("centre_front_share", w.Share, w.Share >= 0 && w.Share < 1, aShare)
	if w.StartGear < 0 {
		c.fault("start_gear", "start_gear = %d: gears count from 1", w.StartGear)
	}
}

// ranges are what road vehicles have, from the lightest that people drive to the heaviest
// that go on roads, with room on both sides; a value outside is a slip of unit or
// decimal (assumed). A key that is not given is 0.
var ranges = []struct {
	key    string
	value  func(*wireVehicle) float64
	lo, hi float64
	hint   string
}{
	{"odometer_km", func(w *wireVehicle) float64 { return w.Odo }, 0.1, 5e6, "kilometres"},
	{"mass_kg", func(w *wireVehicle) float64 { return w.Mass }, 100, 80e3, "kilograms"},
	{"front_axle_kg", func(w *wireVehicle) float64 { return w.FrontMass }, 20, 60e3, "kilograms"},
	{"rear_axle_kg", func(w *wireVehicle) float64 { return w.RearMass }, 20, 60e3, "kilograms"},
	{"tyre_radius_m", func(w *wireVehicle) float64 { return w.TyreRadius }, 0.15, 1.2, "metres, the rolling radius"},
	{"final_drive", func(w *wireVehicle) float64 { return w.FinalDrive }, 0.5, 30, "the ratio, engine over wheel"},
	{"transfer_high", func(w *wireVehicle) float64 { return w.TransferHigh }, 0.3, 3, "the ratio"},
	{"transfer_low", func(w *wireVehicle) float64 { return w.TransferLow }, 1, 10, "the ratio"},
	{"power_kw", func(w *wireVehicle) float64 { return w.RatedPower }, 2, 2500, "kilowatts"},
	{"torque_nm", func(w *wireVehicle) float64 { return w.RatedTorque }, 5, 20e3, "newton metres"},
	{"power_rpm", func(w *wireVehicle) float64 { return w.PowerSpeed }, 300, 30e3, "revolutions a minute"},
	{"torque_rpm", func(w *wireVehicle) float64 { return w.TorqueSpeed }, 1, 30e3, "revolutions a minute"},
	{"idle_rpm", func(w *wireVehicle) float64 { return w.IdleSpeed }, 200, 3000, "revolutions a minute"},
	{"limit_rpm", func(w *wireVehicle) float64 { return w.LimitSpeed }, 500, 30e3, "revolutions a minute"},
	{"shift_rpm", func(w *wireVehicle) float64 { return w.ShiftSpeed }, 500, 30e3, "revolutions a minute"},
	{"launch_rpm", func(w *wireVehicle) float64 { return w.LaunchSpeed }, 300, 20e3, "revolutions a minute"},
	{"shift_s", func(w *wireVehicle) float64 { return w.ShiftTime }, 0.005, 4, "seconds"},
	{"build_up_s", func(w *wireVehicle) float64 { return w.BuildUp }, 0.01, 10, "seconds"},
	{"drag_area_m2", func(w *wireVehicle) float64 { return w.DragArea }, 0.1, 15, "square metres, drag coefficient times frontal area"},
	{"rolling_resistance", func(w *wireVehicle) float64 { return w.RollingResistance }, 0.002, 0.4, "a share of the weight"},
	{"wheelbase_m", func(w *wireVehicle) float64 { return w.Wheelbase }, 0.9, 12, "metres"},
	{"cg_height_m", func(w *wireVehicle) float64 { return w.CGHeight }, 0.1, 3, "metres"},
	{"front_track_m", func(w *wireVehicle) float64 { return w.FrontTrack }, 0.5, 3, "metres"},
	{"rear_track_m", func(w *wireVehicle) float64 { return w.RearTrack }, 0.5, 3, "metres"},
	{"friction", func(w *wireVehicle) float64 { return w.Friction }, 0.01, 3, "the coefficient"},
	{"sliding_friction", func(w *wireVehicle) float64 { return w.Sliding }, 0.01, 3, "the coefficient"},
	{"mass_factor", func(w *wireVehicle) float64 { return w.MassFactor }, 1, 20, "1 or a little more"},
	{"engine_inertia_kgm2", func(w *wireVehicle) float64 { return w.EngineInertia }, 0.001, 60, "kilograms times square metres"},
	{"wheel_inertia_kgm2", func(w *wireVehicle) float64 { return w.WheelInertia }, 0.1, 2000, "kilograms times square metres"},
	{"stall_torque_ratio", func(w *wireVehicle) float64 { return w.StallRatio }, 1, 5, "a ratio of 1 or more"},
	{"auxiliary_kw", func(w *wireVehicle) float64 { return w.Auxiliary }, 0.01, 200, "kilowatts"},
	{"brake_torque_nm", func(w *wireVehicle) float64 { return w.Driveline.Brake }, 1, 1e5, "newton metres"},
}

func (c *checker) vehicle(w *wireVehicle) {
	c.driveline(&w.Driveline)
	for _, r := range ranges {
		x := r.value(w)
		c.number(r.key, x, x == 0 || x >= r.lo && x <= r.hi, fmt.Sprintf("%s, %g to %g", r.hint, r.lo, r.hi))
	}
	c.word("engine", &w.Engine, "naturally aspirated", "turbocharged", "diesel", "electric")
	c.word("gearbox", &w.Gearbox, "clutch", "converter", "single-speed")
	c.word("front_axle", &w.FrontAxle, solidAxle, "independent")
	c.word("rear_axle", &w.RearAxle, solidAxle, "independent")
	c.number("front_roll_stiffness_share", w.RollShare, w.RollShare >= 0 && w.RollShare <= 1, aShare)
	c.number("shift_thrust_share", w.ShiftThrust, w.ShiftThrust >= 0 && w.ShiftThrust <= 1, aShare)
	for i, g := range w.Gears {
		switch {
		case !(g > 0) || math.IsInf(g, 0):
			c.fault("gears", "gears: ratio %d is %g, want a positive number", i+1, g)
		case i > 0 && g >= w.Gears[i-1]:
			c.fault("gears", "gears: ratio %d, %g, is not below that of the gear before, %g: want first gear first", i+1, g, w.Gears[i-1])
		}
	}
	for i, p := range w.TorqueRPMNm {
		if !(p[0] >= 0) || !(p[1] >= 0) || math.IsInf(p[0]+p[1], 0) || (i > 0 && p[0] <= w.TorqueRPMNm[i-1][0]) {
			c.fault("torque_rpm_nm", "torque_rpm_nm: point %d (%g, %g) is not positive at a rising engine speed", i+1, p[0], p[1])
		}
	}
	c.agrees(w)
}

// axlesApart is by how much the axles' sum may differ from the mass: two weighings
// (assumed).
const axlesApart = 0.05

// agrees wants values that say the same thing twice to say it alike.
func (c *checker) agrees(w *wireVehicle) {
	if sum := w.FrontMass + w.RearMass; w.Mass > 0 && w.FrontMass > 0 && w.RearMass > 0 && math.Abs(sum/w.Mass-1) > axlesApart {
		c.fault("front_axle_kg", "front_axle_kg and rear_axle_kg make %g, mass_kg is %g: want them within %g %%", sum, w.Mass, 100*axlesApart)
	}
	if w.LimitSpeed > 0 {
		for _, x := range []struct {
			key string
			v   float64
		}{{"shift_rpm", w.ShiftSpeed}, {"launch_rpm", w.LaunchSpeed}, {"idle_rpm", w.IdleSpeed}, {"power_rpm", w.PowerSpeed}, {"torque_rpm", w.TorqueSpeed}} {
			c.number(x.key, x.v, x.v <= w.LimitSpeed, fmt.Sprintf("no more than limit_rpm, %g", w.LimitSpeed))
		}
	}
	if w.Sliding > 0 && w.Friction > 0 {
		c.number("sliding_friction", w.Sliding, w.Sliding <= w.Friction, fmt.Sprintf("no more than friction, %g", w.Friction))
	}
	if w.CGHeight > 0 && w.Wheelbase > 0 {
		c.number("cg_height_m", w.CGHeight, w.CGHeight < w.Wheelbase, fmt.Sprintf("less than wheelbase_m, %g", w.Wheelbase))
	}
	if n := len(w.Gears); n > 0 && w.StartGear > n {
		c.fault("start_gear", "start_gear = %d: gears has %d", w.StartGear, n)
	}
}

// conditions wants values that occur on Earth where people drive.
func (c *checker) conditions(w *Conditions) {
	for _, x := range []struct {
		key    string
		v      *float64
		lo, hi float64
	}{{"temperature_c", w.Temperature, -90, 70}, {"pressure_hpa", w.Pressure, 300, 1100}, {"humidity_percent", w.Humidity, 0, 100},
		{"wind_mps", w.Wind, 0, 100}, {"gust_mps", w.Gust, 0, 100}, {"wind_from_deg", w.WindFrom, 0, 360},
		{"altitude_m", w.Altitude, -500, 9000}, {"grade_percent", w.Grade, -50, 50}, {"grade_heading_deg", w.GradeHeading, 0, 360},
		{"temperature_u95_c", w.TemperatureU95, 0, 20}, {"pressure_u95_hpa", w.PressureU95, 0, 100}, {"humidity_u95_percent", w.HumidityU95, 0, 100}, {"wind_u95_mps", w.WindU95, 0, 20}} {
		if x.v != nil {
			c.number(x.key, *x.v, *x.v >= x.lo && *x.v <= x.hi, fmt.Sprintf("%g to %g", x.lo, x.hi))
		}
	}
}

// mostPlanned is far beyond what a day holds (assumed).
const mostPlanned = 1000

// Far beyond what sites and manuals ask for (assumed): m of a straight, s between two starts.
const (
	mostStraight = 20e3
	mostCoolDown = 24 * 3600
)

func (c *checker) plan(w *Plan) {
	c.table = "plan."
	c.word("from", &w.From, "rest", "rollout")
	c.number("runs", float64(w.Runs), w.Runs >= 0 && w.Runs <= mostPlanned, fmt.Sprintf("0 to %d", mostPlanned))
	c.number("smallest_s", w.Smallest, w.Smallest >= 0 && !math.IsInf(w.Smallest, 0), "a positive number of seconds")
	for _, x := range []struct {
		key  string
		v    float64
		most float64
	}{{"straight_m", w.Straight, mostStraight}, {"stopping_m", w.Stopping, mostStraight}, {"margin_m", w.Margin, mostStraight}, {"cool_down_s", w.CoolDown, mostCoolDown}} {
		c.number(x.key, x.v, x.v >= 0 && x.v <= x.most, fmt.Sprintf("0 to %g", x.most))
	}
	for i, m := range w.Order {
		if w.Order[i] = strings.TrimSpace(m); w.Order[i] == "" {
			c.fault("order", "order: run %d has no mode", i+1)
		}
	}
}

// mostDelay and mostRate are far beyond what receivers have (assumed), in s and Hz.
const (
	mostDelay = 2
	mostRate  = 1000
)

func (c *checker) receiver(w *Receiver) {
	c.table = "receiver."
	if *w == (Receiver{}) {
		return
	}
	c.word("filter", &w.Filter, "none", "first-order", "mean", "tracker")
	c.number("delay_s", w.Delay, w.Delay >= 0 && w.Delay <= mostDelay, fmt.Sprintf("0 to %d", mostDelay))
	c.number("delay_u95_s", w.DelayU95, w.DelayU95 >= 0 && w.DelayU95 <= mostDelay, fmt.Sprintf("0 to %d", mostDelay))
	c.number("gain", w.Gain, w.Gain >= 0 && w.Gain < 1, "0 to 1")
	c.number("rate_hz", w.Rate, w.Rate > 0 && w.Rate <= mostRate, "the rate of the log it was found in")
	if w.Filter == "" {
		c.fault("filter", "receiver: no filter; fromrest check --learn writes this table")
	}
}

// Far beyond what an outside clock measures (assumed): s of a run, s of its interval, and
// m from the line to a first beam.
const (
	mostOutside    = 3600
	mostOutsideU95 = 10
	mostBefore     = 5
)

func (c *checker) outside(ws []OutsideTime) {
	c.table = "witness."
	for i := range ws {
		w := &ws[i]
		w.line = c.s.text.Header("witness", i)
		c.from = w.line
		w.Run, w.Target, w.By = strings.TrimSpace(w.Run), strings.TrimSpace(w.Target), strings.TrimSpace(w.By)
		c.word("origin", &w.Origin, "rest", "rollout", "bumper", "tyre", "axle")
		if w.Run == "" || w.Target == "" || w.Origin == "" {
			c.errs = append(c.errs, c.s.ErrorAt(w.line, "a witness names a run, a target and an origin"))
		}
		c.number("seconds", w.Seconds, w.Seconds > 0 && w.Seconds <= mostOutside, "a positive number of seconds")
		c.number("u95_s", w.U95, w.U95 > 0 && w.U95 <= mostOutsideU95, "half of its 95 % interval, such as 0.01")
		if w.Start != nil {
			c.number("start_m", *w.Start, *w.Start >= 0 && *w.Start <= mostBefore, fmt.Sprintf("0 to %d", mostBefore))
			if w.Origin == "rest" || w.Origin == "rollout" {
				c.fault("start_m", "start_m goes with a beam; origin = %q says where its clock started", w.Origin)
			}
		}
	}
	c.from = 0
}

// card wants each row to have a number of its own.
func (c *checker) card(ws []CardRow) []CardRow {
	c.table = "card."
	seen := map[int]int{}
	for i := range ws {
		w := &ws[i]
		w.line = c.s.text.Header("card", i)
		c.from = w.line
		w.Spoiled, w.Remark = strings.TrimSpace(w.Spoiled), strings.TrimSpace(w.Remark)
		if w.Run < 1 || w.Run > mostPlanned {
			c.fault("run", "run = %d: rows of the card count from 1", w.Run)
		} else if first, twice := seen[w.Run]; twice {
			c.errs = append(c.errs, c.s.ErrorAt(w.line, "run %d is already on the card on line %d", w.Run, first))
		}
		seen[w.Run] = w.line
	}
	c.from = 0
	return ws
}

func (c *checker) past(ws []PastScatter) {
	c.table = "past."
	for i := range ws {
		w := &ws[i]
		c.from = c.s.text.Header("past", i)
		c.word("from", &w.From, "rest", "rollout")
		if w.From == "" || w.Target == "" {
			c.errs = append(c.errs, c.s.ErrorAt(c.from, "a past scatter needs a target and from = \"rest\" or \"rollout\""))
		}
		c.number("scatter_s", w.SD, w.SD > 0 && !math.IsInf(w.SD, 0), "a positive number of seconds")
		c.number("degrees_of_freedom", w.DF, w.DF >= 1 && !math.IsInf(w.DF, 0), "1 or more")
	}
	c.from = 0
}
