package synth

import "math"

// The closed forms of vehicle dynamics as runs: what an estimator can be held
// to without trusting an integration.

// closedGrid samples a run given as functions of time. Nodes lie closer towards
// the launch, where constant power has no finite acceleration.
func closedGrid(name string, seconds float64, at func(t float64) (s, v, a float64)) *Truth {
	tr := &Truth{Vehicle: Vehicle{Name: name}, Factor: 1}
	add := func(t float64) {
		s, v, a := at(t)
		if t == 0 {
			s, v = 0, 0
			if math.IsInf(a, 0) || math.IsNaN(a) {
				const soon = 1e-6 // s
				_, v1, _ := at(soon)
				a = v1 / soon
			}
		}
		tr.node(t, s, v, a)
	}
	const nodes, interval = 1000, 0.002 // in the first second, and s after it
	for i := range nodes {
		x := float64(i) / nodes
		add(x * x)
	}
	for t := 1.0; t < seconds; t += interval {
		add(t)
	}
	add(math.Max(seconds, 1))
	return tr
}

// ConstantAcceleration is a run at a (m/s²) for the given seconds.
func ConstantAcceleration(a, seconds float64) *Truth {
	return closedGrid("constant acceleration", seconds, func(t float64) (float64, float64, float64) {
		return a * t * t / 2, a * t, a
	})
}

// ConstantPower is a run at constant power over mass (W/kg), without losses.
func ConstantPower(perMass, seconds float64) *Truth {
	return closedGrid("constant power", seconds, func(t float64) (float64, float64, float64) {
		v := math.Sqrt(2 * perMass * t)
		return v * v * v / (3 * perMass), v, perMass / v
	})
}

// TractionThenPower is a run at a0 (m/s²) until power over mass (W/kg) limits it.
func TractionThenPower(a0, perMass, seconds float64) *Truth {
	v1 := perMass / a0
	t1, s1 := v1/a0, v1*v1/(2*a0)
	return closedGrid("traction then power", seconds, func(t float64) (float64, float64, float64) {
		if t <= t1 {
			return a0 * t * t / 2, a0 * t, a0
		}
		v := math.Sqrt(v1*v1 + 2*perMass*(t-t1))
		return s1 + (v*v*v-v1*v1*v1)/(3*perMass), v, perMass / v
	})
}

// ForceAndDrag is a run under constant force with drag as v²: initial
// acceleration a0 (m/s²), terminal speed vt (m/s).
func ForceAndDrag(a0, vt, seconds float64) *Truth {
	return closedGrid("force and drag", seconds, func(t float64) (float64, float64, float64) {
		th := math.Tanh(a0 * t / vt)
		return vt * vt / a0 * math.Log(math.Cosh(a0*t/vt)), vt * th, a0 * (1 - th*th)
	})
}
