package synth

import "math"

// Motion is the true movement of a whole session: speed as cubics between
// nodes, heading as straight lines between nodes, and the place reached.
type Motion struct {
	curve
	H []float64 // rad clockwise from true north, not wrapped
	N []float64 // m north of the start
	E []float64 // m east of the start

	// Grade is the surface's rise over run towards Axis (rad from true north);
	// across it the surface is level.
	Grade, Axis float64
}

// State is the movement at one instant.
type State struct {
	S, V, A     float64 // m, m/s, m/s²
	Heading     float64 // rad clockwise from true north
	YawRate     float64 // rad/s
	North, East float64 // m from the start
	Grade       float64 // along the heading
}

func (m *Motion) push(t, s, v, a, h, n, e float64) {
	m.node(t, s, v, a)
	m.H, m.N, m.E = append(m.H, h), append(m.N, n), append(m.E, e)
}

// step adds a node d seconds on, at speed v and acceleration a, with the
// heading turned by turn radians; the path is the chord at the mean heading.
func (m *Motion) step(d, v, a, turn float64) {
	i := m.last()
	ds, _, _ := hermite(d, d, 0, m.V[i], m.A[i], v, a)
	mid := m.H[i] + turn/2
	m.push(m.T[i]+d, m.S[i]+ds, v, a, m.H[i]+turn, m.N[i]+ds*math.Cos(mid), m.E[i]+ds*math.Sin(mid))
}

// setAccel adds a node at the same instant with another acceleration.
func (m *Motion) setAccel(a float64) {
	i := m.last()
	m.push(m.T[i], m.S[i], m.V[i], a, m.H[i], m.N[i], m.E[i])
}

// hold keeps the speed, or stands still, for d seconds.
func (m *Motion) hold(d float64) {
	m.setAccel(0)
	m.step(d, m.V[m.last()], 0, 0)
}

// turnStep is the longest step of a turn: its chord is the path.
const turnStep = 0.05 // s

// jerkTime is how long a change of acceleration takes outside runs.
const jerkTime = 0.3 // s

// toSpeed changes the speed to v at up to a m/s², easing in and out.
func (m *Motion) toSpeed(v, a float64) {
	i := m.last()
	dv := v - m.V[i]
	if dv == 0 {
		return
	}
	a = math.Copysign(a, dv)
	j := math.Min(jerkTime, math.Abs(dv/a))
	m.step(j, m.V[i]+(m.A[i]+a)/2*j, a, 0)
	rest := v - m.V[m.last()] - a*j/2
	if rest/a > 0 {
		m.step(rest/a, m.V[m.last()]+rest, a, 0)
	}
	// Ease out in the time that just reaches v.
	if out := 2 * (v - m.V[m.last()]) / a; out > 0 {
		m.step(out, v, 0, 0)
	}
	m.setAccel(0)
	if v == 0 {
		m.V[m.last()] = 0
	}
}

// turn changes the heading by angle radians at the present speed and the given
// radius, in steps short enough for the chord to be the path.
func (m *Motion) turn(angle, radius float64) {
	v := m.V[m.last()]
	d := math.Abs(angle) * radius / v
	n := int(math.Ceil(d / turnStep))
	for range n {
		m.step(d/float64(n), v, 0, angle/float64(n))
	}
}

// append adds a run that starts here and now and returns its launch instant.
func (m *Motion) append(tr *Truth) float64 {
	i := m.last()
	t0, s0, h, n0, e0 := m.T[i], m.S[i], m.H[i], m.N[i], m.E[i]
	sin, cos := math.Sincos(h)
	for j := range tr.T {
		s := tr.S[j]
		m.push(t0+tr.T[j], s0+s, tr.V[j], tr.A[j], h, n0+s*cos, e0+s*sin)
	}
	return t0
}

// along is the grade in a heading.
func (m *Motion) along(heading float64) float64 { return m.Grade * math.Cos(heading-m.Axis) }

// cursor reads a motion at instants that mostly increase.
type cursor struct {
	m *Motion
	i int
}

// at returns the state t seconds after the session's start, at rest outside it.
func (c *cursor) at(t float64) State {
	m := c.m
	n := m.last()
	if t <= 0 {
		return State{Heading: m.H[0], Grade: m.along(m.H[0])}
	}
	if t >= m.T[n] {
		return State{S: m.S[n], Heading: m.H[n], North: m.N[n], East: m.E[n], Grade: m.along(m.H[n])}
	}
	const far = 64 // nodes: further, a search is quicker
	if t < m.T[c.i] || c.i+far < n && t > m.T[c.i+far] {
		c.i = m.before(t)
	}
	for c.i < n-1 && m.T[c.i+1] <= t {
		c.i++
	}
	i := c.i
	h := m.T[i+1] - m.T[i]
	x := t - m.T[i]
	var st State
	st.S, st.V, st.A = m.from(i, x)
	st.YawRate = (m.H[i+1] - m.H[i]) / h
	st.Heading = m.H[i] + st.YawRate*x
	st.Grade = m.along(st.Heading)
	f := 0.0
	if ds := m.S[i+1] - m.S[i]; ds > 0 {
		f = (st.S - m.S[i]) / ds
	}
	st.North = m.N[i] + f*(m.N[i+1]-m.N[i])
	st.East = m.E[i] + f*(m.E[i+1]-m.E[i])
	return st
}

// At returns the state t seconds after the session's start.
func (m *Motion) At(t float64) State {
	c := cursor{m: m}
	return c.at(t)
}
