package session

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/compare"
)

// usual are the places that decide, the first that every mode reached.
var usual = map[string][]string{
	"mph": {"0-60 mph", "0-50 mph", "0-40 mph", "0-30 mph", "1/4 mile", "1/8 mile"},
	"kmh": {"0-100 km/h", "0-80 km/h", "0-60 km/h", "0-50 km/h", "1/4 mile", "1/8 mile"},
}

// rank puts the places in the order in which claims are gated: the primary one, the
// same target from the other origin, the others as the targets stand.
func (r *Result) rank(c *comparison, names []string, runs func(place) []compare.Run) {
	first := place{c.opts.Target, c.opts.From}
	if sh := r.Sheet; sh != nil {
		if t, err := timing.ParseTarget(sh.Plan.Target); err == nil && first.name == "" {
			first.name = t.Name
		}
		first.from = cmp.Or(first.from, timing.Origin(sh.Plan.From))
	}
	first.from = cmp.Or(first.from, timing.FromRollout)
	if first.name == "" {
		first.name, c.why = r.usualTarget(first.from, names, runs)
	}
	other := timing.FromRest
	if first.from == timing.FromRest {
		other = timing.FromRollout
	}
	c.order = []place{first, {first.name, other}}
	for _, name := range r.inTurn(first, runs) {
		for _, from := range []timing.Origin{first.from, other} {
			if at := (place{name, from}); !slices.Contains(c.order, at) {
				c.order = append(c.order, at)
			}
		}
	}
}

// inTurn are the other targets in the order in which their claims are gated: those that
// as many runs reached first, then the nearer to the one that decides, since the same
// difference is likely to show there. Times have no part in it.
func (r *Result) inTurn(first place, runs func(place) []compare.Run) []string {
	names := r.timedTo()
	decides, _ := timing.ParseTarget(first.name)
	reached, far := map[string]int{}, map[string]float64{}
	for _, name := range names {
		for _, run := range runs(place{name, first.from}) {
			if run.Counted {
				reached[name]++
			}
		}
		t, _ := timing.ParseTarget(name)
		far[name] = math.Abs(math.Log(reach(t) / reach(decides)))
	}
	slices.SortStableFunc(names, func(a, b string) int {
		return cmp.Or(cmp.Compare(reached[b], reached[a]), cmp.Compare(far[a], far[b]))
	})
	return names
}

// reach is the speed in m/s that a target ends at, roughly for a distance.
func reach(t timing.Target) float64 {
	if t.IsDistance() {
		return math.Sqrt(2 * briskly * t.Distance)
	}
	return t.To
}

// timedTo are the targets of the settings, and any others that a run was timed to.
func (r *Result) timedTo() []string {
	names := slices.Clone(r.Settings.Targets)
	for _, run := range r.Runs {
		for _, t := range run.Times {
			if !slices.Contains(names, t.Name) {
				names = append(names, t.Name)
			}
		}
	}
	return names
}

// usualTarget is the first usual target that every mode reached, else the one that
// most modes reached, and why it is not the first.
func (r *Result) usualTarget(from timing.Origin, names []string, runs func(place) []compare.Run) (name, why string) {
	list := usual[cmp.Or(r.Settings.Units, "mph")]
	name, most := list[0], 0
	for _, target := range list {
		reached := map[string]bool{}
		for _, run := range runs(place{target, from}) {
			if run.Counted {
				reached[run.Mode] = true
			}
		}
		if len(reached) > most {
			name, most = target, len(reached)
		}
		if most == len(names) {
			break
		}
	}
	if name != list[0] {
		why = fmt.Sprintf("%s decides: not every mode reached %s in a run that counts.", name, list[0])
	}
	return name, why
}
