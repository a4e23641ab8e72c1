package stats

import (
	"cmp"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
)

// Permutation is the result of a permutation test.
type Permutation struct {
	P     float64 // two-sided
	Count int     // arrangements looked at
	Exact bool    // all were; else Count were drawn
	// Smallest is the smallest two-sided p that this many runs can give.
	Smallest float64
}

// PermutationOptions shapes a permutation test. The zero value is usable.
type PermutationOptions struct {
	MaxExact int    // arrangements enumerated at most, default 20 000
	Draws    int    // drawn otherwise, default 4000
	Seed     uint64 // of the draws
}

// Defaults of PermutationOptions: both take a few milliseconds, and 4000 draws
// leave a p of 0.05 uncertain by 0.0035 (binomial).
const (
	defaultMaxExact = 20_000
	defaultDraws    = 4000
)

// sumTolerance is how far two sums of the same size may differ by rounding,
// relative to the sum of all sizes.
const sumTolerance = 1e-9

// drawStream keeps the draws of a permutation test apart from others of the same
// seed.
const drawStream = 0x5eed

// TwoSamplePermutation tests whether two samples could be one by dividing the
// values among them in every way. The statistic is the difference of means, the
// two-sided p counts differences at least as far from zero.
//
// Where there are too many ways some are drawn, and the arrangement seen counts
// as one of the draws, so that p is never 0 (Phipson and Smyth, Stat. Appl.
// Genet. Mol. Biol. 9, 2010, 39); it never falls below the smallest p of an
// enumeration. It returns ErrTooFew for an empty sample, ErrNotFinite for a value
// that is no number.
func TwoSamplePermutation(a, b []float64, opts PermutationOptions) (Permutation, error) {
	opts.MaxExact, opts.Draws = cmp.Or(opts.MaxExact, defaultMaxExact), cmp.Or(opts.Draws, defaultDraws)
	if len(a) < 1 || len(b) < 1 {
		return Permutation{}, ErrTooFew
	}
	all := slices.Concat(a, b)
	n, k := len(all), len(a)
	total, scale, seen := 0.0, 0.0, 0.0
	for i, v := range all {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Permutation{}, ErrNotFinite
		}
		total += v
		scale += math.Abs(v)
		if i < k {
			seen += v
		}
	}
	// The sum of the first sample orders arrangements as the difference does.
	expected, extreme := total*float64(k)/float64(n), 0
	far := math.Abs(seen-expected) - sumTolerance*scale
	try := func(sum float64) {
		if math.Abs(sum-expected) >= far {
			extreme++
		}
	}
	ways, _ := new(big.Int).Binomial(int64(n), int64(k)).Float64()
	p := Permutation{Smallest: min(2/ways, 1)}
	if p.Exact = ways <= float64(opts.MaxExact); p.Exact {
		p.Count = int(ways)
		combinations(all, k, try)
		p.P = float64(extreme) / ways
		return p, nil
	}
	p.Count = opts.Draws
	rng := rand.New(rand.NewPCG(opts.Seed, drawStream))
	for range opts.Draws {
		sum := 0.0
		for i := range k { // a partial shuffle draws the first sample
			j := i + rng.IntN(n-i)
			all[i], all[j] = all[j], all[i]
			sum += all[i]
		}
		try(sum)
	}
	p.P = max(float64(extreme+1)/float64(opts.Draws+1), p.Smallest)
	return p, nil
}

// combinations calls f with the sum of every choice of k of the values, added up
// in their order.
func combinations(values []float64, k int, f func(sum float64)) {
	var choose func(from, left int, sum float64)
	choose = func(from, left int, sum float64) {
		if left == 0 {
			f(sum)
			return
		}
		for i := from; i <= len(values)-left; i++ {
			choose(i+1, left-1, sum+values[i])
		}
	}
	choose(0, k, 0)
}
