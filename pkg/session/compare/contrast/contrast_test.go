package contrast

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.6g, want %.6g", what, got, want)
	}
}

// Without scatter the model gives back what was put in, however unlike the modes lose
// each way.
func TestModelTakesOutGradeAndDrift(t *testing.T) {
	c := even(3, 4, 0, 1)
	c.sd = []float64{0, 0, 0}
	c.ways, c.costs, c.drift, c.shift = []float64{1.1, .7, .5}, 0, .02, .3
	rng := rand.New(rand.NewPCG(1, 1))
	l := c.layout(rng)
	d := NewDesign(l, 0)
	f := d.Fit(c.times(rng, l)[0], nil, nil)
	for _, p := range f.Design.Pairs() {
		near(t, "difference", f.Of(p).Value, map[bool]float64{true: -.3, false: 0}[p.B == 2], 1e-9)
	}
	for m, w := range c.ways {
		near(t, "direction", f.Of(f.Design.Direction(m)).Value, w, 1e-9)
	}
	near(t, "drift", f.Of(f.Design.Drift()).Value, .02, 1e-9)
}

// Modes whose directions cost what no trace tells get a term each.
func TestDirectionsThatCostsDoNotExplain(t *testing.T) {
	c := even(2, 4, .03, 1)
	c.ways, c.costs = []float64{.8, .1}, 0
	rng := rand.New(rand.NewPCG(1, 1))
	l := c.layout(rng)
	l.Cost = []float64{1, 1}
	d := NewDesign(l, 0)
	if d.EachWay {
		t.Fatal("the costs are not used")
	}
	if f := d.Fit(c.times(rng, l)[0], nil, nil); !f.Design.EachWay {
		t.Errorf("residual scatter %.3f s with terms %v", math.Sqrt(f.Pooled), f.Design.Terms)
	}
}

// For two samples the degrees of freedom of the leverage-corrected variance have a
// closed form (Imbens and Kolesár, Review of Economics and Statistics 98, 2016,
// 701-712, from memory).
func TestBellMcCaffrey(t *testing.T) {
	for _, n := range [][2]float64{{5, 5}, {3, 9}, {2, 7}} {
		l := &Layout{Modes: 2}
		for m, k := range n {
			for range int(k) {
				l.Mode = append(l.Mode, m)
			}
		}
		d := newDesign(l, 0, false, true)
		// Without the drift, which the form does not know.
		cols := &columns{}
		for m := range 2 {
			cols.add("mode", "", l.where(func(i int) float64 { return is(l.Mode[i] == m) }))
		}
		d.trace = make([]float64, 2)
		d.residualMaker(cols.basis)
		rows := solve(cols.x)
		v := 1/n[0] + 1/n[1]
		want := v * v / (1/(n[0]*n[0]*(n[0]-1)) + 1/(n[1]*n[1]*(n[1]-1)))
		near(t, "degrees of freedom", d.bellMcCaffrey(minus(rows[0], rows[1])), want, 1e-9)
	}
}

// R 4.2.2: qtukey(.95, 3, 10) is 3.87677674919; Student's t of two modes. Levels far
// out go by Bonferroni's inequality and meet the studentised range where it takes over.
func TestCriticalValues(t *testing.T) {
	near(t, "three modes", CriticalAt(.05, 3).At(10), 3.87677674919/math.Sqrt2, 2e-4)
	near(t, "two modes", CriticalAt(.05, 2).At(10), 2.228139, 1e-4)
	in, out := CriticalAt(rangeFrom, 4).At(8), CriticalAt(rangeFrom*.9999, 4).At(8)
	if out < in || out > 1.1*in {
		t.Errorf("critical values %.3f and %.3f on both sides of the change", in, out)
	}
	if !math.IsInf(CriticalAt(.05, 2).At(0), 1) {
		t.Error("a critical value without degrees of freedom")
	}
}

// The boundaries of O'Brien and Fleming (Biometrics 35, 1979, 549-556) for two to five
// equal looks, computed by convolution elsewhere, are left in 5 of 100.
func TestPaths(t *testing.T) {
	for _, zs := range [][]float64{{2.796, 1.977}, {3.472, 2.455, 2.005}, {4.048, 2.862, 2.337, 2.024}, {4.562, 3.226, 2.634, 2.281, 2.040}} {
		p, total := &paths{}, 0.0
		for j, z := range zs {
			at := float64(j+1) / float64(len(zs))
			b := z * math.Sqrt(at)
			total += p.leaving(at, b)
			p.advance(at, b)
		}
		near(t, "chance to leave", total, .05, 3e-4)
	}
}

