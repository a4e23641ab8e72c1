package align

import (
	"fmt"
	"math"

	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Of standstills.
const (
	// stillTimes is below how many standard uncertainties a speed can be none,
	// within the bounds leastStill and mostStill.
	stillTimes = 4.0
	leastStill = 0.12 // m/s
	mostStill  = 0.5  // m/s
	// shortStill is the shortest standstill used, edge what is left out at either
	// end of one: the vehicle rocks, and a clock is not yet known well. Both in s.
	shortStill = 1.5
	edge       = 0.4
	// looseAngle is by how much gravity may turn from one standstill to the next,
	// in rad: the ground of two places differs by a few degrees, a sensor that
	// slid by more.
	looseAngle = 9 * math.Pi / 180
)

// standstills returns the spans of s in which the speed can be none.
func (sp *Speed) standstills() [][2]float64 {
	var out [][2]float64
	from, last := math.NaN(), math.NaN()
	end := func() {
		if last-from >= shortStill {
			out = append(out, [2]float64{from, last})
		}
		from = math.NaN()
	}
	for i, v := range sp.V {
		if v != v {
			continue
		}
		limit := min(max(stillTimes*sp.U[i], leastStill), mostStill)
		switch {
		case math.Abs(v) > limit || sp.T[i]-last > 3:
			end()
			if math.Abs(v) <= limit {
				from = sp.T[i]
			}
		case from != from:
			from = sp.T[i]
		}
		last = sp.T[i]
	}
	end()
	return out
}

// pose is the sensor's mean reading in one standstill.
type pose struct {
	from, to float64 // s of the sensor
	mean     [3]float64
	n        int
}

// poses reads the sensor's means in the spans of its own time, edges left out.
func poses(a *recording.Accel, in *integral, spans [][2]float64) []pose {
	var out []pose
	axes := axesOf(a)
	i, k := 0, 0
	for _, s := range spans {
		p := pose{from: s[0] + edge, to: s[1] - edge}
		for i < len(in.t) && in.t[i] < p.from {
			i++
		}
		for ; i < len(in.t) && in.t[i] <= p.to; i++ {
			if in.hit(in.t[i], in.t[i]+1e-9, &k) {
				continue
			}
			for j, x := range axes {
				p.mean[j] += x[i]
			}
			p.n++
		}
		if p.n < 10 {
			continue
		}
		for j := range axes {
			p.mean[j] /= float64(p.n)
		}
		out = append(out, p)
	}
	return out
}

// gravity takes the direction of gravity from the standstills and says what is
// wrong with it; shake is the noise at rest.
func (al *Alignment) gravity(a *recording.Accel, ps []pose, shake noise) string {
	al.UpU = math.NaN()
	if len(ps) == 0 {
		return al.tooCoarse(a)
	}
	sum, length := [3]float64{}, 0.0
	for _, p := range ps {
		length += norm(p.mean)
		for j := range sum {
			sum[j] += p.mean[j]
		}
	}
	al.Gravity = length / float64(len(ps))
	if why := al.units(); why != "" {
		return why
	}
	if why := al.tooCoarse(a); why != "" {
		return why
	}
	if al.Gravity*al.factor() < leastGravity {
		return "" // gravity is taken off already
	}
	al.Up = unitVector(sum)
	scatter := 0.0
	for i, p := range ps {
		if i > 0 {
			if turn := angle(ps[i-1].mean, p.mean); turn > looseAngle {
				return fmt.Sprintf("it moves on the vehicle: gravity turns by %.0f° between standstills", turn*180/math.Pi)
			}
		}
		d := angle(p.mean, al.Up)
		scatter += d * d / 2 // per direction
	}
	n := float64(len(ps))
	al.UpU = math.Sqrt(shake.long()/float64(ps[0].n)) / al.Gravity
	if n > 1 {
		al.UpU = max(al.UpU/math.Sqrt(n), math.Sqrt(scatter/(n-1)/n))
	}
	al.UpU = math.Hypot(al.UpU, al.unbridged(shake)/al.Gravity)
	return ""
}

// unbridged is the standard uncertainty that the steps of the samples leave in a
// mean at rest: none where noise goes through several of them.
func (al *Alignment) unbridged(shake noise) float64 {
	if shake.variance > al.step*al.step/4 {
		return 0
	}
	return uncert.Step(al.step)
}

// leastGravity is the mean reading at rest, in m/s², below which gravity has
// been taken off the samples.
const leastGravity = 0.7

// factor is the sensor's unit in m/s², where the reading at rest betrays that
// it is not 1; it returns 1 otherwise.
func (al *Alignment) factor() float64 {
	for _, f := range [...]float64{unit.GravityStandard, 1 / unit.GravityStandard, unit.GravityStandard / 1000} {
		if math.Abs(al.Gravity*f/unit.GravityStandard-1) < 0.06 {
			return f
		}
	}
	return 1
}

// units says whether the reading at rest can be gravity. A sensor plainly
// logged in g is used: its gain says it all.
func (al *Alignment) units() string {
	g := al.Gravity / unit.GravityStandard
	switch f := al.factor(); {
	case g > 0.9 && g < 1.1, al.Gravity < leastGravity:
		return ""
	case f != 1:
		al.note(fmt.Sprintf("its mean at rest is %.4g where gravity is 9.81 m/s²: taken by a factor of %.4g", al.Gravity, f))
		return ""
	}
	return fmt.Sprintf("its mean at rest is %.2f m/s² where gravity is 9.81: a wrong unit or a damaged axis", al.Gravity)
}

func norm(v [3]float64) float64 { return math.Sqrt(dot(v, v)) }

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func unitVector(v [3]float64) [3]float64 {
	n := norm(v)
	return [3]float64{v[0] / n, v[1] / n, v[2] / n}
}

func cross(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// angle is the angle between two vectors in rad.
func angle(a, b [3]float64) float64 { return math.Atan2(norm(cross(a, b)), dot(a, b)) }
