package report

import (
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/document"
	"fromrest/pkg/motion/accel"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// CheckSchema names the JSON that CheckJSON writes.
const CheckSchema = "fromrest.check/1"

// QualityItems describes a log's samples in words and numbers, for people.
func QualityItems(l *session.Log, units string) []document.Term {
	q := &l.Quality
	items := []document.Term{{Name: "format", Text: strings.ToUpper(l.Format) + sourceText(q)}, {Name: "rate", Text: rateText(l)}, {Name: "gaps", Text: gapText(q)}}
	if !q.InertialOnly {
		items = append(items, speedItems(l, units)...)
	}
	items = append(items, filled(document.Term{Name: "accelerometer", Text: q.Accel})...)
	if al := q.Alignment; al != nil && al.Reason == "" {
		items = append(items, alignment(al)...)
	}
	items = append(items, filled(document.Term{Name: "clock", Text: ClockNote(l)})...)
	for _, k := range slices.Sorted(maps.Keys(l.Logger)) {
		items = append(items, document.Term{Name: k, Text: l.Logger[k]})
	}
	return items
}

// speedItems describes the samples of a speed.
func speedItems(l *session.Log, units string) []document.Term {
	q := &l.Quality
	step, hold, held, course := "too fine to see", "none found", "", "not there: speed near rest is biased upward by its own noise"
	if q.SpeedStep > 0 {
		step = trimZeros(q.SpeedStep, 6) + " m/s"
	}
	if q.StaticHold > 0 {
		hold = "speeds below " + trimZeros(q.StaticHold, 2) + " m/s are shown as 0"
	}
	if q.Courses > 0 {
		course = fmt.Sprintf("on %d of %d samples, but not updated at rest, so that speed there has no sign", q.Courses, q.Fixes)
	}
	if q.Course {
		course = "known, so that speed along the run has its sign"
	}
	smooth := ""
	if q.Smoothing != nil {
		smooth = q.Smoothing.String()
	}
	if q.HeldFor > 0 {
		held = "a speed is held for about " + trimZeros(q.HeldFor, 2) + " s before it changes"
	}
	under, tails, release, stops := closeTexts(l, units)
	return filled(document.Term{Name: "speed noise", Text: noiseText(q, units)}, document.Term{Name: "under way", Text: under}, document.Term{Name: "tails", Text: tails},
		document.Term{Name: "speed step", Text: step}, document.Term{Name: "static hold", Text: hold}, document.Term{Name: "release", Text: release}, document.Term{Name: "held values", Text: held},
		document.Term{Name: "delay", Text: delayText(q)}, document.Term{Name: "smoothing", Text: smooth}, document.Term{Name: "stops", Text: stops}, document.Term{Name: "course", Text: course})
}

func sourceText(q *session.Quality) string {
	if q.InertialOnly {
		return ", no speed but an accelerometer"
	}
	s := map[recording.Source]string{
		recording.GNSS:     ", speed from the receiver's velocity solution",
		recording.Position: ", speed from successive positions",
		recording.Wheel:    ", speed of the wheels",
		recording.Inertial: ", speed from an inertial solution",
	}[q.Source]
	if q.Track != "" {
		s += " (" + q.Track + ")"
	}
	return s
}

// leastJitter is the jitter in s from which it prints as more than 0.0 ms.
const leastJitter = 0.05e-3

func rateText(l *session.Log) string {
	s := fmt.Sprintf("%s Hz, %s in %s", trimZeros(l.Quality.Rate, 2), strings.Replace(plural(l.Quality.Fixes, "fix"), "fixs", "fixes", 1), duration(l.End.Sub(l.Start)))
	if j := l.Quality.Jitter; j > leastJitter {
		s += ", jitter " + trimZeros(j*1000, 1) + " ms"
	}
	return s
}

func gapText(q *session.Quality) string {
	switch q.Gaps {
	case 0:
		return "none"
	case 1:
		return "1, of " + trimZeros(q.LongestGap, 2) + " s"
	}
	return fmt.Sprintf("%d, together %s s, the longest %s s", q.Gaps, trimZeros(q.GapSeconds, 1), trimZeros(q.LongestGap, 2))
}

func noiseText(q *session.Quality, units string) string {
	if !(q.SpeedNoise > 0) {
		return "not known"
	}
	unitName, per := SpeedUnit(units)
	s := fmt.Sprintf("%s m/s (%s %s) standard deviation", figures(q.SpeedNoise, 2), figures(q.SpeedNoise/per, 2), unitName)
	from := map[string]string{"standstill": "measured at standstill", "receiver": "as the receiver states",
		"runs": "measured in the runs", "assumed": "assumed, there was nothing to measure it on"}[q.NoiseFrom]
	if from != "" {
		s += ", " + from
	}
	if q.Correlated != 0 && !math.IsNaN(q.Correlated) {
		s += "; neighbours correlate by " + uncert.RoundHalfUp(q.Correlated, 2)
	}
	return s
}

// problemLines lists the problems met in a log, a kind a line.
func problemLines(l *session.Log) []string {
	if l.Problems == nil {
		return nil
	}
	effects := map[diag.Effect]string{diag.Dropped: "dropped", diag.Suspect: "kept but suspect", diag.Note: "noted"}
	return each(l.Problems.Groups(), func(g *diag.Group) string {
		p := g.First()
		return fmt.Sprintf("%s, %d %s, first at %s: %s", g.Kind, g.Count, effects[g.Effect], p.Place(), p.Text)
	})
}

// expectedLines say what times would be worth with a log like this, both origins of
// a target in a line.
func expectedLines(l *session.Log) document.Lines {
	var names []string
	u95 := map[string]map[timing.Origin]float64{}
	for _, e := range worth(l).Expected {
		if u95[e.Name] == nil {
			names = append(names, e.Name)
			u95[e.Name] = map[timing.Origin]float64{}
		}
		u95[e.Name][e.From] = e.U95
	}
	var out document.Lines
	for _, name := range names {
		out = append(out, fmt.Sprintf("    %-11s from rest %-9s with rollout %s", name, half(u95[name][timing.FromRest]), half(u95[name][timing.FromRollout])+expectedMark(l, name)))
	}
	if len(out) > 0 {
		out = append(out, "    "+expectedBasis(l))
	}
	return out
}

// CheckText writes how good each log is, for a terminal.
func CheckText(w io.Writer, res *session.Result) error {
	return document.Text(w, append(checkBlocks(res, false), madeBy(&res.Settings))...)
}

// CheckFull writes all that is known of each log, for a terminal.
func CheckFull(w io.Writer, res *session.Result) error {
	return document.Text(w, append(checkBlocks(res, true), madeBy(&res.Settings))...)
}

// checkBlocks say how good each log is, in full or on a page.
func checkBlocks(res *session.Result, full bool) []document.Block {
	inside := document.Layout{Close: true, Indent: 2}
	var doc []document.Block
	for _, l := range res.Logs {
		doc = append(doc, document.Heading{Text: l.Path}, document.Terms{Items: slices.Concat(QualityItems(l, res.Settings.Units), skyItems(l.Sky), flagItems(res, l)), Width: 13, Layout: inside})
		if expected := expectedLines(l); len(expected) > 0 {
			doc = append(doc, document.Heading{Text: "A run with a log like this would be timed to, 95 times in 100", Layout: inside}, expected)
		}
		doc = append(doc, under(document.Heading{Text: "Problems", Layout: inside}, document.List{Items: problemLines(l), Layout: inside})...)
		doc = append(doc, adviceBlocks(l, full, inside)...)
		if t := closeTable(res, l); full && t != nil {
			doc = append(doc, t)
		}
	}
	return append(doc, outsideBlocks(res)...)
}

// alignment describes how an accelerometer in use sits and on whose clock it
// runs; ± is half of the 95 % interval.
func alignment(al *accel.Alignment) []document.Term {
	mounting, offset, correlation, vibration := "forward is "+direction(al.Forward, al.ForwardU)+" of its axes", "", "", ""
	if al.Up != ([3]float64{}) {
		mounting += ", up " + direction(al.Up, al.UpU)
		if al.Gravity > 0 {
			mounting += fmt.Sprintf("; %.3f m/s² at rest", al.Gravity)
		}
	}
	if al.Offset.U > 0 { // it has nothing to differ from where it is alone
		offset = clockOffset(al) + drift(al.Drift)
	}
	if c := al.Correlation; c != 0 && !math.IsNaN(c) {
		correlation = uncert.RoundHalfUp(c, 3) + " with the slope of the speed over a second"
	}
	var shakes []string
	if al.Rest > 0 { // neither is where there was none
		shakes = append(shakes, figures(al.Rest, 2)+" m/s² at rest")
	}
	if al.Moving > 0 {
		shakes = append(shakes, figures(al.Moving, 2)+" m/s² under way")
	}
	if len(shakes) > 0 {
		vibration = strings.Join(shakes, ", ") + " (standard deviation of a sample)"
	}
	return filled(document.Term{Name: "mounting", Text: mounting},
		document.Term{Name: "gain", Text: scaled(al.Gain, 1) + " of forward acceleration for one of the sensor's, body pitch included"},
		document.Term{Name: "bias", Text: scaled(al.Bias, 1) + " m/s² along forward, slope of the ground included"},
		document.Term{Name: "clock offset", Text: offset}, document.Term{Name: "correlation", Text: correlation}, document.Term{Name: "vibration", Text: vibration})
}

// sameClock is the greatest offset between clocks that count from the same zero.
const sameClock = 12 * time.Hour

// clockOffset tells the clock offset, or, where the clocks have different zeros,
// when the first sample was taken.
func clockOffset(al *accel.Alignment) string {
	if math.Abs(al.Offset.X) < sameClock.Seconds() {
		return scaled(al.Offset, 1) + " s" + " to be added to its instants"
	}
	_, half := uncert.Format(al.Offset.X, al.Offset.U95())
	return "its clock is its own; its first sample was taken at " + al.Begin.UTC().Format("15:04:05.000") + " ±" + half + " s by the log's clock"
}

// direction prints a unit vector with the uncertainty of its angle.
func direction(v [3]float64, u float64) string {
	s := fmt.Sprintf("(%.2f, %.2f, %.2f)", v[0], v[1], v[2])
	if u > 0 && !math.IsNaN(u) {
		s += fmt.Sprintf(" ±%s°", figures(uncert.Z95*u*180/math.Pi, 2))
	}
	return s
}

// drift tells a clock's rate in parts per million where it could be told.
func drift(d uncert.Value) string {
	if d.X == 0 && d.U == 0 {
		return ""
	}
	ppm := uncert.Value{X: 1e6 * d.X, U: 1e6 * d.U}
	return ", growing by " + scaled(ppm, 1) + " parts per million"
}

type jsonCheck struct {
	Schema   string         `json:"schema"`
	Logs     []jsonCheckLog `json:"logs"`
	Outside  *jsonOutside   `json:"outside,omitempty"`
	Beside   *jsonBeside    `json:"beside,omitempty"`
	Warnings []string       `json:"warnings"`
	Failed   []jsonFailure  `json:"failed,omitempty"`
	Settings document.Maker `json:"settings"`
}

type jsonCheckLog struct {
	jsonLog
	Sky        *jsonSky       `json:"sky,omitempty"`
	GapSeconds *float64       `json:"gap_s,omitempty"`
	Jitter     *float64       `json:"jitter_s,omitempty"`
	Correlated *float64       `json:"noise_correlation,omitempty"`
	Course     bool           `json:"course"`
	Close      *jsonClose     `json:"close,omitempty"`
	Expected   []jsonExpected `json:"expected"`
	Advice     []string       `json:"advice"`
}

type jsonExpected struct {
	Name string        `json:"name"`
	From timing.Origin `json:"from"`
	U95  *float64      `json:"u95_s,omitempty"`
	Runs int           `json:"runs"` // of the log whose median it is; 0 for that of a simulated van
}

// CheckJSON writes how good each log is, for scripts.
func CheckJSON(w io.Writer, res *session.Result) error {
	return document.WriteJSON(w, checkJSON(res))
}

func checkJSON(res *session.Result) jsonCheck {
	return jsonCheck{Schema: CheckSchema, Logs: each(res.Logs, checkLogJSON), Outside: outsideJSON(res), Warnings: never(res.Warnings), Failed: each(res.Failed, failureJSON), Settings: made(&res.Settings)}
}

func checkLogJSON(l *session.Log) jsonCheckLog {
	q := &l.Quality
	return jsonCheckLog{jsonLog: logJSON(l), Sky: skyJSON(l.Sky), GapSeconds: positive(q.GapSeconds), Jitter: positive(q.Jitter), Correlated: number(q.Correlated), Course: q.Course, Close: closeJSON(l.Portrait),
		Expected: each(worth(l).Expected, func(e session.Expected) jsonExpected { return jsonExpected{e.Name, e.From, number(e.U95), e.Runs} }), Advice: never(worth(l).Advice)}
}

// skyItems describes what a receiver said of the satellites: medians, with the
// range in brackets. There is none where it said nothing.
func skyItems(sky *recording.Sky) []document.Term {
	if sky == nil {
		return nil
	}
	text := func(parts ...string) string { return strings.Join(said(parts...), "; ") }
	return filled(
		document.Term{Name: "satellites", Text: text(spreadText("", sky.Used, " used"), spreadText("", sky.Tracked, " with a signal"))},
		document.Term{Name: "dilution", Text: text(spreadText("HDOP ", sky.HDOP, ""), spreadText("VDOP ", sky.VDOP, ""), spreadText("PDOP ", sky.PDOP, ""))},
		document.Term{Name: "signals", Text: text(spreadText("C/N0 ", sky.CN0, " dBHz, of the median satellite"))})
}

// spreadText prints a median and its range, "" where there is none.
func spreadText(before string, s recording.Spread, after string) string {
	if s.N == 0 {
		return ""
	}
	text := before + trimZeros(s.Median, 2) + after
	if s.Low < s.High {
		text += " (" + trimZeros(s.Low, 2) + " to " + trimZeros(s.High, 2) + ")"
	}
	return text
}

type jsonSky struct {
	Used    *jsonSpread `json:"satellites_used,omitempty"`
	Tracked *jsonSpread `json:"satellites_tracked,omitempty"`
	PDOP    *jsonSpread `json:"pdop,omitempty"`
	HDOP    *jsonSpread `json:"hdop,omitempty"`
	VDOP    *jsonSpread `json:"vdop,omitempty"`
	CN0     *jsonSpread `json:"cn0_dbhz,omitempty"`
}

type jsonSpread struct {
	Samples int      `json:"samples"`
	Median  *float64 `json:"median"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
}

func skyJSON(sky *recording.Sky) *jsonSky {
	if sky == nil {
		return nil
	}
	spread := func(s recording.Spread) *jsonSpread {
		if s.N == 0 {
			return nil
		}
		return &jsonSpread{s.N, number(s.Median), number(s.Low), number(s.High)}
	}
	return &jsonSky{Used: spread(sky.Used), Tracked: spread(sky.Tracked),
		PDOP: spread(sky.PDOP), HDOP: spread(sky.HDOP), VDOP: spread(sky.VDOP), CN0: spread(sky.CN0)}
}
