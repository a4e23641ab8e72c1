package stats

import (
	"math"
	"math/rand/v2"
)

// Permutation is the result of a permutation test.
type Permutation struct {
	Difference float64 // of the means, or the mean difference of pairs
	P          float64 // two-sided
	Upper      float64 // one-sided, difference at least as large as seen
	Count      int     // arrangements looked at
	Exact      bool    // all were; else Count were drawn
	// Smallest is the smallest two-sided p that this many runs can give.
	Smallest float64
}

// PermutationOptions shapes a permutation test. The zero value is usable.
type PermutationOptions struct {
	MaxExact int    // arrangements enumerated at most, default 200 000
	Draws    int    // drawn otherwise, default 20 000
	Seed     uint64 // of the draws
}

func (o *PermutationOptions) defaults() {
	if o.MaxExact == 0 {
		o.MaxExact = 200_000
	}
	if o.Draws == 0 {
		o.Draws = 20_000
	}
}

// tally counts arrangements at least as extreme as the one seen.
type tally struct {
	seen, tol  float64
	n, two, up int
	offset     float64 // expectation of the statistic
	devSeen    float64
}

func newTally(seen, offset, scale float64) *tally {
	return &tally{seen: seen, offset: offset, devSeen: math.Abs(seen - offset), tol: 1e-9 * scale}
}

func (t *tally) add(s float64) {
	t.n++
	if math.Abs(s-t.offset) >= t.devSeen-t.tol {
		t.two++
	}
	if s >= t.seen-t.tol {
		t.up++
	}
}

// result turns counts into p values. A drawn test counts the arrangement seen
// as one of the draws, so that p is never 0 (Phipson and Smyth, Stat. Appl.
// Genet. Mol. Biol. 9, 2010, 39), and never falls below the smallest p of an
// enumeration.
func (t *tally) result(diff float64, exact bool, smallest float64) Permutation {
	p := Permutation{Difference: diff, Count: t.n, Exact: exact, Smallest: smallest}
	if exact {
		p.P, p.Upper = float64(t.two)/float64(t.n), float64(t.up)/float64(t.n)
		return p
	}
	p.P = max(float64(t.two+1)/float64(t.n+1), smallest)
	p.Upper = max(float64(t.up+1)/float64(t.n+1), smallest/2)
	return p
}

// SignPermutation tests whether paired differences centre on zero by flipping
// their signs in every way (Fisher, The Design of Experiments, section 21).
func SignPermutation(d []float64, opts PermutationOptions) (Permutation, error) {
	opts.defaults()
	n := len(d)
	if n < 1 {
		return Permutation{}, ErrTooFew
	}
	if !finite(d) {
		return Permutation{}, ErrNotFinite
	}
	sum, scale := 0.0, 0.0
	for _, v := range d {
		sum += v
		scale += math.Abs(v)
	}
	t := newTally(sum, 0, scale)
	smallest := min(math.Pow(2, 1-float64(n)), 1)
	exact := n < 31 && 1<<n <= opts.MaxExact
	if exact {
		for m := range 1 << n {
			s := 0.0
			for i, v := range d {
				if m>>i&1 == 1 {
					v = -v
				}
				s += v
			}
			t.add(s)
		}
		return t.result(sum/float64(n), true, smallest), nil
	}
	rng := rand.New(rand.NewPCG(opts.Seed, 0x5eed))
	for range opts.Draws {
		s := 0.0
		for _, v := range d {
			if rng.Uint64()&1 == 1 {
				v = -v
			}
			s += v
		}
		t.add(s)
	}
	return t.result(sum/float64(n), false, smallest), nil
}

// TwoSamplePermutation tests whether two samples could be one by dividing the
// values among them in every way. The statistic is the difference of means, the
// two-sided p counts differences at least as far from zero.
func TwoSamplePermutation(a, b []float64, opts PermutationOptions) (Permutation, error) {
	opts.defaults()
	if len(a) < 1 || len(b) < 1 {
		return Permutation{}, ErrTooFew
	}
	if !finite(a, b) {
		return Permutation{}, ErrNotFinite
	}
	all := append(append([]float64{}, a...), b...)
	total, scale, sumA := 0.0, 0.0, 0.0
	for i, v := range all {
		total += v
		scale += math.Abs(v)
		if i < len(a) {
			sumA += v
		}
	}
	n, k := len(all), len(a)
	count := Binomial(n, k)
	smallest := min(2/count, 1)
	diff := sumA/float64(k) - (total-sumA)/float64(n-k)
	// The sum of the first sample orders arrangements as the difference does.
	t := newTally(sumA, total*float64(k)/float64(n), scale)
	if count <= float64(opts.MaxExact) {
		combinations(n, k, func(idx []int) {
			s := 0.0
			for _, i := range idx {
				s += all[i]
			}
			t.add(s)
		})
		return t.result(diff, true, smallest), nil
	}
	rng := rand.New(rand.NewPCG(opts.Seed, 0x5eed))
	for range opts.Draws {
		s := 0.0
		for i := range k { // a partial shuffle draws the first sample
			j := i + rng.IntN(n-i)
			all[i], all[j] = all[j], all[i]
			s += all[i]
		}
		t.add(s)
	}
	return t.result(diff, false, smallest), nil
}

// Binomial returns n over k as a float64, exact while below 2^53.
func Binomial(n, k int) float64 {
	if k < 0 || k > n {
		return 0
	}
	k = min(k, n-k)
	c := 1.0
	for i := 1; i <= k; i++ {
		c = math.Round(c * float64(n-k+i) / float64(i))
	}
	return c
}

// combinations calls f with every choice of k of n indexes, in order.
func combinations(n, k int, f func([]int)) {
	idx := make([]int, k)
	for i := range idx {
		idx[i] = i
	}
	for {
		f(idx)
		i := k - 1
		for i >= 0 && idx[i] == n-k+i {
			i--
		}
		if i < 0 {
			return
		}
		idx[i]++
		for j := i + 1; j < k; j++ {
			idx[j] = idx[j-1] + 1
		}
	}
}
