package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/session/compare/contrast"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// Methods is the methods paragraph of an article: what was really done, in
// plain words, from the result and its comparison. cmp may be nil.
func Methods(res *session.Result, cmp *compare.Result) string {
	comparison := ""
	if cmp != nil && len(cmp.Targets) > 0 {
		comparison = comparisonSentences(cmp)
	}
	return strings.Join(said(drivenSentence(res.Sheet), instrumentSentence(res), runsSentence(res), leftOutSentence(res), conditionsSentence(res.Sheet),
		"Times are given from rest, that is from the first motion, and with rollout, that is from the instant 1 ft (0.3048 m) had been covered; with rollout, distances count from there. The first motion was estimated together with speed and distance from all samples around a run, and how tractive force builds up from all launches of a mode. Intervals are meant to hold the true value 95 times in 100.",
		comparison, "The evaluation was made with "+res.Settings.MadeBy()+"."), " ")
}

// drivenSentence says what was driven, where and when, as far as the sheet does.
func drivenSentence(sh *sheet.Sheet) string {
	if sh == nil {
		return ""
	}
	what := ""
	put := func(words, note string) { // names hold commas: they stand in brackets
		what += words
		if note != "" {
			what += " (" + note + ")"
		}
	}
	if !sh.Date.IsZero() {
		put(" on "+sh.Date.Format("2 January 2006"), sh.Place)
	} else if sh.Place != "" {
		put(" at one place", sh.Place)
	}
	switch v := &sh.Vehicle; {
	case v.Mass > 0:
		put(fmt.Sprintf(" in a vehicle of %.0f kg as tested", v.Mass), v.Name)
	case v.Name != "":
		put(" in one vehicle", v.Name)
	}
	if what == "" {
		return ""
	}
	return "The runs were driven" + what + "."
}

// instrumentSentence says what measured and how well.
func instrumentSentence(res *session.Result) string {
	names := map[recording.Source]string{recording.GNSS: "a GNSS receiver", recording.Position: "successive positions",
		recording.Wheel: "the wheels", recording.Inertial: "an inertial system"}
	var sources []string
	var rates []float64
	fused, aside := 0, 0
	noise := [2]float64{math.Inf(1), 0}
	for _, l := range res.Logs {
		n := names[l.Quality.Source]
		if l.Quality.InertialOnly {
			n = "an accelerometer alone, integrated between standstills,"
		}
		if n != "" && !slices.Contains(sources, n) {
			sources = append(sources, n)
		}
		if r := l.Quality.Rate; r > 0 {
			if r = math.Round(10*r) / 10; r > 2 {
				r = math.Round(r)
			}
			rates = append(rates, r)
		}
		switch al := l.Quality.Alignment; {
		case al == nil || l.Quality.InertialOnly:
		case al.Reason == "":
			fused++
		default:
			aside++
		}
		if n := l.Quality.SpeedNoise; n > 0 {
			noise = [2]float64{min(noise[0], n), max(noise[1], n)}
		}
	}
	slices.Sort(rates)
	s := fmt.Sprintf("Speed was taken from %s", and(sources))
	if distinct := slices.Compact(rates); len(distinct) > 0 {
		s += " at " + and(each(distinct, func(r float64) string { return trimZeros(r, 1) })) + " Hz"
	}
	if noise[1] > 0 {
		if s += ", with noise of " + figures(noise[0], 2); figures(noise[0], 2) != figures(noise[1], 2) {
			s += " to " + figures(noise[1], 2)
		}
		s += " m/s (standard deviation)"
	}
	in := func(n int) string {
		if n == len(res.Logs) {
			return ""
		}
		return fmt.Sprintf("in %d of %s ", n, plural(len(res.Logs), "log"))
	}
	if fused > 0 {
		s += "; " + in(fused) + "an accelerometer, aligned with the speed, was used together with it"
	}
	if aside > 0 {
		s += "; " + in(aside) + "an accelerometer was not fit for use and was left out"
	}
	return s + "." + smoothedSentence(res)
}

