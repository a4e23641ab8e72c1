package session

import (
	"context"
	"math"
	"sort"
	"time"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/recording"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/driveline"
)

// Climb is what a log says of height along a run. Columns may be nil.
type Climb struct {
	AltT, Alt []float64 // s since the launch, m above mean sea level
	UpT, Up   []float64 // s since the launch, m/s upward
}

// climb collects the heights along a run, which explanations need beside speed.
func (r *TimedRun) climb(rec *recording.Recording, start time.Time) {
	if r.Trace.Len() < 2 {
		return
	}
	end := r.Trace.T[r.Trace.Len()-1]
	r.Climb.AltT, r.Climb.Alt = alongRun(rec, recording.Altitude, recording.Nano(start), r.LogSeconds, end)
	r.Climb.UpT, r.Climb.Up = alongRun(rec, recording.VelUp, recording.Nano(start), r.LogSeconds, end)
}

// alongRun takes a column's values from 0 to end seconds after a launch, from the
// first track that has it.
func alongRun(rec *recording.Recording, c recording.Column, start int64, launch, end float64) (t, x []float64) {
	for _, tr := range rec.Tracks {
		col := tr.Col(c)
		if col == nil {
			continue
		}
		nanos := tr.Nanos()
		since := func(i int) float64 { return float64(nanos[i]-start)/float64(time.Second) - launch }
		i := sort.Search(len(nanos), func(i int) bool { return since(i) >= 0 })
		for ; i < len(nanos) && since(i) <= end; i++ {
			if !math.IsNaN(col[i]) {
				t, x = append(t, since(i)), append(x, col[i])
			}
		}
		if len(t) > 0 {
			return t, x
		}
	}
	return nil, nil
}

// Grade estimates the mean grade of a run (rise over run) from its log: from
// vertical velocity over speed where there is any, else from altitude over
// distance. from says which. The uncertainty comes from the residuals and allows
// for their correlation; it is NaN where the log says nothing.
func (r *TimedRun) Grade() (g uncert.Value, from string) {
	if g, ok := r.gradeFromUp(); ok {
		return g, "vertical velocity"
	}
	if g, ok := r.gradeFromAltitude(); ok {
		return g, "altitude"
	}
	return uncert.Value{X: math.NaN(), U: math.NaN()}, ""
}

// gradeFromUp regresses vertical velocity on speed through the origin.
func (r *TimedRun) gradeFromUp() (uncert.Value, bool) {
	peak := r.PeakTime()
	var x, y []float64
	for i, t := range r.Climb.UpT {
		if v, _ := r.Trace.SpeedAt(t); v >= minGradeSpeed && t <= peak {
			x, y = append(x, v), append(y, r.Climb.Up[i])
		}
	}
	b, xx, rest := throughOrigin(x, y)
	if len(x) < gradeFixes || xx == 0 {
		return uncert.Value{}, false
	}
	var ss, lag float64
	for i, e := range rest {
		ss += e * e
		if i > 0 {
			lag += e * rest[i-1]
		}
	}
	if ss == 0 { // a column that holds zeros is no measurement
		return uncert.Value{}, false
	}
	// The residuals' own correlation is estimated low by about 1/n for each
	// parameter taken out.
	n := float64(len(x))
	rho := math.Max(0, math.Min(gradeLag, lag/ss+2/n))
	// For a smooth regressor the sum's variance grows by (1+rho)/(1-rho).
	u := math.Sqrt(ss / (n - 1) / xx * (1 + rho) / (1 - rho))
	return tangent(b, u), true
}

// throughOrigin is the slope of y on x by least squares, the sum of the squares of x,
// and what is left of every y.
func throughOrigin(x, y []float64) (slope, xx float64, rest []float64) {
	xy := 0.0
	for i := range x {
		xx, xy = xx+x[i]*x[i], xy+x[i]*y[i]
	}
	slope = xy / xx
	for i := range x {
		rest = append(rest, y[i]-slope*x[i])
	}
	return slope, xx, rest
}

