package fit

import (
	"math"
	"slices"

	"github.com/muktihari/fit/proto"

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

// scale says what unit samples are in.
type scale int

const (
	counts scale = iota // to be calibrated
	force               // m/s² already
)

// span is a stretch of samples with one calibration.
type span struct {
	from  int
	scale scale
	cal   *calibration // nil until one is known
}

// accel collects samples. Counts are kept until the calibration is known, which
// may come after them.
type accel struct {
	nano    []int64
	axis    [3][]float64
	spans   []span
	cal     *calibration
	unit    string
	leap    int // first sample after the last leap in time, 0 for none
	invalid int
}

// sensorAccelerometer is the sensor type of accelerometers.
const sensorAccelerometer = 0

// calibrate takes a calibration that holds from here on.
func (g *gather) calibrate(m *proto.Message, at int64) {
	if m.FieldValueByNum(0).Uint8() != sensorAccelerometer {
		return
	}
	c := &calibration{matrix: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}}
	factor, divisor := m.FieldValueByNum(1).Uint32(), m.FieldValueByNum(2).Uint32()
	if factor == 0 || divisor == 0 || factor == math.MaxUint32 || divisor == math.MaxUint32 {
		g.note("calibration", diag.Dropped, at, "the accelerometer's calibration has no factor or no divisor")
		return
	}
	c.gain = float64(factor) / float64(divisor)
	if s := m.FieldValueByNum(3).Uint32(); s != math.MaxUint32 {
		c.shift = float64(s)
	}
	if o := m.FieldValueByNum(4).SliceInt32(); len(o) == 3 {
		for i, v := range o {
			if v != math.MaxInt32 {
				c.offset[i] = float64(v)
			}
		}
	}
	if o := m.FieldValueByNum(5).SliceInt32(); len(o) == 9 && !slices.Contains(o, math.MaxInt32) {
		for i, v := range o {
			c.matrix[i] = float64(v) / 65535
		}
	}
	g.acc.cal = c
}

// samples adds the samples of an accelerometer_data message.
func (g *gather) samples(m *proto.Message, stamp uint32, at int64) {
	begin := rawNano(stamp)
	var offsets []uint16
	var raw [3][]uint16
	var full [3][]float32
	var milli [3][]int16
	for i := range m.Fields {
		v, num := m.Fields[i].Value, m.Fields[i].Num
		switch {
		case num == 0:
			if ms := v.Uint16(); ms != math.MaxUint16 {
				begin += int64(ms) * 1e6
			}
		case num == 1:
			offsets = v.SliceUint16()
		case num >= 2 && num <= 4:
			raw[num-2] = v.SliceUint16()
		case num >= 5 && num <= 7:
			full[num-5] = v.SliceFloat32()
		case num >= 8 && num <= 10:
			milli[num-8] = v.SliceInt16()
		}
	}
	a := &g.acc
	switch {
	case len(offsets) == 0:
		g.note("sample-times", diag.Dropped, at, "the accelerometer_data message has no sample_time_offset")
	case len(full[0]) > 0:
		addSamples(g, begin, offsets, full, force, func(v float32) float64 { return float64(v) * unit.GravityStandard }, at)
		a.unit = "g"
	case len(milli[0]) > 0:
		addSamples(g, begin, offsets, milli, force, func(v int16) float64 {
			if v == math.MaxInt16 {
				return math.NaN()
			}
			return float64(v) / 1000 * unit.GravityStandard
		}, at)
		a.unit = "g"
	case len(raw[0]) > 0:
		addSamples(g, begin, offsets, raw, counts, func(v uint16) float64 {
			if v == math.MaxUint16 {
				return math.NaN()
			}
			return float64(v)
		}, at)
		a.unit = "counts"
	}
}

// addSamples appends samples of any representation.
func addSamples[T any](g *gather, begin int64, offsets []uint16, axes [3][]T, sc scale, value func(T) float64, at int64) {
	a := &g.acc
	n := len(offsets)
	for _, x := range axes {
		n = min(n, len(x))
	}
	if n < len(axes[0]) || n < len(offsets) {
		g.note("samples", diag.Dropped, at, "%d samples lack an axis or a time", max(len(axes[0]), len(offsets))-n)
	}
	a.open(sc)
	for i := range n {
		v := [3]float64{value(axes[0][i]), value(axes[1][i]), value(axes[2][i])}
		t := begin + int64(offsets[i])*1e6
		switch {
		case offsets[i] == math.MaxUint16, v[0] != v[0], v[1] != v[1], v[2] != v[2]:
			a.invalid++
			continue
		case !g.inOrder(t, at):
			continue
		}
		a.nano = append(a.nano, t)
		for k := range v {
			a.axis[k] = append(a.axis[k], v[k])
		}
	}
}

// open lets a stretch of samples begin where the calibration changes.
func (a *accel) open(sc scale) {
	if n := len(a.spans); n > 0 && a.spans[n-1].scale == sc && a.spans[n-1].cal == a.cal {
		return
	}
	a.spans = append(a.spans, span{len(a.nano), sc, a.cal})
}

// inOrder reports whether a sample at t may follow. A leap ahead that the
// samples after it do not confirm is taken back.
func (g *gather) inOrder(t, at int64) bool {
	a := &g.acc
	n := len(a.nano)
	if n == 0 {
		return true
	}
	if t <= a.nano[n-1] {
		if a.leap == 0 || t <= a.nano[a.leap-1] || n-a.leap > 60 {
			g.note("sample-order", diag.Dropped, at, "an accelerometer sample is not later than the one before it")
			return false
		}
		g.note(diag.TimeLeap, diag.Dropped, at, "%d accelerometer samples leap ahead in time and the next come back", n-a.leap)
		a.truncate(a.leap)
		a.leap = 0
		return true
	}
	if t-a.nano[n-1] > int64(recording.Leap) {
		a.leap = n
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

// finish calibrates the samples in place. Counts before the first calibration
// take that one; without any they are worth nothing.
func (a *accel) finish(problems *diag.List) {
	if a.invalid > 0 {
		problems.Add(diag.Problem{Kind: "samples-invalid", Effect: diag.Dropped, Text: "accelerometer samples are marked invalid, the first of them counted here: " + itoa(a.invalid)})
	}
	first := a.cal
	for _, s := range a.spans {
		if s.cal != nil {
			first = s.cal
			break
		}
	}
	for i, s := range a.spans {
		if s.scale == force {
			continue
		}
		if s.cal == nil {
			s.cal = first
		}
		if s.cal == nil {
			problems.Add(diag.Problem{Kind: "calibration", Effect: diag.Dropped,
				Text: "the accelerometer's counts come without a calibration and mean nothing: " + itoa(len(a.nano)) + " samples are left out"})
			*a = accel{}
			return
		}
		end := len(a.nano)
		if i+1 < len(a.spans) {
			end = a.spans[i+1].from
		}
		for k := s.from; k < end; k++ {
			v := s.cal.apply([3]float64{a.axis[0][k], a.axis[1][k], a.axis[2][k]})
			a.axis[0][k], a.axis[1][k], a.axis[2][k] = v[0], v[1], v[2]
		}
	}
}
