package analysis

import (
	"math"

	"fromrest/pkg/session"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// ForcePair is how wheel force differs between two modes at the same speeds, as
// (a/b - 1), over one range of speed. With all else equal it is the driveline
// loss of one mode where both are limited by power, and its gearing where both
// are limited by torque.
type ForcePair struct {
	A, B     string
	From, To float64      // m/s
	Ratio    float64      // a over b
	Percent  uncert.Value // 100·(ratio - 1); U95 is Student's with the runs' scatter
	NA, NB   int          // runs
}

// forceStep is the spacing of the speeds at which force is taken.
const forceStep = 1.0 // m/s

// specificForce is wheel force over mass in m/s² at speeds from lo to hi, with
// grade and wind taken out as far as known. It averages acceleration over a
// step of speed.
func (c *RunConditions) specificForce(rs resistance, rolling, lo, hi float64) []float64 {
	tr := &c.Run.Trace
	reach := func(v float64) float64 {
		for i := 1; i < tr.Len(); i++ {
			if tr.V[i] >= v && tr.V[i-1] < v {
				return tr.T[i-1] + (v-tr.V[i-1])/(tr.V[i]-tr.V[i-1])*(tr.T[i]-tr.T[i-1])
			}
		}
		return math.NaN()
	}
	grade, wind := c.Grade.X, c.HeadWind.X
	if math.IsNaN(grade) {
		grade = 0
	}
	if math.IsNaN(wind) {
		wind = 0
	}
	var out []float64
	for v := lo; v+forceStep <= hi+1e-9; v += forceStep {
		mid := v + forceStep/2
		a := forceStep / (reach(v+forceStep) - reach(v))
		air := mid + wind
		out = append(out, rs.factor*a+unit.GravityStandard*(rolling+math.Sin(math.Atan(grade)))+rs.dragPerKg*air*math.Abs(air))
	}
	return out
}

// ForcePairs compares the wheel force of every two modes that have two counted
// runs or more, over the lower and the upper half of the speeds that all their
// runs pass. Each run counts once, so that the interval holds what differs from
// run to run.
func ForcePairs(cs []RunConditions, sh *session.Sheet) []ForcePair {
	rs, _ := resistanceOf(sh)
	rolling := sh.Vehicle.RollingResistance
	if rolling == 0 {
		rolling = defaultRolling
	}
	byMode := map[string][]*RunConditions{}
	var modes []string
	for i := range cs {
		m := cs[i].Run.Mode
		if m == "" {
			continue
		}
		if byMode[m] == nil {
			modes = append(modes, m)
		}
		byMode[m] = append(byMode[m], &cs[i])
	}
	var out []ForcePair
	for i, a := range modes {
		for _, b := range modes[i+1:] {
			if len(byMode[a]) < 2 || len(byMode[b]) < 2 {
				continue
			}
			top := math.Inf(1)
			for _, c := range append(append([]*RunConditions(nil), byMode[a]...), byMode[b]...) {
				top = math.Min(top, c.Run.MaxSpeed)
			}
			lo, hi := 4.0, math.Floor(0.97*top)
			mid := math.Floor((lo + hi) / 2)
			for _, r := range [][2]float64{{lo, mid}, {mid, hi}} {
				if r[1]-r[0] >= 3 {
					if p, ok := forcePair(byMode[a], byMode[b], rs, rolling, r[0], r[1]); ok {
						p.A, p.B = a, b
						out = append(out, p)
					}
				}
			}
		}
	}
	return out
}

func forcePair(a, b []*RunConditions, rs resistance, rolling, lo, hi float64) (ForcePair, bool) {
	logs := func(cs []*RunConditions) []float64 {
		var out []float64
		for _, c := range cs {
			// The mean of forces, not of their logarithms: a shift's low forces
			// would weigh without bound.
			sum, n := 0.0, 0
			for _, f := range c.specificForce(rs, rolling, lo, hi) {
				if f > 0 && !math.IsInf(f, 0) {
					sum, n = sum+f, n+1
				}
			}
			if n > 0 {
				out = append(out, math.Log(sum/float64(n)))
			}
		}
		return out
	}
	sa, sb := stats.Describe(logs(a)), stats.Describe(logs(b))
	w, err := stats.Welch(sa, sb)
	if err != nil {
		return ForcePair{}, false
	}
	l, h := w.Interval(0.95)
	p := ForcePair{From: lo, To: hi, Ratio: math.Exp(sa.Mean - sb.Mean), NA: sa.N, NB: sb.N}
	p.Percent = uncert.Value{X: 100 * (p.Ratio - 1), U: 100 * p.Ratio * (h - l) / 2 / uncert.Z95}
	return p, !math.IsNaN(p.Percent.U)
}
