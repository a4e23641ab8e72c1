package report

import (
	"fmt"
	"math"
	"strings"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// Story is a plain paragraph on one mode: what limits it, how it does against the
// others and why, and what the data cannot tell.
func Story(e *Explanation, mode string) string {
	var s []string
	say := func(t string) {
		if t != "" {
			s = append(s, t)
		}
	}
	for _, p := range e.Predictions {
		if p.Mode == mode && p.Run != nil {
			say(limitSentence(e, p))
		}
	}
	if e.Traced != nil {
		say(shiftSentence(e, mode))
		for i := range e.Traced.Bands {
			if b := &e.Traced.Bands[i]; b.A == mode || b.B == mode {
				other := b.B
				if mode == b.B {
					other = b.A
				}
				say(gapSentence(e, b, mode, other))
				say(bandSentence(b, mode, other))
			}
		}
	}
	say(predictionSentence(e, mode))
	say(unknownSentence(e, mode))
	return strings.Join(s, " ")
}

// limitWords say what limits, for a reader.
var limitWords = map[driveline.Limit]string{driveline.ByGrip: "the grip of the driven wheels", driveline.ByTorque: "torque", driveline.ByPower: "engine power",
	driveline.ByEngine: "engine speed", driveline.ByStart: "thrust that builds up"}

// limitSentence says for how long each limit holds on the way to 60 mph, or as far
// as the run gets.
func limitSentence(e *Explanation, p *explain.Prediction) string {
	name, per := SpeedUnit(e.Units)
	goal := "Up to 60 mph"
	end, ok := p.Run.ReachSpeed(60 * unit.MPH)
	if !ok {
		end, goal = math.Inf(1), "As far as it gets"
	}
	took, last, n := map[driveline.Limit]float64{}, map[driveline.Limit]float64{}, 0
	var order []driveline.Limit
	for _, q := range p.Run.Parts(end) {
		if _, ok := took[q.By]; !ok && q.By != driveline.ByShift {
			order = append(order, q.By)
		}
		if q.By == driveline.ByShift {
			n++
		}
		took[q.By] += q.End - q.Begin
		last[q.By] = q.ToSpeed / per
	}
	var parts []string
	for _, l := range order {
		if took[l] < 0.005 {
			continue
		}
		t := fmt.Sprintf("%s for %.1f s", limitWords[l], took[l])
		if l == driveline.ByGrip {
			t += fmt.Sprintf(" (until %.0f %s)", last[l], name)
		}
		if l == driveline.ByStart {
			t = fmt.Sprintf("%s for %.2f s", limitWords[l], took[l])
		}
		parts = append(parts, t)
	}
	if n > 0 {
		parts = append(parts, fmt.Sprintf("%s for %.1f s", plural(n, "shift"), took[driveline.ByShift]))
	}
	if len(parts) == 0 {
		return "By the sheet's data nothing limits it."
	}
	return fmt.Sprintf("%s its acceleration is limited by %s (modelled).", goal, and(parts))
}

// shiftSentence sums up a mode's shifts, over the runs that show any.
func shiftSentence(e *Explanation, mode string) string {
	runs, seen, n := 0, 0, 0
	mean, u := 0.0, 0.0
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		if r.Run.Mode != mode {
			continue
		}
		runs++
		if len(r.Shifts) == 0 {
			continue
		}
		seen++
		n += len(r.Shifts)
		for _, s := range r.Shifts {
			if !math.IsNaN(s.Cost.X) {
				mean, u = mean+s.Cost.X, math.Hypot(u, s.Cost.U)
			}
		}
	}
	if seen == 0 {
		return ""
	}
	k := float64(seen)
	of := fmt.Sprintf("%d of its %s", seen, plural(runs, "run"))
	if seen == runs {
		of = "its " + plural(runs, "run")
	}
	return fmt.Sprintf("In %s %.2g shifts are seen on average, which together cost %s s a run (modelled).", of, float64(n)/k, scaled(uncert.Value{X: mean / k, U: u / k}, 1))
}

// gapSentence says by how much a mode is quicker or slower than another, to 60 mph
// or else to 30, in which part of the run that comes about, and what of it the
// sheet explains.
func gapSentence(e *Explanation, b *explain.ForceBand, mode, other string) string {
	for _, t := range []int{1, 0} {
		target := explainTargets[t]
		x, y := measuredMean(e, mode, target.Name), measuredMean(e, other, target.Name)
		if x.N == 0 || y.N == 0 {
			continue
		}
		d, u := x.X-y.X, math.Hypot(x.U95, y.U95)
		if math.Abs(d) <= u {
			return fmt.Sprintf("To %s from rest no difference to %s can be told (%s s, measured).", target.Name[2:], other, plusMinus(d, u))
		}
		s := fmt.Sprintf("To %s from rest it takes %s s %s than %s (measured)", target.Name[2:], plusMinus(math.Abs(d), u), moreLess(d), other)
		return s + whereSentence(e, b, mode, other, target.Speed) + causeSentence(e, mode, other, t, d, u)
	}
	return ""
}

