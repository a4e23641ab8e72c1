package outside

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
)

// Verdict is what the times of one outside clock say of a logger, and of themselves.
type Verdict struct {
	N, Held int // times, and those that agree within both intervals
	// Bias is the mean of what the log shows more, in s. Its U is NaN for a single time.
	Bias uncert.Value
	// Started is the way in m after which the clock started as the times tell, whatever
	// was stated; U is its standard uncertainty.
	Started uncert.Value
	// Instead are the origins that the times fit where the one stated does not, the likeliest
	// first; none where it does.
	Instead []Origin
	// Unfit is set where no origin explains the times.
	Unfit bool
}

// Judge sums up times of one outside clock, all of the origin of the first.
func Judge(ts []Time) Verdict {
	v := Verdict{N: len(ts), Bias: uncert.Value{U: math.NaN()}}
	var more []float64
	for i := range ts {
		more = append(more, ts[i].Less().X)
		if ts[i].Agrees() {
			v.Held++
		}
	}
	if d := stats.Describe(more); d.N > 0 {
		v.Bias.X = d.Mean
		if d.N > 1 {
			v.Bias.U = d.SE() * stats.StudentOver(float64(d.N-1))
		}
	}
	v.origins(ts)
	v.started(ts, append(v.Instead, ts[0].Origin)[0])
	return v
}

// started finds the way after which the clock started, with nothing known of it before. What
// ended it is as with an origin.
func (v *Verdict) started(ts []Time, as Origin) {
	var ways, ll []float64
	for s := 0.0; s <= longest; s += step {
		l, _ := likelihood(ts, s, as.short())
		ways, ll = append(ways, s), append(ll, l)
	}
	top, sum, mean, square := slices.Max(ll), 0.0, 0.0, 0.0
	for i, s := range ways {
		p := math.Exp(ll[i] - top)
		sum, mean, square = sum+p, mean+p*s, square+p*s*s
	}
	mean /= sum
	v.Started = uncert.Value{X: mean, U: max(step, math.Sqrt(max(0, square/sum-mean*mean)))}
}

// origins holds the stated origin against the others.
func (v *Verdict) origins(ts []Time) {
	stated := ts[0].Origin
	p := map[Origin]float64{}
	top, fit := math.Inf(-1), math.Inf(1)
	for _, o := range Origins {
		var least float64
		p[o], least = evidence(ts, o)
		top = max(top, p[o])
		if o == stated {
			fit = least
		}
	}
	n := float64(len(ts))
	odd := func(chi2 float64) bool { return distuv.ChiSquared{K: n}.Survival(chi2) < fits }
	if p[stated] >= top-math.Log(clearly) && !odd(fit) {
		return
	}
	for _, o := range Origins {
		if _, least := evidence(ts, o); o != stated && p[o] >= top-math.Log(nearly) && p[o] > p[stated] && !odd(least) {
			v.Instead = append(v.Instead, o)
		}
	}
	slices.SortStableFunc(v.Instead, func(a, b Origin) int {
		switch {
		case p[a] > p[b]:
			return -1
		case p[a] < p[b]:
			return 1
		}
		return 0
	})
	v.Unfit = len(v.Instead) == 0 && odd(fit)
}

// evidence is the logarithm of the likelihood of an origin, where its clock started
// integrated over, and the least sum of squares on the way.
func evidence(ts []Time, o Origin) (ll, least float64) {
	from := ts[0].from(o)
	if from.U == 0 {
		return likelihood(ts, from.X, o.short())
	}
	var all []float64
	least = math.Inf(1)
	sum := 0.0
	prior := distuv.Normal{Mu: from.X, Sigma: from.U}
	for s := 0.0; s <= longest; s += step {
		l, chi2 := likelihood(ts, s, o.short())
		w := prior.Prob(s)
		sum += w
		all = append(all, l+math.Log(w))
		least = min(least, chi2)
	}
	top := slices.Max(all)
	mean := 0.0
	for _, l := range all {
		mean += math.Exp(l - top)
	}
	return top + math.Log(mean/sum), least
}

// likelihood is the logarithm of the likelihood of a clock that started after s metres and
// ended e metres earlier, and the sum of squares in it.
func likelihood(ts []Time, s float64, e uncert.Value) (ll, chi2 float64) {
	n := len(ts)
	cov, off := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	shared := map[string]float64{} // variance that the times of a run share
	for i := range ts {
		t := &ts[i]
		if u, ok := shared[t.Run]; !ok || t.Rolled.U < u {
			shared[t.Run] = t.Rolled.U
		}
	}
	ends, near := make([]float64, n), make([]float64, n)
	for i := range ts {
		t := &ts[i]
		at := t.started(s)
		want := t.Rolled.X + at.X
		near[i] = at.U
		if t.End > 0 {
			ends[i] = e.U / t.End
			want -= e.X / t.End
		}
		off.SetVec(i, t.Seconds.X-want)
		for j := 0; j <= i; j++ {
			c := ends[i] * ends[j]
			if ts[j].Run == t.Run {
				c += shared[t.Run]*shared[t.Run] + near[i]*near[j]
			}
			if i == j {
				c += t.Seconds.U*t.Seconds.U + t.Rolled.U*t.Rolled.U - shared[t.Run]*shared[t.Run]
			}
			cov.SetSym(i, j, c)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return math.Inf(-1), math.Inf(1)
	}
	var x mat.VecDense
	if chol.SolveVecTo(&x, off) != nil {
		return math.Inf(-1), math.Inf(1)
	}
	chi2 = mat.Dot(off, &x)
	return -(chi2 + chol.LogDet()) / 2, chi2
}
