package align

import "math"

// reverse regresses the sensor's acceleration in each direction on the slope of
// the speed: what it reads for one m/s², with its standard uncertainty, and what
// it reads for none, over a part of the log from one share of it to another. It
// is the better way round where a direction reads little.
func (m *match) reverse(dirs [][]float64, from, to float64) (gain, u, none []float64) {
	var y []float64
	var at []int
	sum := 0.0
	all := float64(len(m.sensor.ok))
	for k := int(from * all); k < int(to*all); k++ {
		if j := k + m.lag; m.sensor.ok[k] == 1 && j >= 0 && j < len(m.speed.ok) && m.speed.ok[j] == 1 {
			y, at = append(y, m.speed.v[0][j]), append(at, k)
			sum += m.speed.v[0][j]
		}
	}
	n := math.Max(float64(len(y)), 1)
	mean, yy := sum/n, 0.0
	for i := range y {
		y[i] -= mean
		yy += y[i] * y[i]
	}
	lags := min(int(reverseMemory/m.step), len(y)/lagShare)
	for _, d := range dirs {
		s := make([]float64, len(y))
		sm, sy := 0.0, 0.0
		for i, k := range at {
			for j, v := range m.sensor.v {
				s[i] += d[j] * v[k]
			}
			sm += s[i] / n
		}
		for i := range s {
			sy += (s[i] - sm) * y[i]
		}
		b := sy / yy
		for i := range s {
			s[i] = (s[i] - sm - b*y[i]) * y[i]
		}
		v := longRun(s, s, lags)
		gain, u, none = append(gain, b), append(u, math.Sqrt(max(v, 0))/yy), append(none, sm-b*mean)
	}
	return gain, u, none
}

// motion is the standard deviation of the speed's slope in m/s².
func (m *match) motion() float64 {
	n, sum, ss := 0.0, 0.0, 0.0
	for i, ok := range m.speed.ok {
		v := m.speed.v[0][i]
		n, sum, ss = n+ok, sum+ok*v, ss+ok*v*v
	}
	if n == 0 {
		return 0
	}
	return math.Sqrt(max(ss/n-sum*sum/n/n, 0))
}

// turned is the angle by which forward turns between parts of the log, 0 where it
// stays; basis is forward and the directions across it.
func (m *match) turned(basis [][]float64) float64 {
	var tan, u []float64
	for k := range turnParts {
		g, v, _ := m.reverse(basis, float64(k)/turnParts, float64(k+1)/turnParts)
		if len(g) < 2 || !(g[0] > surely*v[0]) {
			continue
		}
		t, w := g[1]/g[0], v[1]/g[0]
		for i := range tan {
			d := math.Abs(math.Atan(t) - math.Atan(tan[i]))
			if d > leastTurn && d > surely*math.Hypot(w, u[i]) {
				return d
			}
		}
		tan, u = append(tan, t), append(u, w)
	}
	return 0
}
