package align

import (
	"context"
	"errors"
	"fmt"
	"math"

	"fromrest/pkg/recording"
)

// leastCorrelation is below what correlation of the slopes a sensor is set
// aside: it is loose, of another log, or no accelerometer.
const leastCorrelation = 0.7

// foundCorrelation is the same where the clock is not known: of all offsets the
// best is taken, and an unrelated sensor reaches 0.7 somewhere by chance.
const foundCorrelation = 0.8

// disagree is by how much in s the offset by the slopes over a second and that
// by the fit may differ; by more, quick and slow motion tell different offsets,
// which the uncertainty then covers.
const disagree = 0.08

// leastMotion is the least standard deviation of the speed's slope, in m/s², that
// tells forward.
const leastMotion = 0.25

// Bounds of a gain that scale and pitch explain: a soft body pitches by a degree
// for each m/s² at most, which is a sixth (common practice).
const leastGain, mostGain = 0.7, 1.3

// mostGainU is the greatest relative standard uncertainty of a gain that is of
// use; an accelerometer of another drive, laid where it fits best, has no better.
const mostGainU = 0.08

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

// A source much faster than a receiver is a vehicle's bus: it feels the
// driveline's own swinging, which the body does not. Its speeds are averaged.
const (
	busRate = 30.0 // Hz, from which this is so
	busSpan = 0.2  // s, averaged over
)

// thinned averages the speeds of a vehicle's bus; half is half the time each
// then stands for, 0 for speeds as they come.
func (sp Speed) thinned() (out Speed, half float64) {
	if median(sp.T) > 1/busRate {
		return sp, 0
	}
	out.Start = sp.Start
	for i := 0; i < len(sp.T); {
		t, v, u, n := 0.0, 0.0, 0.0, 0.0
		for from := sp.T[i]; i < len(sp.T) && sp.T[i] < from+busSpan; i++ {
			t, v, u, n = t+sp.T[i], v+sp.V[i], u+sp.U[i]*sp.U[i], n+1
		}
		out.T, out.V = append(out.T, t/n), append(out.V, v/n)
		out.U = append(out.U, math.Sqrt(u/n)) // neighbours' errors are much the same
	}
	return out, busSpan / 2
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
	al := l.al
	if why := al.overClipped(l.a); why != "" {
		return why, nil
	}
	c, err := l.place(ctx)
	switch {
	case err != nil:
		return "", err
	case c.none:
		return "it hardly overlaps with the speed in time", nil
	}
	al.Correlation = c.r
	if why := c.unlike(l.a.OwnClock); why != "" {
		return why, nil
	}
	l.zero = c.offset
	l.still = l.sp.standstills()
	if why := al.gravity(l.a, poses(l.a, l.in, l.toSensor(l.still, 0)), noiseOf(l.a, l.in, unitVector(c.dir), al.Rate, l.toSensor(l.still, edge))); why != "" {
		return why, nil
	}
	if c.rivalled && l.a.OwnClock {
		return "its clock cannot be told: several offsets agree about as well", nil
	}
	ft := l.start(&c)
	if ft == nil {
		return "it hardly overlaps with the speed in time", nil
	}
	if err := ft.run(ctx); err != nil {
		return "", err
	}
	if ft.cov == nil {
		return "its axes do not tell forward", nil
	}
	far := math.Abs(ft.zero - c.offset)
	l.finish(ft)
	if turn := c.turned(ft.basis); turn > 0 {
		return fmt.Sprintf("it moves on the vehicle: forward turns by %.0f° in the course of the log", turn*180/math.Pi), nil
	}
	if far > max(disagree, 0.25*median(l.sp.T)) {
		al.Offset.U = math.Hypot(al.Offset.U, far/2)
	}
	return al.gainFault(), nil
}

// place searches for the sensor's place on Speed's clock. Where the clocks are
// said to be one and do not agree within a few seconds, they may still be off by
// the leap seconds or a time zone: the whole overlap is searched for a plain
// agreement.
func (l *aligner) place(ctx context.Context) (coarse, error) {
	l.base = seconds(l.a.NanoUTC[0], recording.Nano(l.sp.Start))
	all := func() (coarse, error) {
		return search(ctx, l.in, l.sp, l.sp.T[0]-l.in.end(), l.sp.T[len(l.sp.T)-1])
	}
	if l.a.OwnClock {
		return all()
	}
	c, err := search(ctx, l.in, l.sp, l.base-nearOffset, l.base+nearOffset)
	if err != nil || !c.none && c.r >= leastCorrelation || c.motion() < leastMotion {
		return c, err
	}
	far, err := all()
	if err == nil && !far.none && !far.rivalled && far.r > sureCorrelation {
		l.al.note(fmt.Sprintf("its clock is off by %.1f s", l.base-far.offset))
		return far, nil
	}
	return c, err
}

// sureCorrelation is the correlation from which an offset is believed that
// contradicts the clocks.
const sureCorrelation = 0.9

// note adds to the note.
func (al *Alignment) note(text string) {
	if al.Note != "" {
		al.Note += "; "
	}
	al.Note += text
}

