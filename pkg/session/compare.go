package session

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/session/compare/contrast"
	"fromrest/pkg/sheet"
)

// CompareOptions shapes the comparison of a result. The zero value is usable: what it
// leaves open the sheet says.
type CompareOptions struct {
	// Smallest is the smallest difference that matters in s, 0 for none stated; Power
	// the wanted chance to find it, default 0.8.
	Smallest, Power float64
	Target          string        // that decides, "" for the sheet's or the usual one
	From            timing.Origin // that it counts from, "" as above
	Planned         int           // runs planned of each mode, 0 as above
	Final           bool          // no more runs will be driven
	// Past, if set, gives the scatter known from a past session of a vehicle of some
	// name, nil for a target where there is none.
	Past func(target string, from timing.Origin, vehicle string) *compare.Scatter
}

// place is a target counted from an origin.
type place struct {
	name string
	from timing.Origin
}

// comparison is what a result's modes were found to be at each place, worked out
// when it is first asked for.
type comparison struct {
	opts  CompareOptions
	once  sync.Once
	order []place // the primary one first, then as claims are gated
	why   string  // why the primary place is not the usual one
	at    map[place]*compare.Target
}

// At is the modes at one target from one origin: the mean of each and, of two or
// more, their differences. All places are worked out together and once, since what is
// said at one depends on those before it, and what every output tells of means and
// differences is this. It is nil where no counted run reached the target. A time that a
// flag of its run touches is not counted, unless the run is kept. Of logs that stand
// for modes, where there are more than MostLogs, each is taken alone.
func (r *Result) At(name string, from timing.Origin) *compare.Target {
	return r.comparison().at[place{name, from}]
}

func (r *Result) comparison() *comparison {
	if r.compared == nil {
		r.compared = &comparison{} // of a result that was put together by hand
	}
	r.compared.once.Do(func() { r.work(r.compared) })
	return r.compared
}

// work compares the modes at all places.
func (r *Result) work(c *comparison) {
	starts := r.StandingStarts()
	names, byLog := r.modeNames(starts)
	order := LaunchOrder(starts)
	targets := map[string]timing.Target{}
	for _, name := range r.timedTo() {
		if t, err := timing.ParseTarget(name); err == nil {
			targets[name] = t
		}
	}
	runs := func(at place) []compare.Run { return compareRuns(starts, order, at, byLog, targets) }
	co := r.compareOptions(&c.opts)
	r.rank(c, names, runs)
	places := make([]compare.Place, len(c.order))
	for i, at := range c.order {
		places[i] = compare.Place{Name: at.name, From: string(at.from), Runs: runs(at)}
	}
	c.at = map[place]*compare.Target{}
	for i, t := range together(places, names, byLog, co) {
		if t != nil {
			c.at[c.order[i]] = t
		}
	}
}

// together compares the modes at places; logs that stand for modes, where there are more
// than MostLogs, each alone. A place where nothing can be compared is nil.
func together(places []compare.Place, names []string, byLog bool, co compare.Options) []*compare.Target {
	out := make([]*compare.Target, len(places))
	co.Modes = names
	if !byLog || len(names) <= MostLogs {
		if targets, err := compare.Session(places, co); err == nil { // its errors are for places without runs
			copy(out, targets)
		}
		return out
	}
	for _, name := range names {
		own := slices.Clone(places)
		for i, p := range own {
			own[i].Runs = slices.DeleteFunc(slices.Clone(p.Runs), func(r compare.Run) bool { return r.Mode != name })
		}
		targets, err := compare.Session(own, co)
		if err != nil {
			continue
		}
		for i, t := range targets {
			switch {
			case t == nil:
			case out[i] == nil:
				out[i] = t
			default:
				out[i].Modes, out[i].Runs = append(out[i].Modes, t.Modes...), append(out[i].Runs, t.Runs...)
			}
		}
	}
	return out
}

