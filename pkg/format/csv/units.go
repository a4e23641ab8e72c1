package csv

import (
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/unit"
)

// degrees turns a latitude or longitude column into decimal degrees in place:
// degrees and minutes in one number (ddmm.mmmm), units of 1e-7 degree and
// radians are told by their size, radians only where the header says so.
func (t *table) degrees(s *slot) {
	limit := 90.0
	if s.h.Role == header.Lon {
		limit = 180
	}
	if s.h.Known() && s.h.Unit.SI != 1 {
		scaleBy(s.v, s.h.Unit.SI)
	} else {
		inferDegrees(s.v, limit)
	}
	for i, v := range s.v {
		if math.Abs(v) > limit {
			s.v[i] = math.NaN()
			t.drop(0, diag.Value, "column %q holds %g, which is no angle", s.h.Raw, v)
		}
	}
}

// inferDegrees turns angles of which no unit is known into degrees, by majority:
// a few damaged values must not turn the others.
func inferDegrees(angles []float64, limit float64) {
	n, over, huge, minutes := 0, 0, 0, 0
	for _, v := range angles {
		if v != v {
			continue
		}
		n++
		a := math.Abs(v)
		if a > limit {
			over++
		}
		if a > hugeAngle {
			huge++
		}
		if math.Mod(a, 100) < 60 {
			minutes++
		}
	}
	switch {
	case huge*2 > n:
		scaleBy(angles, 1e-7)
	case over*2 > n && float64(minutes) >= allMinutes*float64(n):
		for i, v := range angles {
			d := math.Trunc(v / 100)
			angles[i] = d + (v-100*d)/60
		}
	}
}

func scaleBy(v []float64, k float64) {
	if k == 1 {
		return
	}
	for i := range v {
		v[i] *= k
	}
}

// inferSpeedUnits finds the unit of every speed column. A column whose unit
// cannot be told is left without one.
func (t *table) inferSpeedUnits() {
	byPosition := func(s *slot) (header.Unit, string) { return t.againstPosition(s), "the change of position" }
	byGrid := func(s *slot) (header.Unit, string) { return gridUnit(s.v), "the steps of its values" }
	for _, tell := range []func(*slot) (header.Unit, string){byPosition, byGrid, t.byOther, t.byOther} {
		for _, s := range t.slots {
			if s.h.Role == header.Speed && s.h.Unit.Of == header.None {
				if u, why := tell(s); u.Of != header.None {
					s.h.Unit, s.why = u, why
				}
			}
		}
	}
}

// byOther tells the unit of a speed by another speed of the table.
func (t *table) byOther(s *slot) (header.Unit, string) {
	for _, o := range t.slots {
		if o.h.Role == header.Speed && o.h.Unit.Of != header.None {
			if u := nearestUnit(ratioTo(s.v, o.v, o.h.Unit.SI), speedMatch); u.Of != header.None {
				return u, fmt.Sprintf("column %q", o.h.Raw)
			}
		}
	}
	return header.Unit{}, ""
}

// nearestUnit names the unit whose size is within tol of k; rarer units must fit
// better.
func nearestUnit(k, tol float64) header.Unit {
	for i, u := range header.SpeedUnits {
		if i >= header.CommonSpeedUnits {
			tol = rareMatch
		}
		if math.Abs(math.Log(k/u.SI)) < tol {
			return u
		}
	}
	return header.Unit{}
}

// ratioTo is the median of b·si over a where both move.
func ratioTo(a, b []float64, si float64) float64 {
	var r []float64
	top := fastest(b)
	for i := range min(len(a), len(b)) {
		if b[i] > top/movingPart && a[i] > 0 {
			r = append(r, b[i]*si/a[i])
		}
	}
	if len(r) < leastRatios {
		return math.NaN()
	}
	return clock.Median(r)
}

// fastest is the largest value but for the outermost few, where damage shows,
// on a sample of the column.
func fastest(v []float64) float64 {
	step := max(1, len(v)/sampleRows)
	s := make([]float64, 0, sampleRows+1)
	for i := 0; i < len(v); i += step {
		if v[i] == v[i] {
			s = append(s, math.Abs(v[i]))
		}
	}
	if len(s) == 0 {
		return 0
	}
	_, hi := clock.Bounds(s)
	return hi
}

// againstPosition finds the unit of a speed by comparing the way between
// positions, or the distance, with speed times time over stretches of a second
// or more; it is the zero Unit where that tells nothing.
func (t *table) againstPosition(s *slot) header.Unit {
	lat, lon, dist := t.slot(header.Lat), t.slot(header.Lon), t.slot(header.Distance)
	var way func(i, j int) float64 // m between rows
	switch {
	case lat != nil && lon != nil:
		way = func(i, j int) float64 {
			const rad = math.Pi / 180
			dx := (lon.v[j] - lon.v[i]) * math.Cos(lat.v[i]*rad)
			return math.Hypot(dx, lat.v[j]-lat.v[i]) * rad * unit.EarthMeanRadius
		}
	case dist != nil && dist.h.Unit.Of == header.Length:
		way = func(i, j int) float64 { return math.Abs(dist.v[j]-dist.v[i]) * dist.h.Unit.SI }
	default:
		return header.Unit{}
	}
	ratios := t.stretches(s, way)
	if len(ratios) < leastRatios {
		return header.Unit{}
	}
	mid := quantile(ratios, 1, 2)
	spread := (quantile(ratios, 3, 4) - quantile(ratios, 1, 4)) / mid
	if spread > mostSpread*math.Sqrt(float64(len(ratios))/spreadStretches) {
		return header.Unit{}
	}
	return nearestUnit(mid, positionMatch)
}

