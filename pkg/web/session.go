package web

import (
	"cmp"
	"math"
	"slices"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/document"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// dayAndTime is how an instant of the archive is shown.
const dayAndTime = "2006-01-02 15:04"

// The views are what the page is sent: numbers already rounded as everywhere
// else, so that no two outputs can differ in a digit.

type sessionView struct {
	ID       string           `json:"id"`
	Title    string           `json:"title"`
	Created  string           `json:"created"`
	Head     headView         `json:"head"`
	Revision int              `json:"revision"`
	Undo     string           `json:"undo"` // what would be undone, "" for nothing
	Redo     string           `json:"redo"`
	Wrong    string           `json:"wrong"` // why the sheet does not apply as it stands
	Older    string           `json:"older"`
	Pending  int              `json:"pending"`
	Modes    []string         `json:"modes"`
	Lines    linesView        `json:"lines"`
	Logs     []logView        `json:"logs"`
	Runs     []runView        `json:"runs"`
	Twice    []recordingsView `json:"twice"` // logs that have drives in common
	Warnings []string         `json:"warnings"`
	Cautions []string         `json:"cautions"`
	Table    *tableView       `json:"table"` // always null, see the table's own address
	Version  string           `json:"version"`
	Model    int              `json:"model"`
	MadeBy   string           `json:"madeBy"`
	Units    unitView         `json:"units"`
	Leads    []string         `json:"leads"` // targets of the run list
	Call     callView         `json:"call"`
}

// callView is what the commands are called with that give the same as the page.
type callView struct {
	Tail  string `json:"tail"`  // behind the command's name and flags: the sheet and the logs
	Short string `json:"short"` // the same without the logs
}

type unitView struct {
	Name        string  `json:"name"`        // "mph"
	Per         float64 `json:"per"`         // m/s
	Distance    string  `json:"distance"`    // "ft"
	DistancePer float64 `json:"distancePer"` // m
	Gravity     float64 `json:"gravity"`     // m/s² in g
}

type headView struct {
	Title      string `json:"title"`
	Date       string `json:"date"`
	Place      string `json:"place"`
	Vehicle    string `json:"vehicle"`
	Surface    string `json:"surface"`
	Mass       string `json:"mass"`
	Conditions string `json:"conditions"` // in a line
	Notes      string `json:"notes"`
}

type logView struct {
	SHA      string        `json:"sha"`
	Name     string        `json:"name"`
	Short    string        `json:"short"`
	Mode     string        `json:"mode"`
	Bytes    int64         `json:"bytes"`
	State    string        `json:"state"`
	Done     int64         `json:"done"`
	Text     string        `json:"text"`
	Runs     int           `json:"runs"`
	Facts    []itemView    `json:"facts"`
	Problems []problemView `json:"problems"`
	Advice   []string      `json:"advice"`
	Goes     []string      `json:"goes"`  // logs that its accelerometer belongs to, where it has nothing else
	Table    bool          `json:"table"` // whether it may be a table whose columns can be named
}

type itemView struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

type problemView struct {
	Effect string `json:"effect"`
	Count  int    `json:"count"`
	Place  string `json:"place"`
	Text   string `json:"text"`
}

type runView struct {
	ID       string            `json:"id"`
	Log      string            `json:"log"`
	SHA      string            `json:"sha"`
	Mode     string            `json:"mode"`
	Kind     string            `json:"kind"`
	Launch   string            `json:"launch"`
	Clock    string            `json:"clock"` // of the launch, to the minute
	Heading  string            `json:"heading"`
	Way      int               `json:"way"` // 0 for the direction of the first run, 1 for the other
	Counted  bool              `json:"counted"`
	Excluded string            `json:"excluded"`
	Notes    map[string]string `json:"notes,omitempty"`
	Witness  string            `json:"witness"` // of which run, and by how much its times differ; "" for a run of its own
	Flags    []string          `json:"flags"`
	Max      string            `json:"max"`   // highest speed in the reader's unit
	Spark    []int             `json:"spark"` // speed in thousandths of the highest, evenly spaced in time
	Span     string            `json:"span"`  // s, of the small trace
	// Leads are the leading targets, each from rest and with rollout.
	Leads [][2]numView `json:"leads"`
}

// numView is a number as printed and its 95 % half-width.
type numView struct {
	Value string `json:"v"`
	Half  string `json:"h,omitempty"`
	Doubt string `json:"d,omitempty"`
}

// leads are the two targets that the run list has room for: the furthest speed
// and the furthest distance that at least half of the counted runs reached.
func leads(res *session.Result, units string) []string {
	speeds := []string{"0-60 mph", "0-30 mph", "0-20 mph", "0-10 mph"}
	if units == "kmh" {
		speeds[0] = "0-100 km/h"
	}
	return []string{furthest(res, speeds), furthest(res, []string{"1/4 mile", "1/8 mile", "330 ft", "60 ft"})}
}

func furthest(res *session.Result, names []string) string {
	for _, name := range names {
		counted, reached := 0, 0
		for _, r := range res.Runs {
			if !r.Counted {
				continue
			}
			counted++
			if _, ok := r.Time(name, timing.FromRollout); ok {
				reached++
			}
		}
		if reached > 0 && 2*reached >= counted {
			return name
		}
	}
	return names[0]
}

// view is the whole session as the page shows it.
func (w *work) view(who string) sessionView {
	w.mu.Lock()
	defer w.mu.Unlock()
	res := w.result
	units := res.Settings.Units
	v := sessionView{ID: w.id, Title: w.title, Created: w.created.Format(dayAndTime), Revision: w.sheet.Revision,
		Wrong: w.wrong, Older: w.older, Pending: w.pending(), Head: w.head(), Version: w.s.opts.Version,
		Model: session.ModelRevision, MadeBy: w.madeBy(),
		Twice: w.recordings(), Warnings: list(res.Warnings), Cautions: report.Cautions(),
		Modes: w.modes(), Lines: viewLines(res), Leads: leads(res, units), Units: viewUnits(units)}
	v.Undo, v.Redo = w.steps(who)
	v.Call = w.call()
	first, notes := res.FirstHeading(), noted(w.sheet.Body)
	v.Runs = each(res.Runs, func(r *session.TimedRun) runView {
		run := viewRun(r, v.Units, v.Leads, res.Settings.Zone)
		run.Notes = notes[r.ID]
		run.Way = session.Way(r.HeadingDeg, first)
		return run
	})
	short, order, runs := map[string]string{}, map[string]int{}, map[string][]*session.TimedRun{}
	for _, r := range res.Runs {
		runs[r.Log.SHA256] = append(runs[r.Log.SHA256], r)
	}
	for i, l := range res.Logs {
		short[l.SHA256], order[l.SHA256] = l.Name, i-len(res.Logs) // those not read yet stand last
	}
	logs := slices.Clone(w.logs)
	slices.SortStableFunc(logs, func(a, b *logWork) int { return order[a.SHA256] - order[b.SHA256] })
	v.Logs = each(logs, func(l *logWork) logView {
		lv := viewLog(l, units)
		of := runs[l.SHA256]
		lv.Short, lv.Runs = short[l.SHA256], len(of)
		if len(of) > 0 {
			lv.Mode = of[0].Mode
		}
		if slices.ContainsFunc(of, func(r *session.TimedRun) bool { return r.Mode != lv.Mode }) {
			lv.Mode = "" // its runs differ
		}
		lv.Goes = w.goesWith(l)
		if i := slices.IndexFunc(res.Copies, func(c session.Copy) bool { return c.Log.SHA256 == l.SHA256 }); i >= 0 {
			lv.Text = res.Copies[i].String()
		}
		return lv
	})
	return v
}

// madeBy names this program and its model, as every output does.
func (w *work) madeBy() string { return session.MadeBy(w.s.opts.Version, session.ModelRevision) }

// list copies a slice so that the page gets [] and not null for an empty one.
func list[T any](x []T) []T { return append([]T{}, x...) }

// each is what f makes of every element, never nil.
func each[T, U any](x []T, f func(T) U) []U {
	out := make([]U, len(x))
	for i := range x {
		out[i] = f(x[i])
	}
	return out
}

// modes are the drive modes known so far, in the order met.
func (w *work) modes() []string {
	out := []string{}
	if w.parsed != nil {
		out = withModes(out, w.parsed.ModeNames(), func(name string) string { return name })
	}
	out = withModes(out, w.result.Runs, func(r *session.TimedRun) string { return r.Mode })
	return withModes(out, w.logs, func(l *logWork) string { return l.Mode })
}

// withModes adds the modes of some things that are not among those met already.
func withModes[T any](modes []string, all []T, mode func(T) string) []string {
	for _, x := range all {
		if m := mode(x); m != "" && !slices.Contains(modes, m) {
			modes = append(modes, m)
		}
	}
	return modes
}

// sheetHead is what a sheet says at its head.
func sheetHead(p *sheet.Sheet) headView {
	of := report.HeadOf(p)
	h := headView{Title: p.Title, Vehicle: of.Vehicle, Mass: of.Mass, Place: of.Place, Date: of.Date, Conditions: of.Conditions, Surface: p.Conditions.Surface, Notes: p.Notes}
	return h
}

func (w *work) head() headView {
	var h headView
	if w.parsed != nil {
		h = sheetHead(w.parsed)
	}
	h.Title = cmp.Or(h.Title, w.given(), report.TitleOf(w.result))
	if h.Date == "" && len(w.result.Runs) > 0 && !w.result.Runs[0].Log.Undated {
		h.Date = w.result.Runs[0].Launch.UTC().Format(time.DateOnly)
	}
	return h
}

func viewLog(l *logWork, units string) logView {
	v := logView{SHA: l.SHA256, Name: l.Name, Mode: l.Mode, Bytes: l.Bytes, State: l.state, Done: l.done, Text: l.text,
		Facts: []itemView{}, Problems: []problemView{}, Advice: []string{}, Goes: []string{}}
	v.Table = l.state == stateFailed && l.table
	if l.part == nil || len(l.part.Logs) == 0 {
		return v
	}
	log := l.part.Logs[0]
	v.Table = v.Table || log.Format == "csv"
	v.Facts = each(report.QualityItems(log, units), func(it document.Term) itemView { return itemView{it.Name, it.Text} })
	if log.Problems != nil {
		v.Problems = each(log.Problems.Groups(), func(g *diag.Group) problemView {
			return problemView{string(g.Effect), g.Count, g.First().Place(), g.First().Text}
		})
	}
	return v
}

// micro is a time as the JSON has it, to a millionth of a second, so that what
// is printed here and what is printed from there agree in the last digit.
func micro(x float64) float64 { return math.Round(x*1e6) / 1e6 }

func viewRun(r *session.TimedRun, u unitView, leads []string, zone *time.Location) runView {
	v := runView{ID: r.ID, Log: r.Log.Name, SHA: r.Log.SHA256, Mode: r.Mode, Kind: string(r.Kind),
		Launch: report.Instant(r, zone), Clock: r.Launch.In(cmp.Or(zone, time.UTC)).Format("15:04"), Counted: r.Counted, Excluded: r.Excluded,
		Max: uncert.RoundHalfUp(r.MaxSpeed/u.Per, 0) + " " + u.Name}
	if !math.IsNaN(r.HeadingDeg) {
		v.Heading = unit.Heading(r.HeadingDeg)
	}
	v.Flags = each(r.Flags, func(f segment.Flag) string { return f.Text })
	v.Leads = each(leads, func(name string) [2]numView {
		return [2]numView{viewTime(r, name, timing.FromRest), viewTime(r, name, timing.FromRollout)}
	})
	v.Witness = unit.Printed(report.WitnessLine(r, leads))
	v.Spark, v.Span = spark(r)
	return v
}

func viewTime(r *session.TimedRun, name string, from timing.Origin) numView {
	t, ok := r.Time(name, from)
	if !ok {
		return numView{}
	}
	n := numView{Doubt: t.Doubt}
	n.Value, n.Half = uncert.Format(micro(t.Seconds), micro(t.U95))
	for _, f := range r.Flags {
		if f.Code == t.Doubt {
			n.Doubt = f.Text
		}
	}
	return n
}

// spark is a run's speed for a picture of the size of a word.
func spark(r *session.TimedRun) ([]int, string) {
	tr := &r.Trace
	n := tr.Len()
	if n < 2 || !(r.MaxSpeed > 0) {
		return []int{}, ""
	}
	t0, t1 := tr.T[0], tr.T[n-1]
	out := make([]int, sparkPoints)
	k := 0
	for i := range out {
		at := t0 + (t1-t0)*float64(i)/(sparkPoints-1)
		for k < n-1 && tr.T[k+1] <= at {
			k++
		}
		if v := tr.V[k] / r.MaxSpeed; v > 0 {
			out[i] = int(math.Round(1000 * math.Min(v, 1)))
		}
	}
	return out, uncert.RoundHalfUp(t1-t0, 1)
}
