package compare

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"fromrest/pkg/session/compare/contrast"
	"fromrest/pkg/stats"
)

// pairs fills in the pairs of a target and what is said of them.
func (j *judged) pairs(t *Target, opts *Options, primary bool) {
	t.Primary, t.Over, t.PlanRuns = primary, j.course.Over, j.course.Plan.Runs
	if gaps := j.gaps(); primary && gaps != nil {
		t.Model.Gap = j.course.Now.Trend(gaps, j.times())
	}
	t.Notes = t.said()
	for i := range j.claims {
		p := j.pair(&j.claims[i], opts)
		if primary && opts.Smallest > 0 && p.Verdict != AQuicker && p.Verdict != BQuicker && j.claims[i].Equal > 0 {
			p.Verdict, p.Why, p.DecidedAt = Equal, "", j.claims[i].Equal
		}
		t.Pairs = append(t.Pairs, p)
	}
	t.second = sync.OnceFunc(func() { j.second(t, opts.Seed) })
	j.doubts(t)
	if primary {
		j.ahead(t, opts)
		j.standOut(t, opts)
		t.sentences(opts)
	}
}

// pair is a claim with names.
func (j *judged) pair(c *contrast.Claim, opts *Options) Pair {
	a, b := j.names[c.A], j.names[c.B]
	p := Pair{A: a, B: b, Difference: c.Value, Raw: j.mean(c.A) - j.mean(c.B), SE: c.SE, DF: c.DF, Lo: c.Value - c.Half, Hi: c.Value + c.Half, Within: c.Within,
		P: math.NaN(), PAdjusted: math.NaN(), Level: c.Level, Verdict: NotTold, Fixed: c.Fixed, Why: c.Refused, DecidedAt: c.Differ,
		For: cmp.Or(opts.Smallest, DefaultSmallest)}
	if c.SE > 0 {
		t := math.Abs(c.Value) / c.SE
		p.P = stats.TP(t, c.DF)
		if p.PAdjusted = p.P; len(j.names) > 2 {
			p.PAdjusted = max(p.P, stats.TukeyP(t*math.Sqrt2, len(j.names), max(c.DF, 1)))
		}
	}
	switch {
	case c.Refused != "":
		p.Verdict = Refused
	case c.Differ > 0 && c.Value < 0:
		p.Verdict = AQuicker
	case c.Differ > 0:
		p.Verdict = BQuicker
	case c.Strain > 1 && !c.Fixed:
		p.Verdict, p.Why = Refused, contrast.DrivenApart
	}
	p.Strain = c.Strain
	return p
}

// ahead says of each pair whether driving on would tell.
func (j *judged) ahead(t *Target, opts *Options) {
	sd := make([]float64, len(j.names))
	for m := range sd {
		sd[m] = math.Sqrt(j.fit.Modes[m])
	}
	least := j.course.Least
	ahead := contrast.NewAhead(&j.course.Now.Layout, sd, j.known.Past)
	for i := range t.Pairs {
		p, c := &t.Pairs[i], &j.claims[i]
		p.State = Ended
		switch {
		case p.Verdict == AQuicker || p.Verdict == BQuicker || p.Verdict == Equal:
			p.State = Decided
			continue
		case p.Verdict == Refused || math.IsNaN(p.SE):
			p.State = DriveOn
			continue
		}
		if !j.course.Over {
			p.State = DriveOn
		}
		n := ahead.Needed([2]int{c.A, c.B}, p.For, opts.Power, c.Estimate)
		if n == 0 {
			p.More, p.State = -1, TooMany
			continue
		}
		lo, hi := contrast.Range(n+least, p.DF)
		p.More, p.MoreLo, p.MoreHi = n, max(int(lo)-least, 1), int(math.Ceil(hi))-least
	}
}

// SecondTests fills in the tests that know no model. They cost more than all the rest
// and are asked for by few.
func (t *Target) SecondTests() {
	if t.second != nil {
		t.second()
	}
}

// second fills in the tests that know no model, with Holm's correction.
func (j *judged) second(t *Target, seed uint64) {
	var w, pm []float64
	for k := range t.Pairs {
		p := &t.Pairs[k]
		a, b := j.seconds(slices.Index(j.names, p.A)), j.seconds(slices.Index(j.names, p.B))
		p.WelchP, p.PermutationP, p.PermutationSmallest = math.NaN(), math.NaN(), math.NaN()
		if r, err := stats.Welch(stats.Describe(a), stats.Describe(b)); err == nil {
			p.WelchP = r.P
		}
		if r, err := stats.TwoSamplePermutation(a, b, stats.PermutationOptions{Seed: seed}); err == nil && len(a)+len(b) > 2 {
			p.PermutationP, p.PermutationSmallest = r.P, r.Smallest
		}
		w, pm = append(w, p.WelchP), append(pm, p.PermutationP)
	}
	wh, ph := stats.Holm(w), stats.Holm(pm)
	for k := range t.Pairs {
		t.Pairs[k].WelchHolm, t.Pairs[k].PermutationHolm = wh[k], ph[k]
	}
}

// standOut finds the runs that the others do not explain, by what each misses when
// it is left out (externally studentised residuals), over all runs together; and
// what the pairs would be without it.
func (j *judged) standOut(t *Target, opts *Options) {
	d := j.fit.Design
	n := len(j.runs)
	if d.DF < standOutDF {
		return
	}
	rss := j.fit.Pooled * float64(d.DF)
	for i, r := range j.runs {
		kept := 1 - d.Leverage(i)
		if kept <= 0 {
			continue
		}
		e := j.fit.Residual[i]
		own := e * e / kept
		s2 := (rss - own) / float64(d.DF-1)
		m := j.mode[i]
		mine, df := j.fit.Moderated(m, s2, own)
		p := float64(n) * stats.TP(e/math.Sqrt(kept*mine), min(df, float64(d.DF-1)))
		if !(p < Alpha) {
			continue
		}
		o := StandOut{ID: r.ID, Mode: r.Mode, Off: e / kept, P: p, Trace: r.Trace}
		rest := slices.DeleteFunc(slices.Clone(j.runs), func(x Run) bool { return x.ID == r.ID })
		if w, err := newData(rest, j.names); err == nil && len(w.names) == len(j.names) {
			without := judge(w, Place{Name: t.Name, From: t.From}, opts, map[string]*contrast.Course{})
			for k := range without.claims {
				if c := &without.claims[k]; j.names[c.A] == r.Mode || j.names[c.B] == r.Mode {
					o.Without = append(o.Without, without.pair(c, opts))
				}
			}
		}
		t.StandOut = append(t.StandOut, o)
	}
}
