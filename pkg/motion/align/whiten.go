package align

import "math"

// wander is the model of what is left of the speed when the integral is taken
// off: the sensor's noise adds up, and its bias, with the slope of the ground
// in it, wanders.
type wander struct {
	noise float64 // m²/s³, of the sensor in terms of the vehicle's acceleration
	bias  float64 // m²/s⁵
}

// whitened is what the filter makes of columns: one row a fix that counts.
type whitened struct {
	col   [][]float64 // innovations over their standard deviation
	logS  []float64   // logarithm of the innovation's variance
	fix   []int       // which fix
	bias  []float64   // m/s², of the column named, after each row
	biasV []float64   // m²/s⁴
}

// newWhitened makes room for rows of k columns.
func newWhitened(k, rows int) *whitened {
	out := &whitened{col: make([][]float64, k), fix: make([]int, 0, rows)}
	buf := make([]float64, rows*(k+1))
	for j := range out.col {
		out.col[j] = buf[j*rows : j*rows : (j+1)*rows]
	}
	out.logS = buf[k*rows : k*rows : (k+1)*rows]
	return out
}

// whiten runs the filter of the wander over columns: linear in each, with the
// same gains. The state is what adds up and the bias. The bias of column track
// is kept; -1 for none.
func (f *fixes) whiten(m wander, cols [][]float64, track int) *whitened {
	n := len(f.t)
	out := newWhitened(len(cols), n)
	e, b := make([]float64, len(cols)), make([]float64, len(cols))
	p := [3]float64{unknown, 0, firstBias * firstBias} // ee, eb, bb
	last, lost := math.NaN(), true
	for i := range n {
		lost = lost || f.reset[i]
		if f.skip[i] {
			continue
		}
		d := f.t[i] - last
		if last != last {
			d = 0
		}
		last = f.t[i]
		p[0] += d*(2*p[1]+d*p[2]) + m.noise*d + m.bias*d*d*d/3
		p[1] += d*p[2] + m.bias*d*d/2
		p[2] += m.bias * d
		if lost {
			p[0], p[1] = unknown, 0
		}
		s := p[0] + f.r[i]
		k0, k1 := p[0]/s, p[1]/s
		sd := math.Sqrt(s)
		for j, c := range cols {
			e[j] += d * b[j]
			in := c[i] - e[j]
			if !lost {
				out.col[j] = append(out.col[j], in/sd)
			}
			e[j] += k0 * in
			b[j] += k1 * in
		}
		p[0], p[1], p[2] = p[0]-k0*p[0], p[1]-k0*p[1], p[2]-k1*p[1]
		if !lost {
			out.logS, out.fix = append(out.logS, math.Log(s)), append(out.fix, i)
			if track >= 0 {
				out.bias, out.biasV = append(out.bias, b[track]), append(out.biasV, p[2])
			}
		}
		lost = false
	}
	return out
}
