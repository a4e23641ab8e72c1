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

// flag says what else may pass for a difference of modes.
func (d *data) flag(t *Target, f *fit) {
	single := 0
	ways := make([]int, len(d.names))
	for m := range d.names {
		single += b2i(len(d.seconds(m)) == 1)
	}
	for i, x := range d.dir {
		ways[d.mode[i]] |= firstWay << b2i(x > 0)
	}
	if single > 0 {
		which := "Some modes have"
		if single == len(d.names) {
			which = "Each mode has"
		}
		t.Warnings = append(t.Warnings, which+" one run: its scatter cannot be seen, and the intervals rest on "+t.Model.ScatterFrom+". A second run in each mode and each direction would be the best next step.")
	}
	for k := range t.Pairs {
		p := &t.Pairs[k]
		a, b := slices.Index(d.names, p.A), slices.Index(d.names, p.B)
		also := func(why string) { p.Confounded = append(p.Confounded, why) }
		switch {
		case len(d.ways) == 0:
			also(d.noWays + ": grade and wind may pass for a difference")
		case ways[a] != ways[b] && f.dirCol < 0:
			also("the modes were driven in different directions: grade and wind may pass for a difference")
		case ways[a] != bothWays || ways[b] != bothWays:
			also(d.oneWay(ways, a, b, f.dirCol >= 0))
		}
		if d.apart(a, b) {
			also("the modes were driven one after the other with no return to the first: a drift may pass for a difference")
		}
		if len(d.blocks) > 1 && !slices.Contains(f.terms, "session") {
			also("the modes were not driven in the same sessions: the day may pass for a difference")
		}
	}
}

// oneWay says which of two modes was driven one way only.
func (d *data) oneWay(ways []int, a, b int, adjusted bool) string {
	var names []string
	for _, m := range []int{a, b} {
		if ways[m] != bothWays {
			names = append(names, d.names[m])
		}
	}
	s := strings.Join(names, " and ") + " was driven one way only: "
	if adjusted {
		return s + "its other direction is inferred from the other modes"
	}
	return s + "the difference holds for that direction, with its grade and wind"
}

// apart reports whether one of two modes was over before the other began, in
// every session that has both.
func (d *data) apart(a, b int) bool {
	both := false
	for block := range d.blocks {
		var places [2][]int
		for i, r := range d.runs {
			if d.block[i] == block && (d.mode[i] == a || d.mode[i] == b) {
				k := b2i(d.mode[i] == b)
				places[k] = append(places[k], r.Order)
			}
		}
		x, y := places[0], places[1]
		if len(x) == 0 || len(y) == 0 {
			continue
		}
		if slices.Max(x) >= slices.Min(y) && slices.Max(y) >= slices.Min(x) {
			return false
		}
		both = true
	}
	return both
}