// quantile is the value below which num of den parts of v lie.
func quantile(v []float64, num, den int) float64 {
	return slices.Sorted(slices.Values(v))[len(v)*num/den]
}

// stretches gives the ratios of way to speed times time.
func (t *table) stretches(s *slot, way func(i, j int) float64) []float64 {
	var out []float64
	from, last, sum := -1, -1, 0.0 // row where the stretch begins, row before, way by the speed
	for j := range t.nano {
		if s.v[j] != s.v[j] {
			continue
		}
		d := math.NaN()
		if from >= 0 {
			d = way(from, j)
		}
		if d != d {
			if w := way(j, j); w == w {
				from, last, sum = j, j, 0
			}
			continue
		}
		gap := t.nano[j] - t.nano[last]
		sum += (s.v[j] + s.v[last]) / 2 * float64(gap) / 1e9
		last = j
		dt := t.nano[j] - t.nano[from]
		late := gap > mostGap || dt > longestStretch
		if !late && (dt < leastStretch || d < leastWay) {
			continue
		}
		if !late && sum > 0 {
			out = append(out, d/sum)
		}
		from, sum = j, 0
	}
	return out
}

// grids are the steps that whole units leave when they are converted and
// written with many decimals, and the unit that they are then in.
var grids = []struct {
	step float64
	u    int // index into header.SpeedUnits
}{
	{unit.KMH, 0}, {unit.MPH, 0}, {unit.Knot, 0},
	{unit.MPH / unit.KMH, 1}, {unit.Knot / unit.KMH, 1},
	{unit.KMH / unit.MPH, 2}, {unit.KMH / unit.Knot, 3},
}

// gridUnit recognises values that were whole in another unit: 9.72222222 is
// 35 km/h in m/s. It is the zero Unit where there is none.
func gridUnit(v []float64) header.Unit {
	for _, g := range grids {
		hits := map[float64]bool{}
		full, on := 0, 0
		for _, x := range v {
			if !(x > 0) || x == math.Trunc(x*100)/100 { // too few decimals to tell
				continue
			}
			full++
			if k := math.Round(x / g.step); k > 0 && math.Abs(x-k*g.step) < gridMatch*x {
				on++
				hits[k] = true
			}
		}
		if len(hits) >= leastSteps && float64(on) >= leastOnGrid*float64(full) {
			return header.SpeedUnits[g.u]
		}
	}
	return header.Unit{}
}

// speedStep is the finest step between the values as they were written, 0 where
// there is none to be seen.
func speedStep(v []float64) float64 {
	var xs []float64
	seen := map[float64]bool{}
	for _, x := range v {
		if x = math.Abs(x); x > 0 && !seen[x] {
			seen[x] = true
			if xs = append(xs, x); len(xs) == mostSteps {
				break
			}
		}
	}
	if len(xs) == 0 {
		return 0
	}
	slices.Sort(xs)
	res := printedResolution(xs)
	if len(xs) <= leastSteps {
		return res
	}
	for _, g := range grids { // whole units, converted and rounded
		if g.step > 3*res && onGrid(xs, g.step, max(rounding*res, gridMatch)) {
			return g.step
		}
	}
	gap := xs[0]
	for i := 1; i < len(xs); i++ {
		if d := xs[i] - xs[i-1]; d > finestGap {
			gap = min(gap, d)
		}
	}
	// Fractions of a power of two come from a bus, and print with many decimals.
	for k := 1.0; k <= busFractions; k++ {
		if g, ok := fitGrid(xs, gap/k, busRounding*res); ok && g >= finestBus && g > busCoarser*res {
			return g
		}
	}
	return res
}

// fitGrid refines a step on values in rising order until all are multiples of
// it, within tol or a hundredth of the step.
func fitGrid(xs []float64, g, tol float64) (float64, bool) {
	tol = max(tol, gridSlack*g)
	best := 0.0
	for _, x := range xs {
		k := math.Round(x / g)
		if k == 0 || math.Abs(x-k*g) > max(firstMatch*g, tol) {
			return 0, false
		}
		if k > best { // the larger the value, the better it shows the step
			g, best = x/k, k
		}
	}
	return g, onGrid(xs, g, tol)
}

// onGrid reports whether all values are multiples of step within tol.
func onGrid(xs []float64, step, tol float64) bool {
	return !slices.ContainsFunc(xs, func(x float64) bool { return math.Abs(x-math.Round(x/step)*step) > tol })
}

// printedResolution is the smallest power of ten that all values are multiples
// of, 0 where they have more than six decimals.
func printedResolution(xs []float64) float64 {
	for res := 1.0; res > finestDecimal; res /= 10 {
		if !slices.ContainsFunc(xs, func(x float64) bool { return math.Abs(x/res-math.Round(x/res)) > decimalSlack }) {
			return res
		}
	}
	return 0
}

// slot is the column of a role, nil for none.
func (t *table) slot(r header.Role) *slot {
	if i := slices.IndexFunc(t.slots, func(s *slot) bool { return s.h.Role == r }); i >= 0 {
		return t.slots[i]
	}
	return nil
}
