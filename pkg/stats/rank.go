package stats

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// RankTest is the result of a rank test.
type RankTest struct {
	Statistic float64 // U of the first sample, or the sum V of positive ranks
	P         float64 // two-sided
	Upper     float64 // one-sided: the first sample tends to be larger
	Exact     bool    // from the counted distribution, else normal with a tie correction
	// Shift is the Hodges-Lehmann estimate: the median of all differences of
	// pairs, or of all averages of two differences.
	Shift float64
}

// MannWhitney tests whether values of one sample tend to be larger than those of
// the other. Without ties and with at most 50 values each the distribution is
// counted, as Mann and Whitney did (Ann. Math. Stat. 18, 1947, 50-60).
func MannWhitney(a, b []float64) (RankTest, error) {
	m, n := len(a), len(b)
	if m < 1 || n < 1 {
		return RankTest{}, ErrTooFew
	}
	if !finite(a, b) {
		return RankTest{}, ErrNotFinite
	}
	u, ties := 0.0, false
	for _, x := range a {
		for _, y := range b {
			switch {
			case x > y:
				u++
			case x == y:
				u += 0.5
				ties = true
			}
		}
	}
	ties = ties || hasTies(a) || hasTies(b)
	r := RankTest{Statistic: u, Shift: HodgesLehmann(a, b)}
	if !ties && m <= 50 && n <= 50 {
		r.Exact = true
		r.P, r.Upper = exactTails(mannWhitneyCounts(m, n), int(u))
		return r, nil
	}
	mean := float64(m*n) / 2
	nn := float64(m + n)
	v := float64(m*n) / 12 * (nn + 1 - tieSum(append(slices.Clone(a), b...))/(nn*(nn-1)))
	r.P, r.Upper = normalTails(u-mean, math.Sqrt(v))
	return r, nil
}

// SignedRank is Wilcoxon's test of paired differences. Zero differences are
// left out. Without ties and with at most 100 values the distribution is counted.
func SignedRank(d []float64) (RankTest, error) {
	if !finite(d) {
		return RankTest{}, ErrNotFinite
	}
	var nz, abs []float64
	for _, v := range d {
		if v != 0 {
			nz = append(nz, v)
			abs = append(abs, math.Abs(v))
		}
	}
	n := len(nz)
	if n < 1 {
		return RankTest{}, ErrTooFew
	}
	rank := ranks(abs)
	v := 0.0
	for i, x := range nz {
		if x > 0 {
			v += rank[i]
		}
	}
	r := RankTest{Statistic: v, Shift: walshMedian(d)}
	if !hasTies(abs) && n <= 100 && n == len(d) {
		r.Exact = true
		r.P, r.Upper = exactTails(signedRankCounts(n), int(v))
		return r, nil
	}
	nn := float64(n)
	sd := math.Sqrt(nn*(nn+1)*(2*nn+1)/24 - tieSum(abs)/48)
	r.P, r.Upper = normalTails(v-nn*(nn+1)/4, sd)
	return r, nil
}

// HodgesLehmann is the median of all differences x-y: how far the samples are
// shifted (Ann. Math. Stat. 34, 1963, 598-611).
func HodgesLehmann(a, b []float64) float64 {
	d := make([]float64, 0, len(a)*len(b))
	for _, x := range a {
		for _, y := range b {
			d = append(d, x-y)
		}
	}
	return Median(d)
}

func walshMedian(d []float64) float64 {
	var w []float64
	for i := range d {
		for j := i; j < len(d); j++ {
			w = append(w, (d[i]+d[j])/2)
		}
	}
	return Median(w)
}

// MannWhitneyCritical returns the largest U at which the two-sided test rejects
// at level alpha, and false where no U does.
func MannWhitneyCritical(m, n int, alpha float64) (int, bool) {
	counts := mannWhitneyCounts(m, n)
	total := 0.0
	for _, c := range counts {
		total += c
	}
	cum, last := 0.0, -1
	for u, c := range counts {
		cum += c
		if 2*cum/total > alpha {
			break
		}
		last = u
	}
	return last, last >= 0
}

// mannWhitneyCounts counts the arrangements of m and n values that give each U.
func mannWhitneyCounts(m, n int) []float64 {
	// The number of partitions of u into at most m parts of at most n each.
	f := make([][]float64, m+1)
	for i := range f {
		f[i] = make([]float64, m*n+1)
	}
	f[0][0] = 1
	for part := 1; part <= n+m; part++ { // choose ranks one by one
		for i := min(part, m); i >= 1; i-- {
			w := part - i // values of the other sample below this rank
			if w > n {
				continue
			}
			for u := m * n; u >= w; u-- {
				f[i][u] += f[i-1][u-w]
			}
		}
	}
	return f[m]
}

// signedRankCounts counts the sets of ranks 1..n that have each sum.
func signedRankCounts(n int) []float64 {
	f := make([]float64, n*(n+1)/2+1)
	f[0] = 1
	for r := 1; r <= n; r++ {
		for s := len(f) - 1; s >= r; s-- {
			f[s] += f[s-r]
		}
	}
	return f
}

func exactTails(counts []float64, s int) (two, upper float64) {
	total, lo, hi := 0.0, 0.0, 0.0
	for i, c := range counts {
		total += c
		if i <= s {
			lo += c
		}
		if i >= s {
			hi += c
		}
	}
	return min(2*min(lo, hi)/total, 1), hi / total
}

// normalTails applies the continuity correction of one half.
func normalTails(d, sd float64) (two, upper float64) {
	if sd == 0 {
		return 1, 1
	}
	cc := math.Copysign(min(0.5, math.Abs(d)), d)
	two = min(2*distuv.UnitNormal.CDF(-math.Abs(d-cc)/sd), 1)
	return two, distuv.UnitNormal.CDF(-(d - 0.5) / sd)
}

// ranks returns mid-ranks.
func ranks(x []float64) []float64 {
	idx := make([]int, len(x))
	for i := range idx {
		idx[i] = i
	}
	slices.SortFunc(idx, func(a, b int) int {
		switch {
		case x[a] < x[b]:
			return -1
		case x[a] > x[b]:
			return 1
		}
		return 0
	})
	r := make([]float64, len(x))
	for i := 0; i < len(idx); {
		j := i
		for j < len(idx) && x[idx[j]] == x[idx[i]] {
			j++
		}
		for k := i; k < j; k++ {
			r[idx[k]] = float64(i+j+1) / 2
		}
		i = j
	}
	return r
}

func hasTies(x []float64) bool {
	s := slices.Clone(x)
	slices.Sort(s)
	for i := 1; i < len(s); i++ {
		if s[i] == s[i-1] {
			return true
		}
	}
	return false
}

// tieSum is the sum of t³-t over groups of equal values.
func tieSum(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	sum := 0.0
	for i := 0; i < len(s); {
		j := i
		for j < len(s) && s[j] == s[i] {
			j++
		}
		t := float64(j - i)
		sum += t*t*t - t
		i = j
	}
	return sum
}
