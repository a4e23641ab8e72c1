package align

import (
	"context"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/accel"
)

// grid is a column on an even grid with holes.
type grid struct {
	from float64 // s of the first point
	v    [][]float64
	ok   []float64 // 1 or 0
}

// match is where the first search found the sensor to fit the speed.
type match struct {
	offset   float64 // s of Speed's clock at the sensor's first sample
	dir      [3]float64
	r        float64 // correlation
	rivalled bool    // another offset is about as likely
	none     bool    // no overlap

	speed, sensor grid
	lag           int // points by which the sensor's first point comes after the speed's
	step          float64
}

// speedGrid is the slope of the speed on a grid.
func speedGrid(sp Speed, step, span float64) grid {
	g := grid{from: sp.T[0]}
	n := int((sp.T[len(sp.T)-1]-g.from)/step) + 1
	half := int(math.Round(span / 2 / step))
	v := make([]float64, n)
	i := 0
	hole := max(motion.GapIntervals*interval(sp.T), span)
	for k := range v {
		t := g.from + float64(k)*step
		for i < len(sp.T)-2 && sp.T[i+1] < t {
			i++
		}
		h := sp.T[i+1] - sp.T[i]
		v[k] = math.NaN()
		if h <= hole {
			v[k] = sp.V[i] + (sp.V[i+1]-sp.V[i])*(t-sp.T[i])/h
		}
	}
	return g.slopes([][]float64{v}, half, step, mostSlope)
}

// sensorGrid is the mean acceleration of each axis on a grid.
func sensorGrid(s *accel.Sensor, step, span float64) grid {
	n := int(s.End()/step) + 1
	half := int(math.Round(span / 2 / step))
	w := make([][]float64, len(s.W))
	for j := range w {
		w[j] = make([]float64, n)
	}
	r, k := s.Reader(), 0
	for i := range n {
		x := float64(i) * step
		at, f := r.Seek(x)
		hit := s.Hit(x-step, x, &k)
		for j, c := range s.W {
			w[j][i] = c[at] + f*(c[at+1]-c[at])
			if hit {
				w[j][i] = math.NaN()
			}
		}
	}
	return grid{}.slopes(w, half, step, accel.Wild/2)
}

// slopes fills the grid with differences over 2 half points, per second, where
// no hole lies between and they are below most.
func (g grid) slopes(w [][]float64, half int, step, most float64) grid {
	n := len(w[0])
	g.ok = make([]float64, n)
	holes := 0 // in the span about i
	for i := range n {
		if w[0][i] != w[0][i] {
			holes++
		}
		if j := i - 2*half - 1; j >= 0 && w[0][j] != w[0][j] {
			holes--
		}
		if c := i - half; c >= half && holes == 0 {
			g.ok[c] = 1
		}
	}
	for _, c := range w {
		v := make([]float64, n)
		for i := range v {
			if g.ok[i] == 0 {
				continue
			}
			v[i] = (c[i+half] - c[i-half]) / (2 * float64(half) * step)
			if !(math.Abs(v[i]) < most) {
				g.ok[i] = 0
			}
		}
		g.v = append(g.v, v)
	}
	for _, v := range g.v {
		for i, ok := range g.ok {
			if ok == 0 {
				v[i] = 0
			}
		}
	}
	return g
}

// search finds the offset at which the slopes of the speed agree best with the
// axes, for offsets of the sensor's first sample between lo and hi on Speed's
// clock.
func search(ctx context.Context, s *accel.Sensor, sp Speed, lo, hi float64) (match, error) {
	step := coarseStep
	for (s.End()+sp.T[len(sp.T)-1]-sp.T[0])/step > coarseMost {
		step *= 2
	}
	span := max(slopeSpan, 2*interval(sp.T), slopeSteps*step)
	y, x := speedGrid(sp, step, span), sensorGrid(s, step, span)
	sums, err := correlate(ctx, y, x)
	if err != nil {
		return match{}, err
	}
	least := leastShare * float64(min(len(y.ok), len(x.ok)))
	first := max(int(math.Ceil((lo-y.from)/step)), 1-len(x.ok))
	last := min(int(math.Floor((hi-y.from)/step)), len(y.ok)-1)
	best := match{none: true, speed: y, sensor: x, step: step}
	score := make([]float64, max(last-first+1, 0))
	top := -1
	for i := range score {
		m := first + i
		r2, dir, n := sums.at(m)
		if n < least {
			continue
		}
		score[i] = -0.5 * n * step / span * math.Log(1-min(r2, mostR2))
		if top < 0 || score[i] > score[top] {
			top = i
			best.none, best.lag, best.offset, best.dir, best.r = false, m, y.from+float64(m)*step, dir, math.Sqrt(r2)
		}
	}
	if top < 0 {
		return best, nil
	}
	if top > 0 && top < len(score)-1 {
		a, b, c := score[top-1], score[top], score[top+1]
		if d := a - 2*b + c; d < 0 {
			best.offset += step * min(max(0.5*(a-c)/d, -0.5), 0.5)
		}
	}
	for i, s := range score {
		if math.Abs(float64(i-top))*step > rivalSpans*span && s > score[top]-rival {
			best.rivalled = true
		}
	}
	return best, nil
}

