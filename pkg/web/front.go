package web

import (
	"math"
	"net/http"
	"slices"
	"strconv"

	"fromrest/pkg/figure"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

// frontView is what the sheet begins with: the verdict and a line for each mode, by the
// functions that the report's first page is made of.
type frontView struct {
	Why     string      `json:"why"`    // why nothing is compared, "" where something is
	Answer  *answerView `json:"answer"` // null where no target decides
	Targets []string    `json:"targets"`
	Heads   []string    `json:"heads"`   // the targets as they are printed
	At      []reachView `json:"at"`      // what the targets ask for
	Primary int         `json:"primary"` // the place in Targets of the one that decides, or is shown in its place
	Origin  string      `json:"origin"`  // that decides: "rest" or "rollout"
	Modes   []frontMode `json:"modes"`
	Ways    []string    `json:"ways"`  // the headings of the two directions, "" for none
	Known   []string    `json:"known"` // targets that may be shown
}

// reachView is what a target asks for in the units of the page: a speed or a distance,
// null where it is the other.
type reachView struct {
	Speed    number `json:"speed"`
	Distance number `json:"distance"`
}

func viewReach(name string, u unitView) reachView {
	r := reachView{number(math.NaN()), number(math.NaN())}
	switch t, err := timing.ParseTarget(name); {
	case err != nil || t.From > 0:
	case t.IsDistance():
		r.Distance = number(t.Distance / u.DistancePer)
	default:
		r.Speed = number(t.To / u.Per)
	}
	return r
}

type frontMode struct {
	Name    string         `json:"name"` // "" for the runs without a mode
	Called  string         `json:"called"`
	Says    string         `json:"says"` // what the sheet says of the mode
	Counted int            `json:"counted"`
	Out     int            `json:"out"`
	TwoWay  bool           `json:"twoWay"`
	Times   [][2]frontTime `json:"times"` // by target, with rollout and from rest
	Runs    []frontRun     `json:"runs"`  // that reached the primary target
}

// frontTime is a mean as printed, and as it is drawn.
type frontTime struct {
	numView
	X   number `json:"x"`   // s
	U95 number `json:"u95"` // s
	N   int    `json:"n"`
}

type frontRun struct {
	numView
	ID      string `json:"id"`
	X       number `json:"x"`   // s
	U95     number `json:"u95"` // s
	Counted bool   `json:"counted"`
	Way     int    `json:"way"`
}

// front is the beginning of the sheet.
func front(_ *http.Request, w *work) (any, error) {
	res := w.snapshot()
	v := frontView{Targets: list(report.CompareTargets(res)), Modes: []frontMode{}, Heads: []string{}, At: []reachView{}, Known: []string{}, Ways: []string{"", ""}, Origin: string(timing.FromRollout)}
	for _, t := range timing.Standard() {
		v.Known = append(v.Known, t.Name)
	}
	if len(res.Runs) == 0 {
		return v, nil
	}
	if err := fewModes(res); err != nil {
		v.Why = err.Error()
		return v, nil
	}
	v.Heads = each(v.Targets, unit.Printed)
	v.At = each(v.Targets, func(name string) reachView { return viewReach(name, viewUnits(res.Settings.Units)) })
	name, from, _ := res.Primary()
	if v.Primary = slices.Index(v.Targets, name); v.Primary < 0 {
		v.Primary = len(v.Targets) - 1
	}
	v.Origin = string(from)
	if c, err := w.compared(report.CompareTargets); err != nil {
		v.Why = err.Error()
	} else if a := report.AnswerOf(c); a != nil {
		v.Answer = viewAnswer(a)
	}
	first := firstHeading(res)
	if !math.IsNaN(first) {
		v.Ways = []string{unit.Heading(first), unit.Heading(first + 180)}
	}
	groups := res.Groups()
	v.Modes = each(groups, func(g session.Group) frontMode { return viewGroup(res, g, &v, from, first) })
	for k, name := range v.Targets {
		for i, o := range []timing.Origin{timing.FromRollout, timing.FromRest} {
			for j, m := range res.Means(groups, name, o) {
				f := frontTime{X: number(math.NaN()), U95: number(math.NaN()), N: m.N}
				if m.N > 0 {
					f = frontTime{formatted(m.X, m.U95), number(m.X), number(m.U95), m.N}
					v.Modes[j].TwoWay = v.Modes[j].TwoWay || m.TwoWay
				}
				v.Modes[j].Times[k][i] = f
			}
		}
	}
	return v, nil
}

// viewGroup is a mode and its runs, without its means.
func viewGroup(res *session.Result, g session.Group, v *frontView, from timing.Origin, first float64) frontMode {
	m := frontMode{Name: g.Name, Called: g.Called(), Counted: g.Counted(), Times: make([][2]frontTime, len(v.Targets)), Runs: []frontRun{}}
	m.Out = len(g.Runs) - m.Counted
	if res.Sheet != nil {
		for _, of := range res.Sheet.Modes {
			if of.Name == g.Name {
				m.Says = of.Description
			}
		}
	}
	if len(v.Targets) == 0 {
		return m
	}
	for _, r := range g.Runs {
		if t, ok := r.Time(v.Targets[v.Primary], from); ok {
			m.Runs = append(m.Runs, frontRun{viewTime(r, t.Name, from), r.ID, number(t.Seconds), number(t.U95), r.Counts(&t), session.Way(r.HeadingDeg, first)})
		}
	}
	return m
}

// firstHeading is that of the first standing start that has one, which all others are
// held against; NaN where none has.
func firstHeading(res *session.Result) float64 {
	for _, r := range res.StandingStarts() {
		if r.Counted && !math.IsNaN(r.HeadingDeg) {
			return r.HeadingDeg
		}
	}
	return math.NaN()
}

// meanView is the mean curve of a mode in the units of the page.
type meanView struct {
	Mode string   `json:"mode"`
	N    int      `json:"n"`
	X    []number `json:"x"`
	V    []number `json:"v"`
	VU   []number `json:"vu"`
	A    []number `json:"a"`
	AU   []number `json:"au"`
	T    []number `json:"t"`
	TU   []number `json:"tu"`
}

// means are the mean curves of the modes along an axis: by=time, distance or speed, and
// from=rollout, launch or a speed in the reader's unit.
func means(r *http.Request, w *work) (any, error) {
	res, q := w.snapshot(), r.URL.Query()
	by, o := figure.Against(q.Get("by")), figure.OptionsFor(res)
	if !slices.Contains([]figure.Against{figure.ByTime, figure.ByDistance, figure.BySpeed}, by) {
		return nil, &errEdit{"figures are drawn by time, distance or speed"}
	}
	switch from := q.Get("from"); from {
	case "rollout", "":
	case "launch":
		o.From = timing.FromRest
	default:
		x, err := strconv.ParseFloat(from, 64)
		if err != nil || !(x > 0 && x < mostAligned) {
			return nil, &errEdit{"runs are aligned at the rollout, the launch or a speed"}
		}
		o.Through = x * unit.ShownIn(res.Settings.Units).SpeedPer
	}
	ms, err := figure.ModeMeans(res.Runs, by, o)
	if err != nil || len(ms) > maxModes {
		return []meanView{}, nil // nothing that can be drawn as a mean
	}
	return each(ms, func(m figure.ModeMean) meanView {
		c := func(x []float64) []number { return each(x, func(v float64) number { return number(v) }) }
		return meanView{m.Mode, m.N, c(m.X), c(m.V), c(m.VU), c(m.A), c(m.AU), c(m.T), c(m.TU)}
	}), nil
}
