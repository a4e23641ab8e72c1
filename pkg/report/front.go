package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/unit"
)

// Front is what a session begins with, on the local page and on the first sheet of its
// report: the verdict, a line for each mode with its runs on one scale, and what is open.
type Front struct {
	Answer  *Answer // nil where no target decides
	Targets []string
	Primary int           // the place in Targets of the one that decides, or is shown in its place
	Origin  timing.Origin // that decides
	Modes   []FrontMode
	Ways    [2]string // the headings of the two directions, "" for none
	Scale   Scale     // of the runs
	Words   FrontWords
}

// FrontMode is a mode of a front.
type FrontMode struct {
	session.Group
	Says     string            // what the sheet says of the mode
	N, Out   int               // runs counted, and left out
	TwoWay   bool              // some mean is over both directions
	OneWay   bool              // the means have grade and wind in them
	Times    [][2]session.Mean // by target, with rollout and from rest; N is 0 where there is none
	AtTarget []FrontRun        // the runs that reached the primary target
}

// FrontRun is a run at the primary target.
type FrontRun struct {
	*session.TimedRun
	Time   timing.Time
	Counts bool
	Way    int // see session.Way
}

// FrontWords are what stands around the table of modes.
type FrontWords struct {
	Heads   []string // the targets as printed
	Strip   string   // above the runs
	Beneath string   // the table
	Caption string   // for who cannot see it
	Decides string   // where the verdict holds, "" where there is none
	Alone   string   // in place of a verdict: the time of the only mode, "" where there is none
}

// Scale is one axis for the runs of all modes.
type Scale struct {
	Lo, Hi float64 // s; both 0 where there is no run
	Ticks  []float64
}

// FrontOf is the front of a result and of its comparison at CompareTargets, which is nil
// where nothing can be compared.
func FrontOf(res *session.Result, compared *compare.Result) *Front {
	f := &Front{Targets: CompareTargets(res), Origin: timing.FromRollout}
	if len(res.Runs) == 0 {
		return f
	}
	if compared != nil {
		f.Answer = AnswerOf(compared)
	}
	name, from, _ := res.Primary()
	f.Origin = from
	if f.Primary = slices.Index(f.Targets, name); f.Primary < 0 {
		f.Primary = max(0, len(f.Targets)-1)
	}
	first := res.FirstHeading()
	if !math.IsNaN(first) {
		f.Ways = [2]string{unit.Heading(first), unit.Heading(first + 180)}
	}
	groups := res.Groups()
	f.Modes = each(groups, func(g session.Group) FrontMode { return f.mode(res, g, first) })
	for k, name := range f.Targets {
		for i, o := range []timing.Origin{timing.FromRollout, timing.FromRest} {
			for j, m := range res.Means(groups, name, o) {
				mode := &f.Modes[j]
				mode.Times[k][i] = m
				mode.TwoWay, mode.OneWay = mode.TwoWay || m.TwoWay, mode.OneWay || m.OneWay
			}
		}
	}
	f.Scale = f.scale()
	f.Words = f.words()
	return f
}

// mode is a mode and its runs, without its means.
func (f *Front) mode(res *session.Result, g session.Group, first float64) FrontMode {
	m := FrontMode{Group: g, N: g.Counted(), Times: make([][2]session.Mean, len(f.Targets))}
	m.Out = len(g.Runs) - m.N
	if res.Sheet != nil {
		for _, of := range res.Sheet.Modes {
			if of.Name == g.Name {
				m.Says = of.Description
			}
		}
	}
	if len(f.Targets) == 0 {
		return m
	}
	for _, r := range g.Runs {
		if t, ok := r.Time(f.Targets[f.Primary], f.Origin); ok {
			m.AtTarget = append(m.AtTarget, FrontRun{r, t, r.Counts(&t), session.Way(r.HeadingDeg, first)})
		}
	}
	return m
}

// AtPrimary is the mean of a mode that stands above its runs.
func (f *Front) AtPrimary(m *FrontMode) session.Mean {
	switch {
	case len(m.Times) == 0:
		return session.Mean{}
	case f.Origin == timing.FromRest:
		return m.Times[f.Primary][1]
	}
	return m.Times[f.Primary][0]
}

// scaleSteps are how far apart the ticks of a scale stand, in s, the first that leaves no
// more than mostTicks.
var scaleSteps = []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50}

const mostTicks = 7

