package explain

import (
	"context"
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// ForcePair is how wheel force differs between two modes at the same speeds, as
// (a/b - 1), over one range of speed, outside shifts. ForceBand tells more.
type ForcePair struct {
	A, B     string
	From, To float64      // m/s
	Ratio    float64      // a over b
	Percent  uncert.Value // 100·(ratio - 1); U95 is Student's with the runs' scatter
	NA, NB   int          // runs
	Basis    Basis
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
// runs pass outside shifts. Each run counts once, so that the interval holds what
// differs from run to run.
func ForcePairs(cs []RunConditions, sh *sheet.Sheet) []ForcePair {
	t := TraceOf(context.Background(), nil, cs, sh)
	of := map[string][]*TracedRun{}
	for i := range t.Runs {
		of[t.Runs[i].Run.Mode] = append(of[t.Runs[i].Run.Mode], &t.Runs[i])
	}
	var out []ForcePair
	for _, b := range t.Bands {
		p := pairing{a: of[b.A], b: of[b.B]}
		p.look()
		half := len(p.at) / 2
		for _, points := range [][]int{p.at[:half], p.at[half:]} {
			if len(points) < lossSpan {
				continue
			}
			d := p.percent(points)
			if math.IsNaN(d.U) {
				continue
			}
			v := p.a[0].Force
			out = append(out, ForcePair{A: b.A, B: b.B, NA: b.NA, NB: b.NB, Ratio: 1 + d.X/100, Percent: d, Basis: weakest(Modelled, t.Load.DragBasis, t.Load.RollingBasis, t.Load.FactorBasis),
				From: v[points[0]].Speed - forceStep/2, To: v[points[len(points)-1]].Speed + forceStep/2})
		}
	}
	return out
}
