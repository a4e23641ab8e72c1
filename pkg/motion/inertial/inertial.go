package inertial

import (
	"context"
	"errors"
	"math"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
)

// Reckoning is what an accelerometer without any speed beside it tells: speed
// dead reckoned between standstills.
type Reckoning struct {
	T     []float64        // s since the first sample, every gridStep
	V     []float64        // m/s, forward; the first motion of the log is taken to be forward
	U     []float64        // m/s, standard uncertainty of V
	Rest  [][2]float64     // s, standstills, in order
	Align *accel.Alignment // of the sensor; its Reason says why V is empty
}

// Reckon finds the standstills of an accelerometer, its forward axis and the
// speed between them. A sensor that cannot be used comes back with a Reason; the
// error is that of a log without samples or of a cancelled context.
func Reckon(ctx context.Context, a *recording.Accel) (*Reckoning, error) {
	if a.Len() == 0 {
		return nil, errors.New("no acceleration to integrate")
	}
	s, al := accel.Open(a)
	al.Correlation = math.NaN()
	out := &Reckoning{Align: al}
	if al.Reason != "" {
		return out, nil
	}
	al.Middle = recording.Instant(a.NanoUTC[0])
	al.Begin = al.Middle
	al.Gain = uncert.Value{X: usualGain, U: usualGainU}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	d := &reckoner{s: s, al: al}
	if al.Reason = d.axes(); al.Reason != "" {
		return out, nil
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	d.grid(out)
	d.noises(out)
	return out, ctx.Err()
}

// reckoner is a dead reckoning at work.
type reckoner struct {
	s      *accel.Sensor
	al     *accel.Alignment
	blocks []block
	sums   [][4]float64 // of the blocks before each: readings, and samples
	cand   []stop       // stretches that look still
	rest   [3]float64   // m/s², what the sensor reads in the longest usual one of them
	stops  []stop       // those that are standstills
	plane  [2][]float64 // directions among which forward lies
	dir    []float64    // forward, on the sensor's axes
	shake  float64      // m²/s³, variance that the sensor's noise along dir adds to the speed in a second
}