// smoothedSentence says how many receivers were found to smooth speed, and what was done
// about it.
func smoothedSentence(res *session.Result) string {
	n, least, most := 0, math.Inf(1), 0.0
	for _, l := range res.Logs {
		if sm := l.Quality.Smoothing; sm != nil && sm.Likely > smoothedLikely && sm.Kept != nil {
			n++
			least, most = min(least, sm.Delay), max(most, sm.Delay)
		}
	}
	if n == 0 {
		return ""
	}
	delay := figures(least, 2)
	if most > least && figures(most, 2) != delay {
		delay += " to " + figures(most, 2)
	}
	in := "every log"
	if n < len(res.Logs) {
		in = fmt.Sprintf("%d of %s", n, plural(len(res.Logs), "log"))
	}
	return fmt.Sprintf(" The stops in %s show that the receiver smooths speed, which it gives some %s s late; that was taken out.", in, delay)
}

// smoothedLikely is the probability from which a receiver is said to smooth. A choice of form.
const smoothedLikely = 0.95

// runsSentence says what was driven.
func runsSentence(res *session.Result) string {
	starts, groups := res.StandingStarts(), res.Groups()
	if len(groups) == 0 {
		return ""
	}
	var parts []string
	oneWay, bothWays := false, false
	for _, g := range groups {
		first, same, other := g.Ways()
		n := same + other
		p := fmt.Sprintf("%d in %s", n, g.Called())
		if len(groups) == 1 {
			p = countedOf(n, len(starts))
			if !res.LogsAsModes() && g.Name != "" {
				p += " in " + g.Name
			}
		}
		switch {
		case math.IsNaN(first) || n == 0:
		case other == 0:
			p += fmt.Sprintf(" (%s towards %s)", map[bool]string{true: "all", false: "it went"}[n > 1], unit.Heading(first))
			oneWay = true
		default:
			p += fmt.Sprintf(" (%d towards %s, %d the other way)", same, unit.Heading(first), other)
			bothWays = true
		}
		parts = append(parts, p)
	}
	s := parts[0] + "."
	if len(groups) > 1 {
		s = fmt.Sprintf("Of %s, these were counted: %s.", plural(len(starts), "standing start"), and(parts))
	}
	switch {
	case oneWay && bothWays:
		s += " Where runs went one way only, grade and wind are in the times; otherwise each mean is the average of the means of the two directions."
	case oneWay:
		s += " Grade and wind are in the times, since no mode was driven both ways."
	case bothWays:
		s += " Each mean is the average of the means of the two directions."
	}
	return s
}

// countedOf says how many of some standing starts were counted.
func countedOf(n, of int) string {
	switch {
	case n == 1 && of == 1:
		return "One standing start was counted"
	case n == of:
		return fmt.Sprintf("All %d standing starts were counted", n)
	case n == 1:
		return fmt.Sprintf("Of %d standing starts one was counted", of)
	}
	return fmt.Sprintf("Of %d standing starts %d were counted", of, n)
}

// leftOutSentence says which runs do not count.
func leftOutSentence(res *session.Result) string {
	parts := each(only(res.StandingStarts(), notCounted), func(r *session.TimedRun) string { return fmt.Sprintf("%s (%s)", r.ID, reason(r)) })
	if len(parts) == 0 {
		return ""
	}
	return "Not counted: " + and(parts) + "."
}

// conditionsSentence says what the session sheet knows of air and surface.
func conditionsSentence(sh *sheet.Sheet) string {
	if sh == nil {
		return "Temperature, pressure and wind were not recorded with the logs."
	}
	before := map[string]string{"surface": "surface: ", "wind": "wind ", "grade": "grade "}
	after := map[string]string{"humidity": " relative humidity"}
	parts := each(conditionTerms(sh), func(t document.Term) string { return before[t.Name] + t.Text + after[t.Name] })
	if len(parts) == 0 {
		return "Temperature, pressure and wind were not noted."
	}
	return "Conditions as noted: " + and(parts) + "."
}

