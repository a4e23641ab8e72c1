package estimate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"fromrest/pkg/recording"
)

// growth is how the variance of the sample noise grows under way: with the squares of speed
// and of acceleration.
type growth struct {
	speed float64 // 1
	accel float64 // s²
}

// at is the variance in m²/s² beside that at rest, at a speed and an acceleration.
func (g growth) at(v, a float64) float64 { return g.speed*v*v + g.accel*a*a }

// class is a class of speed and acceleration.
type class struct{ v, a int }

// tally is what the third differences in a class are.
type tally struct {
	third  []float64 // m/s
	v2, a2 float64   // sums of squares
}

// learnGrowth tells how a receiver's noise grows with speed and with acceleration from the
// third differences of moving samples, which steady and steadily changing acceleration leave
// untouched: classes of both, whose medians stand for them, are fitted by weighted least
// squares above the noise at rest. What is not clearly told is none.
func (s *Samples) learnGrowth() {
	if s.Source != recording.GNSS || s.Step > smoothStep || s.From != "standstill" {
		return
	}
	classes := map[class]*tally{}
	var order []class
	for i := range s.T {
		d, ok := s.third(i)
		if !ok || slices.Contains(s.Out[i-3:i+1], true) {
			continue
		}
		v, a := s.Speed[i-1], s.slope(i-1)
		c := class{int(v / speedClass), int(math.Abs(a) / accelClass)}
		t := classes[c]
		if t == nil {
			t = &tally{}
			classes[c], order = t, append(order, c)
		}
		t.third = append(t.third, d)
		t.v2, t.a2 = t.v2+v*v, t.a2+a*a
	}
	var w [2][2]float64
	var y [2]float64
	for _, c := range order {
		t := classes[c]
		n := float64(len(t.third))
		if n < leastClass {
			continue
		}
		sd := ofThirds(t.third)
		weight := n / max(classVariance*sd*sd*sd*sd, tiny)
		x := [2]float64{t.v2 / n, t.a2 / n}
		for i := range x {
			for j := range x {
				w[i][j] += weight * x[i] * x[j]
			}
			y[i] += weight * x[i] * (sd*sd - s.SD*s.SD)
		}
	}
	s.growth = grows(w, y)
}

// grows solves the normal equations w g = y of both growths; one that is not clearly above 0
// is 0, the less clear one first.
func grows(w [2][2]float64, y [2]float64) growth {
	var c mat.Cholesky
	var x mat.VecDense
	var v mat.SymDense
	if c.Factorize(mat.NewSymDense(2, []float64{w[0][0], w[0][1], w[1][0], w[1][1]})) && c.SolveVecTo(&x, mat.NewVecDense(2, y[:])) == nil && c.InverseTo(&v) == nil {
		g := growth{x.AtVec(0), x.AtVec(1)}
		if g.speed > growthClear*math.Sqrt(v.At(0, 0)) && g.accel > growthClear*math.Sqrt(v.At(1, 1)) {
			return g
		}
	}
	z := func(i int) float64 { return y[i] / math.Sqrt(max(w[i][i], tiny)) }
	switch {
	case z(0) >= z(1) && z(0) > growthClear:
		return growth{speed: y[0] / w[0][0]}
	case z(1) > growthClear:
		return growth{accel: y[1] / w[1][1]}
	}
	return growth{}
}
