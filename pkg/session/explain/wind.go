package explain

import (
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/session"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// WindAlong is the mean wind along the course as the runs show it: drag at speed
// is larger into the wind than with it, and thrust at the same speed is not.
type WindAlong struct {
	HeadingDeg float64      // degrees from true north, the way that meets Wind head on
	Wind       uncert.Value // m/s; NaN where it is not to be told
	Reason     string       // why not, "" where it is told
	Out, Back  int          // runs each way
	From, To   float64      // m/s, the speeds compared
	Scatter    float64      // m/s², standard deviation of a run about its mode
	Assumed    bool         // the scatter is assumed: there are too few runs to see it
}

// Text says what the runs tell of the wind.
func (w *WindAlong) Text() string {
	if w.Reason != "" {
		return "The wind is not to be told from the runs: " + w.Reason + "."
	}
	x, h := uncert.Format(w.Wind.X, w.Wind.U95())
	s := fmt.Sprintf("The sheet says nothing of the wind: towards %.0f° the runs both ways show a head wind of %s ±%s m/s (%d and %d runs at %.0f to %.0f m/s; modelled",
		w.HeadingDeg, x, h, w.Out, w.Back, w.From, w.To)
	if w.Assumed {
		s += ", a scatter of 1 % of the force from run to run assumed"
	}
	return s + ")."
}

// apply gives each run its part of the wind.
func (w *WindAlong) apply(cs []RunConditions) {
	for i := range cs {
		if h := cs[i].Run.HeadingDeg; w.Reason == "" && !math.IsNaN(h) {
			cos := along(h, w.HeadingDeg)
			cs[i].HeadWind, cs[i].HeadWindFrom = uncert.Value{X: w.Wind.X * cos, U: w.Wind.U * math.Abs(cos)}, FromRuns
		}
	}
}

// windRun is a run as the search sees it.
type windRun struct {
	c     *RunConditions
	side  float64   // cosine of its heading to the course
	force []float64 // m/s² at each speed, drag in still air and grade taken out
	mean  float64   // m/s² over the speeds kept
}

// windAlong finds the wind from runs of one mode in both directions. For each run
// the force at the wheels over the mass, had the air been still, is averaged over
// speeds; what differs with direction beyond what the mode explains is wind.
func windAlong(cs []RunConditions, rs *resistance) WindAlong {
	w := WindAlong{HeadingDeg: cs[0].Run.HeadingDeg, Wind: nothing}
	runs := w.sides(cs)
	if w.Reason != "" {
		return w
	}
	top := math.Inf(1)
	for _, r := range runs {
		top = math.Min(top, r.c.Run.MaxSpeed)
	}
	w.From, w.To = math.Max(windFloor, math.Floor(top/2)), math.Floor(nearTop*top)
	if w.To-w.From < windSpan {
		w.Reason = fmt.Sprintf("the runs end at %.0f m/s, too slow for drag to show it", top)
		return w
	}
	for _, r := range runs {
		still := *r.c // with wind left in
		still.HeadWind = nothing
		push := still.push(rs)
		for v := w.From; v+forceStep <= w.To+stepSlack; v += forceStep {
			t0, _ := passes(&r.c.Run.Trace, v, math.Inf(1))
			t1, _ := passes(&r.c.Run.Trace, v+forceStep, math.Inf(1))
			r.force = append(r.force, push(v+forceStep/2, forceStep/(t1-t0)))
		}
	}
	speed := meanForces(runs, w.From)
	if math.IsNaN(speed) {
		w.Reason = "every speed is passed in a shift by some run"
		return w
	}
	w.solve(runs, rs, speed)
	return w
}

// sides sorts the runs by direction and says what is missing.
func (w *WindAlong) sides(cs []RunConditions) []*windRun {
	ways := map[string][2]int{}
	var runs []*windRun
	grade := true
	for i := range cs {
		r := cs[i].Run
		cos := along(r.HeadingDeg, w.HeadingDeg)
		if math.IsNaN(cos) || math.Abs(cos) < windSides {
			continue
		}
		if math.IsNaN(cs[i].Grade.X) {
			grade = false
			continue
		}
		n := ways[r.Mode]
		n[session.Way(r.HeadingDeg, w.HeadingDeg)]++
		ways[r.Mode] = n
		runs = append(runs, &windRun{c: &cs[i], side: cos})
	}
	runs = slices.DeleteFunc(runs, func(r *windRun) bool {
		n := ways[r.c.Run.Mode]
		return n[0] == 0 || n[1] == 0
	})
	for _, r := range runs {
		if r.side > 0 {
			w.Out++
		} else {
			w.Back++
		}
	}
	switch {
	case len(runs) == 0 && !grade:
		w.Reason = "the grade is not known, which differs with direction too"
	case len(runs) == 0:
		w.Reason = "no mode was driven both ways"
	}
	return runs
}

// meanForces averages each run's force over the speeds that no run passes in a
// shift, and returns the mean of those speeds, NaN for none.
func meanForces(runs []*windRun, from float64) float64 {
	n := len(runs[0].force)
	keep := slices.Repeat([]bool{true}, n)
	v := func(i int) float64 { return from + (float64(i)+0.5)*forceStep }
	for _, r := range runs {
		for i := range n {
			var around []float64
			for j := max(0, i-shiftAround); j <= min(n-1, i+shiftAround); j++ {
				around = append(around, r.force[j]*v(j))
			}
			if !(r.force[i]*v(i) >= shiftShare*stats.Middle(around)) {
				keep[i] = false
			}
		}
	}
	speed, count := 0.0, 0.0
	for i := range n {
		if !keep[i] {
			continue
		}
		speed, count = speed+v(i), count+1
		for _, r := range runs {
			r.mean += r.force[i]
		}
	}
	for _, r := range runs {
		r.mean /= count
	}
	return speed / count
}

// solve is least squares of the mean forces on one level for each mode and one
// slope with direction: a head wind w lowers them by k·(2·v·w + w²).
func (w *WindAlong) solve(runs []*windRun, rs *resistance, speed float64) {
	type sums struct{ n, x, y float64 }
	mode := map[string]sums{}
	for _, r := range runs {
		s := mode[r.c.Run.Mode]
		mode[r.c.Run.Mode] = sums{s.n + 1, s.x + r.side, s.y + r.mean}
	}
	of := func(r *windRun) (x, y float64) {
		s := mode[r.c.Run.Mode]
		return r.side - s.x/s.n, r.mean - s.y/s.n
	}
	var xx, xy, level float64
	for _, r := range runs {
		x, y := of(r)
		xx, xy, level = xx+x*x, xy+x*y, level+r.mean/float64(len(runs))
	}
	slope, ss := xy/xx, 0.0
	for _, r := range runs {
		x, y := of(r)
		ss += (y - slope*x) * (y - slope*x)
	}
	df := float64(len(runs) - len(mode) - 1)
	wide := 1.0
	if df < 1 {
		w.Scatter, w.Assumed = runScatter*level, true
	} else {
		w.Scatter = math.Sqrt(ss / df)
		wide = stats.StudentOver(df)
	}
	per := 2 * rs.dragPerKg * speed
	x := -slope / per
	common := 0.0 // a grade from the sheet is off by the same in all runs
	for _, r := range runs {
		if r.c.GradeFrom == FromSheet {
			common = unit.GravityStandard * r.c.Grade.U / per
		}
	}
	w.Wind = uncert.Value{X: x, U: uncert.Combine(wide*w.Scatter/math.Sqrt(xx)/per, rs.dragU*x, common)}
}
