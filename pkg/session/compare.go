package session

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/uncert"
)

// CompareOptions shapes Compare. The zero value compares at every target that
// two modes reached, from rest and with rollout.
type CompareOptions struct {
	Targets []string        // names; default all of the settings
	From    []timing.Origin // default both
	// Smallest is the smallest difference worth knowing in s, default 0.05;
	// Power the wanted chance to find it, default 0.8.
	Smallest, Power float64
	// Past, if set, gives the scatter known from a past session, nil for a
	// target where there is none.
	Past       func(target string, from timing.Origin) *compare.Scatter
	OwnScatter bool // use nothing but the scatter of these runs
}

// Compare compares the modes of a result. Where no run has a mode the logs stand
// for modes. A time that a flag of its run touches is not counted. The error is
// for a result in which nothing can be compared.
func Compare(res *Result, opts CompareOptions) (*compare.Result, error) {
	out := &compare.Result{Version: res.Settings.Version, Model: res.Settings.Model}
	starts := res.StandingStarts()
	place := LaunchOrder(starts)
	names, left := modeNames(starts)
	if len(names) < 2 {
		return nil, errors.New("nothing to compare: the runs are of one mode; name the modes as MODE=LOG or in a session sheet")
	}
	switch {
	case left == len(starts) && len(names) > MostLogs:
		return nil, fmt.Errorf("nothing to compare: no mode was named, and %d logs are too many to stand for modes; name the modes as MODE=LOG or in a session sheet", len(names))
	case left == len(starts):
		out.Warnings = append(out.Warnings, "No mode was named: each log stands for a mode.")
	case left > 0:
		out.Warnings = append(out.Warnings, fmt.Sprintf("%s without a mode left out.", plural(left, "run")))
	}
	if res.Sheet != nil {
		names = inSheetOrder(res.Sheet.ModeNames(), names)
	}
	if opts.From == nil {
		opts.From = []timing.Origin{timing.FromRest, timing.FromRollout}
	}
	if opts.Targets == nil {
		opts.Targets = res.Settings.Targets
	}
	for _, name := range opts.Targets {
		for _, from := range opts.From {
			co := compare.Options{Smallest: opts.Smallest, Power: opts.Power, OwnScatter: opts.OwnScatter, Modes: names}
			if opts.Past != nil {
				co.Past = opts.Past(name, from)
			}
			t, err := compare.At(name, string(from), compareRuns(starts, place, name, from, left == len(starts)), co)
			switch {
			case errors.Is(err, compare.ErrOneMode):
				continue
			case err != nil:
				return nil, err
			}
			out.Targets = append(out.Targets, t)
		}
	}
	if len(out.Targets) == 0 {
		return nil, errors.New("nothing to compare: no target was reached by counted runs of two modes")
	}
	return out, nil
}

// StandingStarts are the standing starts of a result in its order.
func (r *Result) StandingStarts() []*TimedRun {
	return slices.DeleteFunc(slices.Clone(r.Runs), func(r *TimedRun) bool { return r.Kind != segment.StandingStart })
}

// modeNames returns the modes in the order first met and how many runs have
// none; the logs' names where no run has one.
func modeNames(runs []*TimedRun) (names []string, left int) {
	var logs []string
	for _, r := range runs {
		if r.Mode == "" {
			left++
		} else if !slices.Contains(names, r.Mode) {
			names = append(names, r.Mode)
		}
		if r.Log != nil && !slices.Contains(logs, r.Log.Name) {
			logs = append(logs, r.Log.Name)
		}
	}
	if len(names) == 0 {
		return logs, left
	}
	return names, left
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
func compareRuns(runs []*TimedRun, place []int, name string, from timing.Origin, byLog bool) []compare.Run {
	var out []compare.Run
	for i, r := range runs {
		t, ok := r.Time(name, from)
		if !ok || math.IsNaN(t.Seconds) {
			continue
		}
		c := compare.Run{ID: r.ID, Mode: r.Mode, Heading: r.HeadingDeg, Order: place[i], Block: day(r),
			Seconds: t.Seconds, U: t.U95 / uncert.Z95, Counted: r.Counted, Why: r.Excluded}
		if byLog && r.Log != nil {
			c.Mode = r.Log.Name
		}
		if from == timing.FromRest {
			c.Shared = SharedOfRest * c.U
			c.U *= math.Sqrt(1 - SharedOfRest*SharedOfRest)
		}
		if c.Counted && t.Doubt != "" {
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

// ModeNames are the modes of the standing starts in the order that rules every
// table, figure and page: those of the sheet as it names them, then the others as
// they first appear. Where no run has a mode the logs stand for modes.
func (r *Result) ModeNames() []string {
	names, _ := modeNames(r.StandingStarts())
	if r.Sheet != nil {
		names = inSheetOrder(r.Sheet.ModeNames(), names)
	}
	return names
}
