package contrast

import (
	"math"
	"slices"

	"fromrest/pkg/stats"
)

// Trends is how many trends of the times are looked for beside the modes, with the order of the
// runs and with the gap between starts: each is told at a share of Alpha, so that both together
// lead to a false one in 5 sessions of 100.
const Trends = 2

// Trend is how times go with a quantity of the runs.
type Trend struct {
	Slope float64 // s for each unit of it
	U95   float64 // s, half of its 95 % interval
	P     float64 // two-sided, of no trend
	Told  bool    // at Alpha over Trends
	Why   string  // why it is not to be told, "" where it is
}

// Trend tells how times in s go with a quantity x of the runs, NaN for a run without it, which is
// then left out. Modes, sessions, stretches, directions and the drift with the order are taken out
// as in a comparison, as far as the runs support it.
func (l *Layout) Trend(x, times []float64) Trend {
	t := Trend{Slope: math.NaN(), U95: math.NaN(), P: math.NaN()}
	cut, y := *l, slices.Clone(times)
	for i := len(x) - 1; i >= 0; i-- {
		if math.IsNaN(x[i]) {
			cut, x, y = *cut.Without(i), without(x, i), without(y, i)
		}
	}
	cut.Extra = nil
	if len(y) == 0 {
		t.Why = "no run has it"
		return t
	}
	c, _, _ := cut.model(cut.Cost == nil && cut.canEach(), true)
	mean := sum(x) / float64(len(x))
	centred := cut.where(func(i int) float64 { return x[i] - mean })
	switch {
	case slices.Min(x) == slices.Max(x):
		t.Why = "it was the same for every run"
		return t
	case c.free(len(y))-1 < driftDF:
		t.Why = "too few runs to spend one on it"
		return t
	case !c.add("trend", "", centred):
		t.Why = "it went with the modes, the directions or the order of the runs"
		return t
	}
	rows := solve(c.x)
	t.Slope = dot(rows[len(rows)-1], y)
	rss, df := 0.0, float64(c.free(len(y)))
	for i := range y {
		fit := 0.0
		for j, col := range c.x {
			fit += dot(rows[j], y) * col[i]
		}
		rss += (y[i] - fit) * (y[i] - fit)
	}
	se := math.Sqrt(rss/df) * math.Sqrt(dot(rows[len(rows)-1], rows[len(rows)-1]))
	t.U95 = stats.TQuantile(1-Alpha, df) * se
	t.P = stats.TP(math.Abs(t.Slope)/se, df)
	t.Told = t.P < Alpha/Trends
	return t
}