// lagSums are the sums of products of a speed's slopes and a sensor's axes at
// every lag between their grids.
type lagSums struct {
	axes     int
	n, y, yy []float64
	x, xy    [][]float64
	xx       [][]float64 // pairs in the order 00, 01, 02, 11, 12, 22
	size     int
}

// correlate makes the sums by Fourier transform.
func correlate(ctx context.Context, y, x grid) (*lagSums, error) {
	size := 1
	for size < len(y.ok)+len(x.ok) {
		size *= 2
	}
	fft := fourier.NewFFT(size)
	buf := make([]float64, size)
	forward := func(v []float64, u []float64) []complex128 {
		clear(buf)
		copy(buf, v)
		for i := range u {
			buf[i] *= u[i]
		}
		return fft.Coefficients(nil, buf)
	}
	prod := make([]complex128, size/2+1)
	inverse := func(a, b []complex128) []float64 {
		for i := range prod {
			p := a[i] * complex(real(b[i]), -imag(b[i]))
			prod[i] = p / complex(float64(size), 0)
		}
		return fft.Sequence(nil, prod)
	}
	s := &lagSums{axes: len(x.v), size: size}
	fm, fy, fyy := forward(y.ok, nil), forward(y.v[0], y.ok), forward(y.v[0], y.v[0])
	xm := forward(x.ok, nil)
	s.n, s.y, s.yy = inverse(fm, xm), inverse(fy, xm), inverse(fyy, xm)
	for i, v := range x.v {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		f := forward(v, x.ok)
		s.x, s.xy = append(s.x, inverse(fm, f)), append(s.xy, inverse(fy, f))
		for _, w := range x.v[i:] {
			s.xx = append(s.xx, inverse(fm, forward(v, w)))
		}
	}
	return s, nil
}

// at solves the regression of the slopes on the axes and a constant with the
// sensor's first point at the speed's point m: the share explained, the
// coefficients and the number of points.
func (s *lagSums) at(m int) (r2 float64, dir [3]float64, n float64) {
	if m < 0 {
		m += s.size
	}
	n = math.Round(s.n[m])
	if n < leastPoints {
		return 0, dir, 0
	}
	syy := s.yy[m] - s.y[m]*s.y[m]/n
	var a [3][3]float64
	var b [3]float64
	k := 0
	for i := range s.axes {
		b[i] = s.xy[i][m] - s.x[i][m]*s.y[m]/n
		for j := i; j < s.axes; j++ {
			a[i][j] = s.xx[k][m] - s.x[i][m]*s.x[j][m]/n
			a[j][i] = a[i][j]
			k++
		}
	}
	for i := range a {
		a[i][i] += n * floorNoise * floorNoise
	}
	dir = solve3(a, b)
	if syy <= n*leastVariance {
		return 0, dir, n
	}
	return min(max(accel.Dot(dir, b)/syy, 0), 1), dir, n
}

// solve3 solves a symmetric, positive definite system by Cholesky.
func solve3(a [3][3]float64, b [3]float64) (x [3]float64) {
	for j := range 3 {
		for k := range j {
			a[j][j] -= a[j][k] * a[j][k]
		}
		a[j][j] = math.Sqrt(max(a[j][j], nothing))
		for i := j + 1; i < 3; i++ {
			for k := range j {
				a[i][j] -= a[i][k] * a[j][k]
			}
			a[i][j] /= a[j][j]
		}
	}
	for i := range 3 {
		x[i] = b[i]
		for k := range i {
			x[i] -= a[i][k] * x[k]
		}
		x[i] /= a[i][i]
	}
	for i := 2; i >= 0; i-- {
		for k := i + 1; k < 3; k++ {
			x[i] -= a[k][i] * x[k]
		}
		x[i] /= a[i][i]
	}
	return x
}
