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
// test suites).
func TestDescribeAgainstStRD(t *testing.T) {
	michelso := make([]float64, len(morley))
	for i, v := range morley {
		michelso[i] = 299 + v/1000
	}
	for _, c := range []struct {
		name     string
		x        []float64
		mean, sd float64
		tolSD    float64
	}{
		{"Michelso", michelso, 299.852400000000, 0.0790105478190518, 1e-12},
		{"Mavro", mavro, 2.00185600000000, 0.000429123454003053, 1e-14},
		{"Lew", lew, -177.435000000000, 277.332168044316, 1e-9},
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, 0},
		{"NumAcc2", numAcc(1.2, 1.1, 1.3), 1.2, 0.1, 1e-14},
		{"NumAcc3", numAcc(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, 1e-9},
		// The input itself is rounded: a sd of 0.1 within 1e-8 is all there is.
		{"NumAcc4", numAcc(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, 1e-8},
	} {
		s := Describe(c.x)
		near(t, c.name+" mean", s.Mean, c.mean, 1e-14*math.Abs(c.mean)*8)
		near(t, c.name+" sd", s.SD, c.sd, c.tolSD)
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

// boost math, students_t_examples.qbk (read): mercury, AUTO83B.
func TestTAgainstBoost(t *testing.T) {
	m := Describe([]float64{38.9, 37.4, 37.1})
	near(t, "mercury sd", m.SD, 0.9643650, 1e-7) // printed in single precision

	a, b := Summary{249, 20.14458, 6.41470}, Summary{79, 30.48101, 6.10771}
	w, _ := Welch(a, b)
	near(t, "cars Welch t", w.T, -12.946268, 1e-6) // scipy 1.10.1
	near(t, "cars Welch df", w.DF, 136.874990, 1e-6)
	near(t, "cars Welch p", w.P/2/7.855e-26, 1, 1e-3)
}

// support.nag.com g07ca (read), with the sd that reproduces all its digits.
func TestTAgainstNAG(t *testing.T) {
	a, b := Summary{4, 25.0, 0.8185}, Summary{8, 21.0, 4.2083}
	r, err := Welch(a, b)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "t", r.T, 2.5922, 5e-5)
	near(t, "df", r.DF, 7.9925, 5e-5)
	near(t, "p", r.P, 0.0320, 5e-5)
	lo, hi := interval(r)
	near(t, "lo", lo, 0.4410, 6e-5)
	near(t, "hi", hi, 7.5590, 6e-5)
}

// interval is the 95 % interval of the difference.
func interval(r TTest) (lo, hi float64) {
	h := TQuantile(.95, r.DF) * r.SE
	return r.Difference - h, r.Difference + h
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
	lo, hi := interval(w)
	near(t, "lo", lo, -3.36548323071171, 1e-10)
	near(t, "hi", hi, 0.20548323071171, 1e-10)
}

// go-moremath as an oracle on the same data, where it has the test.
func TestAgainstMoremath(t *testing.T) {
	want, err := stats.TwoSampleWelchTTest(stats.Sample{Xs: sleep1}, stats.Sample{Xs: sleep2}, stats.LocationDiffers)
	if err != nil {
		t.Fatal(err)
	}
	got, _ := Welch(Describe(sleep1), Describe(sleep2))
	near(t, "Welch p", got.P, want.P, 1e-9)
}

// Efron and Tibshirani's mouse data (from memory, reproduced by enumeration).
func TestTwoSamplePermutation(t *testing.T) {
	a := []float64{94, 197, 16, 38, 99, 141, 23}
	b := []float64{52, 104, 146, 10, 50, 31, 40, 27, 46}
	p, err := TwoSamplePermutation(a, b, PermutationOptions{})
	if err != nil || !p.Exact || p.Count != 11440 {
		t.Fatal(p, err)
	}
	near(t, "two-sided", p.P*11440, 3182, 1e-9)
	mc, _ := TwoSamplePermutation(a, b, PermutationOptions{MaxExact: 1, Draws: 20000, Seed: 5})
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
	}
}

func TestMedian(t *testing.T) {
	x := []float64{5, 1, 4, 2, 3, 6}
	near(t, "median of an even number", Median(x), 3.5, 0)
	near(t, "median of an odd number", Median(x[:5]), 3, 0)
	if x[0] != 5 {
		t.Error("the values were put in another order")
	}
	if !math.IsNaN(Median(nil)) {
		t.Error("nothing has a median")
	}
}
