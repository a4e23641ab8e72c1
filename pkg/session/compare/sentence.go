package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/session/compare/contrast"
	"fromrest/pkg/uncert"
)

// sentences puts the pairs into words. What may pass for a difference in every
// one of several pairs is said once, as a warning.
func (t *Target) sentences(opts *Options) {
	if len(t.Pairs) == 0 {
		return
	}
	common := slices.Clone(t.Pairs[0].Confounded)
	if len(t.Pairs) == 1 {
		common = nil
	}
	for _, p := range t.Pairs {
		common = slices.DeleteFunc(common, func(c string) bool { return !slices.Contains(p.Confounded, c) })
	}
	said := ""
	for i := range t.Pairs {
		p := &t.Pairs[i]
		p.Sentence = t.verdict(p, opts)
		if p.Verdict == Refused {
			if p.Why == said {
				p.Sentence = strings.TrimSuffix(p.Sentence, ": "+p.Why) + ", for the same reason"
			}
			said = p.Why
		}
		if strings.HasPrefix(t.Model.ScatterFrom, joined) && p.Verdict != Refused {
			p.Sentence += ", if runs scatter as in " + strings.TrimPrefix(t.Model.ScatterFrom, joined)
		}
		if own := slices.DeleteFunc(slices.Clone(p.Confounded), func(c string) bool { return slices.Contains(common, c) }); len(own) > 0 {
			p.Sentence += "; but " + strings.Join(own, ", and ")
		}
	}
	for _, c := range common {
		t.Warnings = append(t.Warnings, "All pairs: "+c+".")
	}
	for i := range t.StandOut {
		o := &t.StandOut[i]
		o.Sentence = o.said(t)
	}
}

// joined is how a model says that a past session's scatter is in its own.
const joined = "these runs together with "

// verdict is the sentence of a pair.
func (t *Target) verdict(p *Pair, opts *Options) string {
	switch {
	case p.Verdict == Refused:
		return fmt.Sprintf("no verdict on %s and %s, %s s apart as driven: %s", p.A, p.B, uncert.RoundHalfUp(math.Abs(p.Raw), 2), p.Why)
	case p.Verdict == Equal:
		v, h := uncert.Format(math.Abs(p.Difference), p.Within)
		return fmt.Sprintf("%s and %s are equal within %s s: %s ± %s s apart", p.A, p.B, trim(opts.Smallest), v, h)
	case p.Verdict != NotTold:
		s := p.quicker()
		if opts.Smallest > 0 && math.Abs(p.Difference) < opts.Smallest {
			s += fmt.Sprintf(", less than the %s s that matter", trim(opts.Smallest))
		}
		return s
	case math.IsNaN(p.SE):
		return t.single(p)
	case p.Fixed && !t.Over:
		return fmt.Sprintf("so far %s; too early to stop: %d runs of each mode were %s", p.quicker(), t.PlanRuns, t.planned(opts))
	case p.Fixed:
		return fmt.Sprintf("so far %s, but only with runs beyond the %d of each mode that were %s", p.quicker(), t.PlanRuns, t.planned(opts))
	}
	v, h := uncert.Format(math.Abs(p.Difference), p.Half())
	return fmt.Sprintf("not enough runs to tell %s and %s apart: %s ± %s s; %s", p.A, p.B, v, h, p.ahead())
}

// planned says where the number of runs comes from.
func (t *Target) planned(opts *Options) string {
	if opts.Plan.Runs > 0 {
		return "planned"
	}
	return "assumed, for lack of a plan"
}

// single is the sentence where the runs cannot show their scatter.
func (t *Target) single(p *Pair) string {
	i := slices.IndexFunc(t.Modes, func(m Mode) bool { return m.Name == p.A })
	a := Allowance(t.Modes[i].Mean)
	return fmt.Sprintf("%s and %s are %s s apart, but so few runs cannot show their scatter (commonly about %s s); two more of each, out and back, would begin to show it",
		p.A, p.B, uncert.RoundHalfUp(math.Abs(p.Difference), 2), uncert.RoundHalfUp(a, 2))
}

// quicker says which is quicker and by how much, whether told or not.
func (p *Pair) quicker() string {
	quick, slow := p.A, p.B
	if p.Difference > 0 {
		quick, slow = p.B, p.A
	}
	v, h := uncert.Format(math.Abs(p.Difference), p.Half())
	return fmt.Sprintf("%s is %s s (±%s) quicker than %s", quick, v, h, slow)
}

// ahead says what driving on would take.
func (p *Pair) ahead() string {
	if p.More <= 0 {
		return fmt.Sprintf("it would take more than %d more of each to show %s s", contrast.MostMore, trim(p.For))
	}
	s := fmt.Sprintf("about %d more of each would show %s s", p.More, trim(p.For))
	switch {
	case p.MoreHi > contrast.MostMore:
		s += fmt.Sprintf(" (%d to more than %d)", p.MoreLo, contrast.MostMore)
	case p.MoreHi > p.MoreLo:
		s += fmt.Sprintf(" (%d to %d)", p.MoreLo, p.MoreHi)
	}
	return s
}

// said puts a run that stands out into words.
func (o *StandOut) said(t *Target) string {
	word := "slower"
	if o.Off < 0 {
		word = "quicker"
	}
	s := fmt.Sprintf("%s stands out: it is %s s %s than the other runs suggest", o.ID, uncert.RoundHalfUp(math.Abs(o.Off), 2), word)
	if o.Trace != "" {
		s += " (" + o.Trace + ")"
	}
	var parts []string
	for i := range o.Without {
		w := &o.Without[i]
		k := slices.IndexFunc(t.Pairs, func(p Pair) bool { return p.A == w.A && p.B == w.B })
		if k < 0 || math.IsNaN(w.SE) {
			continue
		}
		v, h := uncert.Format(w.Difference, w.Half())
		was, _ := uncert.Format(t.Pairs[k].Difference, w.Half())
		parts = append(parts, fmt.Sprintf("%s less %s would be %s ± %s s instead of %s", w.A, w.B, v, h, was))
	}
	if len(parts) > 0 {
		s += "; without it " + strings.Join(parts, ", ")
	}
	return s
}

// trim prints a number without needless zeros.
func trim(x float64) string {
	return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.3f", x), "0"), ".")
}
