package accel

import (
	"fmt"
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Pose is the sensor's mean reading over N samples of one standstill.
type Pose struct {
	Mean [3]float64 // m/s²
	N    int
}

// Poses reads the sensor's means in spans of its own time, edges left out.
func (s *Sensor) Poses(spans [][2]float64) []Pose {
	var out []Pose
	i, k := 0, 0
	for _, span := range spans {
		var p Pose
		for i < len(s.T) && s.T[i] < span[0]+motion.RestEdge {
			i++
		}
		for ; i < len(s.T) && s.T[i] <= span[1]-motion.RestEdge; i++ {
			if s.Hit(s.T[i], s.T[i]+motion.Slack, &k) {
				continue
			}
			for j, x := range s.Axes {
				p.Mean[j] += x[i]
			}
			p.N++
		}
		if p.N < leastPose {
			continue
		}
		for j := range s.Axes {
			p.Mean[j] /= float64(p.N)
		}
		out = append(out, p)
	}
	return out
}

// Level takes the direction of gravity from the standstills and says what is
// wrong with it; shake is the noise at rest.
func (al *Alignment) Level(s *Sensor, ps []Pose, shake Noise) string {
	if len(ps) == 0 {
		return al.TooCoarse(s)
	}
	sum, length := [3]float64{}, 0.0
	for _, p := range ps {
		length += Norm(p.Mean)
		for j := range sum {
			sum[j] += p.Mean[j]
		}
	}
	al.Gravity = length / float64(len(ps))
	if why := al.WrongUnit(); why != "" {
		return why
	}
	if why := al.TooCoarse(s); why != "" {
		return why
	}
	if al.Gravity*al.Factor() < LeastGravity {
		return "" // gravity is taken off already
	}
	al.Up = Unit(sum)
	scatter := 0.0
	for i, p := range ps {
		if i > 0 {
			if turn := Angle(ps[i-1].Mean, p.Mean); turn > LooseAngle {
				return fmt.Sprintf("it moves on the vehicle: gravity turns by %.0f° between standstills", turn*180/math.Pi)
			}
		}
		d := Angle(p.Mean, al.Up)
		scatter += d * d / 2 // per direction
	}
	n := float64(len(ps))
	al.UpU = math.Sqrt(shake.Long()/float64(ps[0].N)) / al.Gravity
	if n > 1 {
		al.UpU = max(al.UpU/math.Sqrt(n), math.Sqrt(scatter/(n-1)/n))
	}
	al.UpU = math.Hypot(al.UpU, s.Unbridged(shake)/al.Gravity)
	return ""
}

// Unbridged is the standard uncertainty in m/s² that the steps of the samples
// leave in a mean at rest: none where noise goes through several of them.
func (s *Sensor) Unbridged(shake Noise) float64 {
	if shake.Variance > s.step*s.step/4 {
		return 0
	}
	return uncert.Step(s.step)
}

// TooCoarse says if the sensor reads in steps that its noise does not bridge.
func (al *Alignment) TooCoarse(s *Sensor) string {
	if q := s.step * al.Factor(); q > coarsest {
		return fmt.Sprintf("it reads in steps of %.2g m/s², %.1g at most can be used", q, coarsest)
	}
	return ""
}

// Factor is the sensor's unit in m/s², where the reading at rest betrays that
// it is not 1; it returns 1 otherwise.
func (al *Alignment) Factor() float64 {
	for _, f := range [...]float64{unit.GravityStandard, 1 / unit.GravityStandard, unit.GravityStandard / 1000} {
		if math.Abs(al.Gravity*f/unit.GravityStandard-1) < unitFit {
			return f
		}
	}
	return 1
}

// WrongUnit says whether the reading at rest cannot be gravity. A sensor plainly
// logged in g is used: its gain says it all.
func (al *Alignment) WrongUnit() string {
	g := al.Gravity / unit.GravityStandard
	switch f := al.Factor(); {
	case g > 1-gravityFit && g < 1+gravityFit, al.Gravity < LeastGravity:
		return ""
	case f != 1:
		al.AddNote(fmt.Sprintf("its mean at rest is %.4g where gravity is 9.81 m/s²: taken by a factor of %.4g", al.Gravity, f))
		return ""
	}
	return fmt.Sprintf("its mean at rest is %.2f m/s² where gravity is 9.81: a wrong unit or a damaged axis", al.Gravity)
}
