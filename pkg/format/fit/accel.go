package fit

import (
	"cmp"
	"math"
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// calibration turns the counts of an accelerometer into g, as the profile has
// it: what is left after level shift and offset, times factor over divisor,
// turned by the orientation matrix.
type calibration struct {
	gain   float64 // g per count
	shift  float64 // counts
	offset [3]float64
	matrix [9]float64
}

// apply returns the specific force in m/s².
func (c *calibration) apply(raw [3]float64) (out [3]float64) {
	var v [3]float64
	for i := range v {
		v[i] = (raw[i] - c.shift - c.offset[i]) * c.gain
	}
	for i := range out {
		out[i] = (c.matrix[3*i]*v[0] + c.matrix[3*i+1]*v[1] + c.matrix[3*i+2]*v[2]) * unit.GravityStandard
	}
	return out
}

// calibrated stands for the calibration of samples that need none.
var calibrated = new(calibration)

// span is a stretch of samples with one calibration.
type span struct {
	from int
	cal  *calibration // nil until one is known
}

// accel collects samples. Counts are kept until the calibration is known, which
// may come after them.
type accel struct {
	nano    []int64
	axis    [3][]float64
	spans   []span
	cal     *calibration // the last
	leap    int          // first sample after the last leap in time, 0 for none
	invalid int
}

// sensorAccelerometer is the sensor type of accelerometers.
const sensorAccelerometer = 0

// calibrate takes a calibration that holds from here on.
func (g *gather) calibrate(m *message) {
	if m.value(0) != sensorAccelerometer {
		return
	}
	factor, divisor := m.value(1), m.value(2)
	if !(factor > 0 && divisor > 0) {
		g.note("calibration", diag.Dropped, m.place, "the accelerometer's calibration has no factor or no divisor")
		return
	}
	c := &calibration{gain: factor / divisor, shift: known(m.value(3)), matrix: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}}
	if m.count(4) == len(c.offset) {
		for i := range c.offset {
			c.offset[i] = known(m.element(4, i))
		}
	}
	if m.count(5) == len(c.matrix) {
		turn, sum := c.matrix, 0.0
		for i := range turn {
			turn[i] = m.element(5, i) / 65535
			sum += turn[i]
		}
		if !math.IsNaN(sum) {
			c.matrix = turn
		}
	}
	g.acc.cal = c
}

// known is v, or 0 where it is absent.
func known(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// samples adds the samples of an accelerometer_data message, in the best form
// that it holds them in.
func (g *gather) samples(m *message) {
	const offsets = 1
	switch {
	case m.count(offsets) == 0:
		g.note("sample-times", diag.Dropped, m.place, "the accelerometer_data message has no sample_time_offset")
	case m.count(5) > 0:
		g.addSamples(m, 5, unit.GravityStandard, 1, calibrated)
	case m.count(8) > 0:
		g.addSamples(m, 8, unit.GravityStandard, 1000, calibrated)
	case m.count(2) > 0:
		g.addSamples(m, 2, 1, 1, g.acc.cal)
	}
}

// addSamples appends the samples whose axes are in three fields from num on. A
// value over per, times scale, is in m/s² or in counts.
func (g *gather) addSamples(m *message, num byte, scale, per float64, cal *calibration) {
	a := &g.acc
	begin := rawNano(m.stamp) + m.millis(0)
	times, first := m.count(1), m.count(num)
	n := min(times, first, m.count(num+1), m.count(num+2))
	if n < first || n < times {
		g.note("samples", diag.Dropped, m.place, "%d samples lack an axis or a time", max(first, times)-n)
	}
	if k := len(a.spans); k == 0 || a.spans[k-1].cal != cal {
		a.spans = append(a.spans, span{len(a.nano), cal})
	}
	for i := range n {
		offset := m.element(1, i)
		var v [3]float64
		for k := range v {
			v[k] = m.element(num+byte(k), i) / per * scale
		}
		if math.IsNaN(offset + v[0] + v[1] + v[2]) {
			a.invalid++
			continue
		}
		t := begin + int64(offset)*1e6
		if !g.inOrder(t, m.place) {
			continue
		}
		a.nano = append(a.nano, t)
		for k := range v {
			a.axis[k] = append(a.axis[k], v[k])
		}
	}
}

// maxLeap is how many samples after a leap ahead in time may be taken back: more
// of them confirm it.
const maxLeap = 60

// inOrder reports whether a sample at t may follow. A leap ahead that the
// samples after it do not confirm is taken back.
func (g *gather) inOrder(t, at int64) bool {
	a := &g.acc
	n := len(a.nano)
	switch {
	case n == 0:
	case t > a.nano[n-1]:
		if t-a.nano[n-1] > int64(recording.Leap) {
			a.leap = n
		}
	case a.leap == 0 || t <= a.nano[a.leap-1] || n-a.leap > maxLeap:
		g.note("sample-order", diag.Dropped, at, "an accelerometer sample is not later than the one before it")
		return false
	default:
		g.note(diag.TimeLeap, diag.Dropped, at, "%d accelerometer samples leap ahead in time and the next come back", n-a.leap)
		a.truncate(a.leap)
		a.leap = 0
	}
	return true
}

func (a *accel) truncate(n int) {
	a.nano = a.nano[:n]
	for k := range a.axis {
		a.axis[k] = a.axis[k][:n]
	}
	for i := range a.spans {
		a.spans[i].from = min(a.spans[i].from, n)
	}
}

// calibrate turns counts into m/s² in place. Counts before the first calibration
// take that one; without any they are worth nothing.
func (a *accel) calibrate(g *gather) {
	if a.invalid > 0 {
		g.note("samples-invalid", diag.Dropped, 0, "accelerometer samples are marked invalid, the first of them counted here: %d", a.invalid)
	}
	first := a.cal
	if i := slices.IndexFunc(a.spans, func(s span) bool { return s.cal != nil && s.cal != calibrated }); i >= 0 {
		first = a.spans[i].cal
	}
	for i, s := range a.spans {
		c := cmp.Or(s.cal, first)
		if c == nil {
			g.note("calibration", diag.Dropped, 0, "the accelerometer's counts come without a calibration and mean nothing: %d samples are left out", len(a.nano))
			*a = accel{}
			return
		}
		end := len(a.nano)
		if i+1 < len(a.spans) {
			end = a.spans[i+1].from
		}
		for k := s.from; k < end && c != calibrated; k++ {
			v := c.apply([3]float64{a.axis[0][k], a.axis[1][k], a.axis[2][k]})
			a.axis[0][k], a.axis[1][k], a.axis[2][k] = v[0], v[1], v[2]
		}
	}
}

// finish puts the samples on the recording's clock, nil where there are none.
func (a *accel) finish(g *gather, convert func(int64) int64) *recording.Accel {
	if len(a.nano) == 0 {
		return nil
	}
	n := 0
	for i, raw := range a.nano {
		t := convert(raw)
		if n > 0 && t <= a.nano[n-1] {
			g.note("sample-order", diag.Dropped, g.at, "an accelerometer sample is not later than the one before it")
			continue
		}
		a.nano[n] = t
		for k := range a.axis {
			a.axis[k][n] = a.axis[k][i]
		}
		n++
	}
	a.truncate(n)
	return &recording.Accel{NanoUTC: a.nano, X: a.axis[0], Y: a.axis[1], Z: a.axis[2], Unit: "g"}
}
