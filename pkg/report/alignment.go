package report

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/uncert"
)

// alignment describes how an accelerometer in use sits and on whose clock it
// runs; ± is half of the 95 % interval.
func alignment(al *accel.Alignment) []Item {
	items := []Item{{"mounting", "forward is " + direction(al.Forward, al.ForwardU) + " of its axes"}}
	if al.Up != ([3]float64{}) {
		items[0].Text += ", up " + direction(al.Up, al.UpU)
		if al.Gravity > 0 {
			items[0].Text += fmt.Sprintf("; %.3f m/s² at rest", al.Gravity)
		}
	}
	items = append(items,
		Item{"gain", within(al.Gain, "") + " of forward acceleration for one of the sensor's, body pitch included"},
		Item{"bias", within(al.Bias, " m/s²") + " along forward, slope of the ground included"})
	if al.Offset.U > 0 { // it has nothing to differ from where it is alone
		items = append(items, Item{"clock offset", clockOffset(al) + drift(al.Drift)})
	}
	if c := al.Correlation; c != 0 && !math.IsNaN(c) {
		items = append(items, Item{"correlation", uncert.RoundHalfUp(al.Correlation, 3) + " with the slope of the speed over a second"})
	}
	var shakes []string
	if al.Rest > 0 { // neither is where there was none
		shakes = append(shakes, figures(al.Rest, 2)+" m/s² at rest")
	}
	if al.Moving > 0 {
		shakes = append(shakes, figures(al.Moving, 2)+" m/s² under way")
	}
	if len(shakes) == 0 {
		return items
	}
	return append(items, Item{"vibration", strings.Join(shakes, ", ") + " (standard deviation of a sample)"})
}

// sameClock is the greatest offset between clocks that count from the same zero.
const sameClock = 12 * time.Hour

// clockOffset tells the clock offset, or, where the clocks have different zeros,
// when the first sample was taken.
func clockOffset(al *accel.Alignment) string {
	if math.Abs(al.Offset.X) < sameClock.Seconds() {
		return within(al.Offset, " s") + " to be added to its instants"
	}
	_, half := uncert.Format(al.Offset.X, al.Offset.U95())
	return "its clock is its own; its first sample was taken at " + al.Begin.UTC().Format("15:04:05.000") + " ±" + half + " s by the log's clock"
}

// direction prints a unit vector with the uncertainty of its angle.
func direction(v [3]float64, u float64) string {
	s := fmt.Sprintf("(%.2f, %.2f, %.2f)", v[0], v[1], v[2])
	if u > 0 && !math.IsNaN(u) {
		s += fmt.Sprintf(" ±%s°", figures(uncert.Z95*u*180/math.Pi, 2))
	}
	return s
}

// within prints a value with half of its 95 % interval.
func within(v uncert.Value, unit string) string {
	x, half := uncert.Format(v.X, v.U95())
	return x + " ±" + half + unit
}

// drift tells a clock's rate in parts per million where it could be told.
func drift(d uncert.Value) string {
	if d.X == 0 && d.U == 0 {
		return ""
	}
	ppm := uncert.Value{X: 1e6 * d.X, U: 1e6 * d.U}
	return ", growing by " + within(ppm, "") + " parts per million"
}

// jsonAlignment is an alignment on the wire; u95 are halves of 95 % intervals.
type jsonAlignment struct {
	Used        bool       `json:"used"`
	Reason      string     `json:"reason,omitempty"`
	RateHz      *float64   `json:"rate_hz,omitempty"`
	Up          [3]float64 `json:"up"`
	Forward     [3]float64 `json:"forward"`
	Gravity     *float64   `json:"gravity_mps2,omitempty"`
	Gain        *float64   `json:"gain,omitempty"`
	GainU95     *float64   `json:"gain_u95,omitempty"`
	Bias        *float64   `json:"bias_mps2,omitempty"`
	BiasU95     *float64   `json:"bias_u95_mps2,omitempty"`
	Offset      *float64   `json:"clock_offset_s,omitempty"`
	OffsetU95   *float64   `json:"clock_offset_u95_s,omitempty"`
	Drift       *float64   `json:"clock_drift,omitempty"`
	DriftU95    *float64   `json:"clock_drift_u95,omitempty"`
	Correlation *float64   `json:"correlation,omitempty"`
	Rest        *float64   `json:"vibration_rest_mps2,omitempty"`
	Moving      *float64   `json:"vibration_moving_mps2,omitempty"`
	Clipped     int        `json:"clipped"`
	Gaps        int        `json:"gaps"`
}

func alignmentJSON(al *accel.Alignment) *jsonAlignment {
	if al == nil {
		return nil
	}
	j := &jsonAlignment{Used: al.Reason == "", Reason: al.Reason, RateHz: positive(al.Rate), Up: al.Up, Forward: al.Forward,
		Gravity: positive(al.Gravity), Clipped: al.Clipped, Gaps: al.Gaps}
	if !j.Used {
		return j
	}
	j.Gain, j.GainU95 = number(al.Gain.X), positive(al.Gain.U95())
	j.Bias, j.BiasU95 = number(al.Bias.X), positive(al.Bias.U95())
	j.Offset, j.OffsetU95 = number(al.Offset.X), positive(al.Offset.U95())
	if al.Drift.U > 0 {
		j.Drift, j.DriftU95 = number(al.Drift.X), positive(al.Drift.U95())
	}
	j.Correlation, j.Rest, j.Moving = number(al.Correlation), positive(al.Rest), positive(al.Moving)
	return j
}
