package estimate

import (
	"cmp"
	"slices"

	"fromrest/pkg/motion/ramp"
)

// possible are a few filters that stand for all where nothing tells which it is: none, and of
// each kind the slowest that is not out of the question, with the probability of the slower
// half, and the middle of the quicker half.
func possible(ts []*trial) (out []LikelyFilter) {
	var kinds [ramp.Tracker + 1][]*trial
	for _, f := range ts {
		kinds[f.Kind] = append(kinds[f.Kind], f)
	}
	for _, k := range kinds {
		if len(k) == 0 { // none so quick at this rate
			continue
		}
		slices.SortStableFunc(k, func(a, b *trial) int { return cmp.Compare(b.Span(), a.Span()) })
		beyond := 0.0
		for len(k) > 1 && beyond+k[0].P <= beyondShare {
			beyond += k[0].P
			k = k[1:]
		}
		half := (len(k) + 1) / 2
		if f := standFor(k[:half], 0); f.P > 0 {
			f.P += beyond
			out = append(out, f)
		}
		if quick := k[half:]; len(quick) > 0 {
			out = append(out, standFor(quick, len(quick)/2))
		}
	}
	sum := 0.0
	for _, f := range out {
		sum += f.P
	}
	for i := range out {
		out[i].P /= sum
	}
	return out
}

// standFor is the i-th of filters with the probability of all of them.
func standFor(fs []*trial, i int) LikelyFilter {
	out := LikelyFilter{Filter: fs[i].Filter}
	for _, f := range fs {
		out.P += f.P
	}
	return out
}
