package report

import (
	"fmt"
	"math"
	"strings"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// story is a plain paragraph on one mode: what limits it, how its prediction stands to
// what was measured, and what the data cannot tell.
func story(e *explain.Explanation, p *explain.Prediction) string {
	s := []string{limitSentence(e, p)}
	if e.Traced != nil {
		s = append(s, shiftSentence(e, p.Mode))
	}
	return strings.Join(said(append(s, predictionSentence(e, p), unknownSentence(e, p))...), " ")
}

// limitBrief say what limits, for a list.
var limitBrief = map[driveline.Limit]string{driveline.ByGrip: "grip", driveline.ByTorque: "torque", driveline.ByPower: "power",
	driveline.ByEngine: "engine speed", driveline.ByStart: "build-up"}

// limitWords say what limits, for a reader.
var limitWords = map[driveline.Limit]string{driveline.ByGrip: "the grip of the driven wheels", driveline.ByTorque: "torque", driveline.ByPower: "engine power",
	driveline.ByEngine: "engine speed", driveline.ByStart: "the build-up of tractive force"}

// limitSentence says for how long each limit holds on the way to 60 mph, or as far
// as the run gets.
func limitSentence(e *explain.Explanation, p *explain.Prediction) string {
	if p.Run == nil {
		return ""
	}
	parts, goal := limitParts(e, p, false)
	if len(parts) == 0 {
		return "By the sheet's data nothing limits it."
	}
	return fmt.Sprintf("%s its acceleration is limited by %s (modelled).", goal, and(parts))
}

// limitParts are the limits of a predicted run with their seconds, in words or in brief,
// and how far it was looked at.
func limitParts(e *explain.Explanation, p *explain.Prediction, brief bool) (parts []string, goal string) {
	name, per := SpeedUnit(e.Units)
	goal = "Up to 60 mph"
	end, ok := p.Run.ReachSpeed(60 * unit.MPH)
	if !ok {
		end, goal = math.Inf(1), "As far as it gets"
	}
	words, during := limitWords, " for"
	if brief {
		words, during = limitBrief, ""
	}
	for _, l := range p.Limits(end) {
		what, places, until := words[l.By], 1, ""
		switch {
		case l.By == driveline.ByShift:
			what = plural(l.N, "shift")
		case l.Seconds < leastLimit:
			continue
		case l.By == driveline.ByStart:
			places = 2
		case l.By == driveline.ByGrip && !brief: // the table of a pair has the speed
			until = fmt.Sprintf(" (until %.0f %s)", l.Until/per, name)
		}
		parts = append(parts, fmt.Sprintf("%s%s %.*f s%s", what, during, places, l.Seconds, until))
	}
	return parts, goal
}

// shiftSentence sums up a mode's shifts, over the runs that show any.
func shiftSentence(e *explain.Explanation, mode string) string {
	c := e.Traced.ShiftCost(mode)
	if c.Seen == 0 {
		return ""
	}
	of := fmt.Sprintf("%d of its %s", c.Seen, plural(c.Runs, "run"))
	if c.Seen == c.Runs {
		of = "its " + plural(c.Runs, "run")
	}
	return fmt.Sprintf("In %s %.2g shifts are seen on average, which together cost %s s a run (modelled).", of, c.Each, scaled(c.Cost, 1))
}

// gapSentence says by how much a mode is quicker or slower than another, to 60 mph
// or else to 30, and what of it the sheet explains.
func gapSentence(e *explain.Explanation, mode, other string) string {
	for _, i := range storyTargets {
		t := explain.Targets[i]
		d, ok := e.Difference(mode, other, t)
		if !ok {
			continue
		}
		if math.Abs(d.Seconds.X) <= d.Seconds.U95() {
			return fmt.Sprintf("To %s no difference of %s and %s can be told (%s s, measured).", t.Name[2:], mode, other, scaled(d.Seconds, 1))
		}
		s := fmt.Sprintf("To %s %s takes %s s %s than %s (measured)", t.Name[2:], mode, plusMinus(math.Abs(d.Seconds.X), d.Seconds.U95()), moreLess(d.Seconds.X), other)
		return s + "." + causeSentence(mode, d, false)
	}
	return ""
}

// storyTargets are the places in explain.Targets of what the story goes by: 60 mph
// or else 30.
var storyTargets = []int{1, 0}

// leastLimit is the shortest time in s for which a limit is told: less would print as
// nothing.
const leastLimit = 0.005

// causeSentence says what of a measured difference the sheet's data explain; in brief
// nothing of a rest that is within the uncertainty.
func causeSentence(mode string, d explain.Difference, brief bool) string {
	if d.Causes == nil {
		return ""
	}
	if len(d.Causes) == 0 {
		return " The sheet describes both modes alike and explains nothing of it."
	}
	var parts []string
	for _, c := range d.Causes {
		parts = append(parts, fmt.Sprintf("the %s of %s, %s s %s", c.What, mode, plusMinus(math.Abs(c.Seconds.X), c.Seconds.U95()), moreLess(c.Seconds.X)))
	}
	s := fmt.Sprintf(" The sheet puts it down to %s (modelled)", and(parts))
	if math.Abs(d.Left.X) <= d.Left.U95() {
		if brief {
			return s + "."
		}
		return s + "; the rest is within the uncertainty."
	}
	return s + fmt.Sprintf("; %s s %s are left unexplained.", plusMinus(math.Abs(d.Left.X), d.Left.U95()), moreLess(d.Left.X))
}

// bandSentence tells what makes a mode push more or less than another at the same
// speed; the sign is 1 for the band's first mode, -1 for its second.
func bandSentence(b *explain.ForceBand, sign float64, other string) string {
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
			"its wheels push %s %% more, by more engine power or less driveline loss, which the sheet does not tell apart", "no difference in force can be seen"))
	}
	parts := []string{tell(b.Loss, "%s %% more of the force is lost in the driveline (modelled)", "%s %% less of the force is lost in the driveline (modelled)", "no difference in driveline loss can be seen")}
	if b.Gearing.U > 0 { // it is none at all where both have the same ratios
		parts = append(parts, tell(b.Gearing, "its gearing gives %s %% more force (modelled)", "its gearing gives %s %% less force (modelled)", "no difference by gearing can be seen"))
	}
	parts = said(parts...)
	if len(parts) == 0 {
		return fmt.Sprintf("At the same speed, against %s, loss and gearing cannot be told apart.", other)
	}
	return fmt.Sprintf("At the same speed, against %s, %s.", other, strings.Join(parts, ", and "))
}

