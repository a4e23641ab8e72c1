package report

import (
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// CheckSchema names the JSON that CheckJSON writes.
const CheckSchema = "fromrest.check/1"

// Item is one line of what is known of a log.
type Item struct{ Name, Text string }

// QualityItems describes a log's samples in words and numbers, for people.
func QualityItems(l *session.Log, units string) []Item {
	q := &l.Quality
	items := []Item{{"format", strings.ToUpper(l.Format) + sourceText(q)}, {"rate", rateText(l)}, {"gaps", gapText(q)}}
	add := func(name, text string) { items = append(items, Item{name, text}) }
	if !q.InertialOnly {
		items = append(items, speedItems(q, units)...)
	}
	if q.Accel != "" {
		add("accelerometer", q.Accel)
	}
	if al := q.Alignment; al != nil && al.Reason == "" {
		for _, it := range alignment(al) {
			add(it.Name, it.Text)
		}
	}
	if note := ClockNote(l); note != "" {
		add("clock", note)
	}
	keys := make([]string, 0, len(l.Logger))
	for k := range l.Logger {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		add(k, l.Logger[k])
	}
	return items
}

// speedItems describes the samples of a speed.
func speedItems(q *session.Quality, units string) []Item {
	items := []Item{{"speed noise", noiseText(q, units)}}
	add := func(name, text string) { items = append(items, Item{name, text}) }
	if q.SpeedStep > 0 {
		add("speed step", trimZeros(q.SpeedStep, 6)+" m/s")
	} else {
		add("speed step", "too fine to see")
	}
	if q.StaticHold > 0 {
		add("static hold", "speeds below "+trimZeros(q.StaticHold, 2)+" m/s are shown as 0")
	} else {
		add("static hold", "none found")
	}
	if q.HeldFor > 0 {
		add("held values", "a speed is held for about "+trimZeros(q.HeldFor, 2)+" s before it changes")
	}
	if q.Course {
		add("course", "there, so that speed along the run could be signed")
	} else {
		add("course", "not there: speed near rest is biased upward by its own noise")
	}
	return items
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

func rateText(l *session.Log) string {
	s := fmt.Sprintf("%s Hz, %s in %s", trimZeros(l.Quality.Rate, 2), plural(l.Quality.Fixes, "fix"), duration(l.End.Sub(l.Start)))
	s = strings.Replace(s, "fixs", "fixes", 1)
	if j := l.Quality.Jitter; j > 0.05e-3 {
		s += ", jitter " + trimZeros(j*1000, 1) + " ms"
	}
	return s
}

func gapText(q *session.Quality) string {
	switch {
	case q.Gaps == 0:
		return "none"
	case q.Gaps == 1:
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

// ProblemLines lists the problems met in a log, a kind a line.
func ProblemLines(l *session.Log) []string {
	if l.Problems == nil {
		return nil
	}
	var out []string
	for _, g := range l.Problems.Groups() {
		p := g.First()
		effect := map[diag.Effect]string{diag.Dropped: "dropped", diag.Suspect: "kept but suspect", diag.Note: "noted"}[g.Effect]
		out = append(out, fmt.Sprintf("%s, %d %s, first at %s: %s", g.Kind, g.Count, effect, p.Place(), p.Text))
	}
	return out
}

// ExpectedLine is what a time would be worth with a log like this.
type ExpectedLine struct {
	Name          string
	Rest, Rollout float64 // s, 95 % half-widths; NaN where unknown
}

// ExpectedLines brings both origins of each target together.
func ExpectedLines(l *session.Log) []ExpectedLine {
	var out []ExpectedLine
	index := map[string]int{}
	for _, e := range l.Expected {
		i, ok := index[e.Name]
		if !ok {
			i = len(out)
			index[e.Name] = i
			out = append(out, ExpectedLine{e.Name, math.NaN(), math.NaN()})
		}
		if e.From == timing.FromRest {
			out[i].Rest = e.U95
		} else {
			out[i].Rollout = e.U95
		}
	}
	return out
}

// CheckText writes how good each log is, for a terminal.
func CheckText(w io.Writer, res *session.Result) error {
	var b strings.Builder
	for i, l := range res.Logs {
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString(l.Path + "\n")
		for _, it := range append(QualityItems(l, res.Settings.Units), SkyItems(l.Sky)...) {
			b.WriteString(wrapAfter(fmt.Sprintf("  %-13s ", it.Name), it.Text, TextWidth, strings.Repeat(" ", 16)) + "\n")
		}
		if lines := ExpectedLines(l); len(lines) > 0 {
			b.WriteString("  A run with a log like this would be timed to, 95 times in 100\n")
			for _, e := range lines {
				fmt.Fprintf(&b, "    %-11s from rest %-9s with rollout %s\n", e.Name, half(e.Rest), half(e.Rollout))
			}
		}
		for _, part := range []struct {
			title string
			lines []string
		}{{"Problems", ProblemLines(l)}, {"Advice", l.Advice}} {
			if len(part.lines) == 0 {
				continue
			}
			b.WriteString("  " + part.title + "\n")
			for _, s := range part.lines {
				b.WriteString(wrapAfter("  - ", s, TextWidth, "    ") + "\n")
			}
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// half prints a half-width alone, to two significant figures.
func half(u float64) string {
	if !(u > 0) || math.IsInf(u, 0) {
		return "?"
	}
	return "±" + uncert.RoundHalfUp(u, uncert.Places(u, 3)) + " s"
}

// figures prints x to n significant figures.
func figures(x float64, n int) string {
	if !(x > 0) || math.IsInf(x, 0) {
		return "0"
	}
	return uncert.RoundHalfUp(x, max(0, n-1-int(math.Floor(math.Log10(x)))))
}

func duration(d time.Duration) string {
	s := d.Seconds()
	switch {
	case s < 120:
		return trimZeros(s, 1) + " s"
	case s < 7200:
		return fmt.Sprintf("%d min %d s", int(s)/60, int(s)%60)
	}
	return fmt.Sprintf("%d h %d min", int(s)/3600, int(s)/60%60)
}

type jsonCheck struct {
	Schema   string         `json:"schema"`
	Logs     []jsonCheckLog `json:"logs"`
	Warnings []string       `json:"warnings"`
	Failed   []jsonFailure  `json:"failed,omitempty"`
}

type jsonCheckLog struct {
	jsonLog
	Sky        *jsonSky       `json:"sky,omitempty"`
	GapSeconds *float64       `json:"gap_s,omitempty"`
	Jitter     *float64       `json:"jitter_s,omitempty"`
	Correlated *float64       `json:"noise_correlation,omitempty"`
	Course     bool           `json:"course"`
	Expected   []jsonExpected `json:"expected"`
	Advice     []string       `json:"advice"`
}

type jsonExpected struct {
	Name string        `json:"name"`
	From timing.Origin `json:"from"`
	U95  *float64      `json:"u95_s,omitempty"`
}

// CheckJSON writes how good each log is, for scripts.
func CheckJSON(w io.Writer, res *session.Result) error {
	out := jsonCheck{Schema: CheckSchema, Logs: []jsonCheckLog{}, Warnings: append([]string{}, res.Warnings...)}
	for _, l := range res.Logs {
		q := &l.Quality
		j := jsonCheckLog{jsonLog: logJSON(l), Sky: skyJSON(l.Sky), GapSeconds: positive(q.GapSeconds), Jitter: positive(q.Jitter),
			Correlated: number(q.Correlated), Course: q.Course, Expected: []jsonExpected{}, Advice: append([]string{}, l.Advice...)}
		for _, e := range l.Expected {
			j.Expected = append(j.Expected, jsonExpected{e.Name, e.From, number(e.U95)})
		}
		out.Logs = append(out.Logs, j)
	}
	for _, f := range res.Failed {
		out.Failed = append(out.Failed, jsonFailure{f.Path, cause(f)})
	}
	return writeJSON(w, out)
}
