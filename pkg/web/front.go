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
	Scale   scaleView   `json:"scale"` // of the runs of all modes
	Words   wordsView   `json:"words"`
}

// scaleView is one axis in s; without ticks there is nothing to show.
type scaleView struct {
	Lo    number   `json:"lo"`
	Hi    number   `json:"hi"`
	Ticks []number `json:"ticks"`
}

// wordsView is what stands around the table of modes.
type wordsView struct {
	Strip   string `json:"strip"`   // above the runs
	Beneath string `json:"beneath"` // the table
	Caption string `json:"caption"`
	Decides string `json:"decides"`
	Alone   string `json:"alone"` // in place of a verdict
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
	v := frontView{Targets: []string{}, Modes: []frontMode{}, Heads: []string{}, At: []reachView{}, Known: []string{}, Ways: []string{"", ""}, Origin: string(timing.FromRollout),
		Scale: scaleView{Ticks: []number{}}}
	for _, t := range timing.Standard() {
		v.Known = append(v.Known, t.Name)
	}
	v.Targets = list(report.CompareTargets(res))
	if len(res.Runs) == 0 {
		return v, nil
	}
	if err := fewModes(res); err != nil {
		v.Why = err.Error()
		return v, nil
	}
	compared, err := w.compared(report.CompareTargets)
	if err != nil {
		v.Why = err.Error()
	}
	f := report.FrontOf(res, compared)
	if f.Answer != nil {
		v.Answer = viewAnswer(f.Answer)
	}
	v.Heads, v.Primary, v.Origin, v.Ways = list(f.Words.Heads), f.Primary, string(f.Origin), f.Ways[:]
	v.Words = wordsView{f.Words.Strip, f.Words.Beneath, f.Words.Caption, f.Words.Decides, f.Words.Alone}
	v.At = each(v.Targets, func(name string) reachView { return viewReach(name, viewUnits(res.Settings.Units)) })
	v.Scale = scaleView{number(f.Scale.Lo), number(f.Scale.Hi), list(each(f.Scale.Ticks, func(x float64) number { return number(x) }))}
	v.Modes = each(f.Modes, func(m report.FrontMode) frontMode { return viewGroup(f, &m) })
	return v, nil
}

// viewGroup is a mode, its means and its runs.
func viewGroup(f *report.Front, m *report.FrontMode) frontMode {
	v := frontMode{Name: m.Name, Called: m.Called(), Says: m.Says, Counted: m.N, Out: m.Out, TwoWay: m.TwoWay, Runs: []frontRun{},
		Times: each(m.Times, func(t [2]session.Mean) [2]frontTime { return [2]frontTime{viewMean(t[0]), viewMean(t[1])} })}
	for _, r := range m.AtTarget {
		v.Runs = append(v.Runs, frontRun{viewTime(r.TimedRun, r.Time.Name, f.Origin), r.ID, number(r.Time.Seconds), number(r.Time.U95), r.Counts, r.Way})
	}
	return v
}

func viewMean(m session.Mean) frontTime {
	if m.N == 0 {
		return frontTime{X: number(math.NaN()), U95: number(math.NaN())}
	}
	return frontTime{formatted(m.X, m.U95), number(m.X), number(m.U95), m.N}
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