// unlike says why a sensor's acceleration is not taken for that of the speed.
func (c *coarse) unlike(ownClock bool) string {
	least := leastCorrelation
	if ownClock {
		least = foundCorrelation
	}
	if c.r >= least {
		return ""
	}
	if m := c.motion(); m < leastMotion {
		return fmt.Sprintf("the speed changes too little to tell forward: its acceleration has a standard deviation of %.2f m/s²", m)
	}
	return fmt.Sprintf("its acceleration and that of the speed correlate by %.2f only, at least %.1f is needed", c.r, least)
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

// underWay are the spans of the sensor's time between standstills.
func (l *aligner) underWay() [][2]float64 {
	var out [][2]float64
	from := max(l.sp.T[0]-l.zero, 0)
	end := min(l.sp.T[len(l.sp.T)-1]-l.zero, l.in.end())
	for _, s := range l.toSensor(l.still, 0) {
		if s[0] > from {
			out = append(out, [2]float64{from, min(s[0], end)})
		}
		from = max(from, s[1])
	}
	if end > from {
		out = append(out, [2]float64{from, end})
	}
	return out
}

// start prepares the fit from what the first search found; nil where hardly any
// speed is left.
func (l *aligner) start(c *coarse) *fit {
	al := l.al
	axes := len(l.in.w)
	reads, us, none := c.reverse(identity(axes), 0, 1)
	if axes == 3 && al.Up == [3]float64{} && len(l.still) == 0 {
		// Without a standstill, up is what the axes read for no acceleration.
		rest := [3]float64{none[0] + l.in.mean[0], none[1] + l.in.mean[1], none[2] + l.in.mean[2]}
		if g := norm(rest); g > leastGravity {
			al.Up, al.Gravity = unitVector(rest), g
			al.UpU = math.Sqrt(us[0]*us[0]+us[1]*us[1]+us[2]*us[2]) / g
		}
	}
	// Forward begins where the axes respond most: the regression of the speed on
	// them would follow the noise of one that feels little.
	var level [3]float64
	copy(level[:], reads)
	level = without(level, al.Up)
	forward := unitVector(level)
	ft := &fit{l: l, zero: l.zero, mid: (l.sp.T[0] + l.sp.T[len(l.sp.T)-1]) / 2, c: []float64{1 / norm(level)}, drifts: true}
	ft.basis = [][]float64{forward[:axes]}
	if axes == 3 {
		side := cross(al.Up, forward)
		if al.Up == [3]float64{} {
			side = perpendicular(forward)
			third := cross(forward, side)
			ft.basis = append(ft.basis, third[:])
		}
		ft.basis = append(ft.basis, side[:])
	}
	gains, us, _ := c.reverse(ft.basis, 0, 1)
	for i := range gains[1:] {
		ft.c = append(ft.c, 0)
		ft.across = append(ft.across, [2]float64{gains[i+1] / gains[0], math.Hypot(us[i+1]/gains[0], skew)})
	}
	shake := noiseOf(l.a, l.in, forward, al.Rate, l.underWay())
	ft.sensor = shake.shaking() / al.Rate
	ft.m = wander{noise: max(ft.c[0]*ft.c[0]*ft.sensor, 1e-7), bias: slopeWalk * slopeWalk}
	l.sp, ft.half = l.sp.thinned()
	ft.span = min(max(0.4*median(l.sp.T), leastSpan), mostSpan)
	ft.f = l.gather(mostSpan + 0.2)
	if ft.f.moving() < 8 {
		return nil
	}
	return ft
}

// skew is by what angle in rad the axes of a sensor may be from square by their
// errors of scale (common practice: a few per cent). Accelerations along and
// across the vehicle then do not read square to each other, and what is forward
// to samples is what leaves those across out.
const skew = 0.03

func identity(n int) [][]float64 {
	var out [][]float64
	for i := range n {
		d := make([]float64, n)
		d[i] = 1
		out = append(out, d)
	}
	return out
}

// perpendicular is a unit vector square to v.
func perpendicular(v [3]float64) [3]float64 {
	least := 0
	for j := range v {
		if math.Abs(v[j]) < math.Abs(v[least]) {
			least = j
		}
	}
	var e [3]float64
	e[least] = 1
	return unitVector(cross(v, e))
}

// run fits everything.
func (ft *fit) run(ctx context.Context) error {
	if err := ft.scan(ctx); err != nil {
		return err
	}
	ft.f.leaveOut(ft.leftOver())
	ft.drifts = false
	ft.settle()
	if err := ft.learn(ctx); err != nil {
		return err
	}
	ft.drifts = true
	ft.settle()
	if k := len(ft.c) + 1; ft.cov != nil && !(math.Sqrt(ft.cov.At(k, k)) < mostDrift) {
		ft.drifts, ft.drift = false, 0
		ft.settle()
	}
	return ctx.Err()
}

// mostDrift is the uncertainty of the drift above which it counts as not told.
const mostDrift = 50e-6

// settle repeats the step until the offset stays.
func (ft *fit) settle() {
	for range fitRounds {
		if move := ft.step(); !(math.Abs(move) > settled) {
			break
		}
	}
	ft.covariance()
}
