package align

import (
	"math"
	"slices"

	"fromrest/pkg/recording"
)

// blockTime is the length of the pieces that a parabola is taken off to see a
// sample's noise, in s.
const blockTime = 0.3

// noise is a sensor's noise along one direction.
type noise struct {
	variance float64 // m²/s⁴ of a sample
	rho      float64 // of neighbours, what swings the body in it
	quick    float64 // of neighbours as they are
}

// long is the variance that a sample counts with in a mean over many.
func (n noise) long() float64 {
	r := min(max(n.rho, -0.8), 0.95)
	return n.variance * (1 + r) / (1 - r)
}

// shaking is long without what swings the body.
func (n noise) shaking() float64 { return noise{variance: n.variance, rho: n.quick}.long() }

// parabola is the least-squares fit of a parabola to evenly spaced points.
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
		for _, b := range p.basis[:d] {
			s := 0.0
			for i := range v {
				s += v[i] * b[i]
			}
			for i := range v {
				v[i] -= s * b[i]
			}
		}
		s := 0.0
		for i := range v {
			s += v[i] * v[i]
		}
		for i := range v {
			v[i] /= math.Sqrt(s)
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

// residuals takes the parabola off v and returns the sums of squares and of
// products of neighbours.
func (p *parabola) residuals(v []float64) (square, next float64) {
	for _, b := range p.basis {
		s := 0.0
		for i := range v {
			s += v[i] * b[i]
		}
		for i := range v {
			v[i] -= s * b[i]
		}
	}
	for i, x := range v {
		square += x * x
		if i > 0 {
			next += x * v[i-1]
		}
	}
	return square, next
}

// noiseOf is the noise along dir in the spans of the sensor's time.
func noiseOf(a *recording.Accel, in *integral, dir [3]float64, rate float64, spans [][2]float64) noise {
	n := max(int(blockTime*rate), 6)
	p := newParabola(n)
	v := make([]float64, n)
	axes := axesOf(a)
	var squares, nexts []float64
	i, k := 0, 0
	for _, s := range spans {
		for i < len(in.t) && in.t[i] < s[0] {
			i++
		}
		for ; i+n <= len(in.t) && in.t[i+n-1] <= s[1]; i += n {
			if in.hit(in.t[i], in.t[i+n-1], &k) {
				continue
			}
			for j := range v {
				v[j] = 0
				for l, x := range axes {
					v[j] += dir[l] * x[i+j]
				}
			}
			sq, nx := p.residuals(v)
			squares, nexts = append(squares, sq), append(nexts, nx)
		}
	}
	out := p.pool(squares, nexts)
	out.quick = out.rho
	out.swing(a, in, dir, rate, spans)
	return out
}

// swingTime is the time over which means are held against what samples promise of
// them, in s: a body that nods on its springs, a few times a second, moves them
// more than what shakes sample by sample does.
const swingTime = 0.125

// swings is how many times the variance promised makes it the body's swinging.
const swings = 1.4

// swing raises the correlation to what makes means over swingTime scatter as they
// do; third differences take the motion out, and their median the knocks.
func (n *noise) swing(a *recording.Accel, in *integral, dir [3]float64, rate float64, spans [][2]float64) {
	m := max(int(swingTime*rate+0.5), 2)
	axes := axesOf(a)
	var all []float64
	i, k := 0, 0
	for _, s := range spans {
		for i < len(in.t) && in.t[i] < s[0] {
			i++
		}
		var d [4]float64
		have := 0
		for ; i+m <= len(in.t) && in.t[i+m-1] <= s[1]; i += m {
			if in.hit(in.t[i], in.t[i+m-1], &k) {
				have = 0
				continue
			}
			mean := 0.0
			for l, x := range axes {
				for _, v := range x[i : i+m] {
					mean += dir[l] * v / float64(m)
				}
			}
			d = [4]float64{d[1], d[2], d[3], mean}
			if have++; have >= 4 {
				all = append(all, math.Abs(d[3]-3*d[2]+3*d[1]-d[0]))
			}
		}
	}
	if len(all) < 50 || !(n.variance > 0) {
		return
	}
	sd := middle(all) / 0.6745 / math.Sqrt(20) // 1 + 9 + 9 + 1
	c := sd * sd * float64(m) / n.variance
	// Chance and the vehicle's own motion add a little.
	if c > swings*n.long()/n.variance {
		n.rho = min((c-1)/(c+1), 0.95)
	}
}

// pool joins the blocks, without the hundredth that shook most: kerbs and gear
// changes are no noise.
func (p *parabola) pool(squares, nexts []float64) noise {
	if len(squares) == 0 {
		return noise{variance: math.NaN()}
	}
	sorted := slices.Clone(squares)
	slices.Sort(sorted)
	most := sorted[(len(sorted)*99)/100]
	sum, next, blocks := 0.0, 0.0, 0.0
	for i, s := range squares {
		if s <= most {
			sum, next, blocks = sum+s, next+nexts[i], blocks+1
		}
	}
	df := float64(p.n - 3)
	out := noise{variance: sum / blocks / df}
	if sum > 0 {
		// What white noise would show is taken off.
		out.rho = min(max((next/sum-p.white/df)/(1-p.white/df), -0.95), 0.95)
	}
	return out
}

// middle is the median of v, which it puts in order; 0 for none.
func middle(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return v[len(v)/2]
}
