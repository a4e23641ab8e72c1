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

// mostMassFactor is far beyond any vehicle: in the lowest gear of a truck the
// rotating parts weigh some times as much as the rest (assumed).
const mostMassFactor = 20

func (c *checker) vehicle(w *wireVehicle) {
	c.driveline(&w.Driveline)
	for _, x := range []struct {
		key string
		v   float64
	}{{"mass_kg", w.Mass}, {"tyre_radius_m", w.TyreRadius}, {"final_drive", w.FinalDrive}, {"transfer_high", w.TransferHigh},
		{"transfer_low", w.TransferLow}, {"power_kw", w.RatedPower}, {"power_rpm", w.PowerSpeed}, {"torque_nm", w.RatedTorque},
		{"torque_rpm", w.TorqueSpeed}, {"idle_rpm", w.IdleSpeed}, {"limit_rpm", w.LimitSpeed}, {"shift_rpm", w.ShiftSpeed},
		{"shift_s", w.ShiftTime}, {"drag_area_m2", w.DragArea}, {"rolling_resistance", w.RollingResistance}, {"front_axle_kg", w.FrontMass},
		{"rear_axle_kg", w.RearMass}, {"wheelbase_m", w.Wheelbase}, {"cg_height_m", w.CGHeight},
		{"front_track_m", w.FrontTrack}, {"rear_track_m", w.RearTrack}, {"friction", w.Friction}, {"launch_rpm", w.LaunchSpeed}} {
		c.number(x.key, x.v, x.v >= 0 && !math.IsInf(x.v, 0), "a positive number")
	}
	c.word("engine", &w.Engine, "naturally aspirated", "turbocharged", "diesel", "electric")
	c.word("front_axle", &w.FrontAxle, solidAxle, "independent")
	c.word("rear_axle", &w.RearAxle, solidAxle, "independent")
	c.number("front_roll_stiffness_share", w.RollShare, w.RollShare >= 0 && w.RollShare <= 1, aShare)
	c.number("shift_thrust_share", w.ShiftThrust, w.ShiftThrust >= 0 && w.ShiftThrust <= 1, aShare)
	c.number("mass_factor", w.MassFactor, w.MassFactor == 0 || w.MassFactor >= 1 && w.MassFactor < mostMassFactor, "1 or a little more")
	for i, g := range w.Gears {
		if !(g > 0) || math.IsInf(g, 0) {
			c.fault("gears", "gears: ratio %d is %g, want a positive number", i+1, g)
		}
	}
	for i, p := range w.TorqueRPMNm {
		if !(p[0] >= 0) || !(p[1] >= 0) || math.IsInf(p[0]+p[1], 0) || (i > 0 && p[0] <= w.TorqueRPMNm[i-1][0]) {
			c.fault("torque_rpm_nm", "torque_rpm_nm: point %d (%g, %g) is not positive at a rising engine speed", i+1, p[0], p[1])
		}
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
		{"altitude_m", w.Altitude, -500, 9000}, {"grade_percent", w.Grade, -50, 50}, {"grade_heading_deg", w.GradeHeading, 0, 360}} {
		if x.v != nil {
			c.number(x.key, *x.v, *x.v >= x.lo && *x.v <= x.hi, fmt.Sprintf("%g to %g", x.lo, x.hi))
		}
	}
}

// mostPlanned is far beyond what a day holds (assumed).
const mostPlanned = 1000

func (c *checker) plan(w *Plan) {
	c.table = "plan."
	c.word("from", &w.From, "rest", "rollout")
	c.number("runs", float64(w.Runs), w.Runs >= 0 && w.Runs <= mostPlanned, fmt.Sprintf("0 to %d", mostPlanned))
	c.number("smallest_s", w.Smallest, w.Smallest >= 0 && !math.IsInf(w.Smallest, 0), "a positive number of seconds")
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
