package align

import (
	"context"
	"errors"
	"fmt"
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/accel"
	"fromrest/pkg/recording"
)

// Align finds how the sensor relates to the speed. A sensor that cannot be used
// comes back with a Reason, not an error; errors are those of a speed that
// nothing can be held against, and of a cancelled context.
func Align(ctx context.Context, a *recording.Accel, sp Speed) (*accel.Alignment, error) {
	sp = sp.valid()
	if len(sp.T) < leastSpeeds {
		return nil, errors.New("too few speeds to hold an accelerometer against")
	}
	s, al := accel.Open(a)
	if al.Reason != "" {
		return al, nil
	}
	l := &aligner{al: al, s: s, sp: sp, own: a.OwnClock}
	why, err := l.align(ctx)
	al.Reason = why
	return al, err
}

// aligner is an alignment at work.
type aligner struct {
	al    *accel.Alignment
	s     *accel.Sensor
	sp    Speed
	own   bool         // the sensor's clock is its own
	base  float64      // s of Speed's clock at the sensor's first sample, by the sensor's own stamps
	zero  float64      // the same, by the receiver
	still [][2]float64 // standstills on Speed's clock
}

// align does it, step by step; the string says why the sensor is set aside.
func (l *aligner) align(ctx context.Context) (string, error) {
	al := l.al
	m, err := l.place(ctx)
	switch {
	case err != nil:
		return "", err
	case m.none:
		return "it hardly overlaps with the speed in time", nil
	}
	al.Correlation = m.r
	if why := m.unlike(l.own); why != "" {
		return why, nil
	}
	l.zero = m.offset
	l.still = l.sp.standstills()
	shake := l.s.Noise(accel.Unit(m.dir), l.toSensor(l.still, motion.RestEdge))
	if why := al.Level(l.s, l.s.Poses(l.toSensor(l.still, 0)), shake); why != "" {
		return why, nil
	}
	if m.rivalled && l.own {
		return "its clock cannot be told: several offsets agree about as well", nil
	}
	rg := l.start(&m)
	if rg == nil {
		return "it hardly overlaps with the speed in time", nil
	}
	if err := rg.run(ctx); err != nil {
		return "", err
	}
	if rg.cov == nil {
		return "its axes do not tell forward", nil
	}
	far := math.Abs(rg.zero - m.offset)
	al.LogLik = rg.likelihood(rg.m, [][]float64{rg.leftOver()})
	l.finish(rg)
	if turn := m.turned(rg.basis); turn > 0 {
		return fmt.Sprintf("it moves on the vehicle: forward turns by %.0f° in the course of the log", turn*180/math.Pi), nil
	}
	if far > max(disagree, disagreeShare*interval(l.sp.T)) {
		al.Offset.U = math.Hypot(al.Offset.U, far/2)
	}
	return gainFault(al), nil
}

// place searches for the sensor's place on Speed's clock. Where the clocks are
// said to be one and do not agree within a few seconds, they may still be off by
// the leap seconds or a time zone: the whole overlap is searched for a plain
// agreement.
func (l *aligner) place(ctx context.Context) (match, error) {
	l.base = l.s.Since(l.sp.Start)
	all := func() (match, error) {
		return search(ctx, l.s, l.sp, l.sp.T[0]-l.s.End(), l.sp.T[len(l.sp.T)-1])
	}
	if l.own {
		return all()
	}
	m, err := search(ctx, l.s, l.sp, l.base-nearOffset, l.base+nearOffset)
	if err != nil || !m.none && m.r >= leastCorrelation || m.motion() < leastMotion {
		return m, err
	}
	far, err := all()
	if err == nil && !far.none && !far.rivalled && far.r > sureCorrelation {
		l.al.AddNote(fmt.Sprintf("its clock is off by %.1f s", l.base-far.offset))
		return far, nil
	}
	return m, err
}

// unlike says why a sensor's acceleration is not taken for that of the speed.
func (m *match) unlike(ownClock bool) string {
	least := leastCorrelation
	if ownClock {
		least = foundCorrelation
	}
	if m.r >= least {
		return ""
	}
	if sd := m.motion(); sd < leastMotion {
		return fmt.Sprintf("the speed changes too little to tell forward: its acceleration has a standard deviation of %.2f m/s²", sd)
	}
	return fmt.Sprintf("its acceleration and that of the speed correlate by %.2f only, at least %.1f is needed", m.r, least)
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
	end := min(l.sp.T[len(l.sp.T)-1]-l.zero, l.s.End())
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

// start prepares the regression from what the first search found; nil where
// hardly any speed is left.
func (l *aligner) start(m *match) *regression {
	al := l.al
	axes := len(l.s.Axes)
	var each [][]float64
	for j := range axes {
		each = append(each, make([]float64, axes))
		each[j][j] = 1
	}
	reads, us, none := m.reverse(each, 0, 1)
	if axes == 3 && al.Up == [3]float64{} && len(l.still) == 0 {
		// Without a standstill, up is what the axes read for no acceleration.
		rest := [3]float64{none[0] + l.s.Mean[0], none[1] + l.s.Mean[1], none[2] + l.s.Mean[2]}
		if g := accel.Norm(rest); g > accel.LeastGravity {
			al.Up, al.Gravity = accel.Unit(rest), g
			al.UpU = math.Sqrt(us[0]*us[0]+us[1]*us[1]+us[2]*us[2]) / g
		}
	}
	// Forward begins where the axes respond most: the regression of the speed on
	// them would follow the noise of one that feels little.
	var level [3]float64
	copy(level[:], reads)
	level = accel.Without(level, al.Up)
	forward := accel.Unit(level)
	rg := &regression{l: l, zero: l.zero, mid: (l.sp.T[0] + l.sp.T[len(l.sp.T)-1]) / 2, c: []float64{1 / accel.Norm(level)}, drifts: true}
	rg.basis = [][]float64{forward[:axes]}
	if axes == 3 {
		side := accel.Cross(al.Up, forward)
		if al.Up == [3]float64{} {
			side = perpendicular(forward)
			third := accel.Cross(forward, side)
			rg.basis = append(rg.basis, third[:])
		}
		rg.basis = append(rg.basis, side[:])
	}
	gains, us, _ := m.reverse(rg.basis, 0, 1)
	for i := range gains[1:] {
		rg.c = append(rg.c, 0)
		rg.across = append(rg.across, [2]float64{gains[i+1] / gains[0], math.Hypot(us[i+1]/gains[0], skew)})
	}
	shake := l.s.Noise(forward, l.underWay())
	rg.sensor = shake.Shaking() / al.Rate
	rg.m = wander{noise: max(rg.c[0]*rg.c[0]*rg.sensor, startNoise), bias: slopeWalk * slopeWalk}
	l.sp, rg.half = l.sp.thinned()
	rg.span = min(max(spanShare*interval(l.sp.T), leastSpan), mostSpan)
	rg.f = l.gather(mostSpan + spanRoom)
	if rg.f.moving() < leastSpeeds {
		return nil
	}
	return rg
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
	return accel.Unit(accel.Cross(v, e))
}
