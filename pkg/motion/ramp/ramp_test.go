package ramp

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// What a ramp gives between two times is the integral of its share of full thrust, here by
// the midpoint rule.
func TestGainsAreIntegrals(t *testing.T) {
	for _, rp := range []Ramp{{Linear, 0.4}, {Cosine, 0.4}, {Lag, 0.4}, {Linear, 0}} {
		const n = 20000
		const h = 1.0 / n
		v, s := 0.0, 0.0
		for i := range n {
			_, a := rp.Response((float64(i) + 0.5) * h)
			s += v*h + a*h*h/2
			v += a * h
		}
		if got, _ := rp.Response(1); math.Abs(got-v) > 1e-6 {
			t.Errorf("%v: speed %.7f, the integral is %.7f", rp, got, v)
		}
		// From 0 to 1 in two steps: the first carries its speed and acceleration on.
		s1, v1, a1 := rp.Gains(0, 0.3)
		s2, v2, a2 := rp.Gains(0.3, 1)
		if got := s1 + v1*0.7 + a1*0.7*0.7/2 + s2; math.Abs(got-s) > 1e-6 {
			t.Errorf("%v: distance %.7f, the integral is %.7f", rp, got, s)
		}
		if got := v1 + a1*0.7 + v2; math.Abs(got-v) > 1e-6 {
			t.Errorf("%v: speed %.7f in two steps, the integral is %.7f", rp, got, v)
		}
		if _, a := rp.Response(1); math.Abs(a1+a2-a) > 1e-12 {
			t.Errorf("%v: acceleration %.7f, want %.7f", rp, a1+a2, a)
		}
		// Long after, a step that comes Delay later has given the same speed.
		if got, _ := rp.Response(5); math.Abs(got-(5-rp.Delay())) > 1e-4 {
			t.Errorf("%v: delay %.5f s, speed behind a step's by %.5f", rp, rp.Delay(), 5-got)
		}
	}
}

func TestPriorsSumToOne(t *testing.T) {
	all := map[string][]float64{"of a lone run": Prior}
	for _, m := range grid {
		all["of a mode"] = m.prior
		sum := 0.0
		for _, x := range m.prior {
			sum += x
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("a mode's prior sums to %g", sum)
		}
	}
	for name, p := range all {
		sum := 0.0
		for _, x := range p {
			sum += x
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("the prior %s sums to %g", name, sum)
		}
	}
}

// evidence of a run whose build-up is told to a factor with the given deviation.
func evidence(tau, sd float64) Evidence {
	e := make(Evidence, len(All))
	for i, rp := range All {
		d := (math.Log(math.Max(rp.Tau, stepTau)) - math.Log(tau)) / sd
		e[i] = -d * d / 2
	}
	return e
}

// The likelihood of thousands of runs is too small for a number; what they teach is not.
func TestLearnFromThousands(t *testing.T) {
	for _, n := range []int{100, 3000} {
		runs := make([]Evidence, n)
		for i := range runs {
			runs[i] = evidence(0.3, 0.1)
		}
		told := learn(alike(runs))
		if math.Abs(told.Tau-0.3) > 0.06 || len(told.Modes) > 10 {
			t.Errorf("%d runs that tell 0.3 s: %g s in %d modes", n, told.Tau, len(told.Modes))
		}
		if ll := Released(runs); math.IsNaN(ll) || math.IsInf(ll, 0) {
			t.Errorf("%d stops: log-likelihood %g", n, ll)
		}
	}
	one, many := Released(slices.Repeat([]Evidence{evidence(0.3, 0.1)}, 200)), Released(slices.Repeat([]Evidence{evidence(0.3, 0.1)}, 2000))
	if math.Abs(many/one-10) > 0.5 {
		t.Errorf("ten times the stops give %g, not about ten times %g", many, one)
	}
}

