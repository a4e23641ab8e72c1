package accel

import (
	"math"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
)

// Alignment is how an accelerometer relates to the vehicle and to the clock of
// its speed.
type Alignment struct {
	Up, Forward   [3]float64 // unit vectors on the sensor's axes; Up is zero where gravity cannot be seen
	UpU, ForwardU float64    // rad, standard uncertainty of either direction; NaN where it is not known
	// Gain is the vehicle's forward acceleration for one m/s² of the sensor's
	// along Forward; pitch under acceleration and the sensor's scale are in it.
	Gain uncert.Value
	// Bias is what the sensor reads along Forward without acceleration, in m/s²
	// of the sensor, the share of gravity included.
	Bias    uncert.Value
	Gravity float64 // m/s², mean length of the reading at rest

	// Offset is what to add to a sensor's instant to have the receiver's, in s,
	// at the instant Middle of the receiver's clock; Drift is by how much it
	// grows in a second, zero where that cannot be told.
	Offset, Drift uncert.Value
	Middle        time.Time
	// Begin is the sensor's first sample on the receiver's clock.
	Begin time.Time

	// Correlation is that of the sensor's forward acceleration and the slope of
	// the speed over about a second.
	Correlation  float64
	Rate         float64 // Hz
	Rest, Moving float64 // m/s² after Gain, standard deviation of one sample's noise at rest and under way
	// Rho is the correlation of neighbouring samples' noise at the sensor's own
	// rate, from vibration through a logger's filter; or what it would have to be
	// for means over an eighth of a second to scatter as they do, if that is more: a
	// body nods on its springs.
	Rho float64
	// LogLik is the log-likelihood of the speeds under way: what compares sensors read in
	// different ways against the same speed.
	LogLik  float64
	Gaps    int    // places where samples are missing
	Clipped int    // samples at the end of the sensor's range
	Note    string // what was put right, such as a wrong unit; may be ""
	Reason  string // why the sensor is set aside; "" where it is used
}

// AddNote adds to the note.
func (al *Alignment) AddNote(text string) {
	if al.Note != "" {
		al.Note += "; "
	}
	al.Note += text
}

// OffsetAt returns the clock offset in s at an instant of the receiver's clock,
// with what the drift adds to its uncertainty.
func (al *Alignment) OffsetAt(at time.Time) uncert.Value {
	d := at.Sub(al.Middle).Seconds()
	return uncert.Value{X: al.Offset.X + al.Drift.X*d, U: math.Hypot(al.Offset.U, al.Drift.U*d)}
}

// ForwardSamples returns the samples on a clock that starts at start: s since
// then and forward acceleration in m/s², with gain, bias and offset applied.
// Samples that are clipped or beside a gap are marked bad. Nothing is returned
// for a sensor that is set aside.
func (al *Alignment) ForwardSamples(a *recording.Accel, start time.Time) (t, acc []float64, bad []bool) {
	if al.Reason != "" || a.Len() == 0 {
		return nil, nil, nil
	}
	n := a.Len()
	t, acc, bad = make([]float64, n), make([]float64, n), make([]bool, n)
	shift := seconds(a.NanoUTC[0], recording.Nano(start)) + al.Offset.X
	mid := al.Middle.Sub(start).Seconds()
	axes := axesOf(a)
	for i, nano := range a.NanoUTC {
		x := seconds(nano, a.NanoUTC[0]) + shift
		t[i] = x + al.Drift.X*(x-mid)
		sum := 0.0
		for j, s := range axes {
			sum += al.Forward[j] * s[i]
		}
		acc[i] = al.Gain.X * (sum - al.Bias.X)
		bad[i] = !(math.Abs(sum) < Wild)
	}
	for _, r := range findClips(a) {
		for i := r[0]; i < r[1]; i++ {
			bad[i] = true
		}
	}
	for _, i := range findGaps(a, al.Rate) {
		bad[i-1], bad[i] = true, true
	}
	return t, acc, bad
}