// scale is an axis that shows all runs and intervals, with a little room.
func (f *Front) scale() Scale {
	lo, hi := math.Inf(1), math.Inf(-1)
	take := func(x ...float64) {
		for _, v := range x {
			if !math.IsNaN(v) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	for i := range f.Modes {
		for _, r := range f.Modes[i].AtTarget {
			take(r.Time.Seconds)
		}
		if m := f.AtPrimary(&f.Modes[i]); m.N > 1 {
			take(m.X-m.U95, m.X+m.U95)
		}
	}
	if !(hi >= lo) {
		return Scale{}
	}
	room := cmp.Or(0.04*(hi-lo), 0.05)
	s := Scale{Lo: lo - room, Hi: hi + room}
	step := scaleSteps[len(scaleSteps)-1]
	for _, k := range scaleSteps {
		if (s.Hi-s.Lo)/k <= mostTicks {
			step = k
			break
		}
	}
	for k := math.Ceil(s.Lo / step); k*step <= s.Hi; k++ {
		s.Ticks = append(s.Ticks, math.Round(100*k*step)/100)
	}
	return s
}

func (f *Front) words() FrontWords {
	w := FrontWords{Heads: each(f.Targets, unit.Printed)}
	if len(f.Targets) == 0 {
		return w
	}
	at := w.Heads[f.Primary]
	means := "means"
	if slices.ContainsFunc(f.Modes, func(m FrontMode) bool { return m.TwoWay }) {
		means = "two-way means"
	}
	w.Strip = "each run, " + at
	if f.Origin == timing.FromRest {
		w.Strip += " from rest"
	}
	w.Beneath = "Seconds with rollout, " + means + "; beneath, from rest. ± is half of the 95 % interval."
	w.Caption = fmt.Sprintf("Means of each mode in seconds, with rollout; from rest beneath. The runs to %s %s stand beside them.", at, OriginName(f.Origin))
	if len(f.Modes) == 1 && f.AtPrimary(&f.Modes[0]).N > 0 {
		w.Alone = f.alone(at)
	}
	if f.Answer != nil {
		w.Decides = "At " + unit.Printed(f.Answer.Place) + ", which decides."
	}
	return w
}

// alone is the time of the only mode to the primary target.
func (f *Front) alone(at string) string {
	m := f.AtPrimary(&f.Modes[0])
	by := "by one run"
	switch {
	case m.TwoWay:
		by = fmt.Sprintf("the two-way mean of %d runs", m.N)
	case m.N > 1:
		by = fmt.Sprintf("the mean of %d runs", m.N)
	}
	return fmt.Sprintf("%s in %s s %s, %s.", at, plusMinus(m.X, m.U95), OriginName(f.Origin), by)
}

// table is the means of the modes as a page sets them.
func (f *Front) table() *document.Table {
	t := document.TableOf(document.Headline, f.Words.Caption, append([]string{"mode"}, f.Targets...)...)
	for _, m := range f.Modes {
		row := document.Row{Name: m.Called(), Unit: "s"}
		for k := range f.Targets {
			c, below := frontCell(m.Times[k][0], m.N), frontCell(m.Times[k][1], m.N)
			c.Below = &below
			row.Cells = append(row.Cells, c)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// frontCell is a mean, with its number of runs where that is not all that count.
func frontCell(m session.Mean, counted int) document.Cell {
	if m.N == 0 {
		return document.None()
	}
	c := document.Number(m.X, m.U95)
	if m.N != counted {
		c.Mark = fmt.Sprintf("n = %d", m.N)
	}
	return c
}

// questions are what a session leaves open, in the order in which to see to them: to be
// answered in the sheet or on the page.
func questions(res *session.Result) []string {
	var out []string
	unnamed := only(res.Logs, func(l *session.Log) bool {
		return l.Mode == "" && slices.ContainsFunc(res.Runs, func(r *session.TimedRun) bool { return r.Log == l && r.Mode == "" && r.Kind != segment.Braking })
	})
	switch n := len(unnamed); {
	case n == 0 || len(res.Logs) == 1: // there is nothing to hold it against
	case n == 1:
		out = append(out, "1 log needs a mode")
	default:
		out = append(out, plural(n, "log")+" need a mode")
	}
	if n := len(res.Failed); n > 0 {
		out = append(out, plural(n, "log")+" gave nothing")
	}
	if twice := only(res.Runs, func(r *session.TimedRun) bool { return r.WitnessOf != nil }); len(twice) > 0 {
		out = append(out, plural(len(twice), "recording")+" of a drive that another log recorded too")
	}
	var modes []string
	left := map[string]int{}
	for _, r := range res.Runs {
		if r.Counted || r.WitnessOf != nil || r.Kind == segment.Braking {
			continue
		}
		if left[r.Mode] == 0 {
			modes = append(modes, r.Mode)
		}
		left[r.Mode]++
	}
	for _, m := range modes {
		of := ""
		if m != "" {
			of = " of " + m
		}
		out = append(out, plural(left[m], "run")+of+" left out: do you agree?")
	}
	switch {
	case len(res.Runs) == 0:
	case res.Sheet == nil:
		out = append(out, "no session sheet: vehicle, place and conditions are not known")
	case res.Sheet.Vehicle.Name == "":
		out = append(out, "which vehicle? The sheet names none")
	}
	return out
}

// leftOut names the runs that are in no mean, with the reasons.
func leftOut(res *session.Result) []string {
	return each(only(res.StandingStarts(), notCounted), func(r *session.TimedRun) string {
		return strings.Join(said(r.ID, towards(r.HeadingDeg)), ", ") + ": " + reason(r)
	})
}

// towards is a direction in words, "" where none is known.
func towards(deg float64) string {
	if h := unit.Heading(deg); h != "" {
		return "towards " + h
	}
	return ""
}
