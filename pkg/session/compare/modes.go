package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
)

func (d *data) seconds(m int) []float64 {
	var x []float64
	for i, r := range d.runs {
		if d.mode[i] == m {
			x = append(x, r.Seconds)
		}
	}
	return x
}

func (d *data) mean(m int) float64 { return stats.Describe(d.seconds(m)).Mean }

// modes summarises each mode.
func (d *data) modes(f *fit, v *variance, all []Run) []Mode {
	out := make([]Mode, len(d.names))
	for m, name := range d.names {
		x := d.seconds(m)
		s := stats.Describe(x)
		o := Mode{Name: name, N: s.N, Mean: s.Mean, SD: s.SD, Best: slices.Min(x), Adjusted: f.beta[m],
			TwoWay: math.NaN(), TwoWayU95: math.NaN()}
		o.U95 = v.t() * math.Sqrt(v.s2/float64(s.N)+v.shared[m]*v.shared[m])
		d.twoWay(m, &o, v)
		for _, r := range all {
			if r.Mode == name && !r.Counted {
				o.Left++
			}
		}
		out[m] = o
	}
	return out
}

// twoWay fills the means of both directions and their mean.
func (d *data) twoWay(m int, o *Mode, v *variance) {
	for w, heading := range d.ways {
		var x []float64
		for i, r := range d.runs {
			if d.mode[i] == m && (d.dir[i] > 0) == (w == 1) {
				x = append(x, r.Seconds)
			}
		}
		if len(x) > 0 {
			o.Directions = append(o.Directions, Direction{Heading: heading, N: len(x), Mean: stats.Describe(x).Mean})
		}
	}
	if len(o.Directions) == 2 {
		a, b := o.Directions[0], o.Directions[1]
		o.TwoWay = (a.Mean + b.Mean) / 2
		o.TwoWayU95 = v.t() * math.Sqrt(v.s2*(1/float64(a.N)+1/float64(b.N))/4+v.shared[m]*v.shared[m])
	}
}

// runsNeeded returns how many more runs in each mode would find
// Options.Smallest with Options.Power, -1 where no practical number would.
func (d *data) runsNeeded(v *variance, opts *Options) int {
	if !(v.s2 > 0) {
		return -1
	}
	shared := 0.0
	for _, s := range v.shared {
		shared = max(shared, s)
	}
	now := math.MaxInt
	for m := range d.names {
		now = min(now, len(d.seconds(m)))
	}
	n, ok := RunsFor(opts.Smallest, math.Sqrt(v.s2), shared, len(d.names), opts.Power)
	if !ok {
		return -1
	}
	return max(n-now, 1)
}

// most is the number of runs a mode beyond which nobody drives.
const most = 200

// RunsFor returns the runs in each of several modes that find a difference with
// the given power when the scatter is sd; shared is what each mode's mean keeps
// however many runs there are. Differences and deviations are in s. It is false
// where more than 200 would be needed.
func RunsFor(difference, sd, shared float64, modes int, power float64) (int, bool) {
	for n := 2; n <= most; n++ {
		if PowerOf(difference, sd, shared, modes, n) >= power {
			return n, true
		}
	}
	return 0, false
}

// PowerOf is the chance that n runs in each mode tell two modes apart whose
// means differ as given, the other modes lying between them. One degree of
// freedom goes to the direction and one to the drift. It is the power of the F
// test of all modes, the hardest step of the verdict.
func PowerOf(difference, sd, shared float64, modes, n int) float64 {
	df := float64(modes*(n-1)) - 2
	if df < 1 {
		return 0
	}
	r := float64(modes - 1)
	se2 := sd*sd/float64(n) + shared*shared
	return stats.NoncentralFSurvival(stats.FQuantile(Alpha, r, df), r, df, difference*difference/(2*se2))
}

// second fills in the tests that know no model, with Holm's correction.
func second(t *Target, d *data, seed uint64) {
	n := len(t.Pairs)
	w, pm := make([]float64, n), make([]float64, n)
	for k := range t.Pairs {
		p := &t.Pairs[k]
		a, b := d.seconds(slices.Index(d.names, p.A)), d.seconds(slices.Index(d.names, p.B))
		w[k], pm[k], p.PermutationSmallest = math.NaN(), math.NaN(), math.NaN()
		if r, err := stats.Welch(stats.Describe(a), stats.Describe(b)); err == nil {
			w[k] = r.P
		}
		if r, err := stats.TwoSamplePermutation(a, b, stats.PermutationOptions{Seed: seed}); err == nil && len(a)+len(b) > 2 {
			pm[k], p.PermutationSmallest = r.P, r.Smallest
		}
	}
	wh, ph := stats.Holm(w), stats.Holm(pm)
	for k := range t.Pairs {
		p := &t.Pairs[k]
		p.WelchP, p.WelchHolm, p.PermutationP, p.PermutationHolm = w[k], wh[k], pm[k], ph[k]
	}
}