// Levels rise, spend all in the end, and leave a single look what there is.
func TestLevels(t *testing.T) {
	near(t, "a single look", Levels([]float64{1}, true, .05)[0], .05, 1e-6)
	near(t, "an end before the plan's", Levels([]float64{.4}, true, .05)[0], .05, 1e-6)
	l := Levels([]float64{.25, .5, .75, 1}, true, .05)
	for j := 1; j < len(l); j++ {
		if l[j] <= l[j-1] {
			t.Errorf("levels %v do not rise", l)
		}
	}
	if l[3] < .04 || l[3] > .05 {
		t.Errorf("the last level is %.4f", l[3])
	}
}

// A pair is claimed at a place only where it is at all before.
func TestGate(t *testing.T) {
	p := [][]Claim{{{A: 0, B: 1, Differ: 8}, {A: 0, B: 2, Equal: 4}}, {{A: 0, B: 2, Differ: 8}}, {{A: 0, B: 1, Differ: 8, Equal: 3}, {A: 0, B: 2}}}
	Gate(p)
	if p[2][0].Differ != 8 || p[2][0].Equal != 0 || p[1][0].Differ != 0 || p[0][1].Equal != 4 {
		t.Errorf("gated: %+v", p)
	}
}

// Blocks strain a difference, and ways that differ refuse it; turns do neither.
func TestOrders(t *testing.T) {
	c := even(2, 6, 1, 1)
	rng := rand.New(rand.NewPCG(1, 1))
	if s := NewDesign(c.layout(rng), 0).Strain(); s != 1 {
		t.Errorf("turns strain by %.2f", s)
	}
	c.order = "blocks"
	if s := NewDesign(c.layout(rng), 0).Strain(); s < mostInflated {
		t.Errorf("blocks of six strain by %.2f", s)
	}
	l := &Layout{Modes: 2, Mode: []int{0, 1, 0, 1, 0, 1}, Way: []float64{-.5, .5, -.5, .5, -.5, -.5}, Cost: []float64{1, 1}}
	if p := NewDesign(l, 0).Pairs()[0]; !strings.Contains(p.Refused, "each way") {
		t.Errorf("one mode out and the other back: refused %q", p.Refused)
	}
}

// A covariate is used where the order keeps it apart from the modes.
func TestCovariates(t *testing.T) {
	c := even(2, 6, 0, 1)
	c.sd = []float64{.01, .01}
	rng := rand.New(rand.NewPCG(1, 1))
	l := c.layout(rng)
	y := c.times(rng, l)[0]
	fuel := make([]float64, len(y))
	for i := range y {
		fuel[i] = []float64{-3, 2, 3, -2}[i*3%4] + float64(i%3)
		y[i] += .2 * fuel[i]
	}
	l.Extra = []Covariate{{Name: "fuel", X: fuel}}
	f := NewDesign(l, 0).Fit(y, nil, nil)
	if s := math.Sqrt(f.Pooled); s > .03 {
		t.Errorf("scatter %.3f s with terms %v", s, f.Design.Terms)
	}
	for i, m := range l.Mode {
		fuel[i] = float64(m) + .01*float64(i%3)
	}
	if d := NewDesign(l, 0); !strings.Contains(strings.Join(d.Dropped, ";"), "fuel: it went with the modes") {
		t.Errorf("dropped: %v", d.Dropped)
	}
}

// What a past session knows finds more, and weighs less for another vehicle.
func TestPastWeighs(t *testing.T) {
	l := even(2, 3, 1, 1).layout(rand.New(rand.NewPCG(1, 1)))
	same, other := &Past{SD: 1, DF: 20, Same: true}, &Past{SD: 1, DF: 20}
	near(t, "same vehicle", same.Weight(l), PastSame, 0)
	near(t, "another", other.Weight(l), PastOther, 0)
	near(t, "none", (*Past)(nil).Weight(l), 0, 0)
	found := func(p *Past) float64 {
		return NewCourse(l, p, Plan{Final: true}).Simulate([]float64{1, 1}, p, 1000, 1).Found(0, 3)
	}
	if a, b := found(nil), found(same); b < a+.2 {
		t.Errorf("found %.2f without a past session and %.2f with it", a, b)
	}
}

// A mode of one run has the scatter of the others.
func TestSingleRunAmongMany(t *testing.T) {
	l := &Layout{Modes: 2, Mode: []int{0, 0, 1, 0, 0, 0, 0}, Way: []float64{-.5, .5, -.5, .5, -.5, .5, .5}, Cost: []float64{1, 1}}
	d := NewDesign(l, 0)
	f := d.Fit([]float64{7, 7.1, 8, 7.05, 7.02, 7.12, 7.2}, nil, nil)
	for _, c := range []*Contrast{d.Mean(1), d.Adjusted(1), d.Pairs()[0]} {
		if e := f.Of(c); !(e.SE > 0) || !(e.DF >= leastDF) || e.DF > float64(d.DF) {
			t.Errorf("%+v with %d residual degrees of freedom", e, d.DF)
		}
	}
}
