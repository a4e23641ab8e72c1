package explain

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
)

// What limits both modes over a stretch of speed, as the slope of force against
// speed shows it.
const (
	BandPower  = "power"  // force falls as 1/speed
	BandTorque = "torque" // force stays level
	BandGrip   = "grip"   // most of the grip there is was used
	BandMixed  = "mixed"  // neither, or not told apart
)

// ForceBand is how wheel force differs between two modes.
type ForceBand struct {
	A, B   string
	NA, NB int
	Points []BandPoint // at rising speeds; none where a run was in a shift
	Parts  []BandPart  // by gear and by what limits
	// Loss is what A loses in the driveline more than B (negative: less) in per
	// cent of wheel force, LossHow from what. NaN where not told.
	Loss      uncert.Value
	LossBasis Basis
	LossHow   string
	// Gearing is what A gains by its gearing over B (negative: less) in per cent
	// of wheel force with Loss taken out. NaN where not told.
	Gearing      uncert.Value
	GearingBasis Basis
	GearingHow   string
}

// BandPoint is the difference at one speed.
type BandPoint struct {
	Speed   float64      // m/s
	Percent uncert.Value // 100·(force of A over force of B - 1); U95 is Student's
}

// BandPart is the difference over one stretch of speed.
type BandPart struct {
	From, To float64      // m/s
	Gear     int          // of both, from 1, 0 where not known or not the same
	Limit    string       // one of the Band constants
	Percent  uncert.Value // as in BandPoint
	Basis    Basis
}

// forceBands compares every two modes that have two counted runs or more.
func forceBands(runs []TracedRun, modes []ModeForce, sh *sheet.Sheet) []ForceBand {
	of := byMode(runs)
	var out []ForceBand
	for i := range modes {
		for j := i + 1; j < len(modes); j++ {
			a, b := &modes[i], &modes[j]
			if a.Mode == "" || b.Mode == "" || a.Runs < 2 || b.Runs < 2 {
				continue
			}
			out = append(out, pair(of[a.Mode], of[b.Mode]).band(a, b, sh))
		}
	}
	return out
}

// pairing is the runs of two modes and the speeds at which all can be compared.
type pairing struct {
	a, b  []*TracedRun
	at    []int    // indices of their points
	limit []string // of each of at
	gear  []int
}

// pair finds the speeds that every run of two modes passes outside its shifts, and
// what limits there.
func pair(a, b []*TracedRun) *pairing {
	p := &pairing{a: a, b: b}
	runs := slices.Concat(a, b)
	n := math.MaxInt
	for _, r := range runs {
		n = min(n, len(r.Force))
	}
	for k := range n {
		good := runs[0].Force[k].Speed >= bandLeast
		for _, r := range runs {
			q := &r.Force[k]
			good = good && !q.InShift && q.Specific.X > 0 && q.Speed < nearTop*r.Run.MaxSpeed
		}
		if good {
			p.at = append(p.at, k)
		}
	}
	for _, k := range p.at {
		slopeA, slopeB := p.slope(a, k), p.slope(b, k)
		limit := BandMixed
		switch {
		case gripped(a, k) || gripped(b, k):
			limit = BandGrip
		case max(slopeA, slopeB) <= powerSlope:
			limit = BandPower
		case min(slopeA, slopeB) >= torqueSlope:
			limit = BandTorque
		}
		gear := runs[0].Force[k].Gear
		for _, r := range runs {
			if r.Force[k].Gear != gear {
				gear = 0
			}
		}
		p.limit, p.gear = append(p.limit, limit), append(p.gear, gear)
	}
	return p
}

// gripped reports whether a mode's runs use most of the grip at a point.
func gripped(runs []*TracedRun, k int) bool {
	for _, r := range runs {
		if !(r.Grip.Peak.X >= gripFull) || r.Grip.Basis != Modelled || r.Grip.contradicted() {
			return false
		}
		most := 0.0
		for i := range r.Force {
			if !r.Force[i].InShift {
				most = math.Max(most, r.Force[i].Specific.X)
			}
		}
		if r.Force[k].Specific.X/most*r.Grip.Peak.X < gripFull {
			return false
		}
	}
	return true
}