// flag says what else may pass for a difference of modes.
func (d *data) flag(t *Target, f *fit) {
	single := 0
	ways := make([]int, len(d.names)) // bit 0: first way, bit 1: second
	for m := range d.names {
		if len(d.seconds(m)) == 1 {
			single++
		}
		for i := range d.runs {
			if d.mode[i] == m && d.dir != nil {
				ways[m] |= 1 + b2i(d.dir[i] > 0)
			}
		}
	}
	if single > 0 {
		which := "Some modes have"
		if single == len(d.names) {
			which = "Each mode has"
		}
		t.Warnings = append(t.Warnings, which+" one run: its scatter cannot be seen, and the intervals rest on "+t.Model.ScatterFrom+". A second run in each mode and each direction would be the best next step.")
	}
	apart := d.apart()
	for k := range t.Pairs {
		p := &t.Pairs[k]
		a, b := slices.Index(d.names, p.A), slices.Index(d.names, p.B)
		switch {
		case len(d.ways) == 0:
			p.Confounded = append(p.Confounded, d.noWays+": grade and wind may pass for a difference")
		case ways[a] != ways[b] && f.dirCol < 0:
			p.Confounded = append(p.Confounded, "the modes were driven in different directions: grade and wind may pass for a difference")
		case ways[a] != 3 || ways[b] != 3:
			p.Confounded = append(p.Confounded, d.oneWay(ways, a, b, f.dirCol >= 0))
		}
		if apart[[2]int{a, b}] {
			p.Confounded = append(p.Confounded, "the modes were driven one after the other with no return to the first: a drift may pass for a difference")
		}
		if len(d.blocks) > 1 && !slices.Contains(f.terms, "session") {
			p.Confounded = append(p.Confounded, "the modes were not driven in the same sessions: the day may pass for a difference")
		}
	}
}

func (d *data) oneWay(ways []int, a, b int, adjusted bool) string {
	var names []string
	for _, m := range []int{a, b} {
		if ways[m] != 3 {
			names = append(names, d.names[m])
		}
	}
	s := strings.Join(names, " and ")
	if adjusted {
		return s + " was driven one way only: its other direction is inferred from the other modes"
	}
	return s + " was driven one way only: the difference holds for that direction, with its grade and wind"
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// apart finds the pairs of modes of which one was over before the other began,
// in every session that has both.
func (d *data) apart() map[[2]int]bool {
	out := map[[2]int]bool{}
	for a := range d.names {
		for b := a + 1; b < len(d.names); b++ {
			both, split := false, true
			for bl := range d.blocks {
				lo, hi := [2]int{math.MaxInt, math.MaxInt}, [2]int{-1, -1}
				for i, r := range d.runs {
					if d.block[i] != bl || (d.mode[i] != a && d.mode[i] != b) {
						continue
					}
					k := b2i(d.mode[i] == b)
					lo[k], hi[k] = min(lo[k], r.Order), max(hi[k], r.Order)
				}
				if hi[0] < 0 || hi[1] < 0 {
					continue
				}
				both = true
				split = split && (hi[0] < lo[1] || hi[1] < lo[0])
			}
			out[[2]int{a, b}] = both && split
		}
	}
	return out
}

// sentences puts the pairs into words. What may pass for a difference in every
// one of several pairs is said once, as a warning.
func (t *Target) sentences(opts *Options) {
	common := slices.Clone(t.Pairs[0].Confounded)
	if len(t.Pairs) == 1 {
		common = nil
	}
	for _, p := range t.Pairs {
		common = slices.DeleteFunc(common, func(c string) bool { return !slices.Contains(p.Confounded, c) })
	}
	for i := range t.Pairs {
		p := &t.Pairs[i]
		own := slices.DeleteFunc(slices.Clone(p.Confounded), func(c string) bool { return slices.Contains(common, c) })
		p.Sentence = sentence(p, own, opts)
	}
	for _, c := range common {
		t.Warnings = append(t.Warnings, "Of every pair: "+c+".")
	}
}

// sentence puts a pair into words.
func sentence(p *Pair, confounded []string, opts *Options) string {
	var s string
	if p.Verdict != NotTold {
		quick, slow := p.A, p.B
		if p.Verdict == BQuicker {
			quick, slow = p.B, p.A
		}
		v, h := uncert.Format(math.Abs(p.Difference), p.Half())
		s = fmt.Sprintf("%s is quicker than %s by %s ± %s s", quick, slow, v, h)
	} else {
		s = fmt.Sprintf("these runs cannot tell %s and %s apart", p.A, p.B)
		if p.Half() > 0 {
			v, h := uncert.Format(p.Difference, p.Half())
			s += fmt.Sprintf(" (difference %s ± %s s)", v, h)
		}
		worth := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.3f", opts.Smallest), "0"), ".")
		if p.RunsNeeded > 0 {
			s += fmt.Sprintf("; about %d more each would resolve %s s", p.RunsNeeded, worth)
		} else {
			s += fmt.Sprintf("; no practical number of runs would resolve %s s", worth)
		}
	}
	if len(confounded) > 0 {
		s += "; but " + strings.Join(confounded, ", and ")
	}
	return s
}