func moreLess(d float64) string {
	if d < 0 {
		return "less"
	}
	return "more"
}

// bothGrip is the difference in wheel force in per cent up to which grip limits
// both of two modes, not only the stronger.
const bothGrip = 5.0

// whereSentence says how much of a difference comes about below and above the
// speed up to which both use most of the grip, or 30 mph where they do not.
func whereSentence(e *Explanation, b *explain.ForceBand, mode, other string, end float64) string {
	name, per := SpeedUnit(e.Units)
	at, why := 30*unit.MPH, ""
	for _, p := range b.Parts {
		if p.Limit == explain.BandGrip && math.Abs(p.Percent.X) < bothGrip {
			at, why = p.To, ", where both use most of the grip"
		}
	}
	if at >= end {
		return "."
	}
	low, ok1 := gapBetween(e, mode, other, 0, at)
	high, ok2 := gapBetween(e, mode, other, at, end)
	if !ok1 || !ok2 {
		return "."
	}
	tell := func(v uncert.Value) string {
		if math.Abs(v.X) <= v.U95() {
			return fmt.Sprintf("nothing that can be told (%s s)", scaled(v, 1))
		}
		return fmt.Sprintf("%s s %s", scaled(uncert.Value{X: math.Abs(v.X), U: v.U}, 1), moreLess(v.X))
	}
	return fmt.Sprintf(": %s up to %.0f %s%s, and %s from there on.", tell(low), at/per, name, why, tell(high))
}

// gapBetween is the difference of two modes in the time from one speed to another,
// 0 being rest, over their runs' traces. Where both were driven both ways the
// direction is taken out; U95 is Student's.
func gapBetween(e *Explanation, a, b string, from, to float64) (uncert.Value, bool) {
	var took [2][2][]float64 // direction, mode
	head, first := 0.0, true
	for i := range e.Traced.Runs {
		r := e.Traced.Runs[i].Run
		t := reachTime(r, to) - reachTime(r, from)
		if r.Mode != a && r.Mode != b || math.IsNaN(t) {
			continue
		}
		if first {
			head, first = r.HeadingDeg, false
		}
		way, mode := 0, 0
		if math.Cos((r.HeadingDeg-head)*math.Pi/180) < 0 {
			way = 1
		}
		if r.Mode == b {
			mode = 1
		}
		took[way][mode] = append(took[way][mode], t)
	}
	d, v, rss, n := 0.0, 0.0, 0.0, 0
	for _, w := range took {
		if len(w[0]) == 0 || len(w[1]) == 0 { // driven one way only
			t, err := stats.Welch(stats.Describe(append(took[0][0], took[1][0]...)), stats.Describe(append(took[0][1], took[1][1]...)))
			return uncert.Value{X: t.Difference, U: t.SE * stats.TQuantile(0.95, t.DF) / uncert.Z95}, err == nil
		}
		x, y := stats.Describe(w[0]), stats.Describe(w[1])
		d += (x.Mean - y.Mean) / 2
		v += (1/float64(x.N) + 1/float64(y.N)) / 4
		for _, s := range []stats.Summary{x, y} {
			if s.N > 1 {
				rss += s.Var() * float64(s.N-1)
			}
			n += s.N - 1
		}
	}
	if n < 1 {
		return uncert.Value{}, false
	}
	return uncert.Value{X: d, U: math.Sqrt(rss/float64(n)*v) * stats.TQuantile(0.95, float64(n)) / uncert.Z95}, true
}

// reachTime is when a run's trace first reaches a speed, in s since the launch.
func reachTime(r *session.TimedRun, v float64) float64 {
	tr := &r.Trace
	if v <= 0 {
		return 0
	}
	for i := 1; i < tr.Len(); i++ {
		if tr.V[i] >= v && tr.V[i-1] < v {
			return tr.T[i-1] + (v-tr.V[i-1])/(tr.V[i]-tr.V[i-1])*(tr.T[i]-tr.T[i-1])
		}
	}
	return math.NaN()
}

// causeSentence says what of a measured difference the sheet's data explain.
func causeSentence(e *Explanation, mode, other string, target int, d, u float64) string {
	causes, ok := e.causes[causeKey{mode, other, target}]
	if !ok || causes == nil {
		return ""
	}
	if len(causes) == 0 {
		return " The sheet describes both modes alike and explains none of it."
	}
	var parts []string
	sum := 0.0
	for _, c := range causes {
		parts = append(parts, fmt.Sprintf("its %s %.2f s %s", c.What, math.Abs(c.Seconds), moreLess(c.Seconds)))
		sum += c.Seconds
	}
	s := fmt.Sprintf(" The sheet explains: %s (modelled);", and(parts))
	if math.Abs(d-sum) <= u {
		return s + fmt.Sprintf(" what is left, %s s, is within the uncertainty.", plusMinus(d-sum, u))
	}
	return s + fmt.Sprintf(" %s s %s are left unexplained.", plusMinus(math.Abs(d-sum), u), moreLess(d-sum))
}