// compareOptions are the options of package compare: those of the call, else the
// sheet's.
func (r *Result) compareOptions(o *CompareOptions) compare.Options {
	co := compare.Options{Smallest: o.Smallest, Power: o.Power, Plan: contrast.Plan{Runs: o.Planned, Final: o.Final}}
	past := o.Past
	if sh := r.Sheet; sh != nil {
		co.Smallest = cmp.Or(co.Smallest, sh.Plan.Smallest)
		co.Plan.Runs = cmp.Or(co.Plan.Runs, sh.Plan.PerMode())
		co.Plan.Final = co.Plan.Final || sh.Plan.Final
		if past == nil && len(sh.Past) > 0 {
			past = sheetPast(sh)
		}
	}
	if past != nil {
		co.Past = func(name, from string) *compare.Scatter { return past(name, timing.Origin(from), r.vehicle()) }
	}
	return co
}

// vehicle is the vehicle's name, "" where not known.
func (r *Result) vehicle() string {
	if r.Sheet == nil {
		return ""
	}
	return r.Sheet.Vehicle.Name
}

// sheetPast is the scatter that stands in a sheet.
func sheetPast(sh *sheet.Sheet) func(string, timing.Origin, string) *compare.Scatter {
	return func(name string, from timing.Origin, vehicle string) *compare.Scatter {
		for _, p := range sh.Past {
			if t, err := timing.ParseTarget(p.Target); err == nil && t.Name == name && p.From == string(from) {
				return &compare.Scatter{SD: p.SD, DF: p.DF, Same: vehicle != "" && p.Vehicle == vehicle,
					From: fmt.Sprintf("past sessions, %g s with %g degrees of freedom, by the sheet", p.SD, p.DF)}
			}
		}
		return nil
	}
}

// ToDrive are the modes that the plan of the sheet still has to drive, in order: what
// its list has beyond the starts driven, and a run again for each that does not count.
func (r *Result) ToDrive() []string {
	if r.Sheet == nil || len(r.Sheet.Plan.Order) == 0 || r.Sheet.Plan.Final {
		return nil
	}
	order := r.Sheet.Plan.Order
	driven, left := 0, map[string]int{}
	for _, m := range order {
		left[m]++
	}
	for _, run := range r.StandingStarts() {
		if run.WitnessOf != nil {
			continue
		}
		if driven++; run.Counted {
			left[run.Mode]--
		}
	}
	rest := slices.Clone(order[min(driven, len(order)):])
	for _, m := range rest {
		left[m]--
	}
	for _, m := range order {
		for ; left[m] > 0; left[m]-- {
			rest = append(rest, m)
		}
	}
	return rest
}

// Primary is the target and origin that decide, and why they are not the usual ones,
// "" where they are.
func (r *Result) Primary() (target string, from timing.Origin, why string) {
	c := r.comparison()
	return c.order[0].name, c.order[0].from, c.why
}

// Compare is the comparison at some targets and origins, by default all of the
// settings and both. Where no run has a mode the logs stand for modes. The error is
// for a result in which nothing can be compared.
func (r *Result) Compare(targets []string, origins ...timing.Origin) (*compare.Result, error) {
	out := &compare.Result{Version: r.Settings.Version, Model: r.Settings.Model, Vehicle: r.vehicle(), ToDrive: r.ToDrive()}
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
	name, from, why := r.Primary()
	slices.SortStableFunc(out.Targets, func(a, b *compare.Target) int { // what decides stands first
		return cmp.Compare(notFirst(a, name), notFirst(b, name))
	})
	if t := r.At(name, from); t != nil && len(t.Modes) > 1 {
		out.Primary, out.WhyPrimary = t, why
	} else {
		out.Warnings = append(out.Warnings, fmt.Sprintf("%s was to decide, and no counted runs of two modes reached it.", name))
	}
	return out, nil
}

// notFirst sorts the target of a name before all others.
func notFirst(t *compare.Target, name string) int {
	if t.Name == name {
		return 0
	}
	return 1
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
