package compare

import (
	"math"
	"slices"

	"fromrest/pkg/stats"
)

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

// second fills in the tests that know no model, with Holm's correction.
func second(t *Target, d *data, seed uint64) {
	var w, pm []float64
	for k := range t.Pairs {
		p := &t.Pairs[k]
		a, b := d.seconds(slices.Index(d.names, p.A)), d.seconds(slices.Index(d.names, p.B))
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
