package stats

import (
	"math"
	"testing"

	"github.com/aclements/go-moremath/stats"
)

// near checks against a printed value: half a unit of its last decimal, or the
// tolerance given.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.15g, want %.15g ± %g", what, got, want, tol)
	}
}

func numAcc(head, a, b float64) []float64 {
	x := []float64{head}
	for range 500 {
		x = append(x, a, b)
	}
	return x
}

// Certified values of NIST StRD, univariate (read in stored copies of public
// test suites; NumAcc autocorrelations from memory, reproduced).
func TestDescribeAgainstStRD(t *testing.T) {
	michelso := make([]float64, len(morley))
	for i, v := range morley {
		michelso[i] = 299 + v/1000
	}
	for _, c := range []struct {
		name         string
		x            []float64
		mean, sd, r1 float64
		tolSD        float64
	}{
		{"Michelso", michelso, 299.852400000000, 0.0790105478190518, 0.535199668621283, 1e-12},
		{"Mavro", mavro, 2.00185600000000, 0.000429123454003053, 0.937989183438248, 1e-14},
		{"Lew", lew, -177.435000000000, 277.332168044316, -0.307304800605679, 1e-9},
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, -0.5, 0},
		{"NumAcc2", numAcc(1.2, 1.1, 1.3), 1.2, 0.1, -0.999, 1e-14},
		{"NumAcc3", numAcc(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, -0.999, 1e-9},
		// The input itself is rounded: a sd of 0.1 within 1e-8 is all there is.
		{"NumAcc4", numAcc(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, -0.999, 1e-8},
	} {
		s := Describe(c.x)
		near(t, c.name+" mean", s.Mean, c.mean, 1e-14*math.Abs(c.mean)*8)
		near(t, c.name+" sd", s.SD, c.sd, c.tolSD)
		near(t, c.name+" r1", Lag1(c.x), c.r1, 1e-7)
		var r Running
		for _, v := range c.x {
			r.Add(v)
		}
		near(t, c.name+" running sd", r.Summary().SD, c.sd, max(c.tolSD, 1e-12))
		near(t, c.name+" running mean", r.Summary().Mean, c.mean, 1e-13*math.Abs(c.mean)*8)
	}
}

func TestDescribeOfLittle(t *testing.T) {
	if s := Describe(nil); s.N != 0 || !math.IsNaN(s.Mean) || !math.IsNaN(s.SD) {
		t.Errorf("of nothing: %+v", s)
	}
	if s := Describe([]float64{3}); s.Mean != 3 || !math.IsNaN(s.SD) {
		t.Errorf("of one value: %+v", s)
	}
}

// c4 (from memory, computed from the closed formula): .7979 .8862 .9213 .9400
// .9727 .9869 .9914 .9949 for n = 2 3 4 5 10 20 30 50.
func TestUnbias(t *testing.T) {
	for i, n := range []int{2, 3, 4, 5, 10, 20, 30, 50} {
		near(t, "c4", Unbias(n), []float64{.7979, .8862, .9213, .9400, .9727, .9869, .9914, .9949}[i], 5e-5)
	}
}

// R 4.2.2 qt(); GUM table G.2 prints the same to two decimals (from memory).
func TestTQuantile(t *testing.T) {
	level := []float64{.6827, .90, .95, .9545, .99, .9973}
	for df, row := range map[float64][]float64{
		1: {1.8373, 6.3138, 12.7062, 13.9678, 63.6567, 235.7837}, 2: {1.3213, 2.9200, 4.3027, 4.5266, 9.9248, 19.2060},
		4: {1.1416, 2.1318, 2.7764, 2.8693, 4.6041, 6.6201}, 16: {1.0322, 1.7459, 2.1199, 2.1689, 2.9208, 3.5441},
		60: {1.0084, 1.6706, 2.0003, 2.0425, 2.6603, 3.1299}, math.Inf(1): {1.0000, 1.6449, 1.9600, 2.0000, 2.5758, 3.0000},
	} {
		for i, want := range row {
			// The table was made at .6826895 and the like: allow for that.
			near(t, "t quantile", TQuantile(level[i], df), want, 0.00006+4e-5*want*math.Max(1, 1+want/30)*10)
			near(t, "p at the quantile", TP(TQuantile(level[i], df), df), 1-level[i], 1e-9)
		}
	}
}

// boost math, students_t_examples.qbk (read): NIST heat flow, mercury, AUTO83B.
func TestTAgainstBoost(t *testing.T) {
	heat := Summary{195, 9.26146, 0.02278881}
	r, err := OneSample(heat, 0)
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := r.Interval(.95)
	near(t, "heat lo", lo, 9.25824, 5e-6)
	near(t, "heat hi", hi, 9.26468, 5e-6)
	lo, hi = r.Interval(.99)
	near(t, "heat 99 lo", lo, 9.25721, 5e-6)
	near(t, "heat 99 hi", hi, 9.26571, 6e-6)
	r, _ = OneSample(heat, 5)
	near(t, "heat t", r.T, 2611.28380, 5e-4)

	m := Describe([]float64{38.9, 37.4, 37.1})
	near(t, "mercury sd", m.SD, 0.9643650, 1e-7) // printed in single precision
	r, _ = OneSample(m, 0)
	for _, c := range [][3]float64{{.90, 36.17422, 39.42578}, {.95, 35.40438, 40.19562}, {.99, 32.27408, 43.32592}} {
		lo, hi = r.Interval(c[0])
		near(t, "mercury lo", lo, c[1], 5e-6)
		near(t, "mercury hi", hi, c[2], 5e-6)
	}
	r, _ = OneSample(m, 38.9)
	near(t, "mercury t", r.T, -1.97566, 5e-6)
	near(t, "mercury one-sided p", r.P/2, 0.09343, 5e-6)

	a, b := Summary{249, 20.14458, 6.41470}, Summary{79, 30.48101, 6.10771}
	p, _ := Pooled(a, b)
	near(t, "cars pooled t", p.T, -12.62059, 1e-5)
	near(t, "cars pooled df", p.DF, 326, 0)
	near(t, "cars pooled p", p.P/2/2.637e-30, 1, 1e-3)
	w, _ := Welch(a, b)
	near(t, "cars Welch t", w.T, -12.946268, 1e-6) // scipy 1.10.1
	near(t, "cars Welch df", w.DF, 136.874990, 1e-6)
	near(t, "cars Welch p", w.P/2/7.855e-26, 1, 1e-3)
}

// support.nag.com g07ca (read), with the sd that reproduces all its digits.
func TestTAgainstNAG(t *testing.T) {
	a, b := Summary{4, 25.0, 0.8185}, Summary{8, 21.0, 4.2083}
	for _, c := range []struct {
		name             string
		f                func(a, b Summary) (TTest, error)
		t, df, p, lo, hi float64
	}{{"pooled", Pooled, 1.8403, 10, 0.0955, -0.8429, 8.8429}, {"Welch", Welch, 2.5922, 7.9925, 0.0320, 0.4410, 7.5590}} {
		r, err := c.f(a, b)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := r.Interval(.95)
		near(t, c.name+" t", r.T, c.t, 5e-5)
		near(t, c.name+" df", r.DF, c.df, 5e-5)
		near(t, c.name+" p", r.P, c.p, 5e-5)
		near(t, c.name+" lo", lo, c.lo, 6e-5)
		near(t, c.name+" hi", hi, c.hi, 6e-5)
	}
}

var sleep1 = []float64{.7, -1.6, -.2, -1.2, -.1, 3.4, 3.7, .8, 0, 2}
var sleep2 = []float64{1.9, .8, 1.1, .1, -.1, 4.4, 5.5, 1.6, 4.6, 3.4}

// R 4.2.2 on `sleep` (Student 1908).
func TestSleep(t *testing.T) {
	a, b := Describe(sleep1), Describe(sleep2)
	w, _ := Welch(a, b)
	near(t, "t", w.T, -1.86081346748685, 1e-12)
	near(t, "df", w.DF, 17.7764735161785, 1e-10)
	near(t, "p", w.P, 0.0793941401873582, 1e-12)
	lo, hi := w.Interval(.95)
	near(t, "lo", lo, -3.36548323071171, 1e-10)
	near(t, "hi", hi, 0.20548323071171, 1e-10)
	p, _ := Pooled(a, b)
	near(t, "pooled p", p.P, 0.0791867142159, 1e-12)
	d, _ := Paired(sleep1, sleep2)
	near(t, "paired t", d.T, -4.06212768338204, 1e-12)
	near(t, "paired p", d.P, 0.00283289019738427, 1e-13)
	lo, hi = d.Interval(.95)
	near(t, "paired lo", lo, -2.45988576327698, 1e-10)
	near(t, "paired hi", hi, -0.700114236723018, 1e-10)
}

// go-moremath as an oracle on the same data, where it has the test.
func TestAgainstMoremath(t *testing.T) {
	want, err := stats.TwoSampleWelchTTest(stats.Sample{Xs: sleep1}, stats.Sample{Xs: sleep2}, stats.LocationDiffers)
	if err != nil {
		t.Fatal(err)
	}
	got, _ := Welch(Describe(sleep1), Describe(sleep2))
	near(t, "Welch p", got.P, want.P, 1e-9)
	u, err := stats.MannWhitneyUTest(hwX, hwY, stats.LocationDiffers)
	if err != nil {
		t.Fatal(err)
	}
	mw, _ := MannWhitney(hwX, hwY)
	near(t, "Mann-Whitney p", mw.P, u.P, 1e-9)
	tied := []float64{1, 2, 2, 3, 5, 5, 7, 8, 9, 11}
	other := []float64{2, 4, 5, 6, 8, 10, 12, 13, 14, 14}
	u, err = stats.MannWhitneyUTest(tied, other, stats.LocationDiffers)
	if err != nil {
		t.Fatal(err)
	}
	mw, _ = MannWhitney(tied, other)
	if mw.Exact {
		t.Error("ties were taken for exact")
	}
	near(t, "tied U", mw.Statistic, u.U, 0)
	near(t, "tied p", mw.P, u.P, 0.01) // theirs is exact with ties, ours the corrected normal
}

var hwX = []float64{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46}
var hwY = []float64{1.15, .88, .90, .74, 1.21}

// R 4.2.2, examples of ?wilcox.test (Hollander & Wolfe 1973, p. 69 and p. 27).
func TestRankAgainstR(t *testing.T) {
	r, err := MannWhitney(hwX, hwY)
	if err != nil || !r.Exact {
		t.Fatal(r, err)
	}
	near(t, "W", r.Statistic, 35, 0)
	near(t, "greater", r.Upper, 0.127206127206127, 1e-14)
	near(t, "two-sided", r.P, 0.254412254412254, 1e-14)
	near(t, "Hodges-Lehmann", r.Shift, 0.305, 1e-12)

	x := []float64{1.83, .50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30}
	y := []float64{.878, .647, .598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29}
	d := make([]float64, len(x))
	for i := range x {
		d[i] = x[i] - y[i]
	}
	s, err := SignedRank(d)
	if err != nil || !s.Exact {
		t.Fatal(s, err)
	}
	near(t, "V", s.Statistic, 40, 0)
	near(t, "greater", s.Upper, 0.01953125, 0)
}

// Critical values of U, two-sided 0.05 (R pwilcox; equal to the printed tables,
// from memory). -1 is: no U rejects.
func TestMannWhitneyCritical(t *testing.T) {
	for _, c := range [][3]int{{3, 3, -1}, {3, 4, -1}, {3, 5, 0}, {3, 6, 1}, {3, 7, 1}, {3, 8, 2}, {4, 4, 0}, {4, 5, 1}, {4, 6, 2},
		{4, 7, 3}, {4, 8, 4}, {5, 5, 2}, {5, 6, 3}, {5, 7, 5}, {5, 8, 6}, {6, 6, 5}, {6, 7, 6}, {6, 8, 8}} {
		got, ok := MannWhitneyCritical(c[0], c[1], .05)
		if got != c[2] || ok != (c[2] >= 0) {
			t.Errorf("critical U of %d, %d = %d %v, want %d", c[0], c[1], got, ok, c[2])
		}
	}
}

// Fisher, The Design of Experiments, section 21 (from memory, reproduced by
// enumeration): 863 of 32768 in one tail.
func TestSignPermutation(t *testing.T) {
	d := []float64{49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48}
	p, err := SignPermutation(d, PermutationOptions{})
	if err != nil || !p.Exact || p.Count != 32768 {
		t.Fatal(p, err)
	}
	near(t, "one tail", p.Upper*32768, 863, 1e-9)
	near(t, "two tails", p.P*32768, 1726, 1e-9)
	s := Describe(d)
	tt, _ := OneSample(s, 0)
	near(t, "t", tt.T, 2.148, 5e-4)
	near(t, "t's p", tt.P, 0.0497, 5e-5)
	mc, _ := SignPermutation(d, PermutationOptions{MaxExact: 1, Seed: 3})
	if mc.Exact {
		t.Fatal("was to be drawn")
	}
	near(t, "drawn p", mc.P, p.P, 4*math.Sqrt(p.P/20000))
}

// Efron and Tibshirani's mouse data (from memory, reproduced by enumeration).
func TestTwoSamplePermutation(t *testing.T) {
	a := []float64{94, 197, 16, 38, 99, 141, 23}
	b := []float64{52, 104, 146, 10, 50, 31, 40, 27, 46}
	p, err := TwoSamplePermutation(a, b, PermutationOptions{})
	if err != nil || !p.Exact || p.Count != 11440 {
		t.Fatal(p, err)
	}
	near(t, "difference", p.Difference, 30.635, 5e-4)
	near(t, "one-sided", p.Upper*11440, 1608, 1e-9)
	near(t, "two-sided", p.P*11440, 3182, 1e-9)
	tt, _ := Pooled(Describe(a), Describe(b))
	near(t, "t", tt.T, 1.1214, 5e-5)
	near(t, "one-sided t", tt.P/2, 0.1405, 5e-5)
	mc, _ := TwoSamplePermutation(a, b, PermutationOptions{MaxExact: 1, Seed: 5})
	near(t, "drawn p", mc.P, p.P, 4*math.Sqrt(p.P/20000))
}

// 2/C(2n,n): no test of 3 and 3 runs can ever print p < 0.05.
func TestSmallestP(t *testing.T) {
	for n, want := range map[int]float64{3: .1, 4: .0285714, 5: .00793651, 6: .00216450, 7: .000582751, 8: .000155400} {
		a, b := make([]float64, n), make([]float64, n)
		for i := range a {
			a[i], b[i] = float64(i), 1000+float64(i)
		}
		exact, _ := TwoSamplePermutation(a, b, PermutationOptions{})
		near(t, "exact p", exact.P, want, 6e-8)
		near(t, "smallest p", exact.Smallest, want, 6e-8)
		drawn, _ := TwoSamplePermutation(a, b, PermutationOptions{MaxExact: 1, Draws: 100000})
		if drawn.P < exact.Smallest {
			t.Errorf("n=%d: drawn p %g is below the smallest possible %g", n, drawn.P, exact.Smallest)
		}
		mw, _ := MannWhitney(a, b)
		near(t, "Mann-Whitney p", mw.P, want, 6e-8)
	}
}
