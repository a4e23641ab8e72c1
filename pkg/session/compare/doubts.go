package compare

import (
	"slices"
	"strings"
)

// The ways a mode was driven.
const (
	firstWay  = 1
	secondWay = 2
	bothWays  = firstWay | secondWay
)

// doubts says what else may pass for a difference of modes.
func (j *judged) doubts(t *Target) {
	ways := make([]int, len(j.names))
	for i, x := range j.dir {
		ways[j.mode[i]] |= firstWay << b2i(x > 0)
	}
	fitted := slices.ContainsFunc(t.Model.Terms, func(s string) bool { return strings.HasPrefix(s, "direction") })
	for k := range t.Pairs {
		p := &t.Pairs[k]
		a, b := slices.Index(j.names, p.A), slices.Index(j.names, p.B)
		also := func(why string) { p.Confounded = append(p.Confounded, why) }
		switch {
		case p.Verdict == Refused:
		case len(j.ways) == 0:
			also(j.noWays + ": grade and wind may pass for a difference")
		case ways[a] != ways[b] && !fitted:
			also("the modes were driven in different directions: grade and wind may pass for a difference")
		case ways[a] != bothWays || ways[b] != bothWays:
			also(j.oneWay(ways, a, b, fitted))
		}
		if p.Strain > 1 && p.Verdict != Refused {
			also("the modes were not driven in turn, which widens the interval; driving them in one order and then in the reverse would narrow it")
		}
		if j.parted(func(r *Run) int { return r.Block }) && !slices.Contains(t.Model.Terms, "session") {
			also("the modes were not driven in the same sessions: the day may pass for a difference")
		}
		if j.parted(func(r *Run) int { return r.Stretch }) && !slices.Contains(t.Model.Terms, "stretch") {
			also("the modes were not driven on the same stretches: surface and grade may pass for a difference")
		}
		for _, d := range t.Model.Dropped {
			if name, ok := strings.CutSuffix(d, ": it went with the modes in these runs"); ok {
				also(name + " went with the modes in these runs and may pass for a difference")
			}
		}
	}
}

// parted reports whether the runs fall into several parts.
func (d *data) parted(of func(*Run) int) bool { return slices.Max(parts(d.runs, of)) > 0 }

// oneWay says which of two modes was driven one way only.
func (d *data) oneWay(ways []int, a, b int, adjusted bool) string {
	var names []string
	for _, m := range []int{a, b} {
		if ways[m] != bothWays {
			names = append(names, d.names[m])
		}
	}
	s := strings.Join(names, " and ") + " was driven one way only: "
	if len(names) > 1 {
		s = strings.Join(names, " and ") + " were driven one way only: "
	}
	if adjusted {
		return s + "the other direction is inferred from the other modes"
	}
	return s + "the difference holds for that direction, with its grade and wind"
}