// bandSentence tells what makes a mode push more or less than another at the same
// speed.
func bandSentence(b *explain.ForceBand, mode, other string) string {
	sign := 1.0
	if mode == b.B {
		sign = -1
	}
	tell := func(v uncert.Value, more, less, same string) string {
		switch {
		case math.IsNaN(v.X):
			return ""
		case math.Abs(v.X) <= v.U95():
			return same + fmt.Sprintf(" (%s %%)", plusMinus(sign*v.X, v.U95()))
		}
		w := scaled(uncert.Value{X: math.Abs(v.X), U: v.U}, 1)
		if sign*v.X > 0 {
			return fmt.Sprintf(more, w)
		}
		return fmt.Sprintf(less, w)
	}
	if b.LossBasis == explain.Assumed && !math.IsNaN(b.Loss.X) {
		return fmt.Sprintf("At the same speed, against %s, %s.", other, tell(b.Loss, "its wheels push %s %% less, by less engine power or more driveline loss, which the sheet does not tell apart",
			"its wheels push %s %% more, by more engine power or less driveline loss, which the sheet does not tell apart", "no difference in force can be told"))
	}
	var parts []string
	if t := tell(b.Loss, "%s %% more of the force is lost in the driveline (modelled)", "%s %% less of the force is lost in the driveline (modelled)", "no difference in driveline loss can be told"); t != "" {
		parts = append(parts, t)
	}
	if b.Gearing.U > 0 { // it is none at all where both have the same ratios
		if t := tell(b.Gearing, "its gearing gives %s %% more force (modelled)", "its gearing gives %s %% less force (modelled)", "no difference by gearing can be told"); t != "" {
			parts = append(parts, t)
		}
	}
	if len(parts) == 0 {
		return fmt.Sprintf("At the same speed, against %s, loss and gearing cannot be told apart.", other)
	}
	return fmt.Sprintf("At the same speed, against %s, %s.", other, strings.Join(parts, ", and "))
}

// predictionSentence says how far the prediction to 60 mph is from the measured.
func predictionSentence(e *Explanation, mode string) string {
	if e.Result == nil {
		return ""
	}
	for _, p := range e.Predictions {
		if p.Mode != mode || p.Run == nil {
			continue
		}
		for _, t := range []string{"0-60 mph", "0-30 mph"} {
			g, ok := gapOf(e, p, t)
			if !ok {
				continue
			}
			s := fmt.Sprintf("The prediction to %s is %s %% off the measured mean", t[2:], plusMinus(g.X, g.U95()))
			if math.Abs(g.X) <= g.U95() {
				return s + ", within the scatter of the runs."
			}
			return s + ", more than the scatter of the runs: something in the sheet or the model is not as it was on the day."
		}
	}
	return ""
}

// unknownSentence says what the data cannot tell of a mode.
func unknownSentence(e *Explanation, mode string) string {
	var what []string
	if e.Traced != nil {
		blind, runs := 0, 0
		wind, grade := false, false
		for i := range e.Traced.Runs {
			if r := &e.Traced.Runs[i]; r.Run.Mode == mode {
				runs++
				if len(r.Shifts) == 0 {
					blind++
				}
			}
		}
		for i := range e.Conditions {
			if c := &e.Conditions[i]; c.Run.Mode == mode {
				wind, grade = wind || math.IsNaN(c.HeadWind.X), grade || math.IsNaN(c.Grade.X)
			}
		}
		if blind > 0 {
			what = append(what, fmt.Sprintf("what shifts cost in %d of %s, whose traces show none", blind, plural(runs, "run")))
		}
		if wind {
			what = append(what, "what the wind did")
		}
		if grade {
			what = append(what, "what the grade did")
		}
	}
	for _, p := range e.Predictions {
		if p.Mode == mode && p.Run == nil {
			what = append(what, "what the mode should do by its data, for which values are missing")
		}
		if p.Mode == mode && p.Run != nil && p.Grip == nil {
			what = append(what, "whether grip limits, for which values are missing")
		}
	}
	if len(what) == 0 {
		return ""
	}
	return "Not to be told from the data: " + strings.Join(what, "; ") + "."
}

// gapOf is by how many per cent a predicted time from rest is over the mean of
// the measured ones.
func gapOf(e *Explanation, p *explain.Prediction, name string) (uncert.Value, bool) {
	for _, t := range explainTargets {
		if t.Name != name {
			continue
		}
		x, ok := t.reach(p.Run)
		m := measuredMean(e, p.Mode, name)
		if !ok || m.N == 0 {
			return uncert.Value{}, false
		}
		return uncert.Value{X: 100 * (x/m.X - 1), U: 100 * x / m.X * m.U95 / m.X / uncert.Z95}, true
	}
	return uncert.Value{}, false
}

// measuredMean is the mean of a mode's counted times from rest.
func measuredMean(e *Explanation, mode, name string) Mean {
	if e.Result == nil {
		return Mean{}
	}
	var runs []*session.TimedRun
	for _, r := range e.Result.Runs {
		if r.Counted && r.Mode == mode && r.Kind == segment.StandingStart {
			runs = append(runs, r)
		}
	}
	return Means([]Group{{Name: mode, Runs: runs}}, name, timing.FromRest)[0]
}
