package estimate

import "math"

// Irregular instants have two causes: samples taken at irregular times and
// stamped honestly, and samples taken regularly and stamped with an error, as a
// computer does on arrival. The speeds tell which: along a pull the honest clock
// gives the smoother curve.

// settleClock decides between the two and mends the instants, or, where the
// speeds do not tell, leaves an uncertainty on every instant.
func (s *Samples) settleClock() {
	if s.Jitter < leastJitter || s.Jitter > mostJitter*s.Step || s.HeldFor > 0 || s.Coarse {
		return
	}
	reg := s.regular()
	given, even, n := 0.0, 0.0, 0
	for i := 0; i+clockWindow <= len(s.T); i += clockWindow / 2 {
		j := i + clockWindow
		if s.T[j-1]-s.T[i] > clockHole*float64(clockWindow-1)*s.Step || math.Abs(s.Speed[j-1]-s.Speed[i]) < clockSlope*(s.T[j-1]-s.T[i]) {
			continue
		}
		a, b := quadraticResidual(s.T[i:j], s.Speed[i:j]), quadraticResidual(reg[i:j], s.Speed[i:j])
		if a > clockOutlier*b+1 || b > clockOutlier*a+1 {
			continue // an outlier in one of them
		}
		given, even, n = given+a, even+b, n+1
	}
	switch {
	case n < clockMinimum:
		s.clockU = s.Jitter / 2
	case even < clearlyLess*given:
		copy(s.T, reg)
	case given > clearlyLess*even:
		s.clockU = s.Jitter / 2
	}
}

// regular returns the instants that samples taken at an even cadence would have:
// a straight line through the stamps about each one.
func (s *Samples) regular() []float64 {
	out := make([]float64, len(s.T))
	usual := func(dt float64) bool { return dt < longInterval*s.Step && dt > shortInterval*s.Step }
	for i := range s.T {
		a, b := i, i
		for a > 0 && i-a < clockSide && usual(s.T[a]-s.T[a-1]) {
			a--
		}
		for b+1 < len(s.T) && b-i < clockSide && usual(s.T[b+1]-s.T[b]) {
			b++
		}
		n := float64(b - a + 1)
		mid := float64(a+b) / 2
		var st, sk, kk float64
		for k := a; k <= b; k++ {
			d := float64(k) - mid
			st += s.T[k]
			sk += d * s.T[k]
			kk += d * d
		}
		out[i] = st / n
		if kk > 0 {
			out[i] += sk / kk * (float64(i) - mid)
		}
		if i > 0 && out[i] <= out[i-1] {
			out[i] = math.Nextafter(out[i-1], math.Inf(1))
		}
	}
	return out
}

// quadraticResidual is the sum of squares left by a parabola through y over t.
func quadraticResidual(t, y []float64) float64 {
	n := float64(len(t))
	mean := 0.0
	for _, x := range t {
		mean += x / n
	}
	// Orthogonal polynomials of degree 0, 1 and 2 over the instants.
	var s2, s3, s4, y0, y1 float64
	for i, x := range t {
		d := x - mean
		s2 += d * d
		s3 += d * d * d
		y0 += y[i] / n
		y1 += d * y[i]
	}
	p2 := func(d float64) float64 { return d*d - s3/s2*d - s2/n }
	y2 := 0.0
	for i, x := range t {
		p := p2(x - mean)
		s4 += p * p
		y2 += p * y[i]
	}
	sum := 0.0
	for i, x := range t {
		d := x - mean
		r := y[i] - y0 - y1/s2*d
		if s4 > 0 {
			r -= y2 / s4 * p2(d)
		}
		sum += r * r
	}
	return sum
}