// comparisonSentences says how the modes were compared.
func comparisonSentences(cmp *compare.Result) string {
	t := cmp.Primary
	if t == nil {
		t = cmp.Targets[0]
	}
	s := fmt.Sprintf("Modes were compared at %s %s with a linear model of %s, the scatter of each mode estimated from its own runs and, with the weight of %g degrees of freedom, from those of all",
		t.Name, OriginName(timing.Origin(t.From)), and(t.Model.Terms), contrast.PooledDF)
	if t.Model.ScatterFrom != "these runs" {
		s += "; it was taken from " + t.Model.ScatterFrom
	}
	s += ". The chance of any false difference among the pairs at that target is held to 5 %; at the other targets, taken in order, a pair was called different only if it had been at those before."
	if t.Over {
		return s
	}
	return s + fmt.Sprintf(" The session was not complete: of the %d runs planned for each mode not all had been driven, and a difference had to be clearer to be claimed.", t.PlanRuns)
}

// Method says in plain words how the times of a result came about: paragraphs.
func Method(res *session.Result) []string {
	m := []string{
		"A run begins at the launch, the instant of first motion. It is not read off a sample. Speed, acceleration and distance are estimated together from all samples around the run, forwards and backwards in time, and the launch is the instant that explains them best. How far it could lie to either side is part of every time from rest.",
		"Times are given twice. From rest they count from the launch. With rollout they count from the instant the vehicle has covered 1 ft (0.3048 m, the initial vehicle movement of SAE J1491:2006), and distances are measured from there. With rollout a time is known better, because the slow first inches that a receiver hardly sees are not in it. The two are different quantities: compare like with like.",
		"The figure behind ± is half the width of an interval meant to hold the true value 95 times in 100. It covers the noise and the resolution of the log and what is not known about the launch. It does not cover wind, grade, temperature, fuel, driver or surface: those show in the scatter of repeated runs. A time is printed to the place its interval supports, two figures of the half-width.",
		"A mean is of counted runs only; where both directions were driven it is the mean of the two directions' means, so that grade and a steady wind drop out. Its interval comes from the scatter of the runs about their means and is never less than the single intervals leave. Where no run repeats another, an allowance of " + trimZeros(compare.AllowanceShare*100, 1) + " % of the time, at least " + trimZeros(compare.AllowanceLeast, 2) + " s, stands for the scatter that nobody has seen (common practice).",
		"A trap speed is the mean speed over the last 66 ft (20.12 m) before a distance mark.",
	}
	return append(m, sourceNotes(res)...)
}

// sourceNotes are what must be known of logs whose speed is not a receiver's own.
func sourceNotes(res *session.Result) []string {
	var m []string
	for _, n := range []struct {
		source recording.Source
		text   string
	}{
		{recording.Position, "One or more logs carry no speed; it was derived from successive positions, which is much noisier than a receiver's own speed."},
		{recording.Wheel, "One or more logs hold the speed of the wheels. Wheelspin reads as speed, and the tyre's rolling radius scales every value: such times say what the wheels did."},
		{recording.Inertial, "One or more logs hold speed from an inertial solution, which was taken as it came."},
	} {
		if slices.ContainsFunc(res.Logs, func(l *session.Log) bool { return l.Quality.Source == n.source }) {
			m = append(m, n.text)
		}
	}
	return m
}

// BibTeX writes the reference of the program that made a result, for who cites it.
func BibTeX(w io.Writer, res *session.Result) error {
	_, err := fmt.Fprintf(w, "@software{fromrest,\n  title = {fromrest},\n  version = {%s},\n  note = {%s: times of standing starts from the logs of receivers and accelerometers, each with its 95 \\%% interval}\n}\n",
		res.Settings.Version, res.Settings.MadeBy())
	return err
}
