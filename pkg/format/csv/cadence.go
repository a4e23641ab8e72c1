package csv

import (
	"math"
	"slices"
)

// refresh finds out whether a sensor's columns are written more often than the
// sensor delivers, the last values being repeated; rows lists the sensor's rows,
// nil for all. It returns the rows to keep, nil for all: the first row of each
// change, or, where values are alike for longer because the vehicle stands, one
// row each sensor period. at gives, for each kept row, the row whose values
// belong to it, since columns of one delivery can be written a row apart.
//
// Identical values are genuine at standstill and at low speed with coarse
// columns, so the period is taken from the faster half of the log alone: speed
// gives what orders the rows, nil to use all of them.
func refresh(nano []int64, rows []int32, cols [][]float64, speed []float64) (keep, at []int32, period float64) {
	n := len(rows)
	if rows == nil {
		n = len(nano)
	}
	if n < 30 {
		return nil, nil, 0
	}
	row := func(i int) int32 {
		if rows == nil {
			return int32(i)
		}
		return rows[i]
	}
	changed := func(i int) bool {
		a, b := row(i-1), row(i)
		for _, c := range cols {
			if c[a] != c[b] && (c[a] == c[a] || c[b] == c[b]) {
				return true
			}
		}
		return false
	}
	fast := math.Inf(-1)
	if speed != nil {
		fast = fastest(speed) / 2
		if fast == 0 {
			return nil, nil, 0
		}
	}
	times := repeats(nano, n, row, changed, speed, fast)
	if times == nil {
		return nil, nil, 0
	}
	period = clusterPeriod(times)
	return keepChanges(nano, n, row, changed, period, speed, fast)
}

// repeats returns the times between changes, nil where rows are seldom repeated.
func repeats(nano []int64, n int, row func(int) int32, changed func(int) bool, speed []float64, fast float64) (times []float64) {
	var runs []float64
	long := 0
	start := 0
	const enough = 20000 // runs say how the log is written
	for i := 1; i < n && len(runs) < enough; i++ {
		if !changed(i) {
			continue
		}
		if start > 0 && (speed == nil || math.Abs(speed[row(i)]) >= fast) {
			runs = append(runs, float64(i-start))
			times = append(times, float64(nano[row(i)]-nano[row(start)]))
			if i-start > 1 {
				long++
			}
		}
		start = i
	}
	if len(runs) < 10 || long*10 < len(runs)*4 || mean(runs) < 1.6 {
		return nil
	}
	return times
}

// clusterPeriod is the usual time between deliveries, where a delivery may show
// as two changes close together.
func clusterPeriod(times []float64) float64 {
	s := slices.Clone(times)
	slices.Sort(s)
	top := s[len(s)*3/4]
	var joined []float64
	sum := 0.0
	for _, t := range times {
		sum += t
		if sum >= top*0.7 {
			joined = append(joined, sum)
			sum = 0
		}
	}
	return median(joined)
}

func keepChanges(nano []int64, n int, row func(int) int32, changed func(int) bool, period float64, speed []float64, fast float64) (keep, at []int32, p float64) {
	last := math.Inf(-1) // ns of the delivery kept last
	for i := range n {
		t := float64(nano[row(i)] - nano[row(0)])
		switch {
		case i > 0 && changed(i):
			if t-last < 0.5*period && len(at) > 0 {
				at[len(at)-1] = row(i) // the rest of the same delivery
				continue
			}
		case i > 0 && t-last < 0.98*period:
			continue
		case i > 0 && speed != nil && math.Abs(speed[row(i)]) > fast/10:
			continue // held while moving: nothing new is known
		}
		keep = append(keep, row(i))
		at = append(at, row(i))
		last = t
	}
	if len(keep)*10 > n*8 { // not worth a change
		return nil, nil, 0
	}
	return keep, at, period
}

func mean(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}

// speedStep is the finest step between the values as they were written, 0 where
// there is none to be seen.
func speedStep(v []float64) float64 {
	seen := make(map[float64]bool)
	for _, x := range v {
		if x == x && x != 0 {
			seen[math.Abs(x)] = true
			if len(seen) == 4096 {
				break
			}
		}
	}
	if len(seen) == 0 {
		return 0
	}
	xs := make([]float64, 0, len(seen))
	for x := range seen {
		xs = append(xs, x)
	}
	slices.Sort(xs)
	res := printedResolution(xs)
	if len(xs) < 6 {
		return res
	}
	for _, g := range grids { // whole units, converted and rounded
		if g.step > 3*res && onGrid(xs, g.step, max(0.51*res, 2e-6)) {
			return g.step
		}
	}
	gap := xs[0]
	for i := 1; i < len(xs); i++ {
		if d := xs[i] - xs[i-1]; d > 1e-6 {
			gap = min(gap, d)
		}
	}
	// Fractions of a power of two come from a bus, and print with many decimals.
	for k := 1.0; k <= 8; k++ {
		if g, ok := fitGrid(xs, gap/k, 0.6*res); ok && g >= 1e-4 && g > res*1.5 {
			return g
		}
	}
	return res
}

// fitGrid refines a step on values in rising order until all are multiples of
// it, within tol or a hundredth of the step.
func fitGrid(xs []float64, g, tol float64) (float64, bool) {
	tol = max(tol, 0.01*g)
	best := 0.0
	for _, x := range xs {
		k := math.Round(x / g)
		if k == 0 || math.Abs(x-k*g) > max(0.2*g, tol) {
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
	for _, x := range xs {
		if math.Abs(x-math.Round(x/step)*step) > tol {
			return false
		}
	}
	return true
}

// printedResolution is the smallest power of ten that all values are multiples
// of, 0 where they have more than six decimals.
func printedResolution(xs []float64) float64 {
	res := 1.0
	for range 7 {
		ok := true
		for _, x := range xs {
			q := x / res
			if math.Abs(q-math.Round(q)) > 1e-4 {
				ok = false
				break
			}
		}
		if ok {
			return res
		}
		res /= 10
	}
	return 0
}