// predictionSentence says how far the prediction to 60 mph is from the measured.
func predictionSentence(e *explain.Explanation, p *explain.Prediction) string {
	for _, i := range storyTargets {
		t := explain.Targets[i]
		g, ok := e.OffBy(p, t)
		if !ok {
			continue
		}
		s := fmt.Sprintf("The prediction to %s is %s %% off the measured mean", t.Name[2:], plusMinus(g.X, g.U95()))
		if math.Abs(g.X) <= g.U95() {
			return s + ", within their combined uncertainty."
		}
		return s + ", beyond their combined uncertainty: something in the sheet or the model is not as it was on the day."
	}
	return ""
}

// unknownSentence says what the data cannot tell of a mode.
func unknownSentence(e *explain.Explanation, p *explain.Prediction) string {
	var what []string
	if e.Traced != nil {
		wind, grade := "", ""
		for i := range e.Conditions {
			c := &e.Conditions[i]
			if c.Run.Mode == p.Mode && math.IsNaN(c.HeadWind.X) {
				wind = "what the wind did"
			}
			if c.Run.Mode == p.Mode && math.IsNaN(c.Grade.X) {
				grade = "what the grade did"
			}
		}
		if c := e.Traced.ShiftCost(p.Mode); c.Seen < c.Runs && !explain.SingleSpeed(e.Sheet) {
			what = append(what, fmt.Sprintf("what shifts cost in %d of %s, in whose traces none can be seen", c.Runs-c.Seen, plural(c.Runs, "run")))
		}
		what = append(what, wind, grade)
	}
	switch {
	case p.Run == nil:
		what = append(what, "what the mode should do by its data, for which values are missing")
	case p.Grip == nil:
		what = append(what, "whether grip limits, for which values are missing")
	}
	if what = said(what...); len(what) == 0 {
		return ""
	}
	return "The data cannot tell: " + strings.Join(what, "; ") + "."
}
