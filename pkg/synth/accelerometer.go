package synth

import (
	"cmp"
	"math"
	"math/rand/v2"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// Rotation is a rotation matrix, rows first: sensor axes from vehicle axes
// (forward, left, up).
type Rotation [9]float64

// Level is a sensor whose axes are forward, left and up.
var Level = Rotation{1, 0, 0, 0, 1, 0, 0, 0, 1}

// RandomRotation draws a mounting evenly from all of them.
func RandomRotation(rng *rand.Rand) Rotation {
	w, x, y, z := rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()
	n := math.Sqrt(w*w + x*x + y*y + z*z)
	w, x, y, z = w/n, x/n, y/n, z/n
	return Rotation{
		1 - 2*(y*y+z*z), 2 * (x*y - w*z), 2 * (x*z + w*y),
		2 * (x*y + w*z), 1 - 2*(x*x+z*z), 2 * (y*z - w*x),
		2 * (x*z - w*y), 2 * (y*z + w*x), 1 - 2*(x*x+y*y)}
}

// Accelerometer is a three-axis accelerometer and its clock. The zero value is
// a perfect, level one at 100 Hz.
type Accelerometer struct {
	Rate     float64    // Hz, 100 if 0
	Mounting Rotation   // Level if zero
	Bias     [3]float64 // m/s², on the sensor's axes
	Scale    [3]float64 // relative error of each axis, 0.03 reads 3 % too much
	Noise    float64    // m/s², standard deviation of white vibration noise on each axis
	Rough    float64    // m/s² of it more for each m/s of speed

	// Pitch is how far the body pitches up under acceleration, in radians per
	// m/s²; gravity then reads as more acceleration.
	Pitch float64

	Offset   float64 // s the sensor's clock is ahead of the receiver's
	Drift    float64 // relative rate error of its clock, 20e-6 is 20 ppm
	OwnClock bool    // instants count from the sensor's own zero, offset unknown to the reader
	Clip     float64 // m/s² at which each axis saturates, 0 for never
	Reversed bool    // every axis reads with the wrong sign
	Gaps     float64 // gaps per minute, of 0.5-2 s
}

// Accel returns what the accelerometer logs of the session.
func (s *Session) Accel(ac Accelerometer, seed uint64) *recording.Accel {
	ac.Rate, ac.Mounting = cmp.Or(ac.Rate, 100), cmp.Or(ac.Mounting, Level)
	rng := rand.New(rand.NewPCG(seed, 0x616363656c))
	begin := recording.Nano(s.Scenario.Begin)
	n := int(s.Motion.End()*ac.Rate) + 1
	out := &recording.Accel{NanoUTC: make([]int64, 0, n), X: make([]float64, 0, n), Y: make([]float64, 0, n), Z: make([]float64, 0, n),
		OwnClock: ac.OwnClock, Unit: "m/s2"}
	cur := cursor{m: &s.Motion}
	gapUntil := -1.0
	for i := range n {
		t := float64(i) / ac.Rate
		f := ac.sense(cur.at(t), rng)
		if ac.Gaps > 0 {
			if t > gapUntil && rng.Float64() < ac.Gaps/60/ac.Rate {
				gapUntil = t + 0.5 + 1.5*rng.Float64()
			}
			if t <= gapUntil {
				continue
			}
		}
		out.NanoUTC = append(out.NanoUTC, begin+int64(math.Round((t*(1+ac.Drift)+ac.Offset)*1e9)))
		out.X, out.Y, out.Z = append(out.X, f[0]), append(out.Y, f[1]), append(out.Z, f[2])
	}
	return out
}

// sense returns the reading of the three axes: specific force, which at rest is
// gravity's reaction, up.
func (ac *Accelerometer) sense(st State, rng *rand.Rand) [3]float64 {
	slope := math.Atan(st.Grade)
	along := st.A + unit.GravityStandard*math.Sin(slope)
	up := unit.GravityStandard * math.Cos(slope)
	left := -st.V * st.YawRate // heading grows to the right
	sin, cos := math.Sincos(ac.Pitch * st.A)
	body := [3]float64{along*cos + up*sin, left, up*cos - along*sin}
	var f [3]float64
	for i := range f {
		r := ac.Mounting[3*i : 3*i+3]
		f[i] = (r[0]*body[0]+r[1]*body[1]+r[2]*body[2])*(1+ac.Scale[i]) + ac.Bias[i] + (ac.Noise+ac.Rough*math.Abs(st.V))*rng.NormFloat64()
		if ac.Reversed {
			f[i] = -f[i]
		}
		if ac.Clip > 0 {
			f[i] = max(-ac.Clip, min(ac.Clip, f[i]))
		}
	}
	return f
}
