package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/motion/kalman"
	"fromrest/pkg/motion/ramp"
)

// launched is a solver over a start at 1.03 s with a steady 3 m/s² of the build-up of tractive force
// over 0.3 s, seen at 10 Hz, with an accelerometer of 50 Hz where fused.
func launched(fused bool) *solver {
	rng := rand.New(rand.NewPCG(3, 7))
	s := &Samples{Noise: Noise{SD: 0.05, Rho: 0.35}}
	s.Step = 0.1
	rp := ramp.Ramp{Shape: ramp.Linear, Tau: 0.3}
	at := func(t float64) (v, a float64) {
		if t < 1.03 {
			return 0, 0
		}
		return rp.Response(t - 1.03)
	}
	var rd []reading
	e := 0.0
	for i := range 60 {
		t := 0.1 * float64(i)
		e = 0.35*e + 0.05*math.Sqrt(1-0.35*0.35)*rng.NormFloat64()
		v, _ := at(t)
		rd = append(rd, reading{t: t, y: 3*v + e, z: math.Abs(3*v + e), r: 1e-6})
	}
	var acc []push
	if fused {
		s.Accel = &Forward{Rate: 50, Rest: 0.1, Moving: 0.1, BiasU: 0.1}
		for i := range 300 {
			t := 0.01 + 0.02*float64(i)
			_, a := at(t)
			acc = append(acc, push{t: t, a: 3*a + 0.05 + 0.1*rng.NormFloat64(), n: 1, rough: 1})
		}
	}
	so := newSolver(s, rd, acc, 1)
	for k := range so.q {
		so.q[k] = 0.2 + 0.1*math.Sin(float64(k)) // uneven, as adapted ones are
	}
	so.prepare(0, len(so.t))
	return so
}

// The likelihood of the whitened readings, thrust integrated over in closed form, is that of
// the filter with thrust as a state.
func TestWhitenedLikelihoodIsTheFilters(t *testing.T) {
	for _, fused := range []bool{false, true} {
		so := launched(fused)
		for _, launch := range []float64{0.71, 0.9, 1.0, 1.03, 1.0999, 1.17} {
			w := so.whiten(launch, 0, 3.4)
			for _, rp := range ramp.All {
				h := hypothesis{Seen: ramp.Seen{Ramp: rp}, launch: launch}
				k0, x, p := so.set(h)
				end := so.first(3.4)
				want := so.rest[before(so.at, k0)+1] + so.pushesBefore(k0).ll + kalman.Filter(so.node[k0:end], x, p)
				tol := 1e-6
				if rp.Shape == ramp.Lag { // the filter ends it when all but exp(-12) is there
					tol = 1e-3
				}
				if got := so.under(w, &h.Seen); math.Abs(got-want) > tol {
					t.Errorf("fused %v, launch %g, %v: %.8f, the filter says %.8f", fused, launch, rp, got, want)
				}
			}
		}
	}
}

// A path that is run up to the join and carried on by the linear map is that of a run
// through the whole window, in means, variances and covariances.
func TestJoinedPathIsTheWholeOne(t *testing.T) {
	for _, fused := range []bool{false, true} {
		so := launched(fused)
		hs := []hypothesis{{of: so, Seen: ramp.Seen{Ramp: ramp.Ramp{Shape: ramp.Linear, Tau: 0.28}}, launch: 1.02},
			{of: so, Seen: ramp.Seen{Ramp: ramp.Ramp{Shape: ramp.Lag, Tau: 0.5}}, launch: 0.95}, {of: so, launch: 1.14}}
		for _, h := range hs {
			type figures struct{ launch, s, v, a, ss, sv, sa, rest, roll, far float64 }
			read := func(j *join) (out []figures) {
				p := so.path(h, false, j)
				roll, _ := p.ReachDistance(0.3048)
				near, _ := p.ReachSpeed(2, math.Inf(-1))
				far, _ := p.ReachSpeed(12, math.Inf(-1))
				rest := p.Between(p.LaunchEvent(), []Event{near, far})
				rolled := p.Between(roll, []Event{near, far})
				late := p.Between(far, []Event{far})
				for _, at := range []float64{1.3, 2, 3.6, 4.55, 5.8} {
					f := figures{launch: p.Launch, rest: rest[1], roll: rolled[1], far: late[0] + far.T}
					f.s, f.v, f.a = p.At(at)
					f.ss, f.sv, f.sa = p.SDAt(at)
					out = append(out, f)
				}
				return out
			}
			want := read(nil)
			j := so.joined(hs)
			if j == nil {
				t.Fatal("no join")
			}
			for i, g := range read(j) {
				w := want[i]
				for name, d := range map[string]float64{"distance": g.s - w.s, "speed": g.v - w.v, "acceleration": g.a - w.a,
					"sd of distance": g.ss - w.ss, "sd of speed": g.sv - w.sv, "sd of acceleration": g.sa - w.sa,
					"variance from rest": g.rest - w.rest, "variance with rollout": g.roll - w.roll, "late speed": g.far - w.far} {
					if math.Abs(d) > 1e-6 {
						t.Errorf("fused %v, %v, instant %d: %s is off by %g", fused, h.Ramp, i, name, d)
					}
				}
			}
		}
	}
}
