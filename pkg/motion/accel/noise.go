package accel

import (
	"iter"
	"math"
	"slices"

	"fromrest/pkg/motion"
	"fromrest/pkg/stats"
)

// Noise is a sensor's noise along one direction.
type Noise struct {
	Variance float64 // m²/s⁴ of a sample
	Rho      float64 // correlation of neighbours, what swings the body in it
	quick    float64 // of neighbours as they are
}

// Long is the variance in m²/s⁴ that a sample counts with in a mean over many.
func (n Noise) Long() float64 {
	r := min(max(n.Rho, leastRho), motion.MostRho)
	return n.Variance * (1 + r) / (1 - r)
}

// Shaking is Long without what swings the body.
func (n Noise) Shaking() float64 { return Noise{Variance: n.Variance, Rho: n.quick}.Long() }

// Noise is the noise along dir in the spans of the sensor's time.
func (s *Sensor) Noise(dir [3]float64, spans [][2]float64) Noise {
	p := newParabola(max(int(blockTime*s.Rate), leastBlock))
	v := make([]float64, p.n)
	var squares, nexts []float64
	for i := range s.pieces(spans, p.n) {
		for j := range v {
			v[j] = 0
			for l, x := range s.Axes {
				v[j] += dir[l] * x[i+j]
			}
		}
		square, next := p.residuals(v)
		squares, nexts = append(squares, square), append(nexts, next)
	}
	out := p.pool(squares, nexts)
	out.quick = out.Rho
	s.swing(&out, dir, spans)
	return out
}

// pieces cuts the spans of the sensor's time into pieces of n whole samples, each
// given by its first; next tells whether the piece before ends where it begins.
func (s *Sensor) pieces(spans [][2]float64, n int) iter.Seq2[int, bool] {
	return func(yield func(first int, next bool) bool) {
		i, k := 0, 0
		for _, span := range spans {
			for i < len(s.T) && s.T[i] < span[0] {
				i++
			}
			next := false
			for ; i+n <= len(s.T) && s.T[i+n-1] <= span[1]; i += n {
				if s.Hit(s.T[i], s.T[i+n-1], &k) {
					next = false
					continue
				}
				if !yield(i, next) {
					return
				}
				next = true
			}
		}
	}
}

// swing raises the correlation to what makes means over swingTime scatter as they
// do; third differences take the motion out, and their median the knocks.
func (s *Sensor) swing(n *Noise, dir [3]float64, spans [][2]float64) {
	m := max(int(swingTime*s.Rate+0.5), 2)
	var all []float64
	var d [4]float64
	have := 0
	for i, next := range s.pieces(spans, m) {
		if !next {
			have = 0
		}
		mean := 0.0
		for l, x := range s.Axes {
			for _, v := range x[i : i+m] {
				mean += dir[l] * v / float64(m)
			}
		}
		d = [4]float64{d[1], d[2], d[3], mean}
		if have++; have >= len(d) {
			all = append(all, math.Abs(d[3]-3*d[2]+3*d[1]-d[0]))
		}
	}
	if len(all) < leastSwings || !(n.Variance > 0) {
		return
	}
	sd := stats.Middle(all) / motion.MedianSize / math.Sqrt(thirdDifferences)
	c := sd * sd * float64(m) / n.Variance
	// Chance and the vehicle's own motion add a little.
	if c > swings*n.Long()/n.Variance {
		n.Rho = min((c-1)/(c+1), motion.MostRho)
	}
}

// parabola is the least-squares fit of a parabola to n evenly spaced points.
type parabola struct {
	n     int
	basis [3][]float64 // orthonormal
	white float64      // lag-one sum of the residuals of white noise, per variance
}

func newParabola(n int) *parabola {
	p := &parabola{n: n}
	for d := range p.basis {
		v := make([]float64, n)
		for i := range v {
			v[i] = math.Pow(float64(i)-float64(n-1)/2, float64(d))
		}
		project(v, p.basis[:d])
		length := math.Sqrt(product(v, v))
		for i := range v {
			v[i] /= length
		}
		p.basis[d] = v
	}
	for i := range n - 1 {
		for _, b := range p.basis {
			p.white -= b[i] * b[i+1]
		}
	}
	return p
}

// project takes off v its parts along the vectors of an orthonormal basis, one
// after the other.
func project(v []float64, basis [][]float64) {
	for _, b := range basis {
		s := product(v, b)
		for i := range v {
			v[i] -= s * b[i]
		}
	}
}

// product is the sum of a[i] b[i].
func product(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

// residuals takes the parabola off v and returns the sums of squares and of
// products of neighbours.
func (p *parabola) residuals(v []float64) (square, next float64) {
	project(v, p.basis[:])
	return product(v, v), product(v[1:], v)
}

// pool joins the blocks, without the hundredth that shook most: kerbs and gear
// changes are no noise.
func (p *parabola) pool(squares, nexts []float64) Noise {
	if len(squares) == 0 {
		return Noise{Variance: math.NaN()}
	}
	most := slices.Sorted(slices.Values(squares))[len(squares)*calmer/100]
	sum, next, blocks := 0.0, 0.0, 0.0
	for i, s := range squares {
		if s <= most {
			sum, next, blocks = sum+s, next+nexts[i], blocks+1
		}
	}
	df := float64(p.n - len(p.basis))
	out := Noise{Variance: sum / blocks / df}
	if sum > 0 {
		// What white noise would show is taken off.
		out.Rho = min(max((next/sum-p.white/df)/(1-p.white/df), -motion.MostRho), motion.MostRho)
	}
	return out
}
