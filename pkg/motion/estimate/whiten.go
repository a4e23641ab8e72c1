package estimate

import (
	"math"

	"fromrest/pkg/motion/kalman"
)

// whitening is the filter over the readings that follow one launch instant, with the
// thrust left out. The build-up enters through the mean alone: gains and innovation
// variances are those of the instant, whatever the ramp, and the response to one unit of
// thrust goes through the same filter. A ramp then costs one pass of four means, and its
// thrust, normal a priori, is integrated over in closed form.
//
// With v the innovations of the readings, m those of the response and s their variances,
// the readings' likelihood under a thrust of mean g and variance w is that without it,
// times the exponent of ((g/w + Σmv/s)²/(1/w + Σm²/s) − g²/w)/2, over the root of
// 1 + wΣm²/s.
type whitening struct {
	ll   float64 // log-likelihood without thrust
	none bool    // no reading follows
	step []whiteStep
}

// whiteStep is one reading's step of the filter.
type whiteStep struct {
	t, dt, rho     float64 // s since the launch, s and correlation since the step before
	push, held     bool    // of the accelerometer; a speed shown as 0
	kv, ka, ke, kb float64 // gains
	is, v          float64 // one over the innovation variance, the innovation
	mean, variance float64 // m/s and its square, of the speed shown, where it is held
}

// four is the covariance of speed, acceleration, the speed sample's error and the
// accelerometer's bias, upper triangle.
type four struct{ vv, va, ve, vb, aa, ae, ab, ee, eb, bb float64 }

func (p *four) predict(dt, q, rho, sd2, walk float64) {
	p.vv += dt*(2*p.va+dt*p.aa) + q*dt*dt*dt/3
	p.va += dt*p.aa + q*dt*dt/2
	p.ve = rho * (p.ve + dt*p.ae)
	p.vb += dt * p.ab
	p.aa += q * dt
	p.ae *= rho
	p.ee = rho*rho*p.ee + sd2*(1-rho*rho)
	p.eb *= rho
	p.bb += walk * dt
}

// update takes in a measurement of speed and its error, or of acceleration and the bias,
// with variance r.
func (p *four) update(w *whiteStep, r float64) (s float64) {
	hv, ha, he, hb := p.vv+p.ve, p.va+p.ae, p.ve+p.ee, p.vb+p.eb
	s = r + hv + he
	if w.push {
		hv, ha, he, hb = p.va+p.vb, p.aa+p.ab, p.ae+p.eb, p.ab+p.bb
		s = r + ha + hb
	}
	if !(s > 0) {
		return s
	}
	w.is = 1 / s
	w.kv, w.ka, w.ke, w.kb = hv*w.is, ha*w.is, he*w.is, hb*w.is
	p.vv -= w.kv * hv
	p.va -= w.kv * ha
	p.ve -= w.kv * he
	p.vb -= w.kv * hb
	p.aa -= w.ka * ha
	p.ae -= w.ka * he
	p.ab -= w.ka * hb
	p.ee -= w.ke * he
	p.eb -= w.ke * hb
	p.bb -= w.kb * hb
	return s
}

// whiten runs the filter from some time before a launch, from which something of it may
// show, over the readings up to the given time.
func (so *solver) whiten(launch, lead, until float64) *whitening {
	w := &whitening{}
	begin := max(launch-lead, min(launch, so.t[0]))
	k0, end := so.first(begin), so.first(until)
	if k0 >= end {
		w.none = true
		return w
	}
	var x kalman.Vec
	var p0 kalman.Mat
	so.noiseAt(begin, k0, &x, &p0)
	so.biasAt(begin, k0, &x, &p0)
	p := four{ee: p0[stE][stE], bb: p0[stB][stB]}
	sd2 := so.sd * so.sd
	walk := 0.0
	if so.acc != nil {
		walk = so.walk
	}
	w.ll = so.rest[before(so.at, k0)+1] + so.pushesBefore(k0).ll
	w.step = make([]whiteStep, 0, end-k0)
	m := means{e: x[stE], b: x[stB]}
	t, dt, rho := begin, 0.0, 1.0
	for k := k0; k < end; k++ {
		h := so.t[k] - t
		c, q := so.rho[k], so.q[k]
		if k == k0 {
			c = so.corr(h)
		}
		if so.t[k] <= launch {
			q = 0
		}
		p.predict(h, q, c, sd2+so.more[k], walk)
		t, dt, rho = so.t[k], dt+h, rho*c
		n := &so.node[k]
		st := whiteStep{t: t - launch, dt: dt, rho: rho, push: so.am[k] >= 0, held: so.at[k] >= 0 && so.rd[so.at[k]].kind == held}
		if !n.Has && !st.held {
			continue
		}
		m.predict(&st)
		if st.held {
			st.mean, st.variance = m.v+m.e, p.vv+p.ee+2*p.ve
		} else if s := p.update(&st, n.Obs.R); s > 0 {
			st.v = n.Obs.Y - m.seen(&st)
			m.update(&st, st.v)
			w.ll -= 0.5 * (log2Pi + math.Log(s) + st.v*st.v*st.is)
		}
		w.step = append(w.step, st)
		dt, rho = 0, 1
	}
	return w
}

var log2Pi = math.Log(2 * math.Pi)

// means are those of the states that four is the covariance of.
type means struct{ v, a, e, b float64 }

func (m *means) predict(st *whiteStep) {
	m.v += st.dt * m.a
	m.e *= st.rho
}

func (m *means) seen(st *whiteStep) float64 {
	if st.push {
		return m.a + m.b
	}
	return m.v + m.e
}

func (m *means) update(st *whiteStep, innovation float64) {
	m.v += st.kv * innovation
	m.a += st.ka * innovation
	m.e += st.ke * innovation
	m.b += st.kb * innovation
}

// shown is the speed and the acceleration that one unit of full thrust shows a time after
// the launch.
type shown interface {
	Response(t float64) (v, a float64)
}

// under is the log-likelihood of the readings under what a ramp shows, with a thrust of the
// mean and variance that the solver has.
func (so *solver) under(w *whitening, rp shown) float64 {
	if w.none {
		return math.Inf(-1)
	}
	ll := w.ll
	var m means
	mv, mm := so.thrust/so.thrustV, 1/so.thrustV
	for i := range w.step {
		st := &w.step[i]
		m.predict(st)
		v, a := rp.Response(st.t)
		if st.held {
			// What the readings so far tell of the thrust is in the speed expected.
			r := v - m.v - m.e
			ll += so.heldLL(st.mean+mv/mm*r, st.variance+r*r/mm)
			continue
		}
		if st.push {
			v = a
		}
		r := v - m.seen(st)
		m.update(st, r)
		mv += r * st.v * st.is
		mm += r * r * st.is
	}
	return ll + 0.5*(mv*mv/mm-so.thrust*so.thrust/so.thrustV-math.Log(so.thrustV*mm))
}

// heldLL is the log-probability that a moving vehicle is still shown at 0, where a speed
// of that mean and variance would be shown.
func (so *solver) heldLL(mean, variance float64) float64 {
	sd := root(variance)
	if sd <= 0 {
		sd = so.sd
	}
	return math.Log(max(0.5*math.Erfc((mean-so.s.Hold)/sd/math.Sqrt2), tiny))
}