// With normal evidence and normal scatter the posterior of a mode's runs is known: runs
// that tell little are drawn to those of their mode, by the weights of their variances.
func TestLearnShrinksTowardsTheMode(t *testing.T) {
	lone := learn(alike([]Evidence{evidence(1.2, 0.5)}))
	runs := []Evidence{evidence(1.2, 0.5)}
	for range 7 {
		runs = append(runs, evidence(0.3, 0.1))
	}
	told := learn(alike(runs))
	alone, together := Median(weights(lone, 0)), Median(weights(told, 0))
	if alone < 0.9 || alone > 1.4 {
		t.Errorf("alone %.2f s, its own evidence says 1.2", alone)
	}
	if together > 0.6 || together < 0.25 {
		t.Errorf("among seven of 0.3 s it is %.2f s", together)
	}
	if m := Median(weights(told, 3)); math.Abs(m-0.3) > 0.05 {
		t.Errorf("a run that tells 0.3 s is %.2f s", m)
	}
	if !(told.Low < told.Tau && told.Tau < told.High) || math.Abs(told.Tau-0.3) > 0.06 {
		t.Errorf("the mode is %.2f s (%.2f to %.2f)", told.Tau, told.Low, told.High)
	}
	if got := Over(weights(told, 3), 0.7); got > 0.01 {
		t.Errorf("a run that tells 0.3 s is over 0.7 s with probability %.2f", got)
	}
}

// The weights of a run are those of its modes, mixed; nothing depends on the runs' order
// or on a constant in the evidence.
func TestLearnedIsAMixture(t *testing.T) {
	runs := []Evidence{evidence(0.1, 0.3), evidence(0.2, 0.4), evidence(0.15, 1)}
	told := learn(alike(runs))
	p := 0.0
	for _, m := range told.Modes {
		p += m.Probability
	}
	if math.Abs(p-1) > 1e-3 {
		t.Errorf("the modes' probabilities sum to %g", p)
	}
	for i := range runs {
		given, modes := told.Of(i)
		for r := range All {
			sum := 0.0
			for k, m := range told.Modes {
				sum += m.Probability * modes[k][r]
			}
			if math.Abs(sum-given[r]) > 1e-9 {
				t.Fatalf("run %d, ramp %d: %g of the modes, %g given", i, r, sum, given[r])
			}
		}
	}
	moved := learn(alike([]Evidence{plus(runs[2], 700), plus(runs[0], -700), runs[1]}))
	for r := range All {
		if now, before := weights(moved, 1)[r], weights(told, 0)[r]; math.Abs(now-before) > 1e-12 {
			t.Fatalf("ramp %d: %g in another order, %g before", r, now, before)
		}
	}
}

func plus(e Evidence, x float64) Evidence {
	out := make(Evidence, len(e))
	for i := range e {
		out[i] = e[i] + x
	}
	return out
}

// Runs drawn from the model itself: limits of 95 % hold the truth 95 times in 100.
func TestLearnedIsCalibrated(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	held, n := 0, 0
	for range 300 {
		mu := math.Log(leastTau) + rng.Float64()*math.Log(mostTau/leastTau)
		s := spreads[rng.IntN(len(spreads))]
		var runs []Evidence
		var truth []float64
		for range 5 {
			x := mu + s*rng.NormFloat64()
			for x < math.Log(leastTau) || x > math.Log(mostTau) {
				x = mu + s*rng.NormFloat64()
			}
			truth = append(truth, math.Exp(x))
			runs = append(runs, evidence(math.Exp(x+0.5*rng.NormFloat64()), 0.5))
		}
		told := learn(alike(runs))
		for i := range runs {
			p := columns(weights(told, i))
			if lo, hi := quantile(p, 0.025), quantile(p, 0.975); lo <= truth[i] && truth[i] <= hi {
				held++
			}
			n++
		}
	}
	// Five runs of a session go together: 1500 runs scatter like some 600.
	if share := float64(held) / float64(n); share < 0.92 || share > 0.985 {
		t.Errorf("%.3f of the limits hold", share)
	}
}

func learn(runs []Told) Learned { return Learn(len(runs), func(i int) Told { return runs[i] }) }

// weights are those of run i given all.
func weights(l Learned, i int) []float64 {
	w, _ := l.Of(i)
	return w
}

// alike are runs of one log whose receiver does not smooth.
func alike(runs []Evidence) (out []Told) {
	for _, e := range runs {
		out = append(out, Told{Evidence: e, Filters: []float64{1}})
	}
	return out
}
