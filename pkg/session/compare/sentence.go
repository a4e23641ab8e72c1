package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

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
