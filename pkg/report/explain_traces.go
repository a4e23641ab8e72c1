package report

import (
	"fmt"
	"math"
	"strings"

	"fromrest/pkg/analysis"
	"fromrest/pkg/segment"
	"fromrest/pkg/timing"
	"fromrest/pkg/uncert"
)

// tracePart is one heading with its lines.
type tracePart struct {
	Head  string
	Lines []string
}

// traceParts tell what the traces say of the vehicle: shifts, force and power,
// use of grip, and how modes differ. Nothing for an explanation without logs.
func traceParts(e *Explanation) []tracePart {
	t := e.Traced
	if t == nil || len(t.Runs) == 0 {
		return nil
	}
	parts := []tracePart{{"Shifts (from the traces)", shiftLines(e)}, {"Force and power at the wheels (from the traces)", forceLines(e)},
		{"Grip used (from the traces)", gripLines(t)}}
	for i := range t.Bands {
		b := &t.Bands[i]
		parts = append(parts, tracePart{fmt.Sprintf("%s against %s, at the same speed (from the traces)", b.A, b.B), bandLines(e, b)})
	}
	var rest []string
	rest = append(rest, t.Load.Coasts...)
	if t.Load.Text != "" {
		rest = append(rest, t.Load.Text)
	}
	rest = append(rest, t.Assumed...)
	for _, m := range t.Missing {
		rest = append(rest, "missing "+m.Key+": would unlock "+m.Unlocks)
	}
	parts = append(parts, tracePart{"What the traces were read with", rest})
	out := parts[:0]
	for _, p := range parts {
		if len(p.Lines) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// shiftLines names every run's shifts, or why none can be told.
func shiftLines(e *Explanation) []string {
	name, per := SpeedUnit(e.Units)
	var out, none []string
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		switch {
		case r.NoShifts != "":
			out = append(out, r.Run.ID+": "+r.NoShifts)
		case len(r.Shifts) == 0:
			none = append(none, r.Run.ID)
		}
		for _, s := range r.Shifts {
			line := fmt.Sprintf("%s: at %s %s", r.Run.ID, scaled(s.Speed, per), name)
			if s.From > 0 {
				line += fmt.Sprintf(", %d to %d (%s)", s.From, s.To, s.GearBasis)
			}
			line += fmt.Sprintf(", takes %s s (%s)", scaled(s.Duration, 1), analysis.ShiftBasis)
			if !math.IsNaN(s.Cost.X) {
				line += fmt.Sprintf(", costs %s s (%s)", scaled(s.Cost, 1), analysis.CostBasis)
			}
			out = append(out, line)
		}
	}
	if len(none) > 0 {
		out = append(out, and(none)+": none found. A receiver of 10 samples a second shows no gap under about 0.3 s.")
	}
	return out
}

// forceLines give each mode's force and power at a few speeds.
func forceLines(e *Explanation) []string {
	name, per := SpeedUnit(e.Units)
	var out []string
	for _, m := range e.Traced.Modes {
		for _, v := range []float64{10, 20, 30, 40, 50, 60, 80, 100} {
			p, ok := pointAt(m.Points, v*per)
			if !ok {
				continue
			}
			line := fmt.Sprintf("%s, %.0f %s: ", m.Mode, v, name)
			if math.IsNaN(p.Force.X) {
				line += fmt.Sprintf("%s N for each kg (%s)", scaled(p.Specific, 1), m.Basis)
			} else {
				line += fmt.Sprintf("%s kN, %s kW (%s)", scaled(p.Force, 1e3), scaled(p.Power, 1e3), m.Basis)
			}
			out = append(out, line+fmt.Sprintf(", %s", plural(m.Runs, "run")))
		}
	}
	return out
}

// pointAt is the point of a curve nearest to a speed, outside shifts.
func pointAt(points []analysis.ForcePoint, v float64) (analysis.ForcePoint, bool) {
	best, far := -1, 0.75 // m/s
	for i := range points {
		if d := math.Abs(points[i].Speed - v); d < far && !points[i].InShift {
			best, far = i, d
		}
	}
	if best < 0 {
		return analysis.ForcePoint{}, false
	}
	return points[best], true
}

// gripLines say how much of the grip there is each run used.
func gripLines(t *analysis.Traced) []string {
	var out []string
	text := ""
	for i := range t.Runs {
		g := &t.Runs[i].Grip
		if math.IsNaN(g.Peak.X) {
			continue
		}
		line := fmt.Sprintf("%s: at most %s %% of it", t.Runs[i].Run.ID, scaled(g.Peak, 0.01))
		if !math.IsNaN(g.Mean.X) {
			line += fmt.Sprintf(", %s %% in the mean before power limits", scaled(g.Mean, 0.01))
		}
		out = append(out, line+fmt.Sprintf(" (%s)", g.Basis))
		text = g.Text
	}
	if text != "" {
		out = append(out, text)
	}
	return out
}

// limits are the words for what limits both modes.
var limits = map[string]string{analysis.BandPower: "power limits both", analysis.BandTorque: "torque limits both",
	analysis.BandGrip: "most of the grip is used", analysis.BandMixed: "what limits is not told apart"}

// bandLines tell the difference in wheel force of two modes, part by part, then
// what of it is loss and what gearing.
func bandLines(e *Explanation, b *analysis.ForceBand) []string {
	name, per := SpeedUnit(e.Units)
	var out []string
	for _, p := range b.Parts {
		line := fmt.Sprintf("%.0f to %.0f %s", p.From/per, p.To/per, name)
		if p.Gear > 0 {
			line += fmt.Sprintf(", gear %d", p.Gear)
		}
		out = append(out, fmt.Sprintf("%s, %s: %s %% (%s)", line, limits[p.Limit], scaled(p.Percent, 1), p.Basis))
	}
	if math.IsNaN(b.Loss.X) {
		out = append(out, "driveline loss: "+b.LossHow)
	} else if b.LossBasis == analysis.Assumed {
		out = append(out, fmt.Sprintf("engine power or driveline loss, not told apart: %s has %s %% less than %s (measured); %s", b.A, scaled(b.Loss, 1), b.B, b.LossHow))
	} else {
		out = append(out, fmt.Sprintf("driveline loss: %s loses %s %% of wheel force more than %s (%s); %s", b.A, scaled(b.Loss, 1), b.B, b.LossBasis, b.LossHow))
	}
	if math.IsNaN(b.Gearing.X) || b.Gearing.U == 0 {
		return append(out, "gearing: "+b.GearingHow)
	}
	return append(out, fmt.Sprintf("gearing: %s gains %s %% of wheel force over %s (%s); %s", b.A, scaled(b.Gearing, 1), b.B, b.GearingBasis, b.GearingHow))
}

// scaled prints a value over its unit with half of the 95 % interval.
func scaled(v uncert.Value, per float64) string { return plusMinus(v.X/per, v.U95()/per) }

// Story is a plain paragraph on one mode: what limits it, how it does against the
// others, and what the data cannot tell.
func Story(e *Explanation, mode string) string {
	var s []string
	for _, p := range e.Predictions {
		if p.Mode == mode && p.Run != nil {
			s = append(s, limitSentence(e, p))
		}
	}
	if e.Traced == nil {
		return strings.Join(s, " ")
	}
	if t := shiftSentence(e, mode); t != "" {
		s = append(s, t)
	}
	for i := range e.Traced.Bands {
		if b := &e.Traced.Bands[i]; b.A == mode || b.B == mode {
			s = append(s, gapSentence(e, b, mode)+bandSentence(b, mode))
		}
	}
	if gap := predictionSentence(e, mode); gap != "" {
		s = append(s, gap)
	}
	return strings.Join(s, " ")
}

// limitSentence says what limits each part of a predicted run.
func limitSentence(e *Explanation, p *analysis.Prediction) string {
	name, per := SpeedUnit(e.Units)
	by := map[string]string{"grip": "the grip of the driven wheels", "torque": "the torque at the wheels", "power": "engine power", "shift": "a shift"}
	var parts, last []string
	for _, q := range p.Run.Parts(math.Inf(1)) {
		what := by[fmt.Sprint(q.By)]
		if what == "" {
			what = fmt.Sprint(q.By)
		}
		if fmt.Sprint(q.By) == "shift" {
			continue // told by itself
		}
		if fmt.Sprint(q.By) == "launch" {
			continue // over before it limits anything
		}
		if n := len(last); n > 0 && last[n-1] == what {
			parts = parts[:len(parts)-1]
			last = last[:n-1]
		}
		parts, last = append(parts, fmt.Sprintf("%s up to %.0f %s", what, q.ToSpeed/per, name)), append(last, what)
	}
	if len(parts) == 0 {
		return "By the sheet's data nothing limits it."
	}
	return "By the sheet's data its acceleration is limited by " + strings.Join(parts, ", then ") + " (modelled)."
}

// shiftSentence sums up a mode's shifts.
func shiftSentence(e *Explanation, mode string) string {
	runs, n := 0, 0
	var cost, u []float64
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		if r.Run.Mode != mode || r.NoShifts != "" {
			continue
		}
		runs++
		sum, v := 0.0, 0.0
		for _, s := range r.Shifts {
			n++
			if !math.IsNaN(s.Cost.X) {
				sum, v = sum+s.Cost.X, v+s.Cost.U*s.Cost.U
			}
		}
		cost, u = append(cost, sum), append(u, v)
	}
	if runs == 0 || n == 0 {
		return ""
	}
	mean, v := 0.0, 0.0
	for i := range cost {
		mean += cost[i] / float64(runs)
		v += u[i] / float64(runs*runs)
	}
	return fmt.Sprintf("Its runs show %.1f shifts each, which together cost %s s a run (modelled).", float64(n)/float64(runs), scaled(uncert.Value{X: mean, U: math.Sqrt(v)}, 1))
}