// tangent makes a grade of a vertical speed over a speed along the road, which is
// a sine; up to 20 % they differ by 2 %.
func tangent(sine, u float64) uncert.Value {
	return uncert.Value{X: math.Tan(math.Asin(math.Max(-steepest, math.Min(steepest, sine)))), U: u}
}

// gradeFromAltitude regresses steps of altitude on steps of distance: altitude's
// noise wanders like a random walk over a run. Noise that comes back, and the steps
// of the print, make the interval a little wide: 98 in 100 hold the true grade.
func (r *TimedRun) gradeFromAltitude() (uncert.Value, bool) {
	peak := r.PeakTime()
	var s, h []float64
	last := math.Inf(-1)
	for i, t := range r.Climb.AltT {
		if t-last < altitudeSpacing-altitudeSlack || t > peak {
			continue
		}
		d, _ := r.Trace.DistanceAt(t)
		s, h, last = append(s, d), append(h, r.Climb.Alt[i]), t
	}
	if len(s) < altitudesLeast || s[len(s)-1]-s[0] < altitudeWay {
		return uncert.Value{}, false
	}
	var dx, dy []float64
	for i := 1; i < len(s); i++ {
		dx, dy = append(dx, s[i]-s[i-1]), append(dy, h[i]-h[i-1])
	}
	b, xx, rest := throughOrigin(dx, dy)
	ss := 0.0
	for _, e := range rest {
		ss += e * e
	}
	if ss == 0 {
		return uncert.Value{}, false
	}
	n := float64(len(rest))
	return tangent(b, math.Sqrt(ss/(n-1)/xx)*stats.StudentOver(n-1)), true
}

// PeakTime is when the run is fastest, s since the launch.
func (r *TimedRun) PeakTime() float64 {
	at, top := 0.0, math.Inf(-1)
	for i, v := range r.Trace.V {
		if v > top {
			at, top = r.Trace.T[i], v
		}
	}
	return at
}

// Coasting is a coast-down found in a log.
type Coasting struct {
	LogSeconds float64 // s from the log's first fix
	Seconds    float64 // s long
	From, To   float64 // m/s
	HeadingDeg float64 // degrees from true north, NaN without course
	Fit        driveline.Coast
}

// findCoasts looks for long stretches that slow gently and steadily.
func findCoasts(ctx context.Context, s *estimate.Samples) []Coasting {
	var out []Coasting
	n := len(s.T)
	// gentle returns the end of a stretch of about coastLook and whether the speed
	// falls gently over it.
	gentle := func(from int) (to int, ok bool) {
		for to = from; to+1 < n && s.T[to]-s.T[from] < coastLook; {
			to++
		}
		span := s.T[to] - s.T[from]
		a := (s.Speed[to] - s.Speed[from]) / span
		return to, span >= coastLookLeast && a < -coastGentlest && a > -coastHardest
	}
	for i := 0; i < n-1; {
		if ctx.Err() != nil {
			return out
		}
		if _, ok := gentle(i); !ok || s.Speed[i] < coastFrom {
			i++
			continue
		}
		k := i // the last sample from which what follows is still gentle
		for m := i; m+1 < n; m++ {
			e, ok := gentle(m)
			if !ok || s.Speed[e] < coastFrom || s.T[e]-s.T[m] > coastLookMost {
				break
			}
			k = e
		}
		if s.T[k]-s.T[i] >= coastSeconds && s.Speed[i]-s.Speed[k] >= coastSpan {
			c := Coasting{LogSeconds: s.T[i], Seconds: s.T[k] - s.T[i], From: s.Speed[i], To: s.Speed[k], HeadingDeg: s.Course[(i+k)/2]}
			if fit, err := driveline.FitCoast(s.T[i:k+1], s.Speed[i:k+1]); err == nil {
				c.Fit = fit
				out = append(out, c)
			}
		}
		i = max(k, i+1)
	}
	return out
}
