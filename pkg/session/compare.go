package session

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/uncert"
)

// CompareOptions shapes the comparison of a result. The zero value is usable.
type CompareOptions struct {
	// Smallest is the smallest difference worth knowing in s, default 0.05;
	// Power the wanted chance to find it, default 0.8.
	Smallest, Power float64
	// Past, if set, gives the scatter known from a past session, nil for a
	// target where there is none.
	Past       func(target string, from timing.Origin) *compare.Scatter
	OwnScatter bool // use nothing but the scatter of these runs
}

// place is a target counted from an origin.
type place struct {
	name string
	from timing.Origin
}

// comparison is what a result's modes were found to be at each place, worked out
// when it is first asked for.
type comparison struct {
	opts CompareOptions
	mu   sync.Mutex
	at   map[place]*compare.Target
}

// At is the modes at one target from one origin: the mean of each and, of two or
// more, their differences. It is worked out once, and what every output tells of
// means and differences is this. It is nil where no counted run reached the target.
// A time that a flag of its run touches is not counted, unless the run is kept. Of
// logs that stand for modes, where there are more than MostLogs, each is taken alone.
func (r *Result) At(name string, from timing.Origin) *compare.Target {
	if r.compared == nil {
		r.compared = &comparison{} // of a result that was put together by hand
	}
	c := r.compared
	c.mu.Lock()
	defer c.mu.Unlock()
	at := place{name, from}
	t, ok := c.at[at]
	if !ok {
		if c.at == nil {
			c.at = map[place]*compare.Target{}
		}
		t = r.work(at)
		c.at[at] = t
	}
	return t
}

func (r *Result) work(at place) *compare.Target {
	starts := r.StandingStarts()
	names, byLog := r.modeNames(starts)
	o := &r.compared.opts
	co := compare.Options{Smallest: o.Smallest, Power: o.Power, OwnScatter: o.OwnScatter, Modes: names}
	if o.Past != nil {
		co.Past = o.Past(at.name, at.from)
	}
	runs := compareRuns(starts, LaunchOrder(starts), at, byLog)
	if !byLog || len(names) <= MostLogs {
		return target(at, runs, co)
	}
	var all *compare.Target
	for _, name := range names {
		one := target(at, slices.DeleteFunc(slices.Clone(runs), func(r compare.Run) bool { return r.Mode != name }), co)
		switch {
		case one == nil:
		case all == nil:
			all = one
		default:
			all.Modes, all.Runs = append(all.Modes, one.Modes...), append(all.Runs, one.Runs...)
		}
	}
	return all
}

// target is what package compare finds, nil for nothing: its other errors are for
// times that no run has.
func target(at place, runs []compare.Run, co compare.Options) *compare.Target {
	t, err := compare.At(at.name, string(at.from), runs, co)
	if err != nil {
		return nil
	}
	return t
}

// Compare is the comparison at some targets and origins, by default all of the
// settings and both. Where no run has a mode the logs stand for modes. The error is
// for a result in which nothing can be compared.
func (r *Result) Compare(targets []string, origins ...timing.Origin) (*compare.Result, error) {
	out := &compare.Result{Version: r.Settings.Version, Model: r.Settings.Model}
	starts := r.StandingStarts()
	names, byLog := r.modeNames(starts)
	if len(names) < 2 {
		return nil, errors.New("nothing to compare: the runs are of one mode; name the modes as MODE=LOG or in a session sheet")
	}
	switch {
	case byLog && len(names) > MostLogs:
		return nil, fmt.Errorf("nothing to compare: no mode was named, and %d logs are too many to stand for modes; name the modes as MODE=LOG or in a session sheet", len(names))
	case byLog:
		out.Warnings = append(out.Warnings, "No mode was named: each log stands for a mode.")
	}
	if len(origins) == 0 {
		origins = []timing.Origin{timing.FromRest, timing.FromRollout}
	}
	if targets == nil {
		targets = r.Settings.Targets
	}
	for _, name := range targets {
		for _, from := range origins {
			if t := r.At(name, from); t != nil && len(t.Modes) > 1 {
				out.Targets = append(out.Targets, t)
			}
		}
	}
	if len(out.Targets) == 0 {
		return nil, errors.New("nothing to compare: no target was reached by counted runs of two modes")
	}
	return out, nil
}

