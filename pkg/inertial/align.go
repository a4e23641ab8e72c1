package inertial

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
)

// leastCorrelation is below what correlation of the slopes a sensor is set
// aside: it is loose, of another log, or no accelerometer.
const leastCorrelation = 0.7

// Bounds of a gain that scale and pitch explain: a soft body pitches by a degree
// for each m/s² at most, which is a sixth (common practice).
const leastGain, mostGain = 0.7, 1.3

// Align finds how the sensor relates to the speed. A sensor that cannot be used
// comes back with a Reason, not an error; errors are those of a speed that
// nothing can be held against, and of a cancelled context.
func Align(ctx context.Context, a *recording.Accel, sp Speed) (*Alignment, error) {
	sp = sp.valid()
	if len(sp.T) < 8 {
		return nil, errors.New("too few speeds to hold an accelerometer against")
	}
	al := &Alignment{UpU: math.NaN(), ForwardU: math.NaN(), Rest: math.NaN(), Moving: math.NaN()}
	if why := al.unusable(a); why != "" {
		al.Reason = why
		return al, nil
	}
	l := &aligner{al: al, a: a, sp: sp}
	l.clips = findClips(a)
	for _, c := range l.clips {
		al.Clipped += c[1] - c[0]
	}
	l.in = integrate(a, findGaps(a, al.Rate), l.clips)
	why, err := l.align(ctx)
	al.Reason = why
	return al, err
}

// valid leaves out speeds that are missing and gives each an uncertainty.
func (sp Speed) valid() Speed {
	out := Speed{Start: sp.Start}
	for i, v := range sp.V {
		if v != v || i > 0 && sp.T[i] <= sp.T[i-1] {
			continue
		}
		u := 0.05 // m/s, what receivers have
		if i < len(sp.U) && sp.U[i] > 0 {
			u = max(sp.U[i], 0.003)
		}
		out.T, out.V, out.U = append(out.T, sp.T[i]), append(out.V, v), append(out.U, u)
	}
	return out
}

// aligner is an alignment at work.
type aligner struct {
	al    *Alignment
	a     *recording.Accel
	sp    Speed
	in    *integral
	clips [][2]int
	base  float64      // s of Speed's clock at the sensor's first sample, by the sensor's own stamps
	zero  float64      // the same, by the receiver
	still [][2]float64 // standstills on Speed's clock
}

// align does it, step by step; the string says why the sensor is set aside.
func (l *aligner) align(ctx context.Context) (string, error) {
	al, sp := l.al, l.sp
	l.base = seconds(l.a.NanoUTC[0], recording.Nano(sp.Start))
	lo, hi := l.base-nearOffset, l.base+nearOffset
	if l.a.OwnClock {
		lo, hi = sp.T[0]-l.in.end(), sp.T[len(sp.T)-1]
	}
	c, err := search(ctx, l.in, sp, lo, hi)
	switch {
	case err != nil:
		return "", err
	case c.none:
		return "it hardly overlaps with the speed in time", nil
	}
	l.zero = c.offset
	al.Correlation = c.r
	l.still = sp.standstills()
	ps := poses(l.a, l.in, l.toSensor(l.still, -edge/2))
	if why := al.gravity(ps, 0.01); why != "" {
		return why, nil
	}
	if c.r < leastCorrelation {
		return fmt.Sprintf("its acceleration and that of the speed correlate by %.2f only, at least %.1f is needed", c.r, leastCorrelation), nil
	}
	if c.rivalled && l.a.OwnClock {
		return "its clock cannot be told: several offsets agree about as well", nil
	}
	dir := c.dir
	if al.Up != [3]float64{} {
		d := dot(dir, al.Up)
		for j := range dir {
			dir[j] -= d * al.Up[j]
		}
	}
	al.Gain = uncert.Value{X: norm(dir), U: 0.05 * norm(dir)}
	al.Forward = unitVector(dir)
	al.ForwardU = 0.05
	al.Offset = uncert.Value{X: l.zero - l.base, U: 0.05}
	al.Middle = sp.Start.Add(time.Duration((sp.T[0] + sp.T[len(sp.T)-1]) / 2 * 1e9))
	for _, p := range ps {
		al.Bias.X += dot(al.Forward, p.mean) / float64(len(ps))
	}
	al.Bias.U = 0.1
	return "", nil
}

// toSensor puts spans of Speed's clock on the sensor's, each end moved in by
// inset.
func (l *aligner) toSensor(spans [][2]float64, inset float64) [][2]float64 {
	var out [][2]float64
	for _, s := range spans {
		if t := [2]float64{s[0] - l.zero + inset, s[1] - l.zero - inset}; t[1] > t[0] {
			out = append(out, t)
		}
	}
	return out
}