// slope is d ln(force) / d ln(speed) of a mode about a point, over the compared
// points near it.
func (p *pairing) slope(runs []*TracedRun, k int) float64 {
	v0 := runs[0].Force[k].Speed
	var n, sx, sy, sxx, sxy float64
	for _, i := range p.at {
		v := runs[0].Force[i].Speed
		if math.Abs(v-v0) > bandWindow {
			continue
		}
		for _, r := range runs {
			x, y := math.Log(v), math.Log(r.Force[i].Specific.X)
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
		}
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

// level is each run's mean logarithm of force over points.
func level(runs []*TracedRun, points []int) []float64 {
	out := make([]float64, len(runs))
	for i, r := range runs {
		for _, k := range points {
			out[i] += math.Log(r.Force[k].Specific.X) / float64(len(points))
		}
	}
	return out
}

// contrast is differ of logarithms, in per cent of b.
func (p *pairing) contrast(ya, yb []float64) uncert.Value {
	d := p.differ(ya, yb)
	r := math.Exp(d.X)
	return uncert.Value{X: 100 * (r - 1), U: 100 * r * d.U}
}

// differ is the mean of ya less the mean of yb, with an uncertainty whose normal 95 %
// interval is Student's. Where
// both modes were driven both ways the direction is taken out (analysis of
// variance with two factors that add up), and with it what grade and wind leave.
func (p *pairing) differ(ya, yb []float64) uncert.Value {
	var cells [2][2][]float64 // direction, mode
	put := func(runs []*TracedRun, y []float64, mode int) {
		for i, r := range runs {
			c := &cells[session.Way(r.Run.HeadingDeg, p.a[0].Run.HeadingDeg)][mode]
			*c = append(*c, y[i])
		}
	}
	put(p.a, ya, 0)
	put(p.b, yb, 1)
	var d, se, df float64
	if len(cells[0][0]) == 0 || len(cells[0][1]) == 0 || len(cells[1][0]) == 0 || len(cells[1][1]) == 0 {
		w, err := stats.Welch(stats.Describe(ya), stats.Describe(yb))
		if err != nil {
			return nothing
		}
		d, se, df = w.Difference, w.SE, w.DF
	} else {
		var diff, weight [2]float64
		rss := 0.0
		for k := range cells {
			a, b := stats.Describe(cells[k][0]), stats.Describe(cells[k][1])
			diff[k], weight[k] = a.Mean-b.Mean, float64(a.N*b.N)/float64(a.N+b.N)
			for _, s := range []stats.Summary{a, b} {
				if s.N > 1 {
					rss += s.Var() * float64(s.N-1)
				}
			}
		}
		w := weight[0] + weight[1]
		d = (weight[0]*diff[0] + weight[1]*diff[1]) / w
		rss += weight[0] * weight[1] / w * (diff[0] - diff[1]) * (diff[0] - diff[1])
		df = float64(len(ya) + len(yb) - 3)
		if df < 1 {
			return nothing
		}
		se = math.Sqrt(rss / df / w)
	}
	return uncert.Value{X: d, U: se * stats.StudentOver(df)}
}

// percent is the difference over some points, with what the road load leaves of it.
func (p *pairing) percent(points []int) uncert.Value {
	v := p.contrast(level(p.a, points), level(p.b, points))
	share := 0.0
	for _, k := range points {
		q := &p.b[0].Force[k]
		share += q.Specific.U / q.Specific.X / float64(len(points))
	}
	v.U = uncert.Combine(v.U, math.Abs(v.X)*share)
	return v
}

// pick is the compared points that a limit holds at.
func (p *pairing) pick(limits ...string) (out []int) {
	for i, k := range p.at {
		if slices.Contains(limits, p.limit[i]) {
			out = append(out, k)
		}
	}
	return out
}

// band makes the comparison of two modes.
func (p *pairing) band(a, b *ModeForce, sh *sheet.Sheet) ForceBand {
	basis := weakest(a.Basis, b.Basis)
	f := ForceBand{A: a.Mode, B: b.Mode, NA: a.Runs, NB: b.Runs}
	for _, k := range p.at {
		f.Points = append(f.Points, BandPoint{p.a[0].Force[k].Speed, p.percent([]int{k})})
	}
	for i := 0; i < len(p.at); {
		j := i + 1
		for j < len(p.at) && p.limit[j] == p.limit[i] && p.gear[j] == p.gear[i] && p.at[j] == p.at[j-1]+1 {
			j++
		}
		if j-i >= bandSpan {
			v := p.a[0].Force
			f.Parts = append(f.Parts, BandPart{From: v[p.at[i]].Speed - forceStep/2, To: v[p.at[j-1]].Speed + forceStep/2,
				Gear: p.gear[i], Limit: p.limit[i], Percent: p.percent(p.at[i:j]), Basis: basis})
		}
		i = j
	}
	f.explain(p, sh, basis)
	return f
}

// explain tells the driveline's loss from what gearing gains.
func (f *ForceBand) explain(p *pairing, sh *sheet.Sheet, basis Basis) {
	f.Loss, f.Gearing = nothing, nothing
	gain, same, known := gearingOf(sh, f.A, f.B)
	shareA, shareB := powerShare(sh, f.A), powerShare(sh, f.B)
	power, torque := p.pick(BandPower), p.pick(BandTorque)
	points, where := power, "where power limits both"
	if same && known { // the same gear turns the engine at the same speed
		points, where = p.pick(BandPower, BandTorque, BandMixed), "at the same speeds in the same gearing, outside shifts and the grip limit"
	}
	if len(points) < lossSpan {
		f.LossHow = "Not told: the runs share too few speeds at which power limits both modes outside shifts."
	} else {
		d := p.percent(points)
		scale := 1.0
		f.LossBasis = basis
		f.LossHow = fmt.Sprintf("The difference in wheel force %s (%d m/s of it)", where, len(points))
		if shareA > 0 && shareB > 0 {
			scale = shareB / shareA
			f.LossHow += ", with the power that the sheet says each mode has."
		} else {
			f.LossBasis = Assumed
			f.LossHow += ", the engine taken to give both modes the same power: power_share would say otherwise."
		}
		f.Loss = uncert.Value{X: 100 * (1 - (1+d.X/100)*scale), U: d.U * scale}
	}
	switch {
	case known && same:
		f.GearingHow = "None: the sheet gives both modes the same ratios."
		f.Gearing, f.GearingBasis = uncert.Value{}, Measured
	case len(torque) < lossSpan:
		f.GearingHow = "Not told: the runs share too few speeds at which torque limits both modes."
	case len(power) < lossSpan:
		f.GearingHow = "Not told apart from loss: the runs share too few speeds at which power limits both modes."
	default:
		// Each run against itself, so that what a run has more of cancels out.
		own := func(runs []*TracedRun) []float64 {
			y, z := level(runs, torque), level(runs, power)
			for i := range y {
				y[i] -= z[i]
			}
			return y
		}
		f.Gearing, f.GearingBasis = p.contrast(own(p.a), own(p.b)), basis
		f.GearingHow = fmt.Sprintf("The difference where torque limits both (%d m/s of it) beyond that where power does.", len(torque))
	}
	if known && !same {
		f.GearingHow += fmt.Sprintf(" By the sheet's ratios it is %+.1f %% in the lowest gear used.", 100*(gain-1))
	}
}

// gearingOf is the overall ratio of mode a over that of mode b in the gear each
// starts in, and whether they are the same in every gear, as far as the sheet
// says.
func gearingOf(sh *sheet.Sheet, a, b string) (gain float64, same, known bool) {
	v := &sh.Vehicle
	one := func(mode string) (ratio float64, start int, ok bool) {
		d := sh.ModeDriveline(mode)
		start = max(1, d.StartGear)
		t := transferOf(v, d)
		if t == 0 && d.Range == "low" || start > len(v.Gears) {
			return 0, 0, false
		}
		return v.Gears[start-1] * cmp.Or(t, 1), start, true
	}
	ra, sa, okA := one(a)
	rb, sb, okB := one(b)
	if !okA || !okB {
		return math.NaN(), false, false
	}
	return ra / rb, ra == rb && sa == sb, true
}