// Difference is by how much mode a takes longer than b at a target, with the
// half-width of its 95 % interval, both in s; false where the comparison has no such
// pair or cannot say.
func (r *Result) Difference(a, b, name string, from timing.Origin) (seconds, u95 float64, ok bool) {
	t := r.At(name, from)
	if t == nil {
		return 0, 0, false
	}
	for _, p := range t.Pairs {
		switch {
		case math.IsNaN(p.Difference) || math.IsNaN(p.Half()):
		case p.A == a && p.B == b:
			return p.Difference, p.Half(), true
		case p.A == b && p.B == a:
			return -p.Difference, p.Half(), true
		}
	}
	return 0, 0, false
}

// StandingStarts are the standing starts of a result in its order.
func (r *Result) StandingStarts() []*TimedRun {
	return slices.DeleteFunc(slices.Clone(r.Runs), func(r *TimedRun) bool { return r.Kind != segment.StandingStart })
}

// modeNames are the modes of runs in the order that rules every table, figure and
// page; the logs' names where no run has one, which byLog then says.
func (r *Result) modeNames(runs []*TimedRun) (names []string, byLog bool) {
	var modes, logs []string
	for _, run := range runs {
		if run.Mode != "" && !slices.Contains(modes, run.Mode) {
			modes = append(modes, run.Mode)
		}
		if name := modeOf(run, true); name != "" && !slices.Contains(logs, name) {
			logs = append(logs, name)
		}
	}
	if len(modes) == 0 {
		return logs, true
	}
	if r.Sheet != nil {
		modes = inSheetOrder(r.Sheet.ModeNames(), modes)
	}
	return modes, false
}

func inSheetOrder(sheet, names []string) []string {
	var out []string
	for _, n := range append(slices.Clone(sheet), names...) {
		if slices.Contains(names, n) && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// compareRuns is every run that reached a target, as package compare takes them.
func compareRuns(runs []*TimedRun, order []int, at place, byLog bool) []compare.Run {
	var out []compare.Run
	for i, r := range runs {
		t, ok := r.Time(at.name, at.from)
		if !ok || math.IsNaN(t.Seconds) {
			continue
		}
		c := compare.Run{ID: r.ID, Mode: modeOf(r, byLog), Heading: r.HeadingDeg, Order: order[i], Block: day(r),
			Seconds: t.Seconds, U: t.U95 / uncert.Z95, Counted: r.Counted, Why: r.Excluded}
		c.Shared = min(t.Common, c.U)
		c.U = math.Sqrt(c.U*c.U - c.Shared*c.Shared)
		if c.Counted && !r.Counts(&t) {
			c.Counted, c.Why = false, t.Doubt
		}
		out = append(out, c)
	}
	return out
}

// day is the session that a run belongs to: its date, "" where the log has none.
func day(r *TimedRun) string {
	if r.Log == nil || r.Log.Undated || r.Log.Clock == "elapsed" {
		return ""
	}
	return r.Launch.UTC().Format(time.DateOnly)
}

// Lineup is ModeNames of the whole session, of which Only may have left a part: the
// place of a mode in it is its line in every figure.
func (r *Result) Lineup() []string {
	if r.lineup != nil {
		return r.lineup
	}
	return r.ModeNames()
}

// LogsAsModes reports whether the logs stand for modes: no standing start has one.
func (r *Result) LogsAsModes() bool {
	_, byLog := r.modeNames(r.StandingStarts())
	return byLog
}

// ModeNames are the modes of the standing starts in the order that rules every
// table, figure and page: those of the sheet as it names them, then the others as
// they first appear. Where no run has a mode the logs stand for modes.
func (r *Result) ModeNames() []string {
	names, _ := r.modeNames(r.StandingStarts())
	return names
}