// gapSentence says by how much a mode is quicker or slower than another, to 60 mph
// or else to 30, where both have means.
func gapSentence(e *Explanation, b *analysis.ForceBand, mode string) string {
	other := b.B
	if mode == b.B {
		other = b.A
	}
	for _, name := range []string{"0-60 mph", "0-30 mph"} {
		x, y := measuredMean(e, mode, name), measuredMean(e, other, name)
		if x.N == 0 || y.N == 0 {
			continue
		}
		d, u := x.X-y.X, math.Hypot(x.U95, y.U95)
		word := "more"
		switch {
		case math.Abs(d) <= u:
			return fmt.Sprintf("To %s from rest no difference to %s can be told (%s s, measured). ", name[2:], other, plusMinus(d, u))
		case d < 0:
			d, word = -d, "less"
		}
		return fmt.Sprintf("To %s from rest it takes %s s %s than %s (measured). ", name[2:], plusMinus(d, u), word, other)
	}
	return ""
}

// bandSentence tells what makes a mode push more or less than another.
func bandSentence(b *analysis.ForceBand, mode string) string {
	sign, other := 1.0, b.B
	if mode == b.B {
		sign, other = -1, b.A
	}
	tell := func(v uncert.Value, more, less, same string) string {
		switch {
		case math.IsNaN(v.X):
			return ""
		case math.Abs(v.X) <= v.U95():
			return same
		}
		w := uncert.Value{X: math.Abs(v.X), U: v.U}
		if sign*v.X > 0 {
			return fmt.Sprintf(more, scaled(w, 1))
		}
		return fmt.Sprintf(less, scaled(w, 1))
	}
	var parts []string
	if b.LossBasis == analysis.Assumed && !math.IsNaN(b.Loss.X) {
		if t := tell(b.Loss, "it has %s %% less force, by less engine power or more driveline loss, which the sheet does not tell apart", "it has %s %% more force, by more engine power or less driveline loss, which the sheet does not tell apart", "no difference in force can be told"); t != "" {
			return fmt.Sprintf("Against %s, %s.", other, t)
		}
	}
	if t := tell(b.Loss, "it loses %s %% more of the force in the driveline", "it loses %s %% less of the force in the driveline", "no difference in driveline loss can be told"); t != "" {
		parts = append(parts, t)
	}
	if b.Gearing.U > 0 { // it is none at all where both have the same ratios
		t := tell(b.Gearing, "its gearing gives %s %% more force", "its gearing gives %s %% less force", "no difference by gearing can be told")
		if t != "" {
			parts = append(parts, t)
		}
	}
	if len(parts) == 0 {
		return fmt.Sprintf("Against %s the traces cannot tell loss from gearing.", other)
	}
	return fmt.Sprintf("Against %s, %s.", other, strings.Join(parts, ", and "))
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
			if math.Abs(g.X) <= g.U95() {
				return fmt.Sprintf("The prediction to %s is %s %% off the measured mean: the two agree.", t[2:], scaled(g, 1))
			}
			return fmt.Sprintf("The prediction to %s is %s %% off the measured mean, more than the runs' scatter: something in the sheet or the model is not as it was on the day.", t[2:], scaled(g, 1))
		}
	}
	return ""
}

// gapOf is by how many per cent a predicted time from rest is over the mean of
// the measured ones.
func gapOf(e *Explanation, p *analysis.Prediction, name string) (uncert.Value, bool) {
	for _, t := range explainTargets {
		if t.Name != name {
			continue
		}
		x, ok := p.Run.ReachSpeed(t.Speed)
		if t.Distance > 0 {
			x, ok = p.Run.ReachDistance(t.Distance)
		}
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
	var runs []*analysis.TimedRun
	for _, r := range e.Result.Runs {
		if r.Counted && r.Mode == mode && r.Kind == segment.StandingStart {
			runs = append(runs, r)
		}
	}
	return Means([]Group{{Name: mode, Runs: runs}}, name, timing.FromRest)[0]
}
