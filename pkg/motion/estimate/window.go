package estimate

import (
	"math"
	"slices"

	"fromrest/pkg/motion/kalman"
)

// Window is the part of a log in which one run is estimated.
type Window struct {
	From, To int // samples, half-open; From lies in the standstill if there is one
	// Moving is the first sample that is clearly under way. For a run without a
	// standstill it is From.
	Moving int
	// Standing is set when the vehicle is at rest before Moving.
	Standing bool
	// Reversed runs time backwards: a stop is then estimated as a launch.
	Reversed bool
}

// States of the filter.
const (
	stS = iota // distance, m
	stV        // speed, m/s
	stA        // acceleration, m/s²
	stG        // full thrust of the launch, m/s²
	stE        // error of the speed sample, m/s
	stB        // bias of the accelerometer, m/s²
)

// readingKind is how a sample tells of the speed.
type readingKind uint8

const (
	signed readingKind = iota // along-track speed with normal error
	length                    // length of a noisy vector, near rest
	held                      // shown as 0: below the hold threshold
	unused                    // an outlier
)

// reading is one sample prepared for the filter.
type reading struct {
	t    float64 // s
	y    float64 // m/s along the track
	z    float64 // m/s as reported
	r    float64 // m²/s², variance besides the noise: step, instant
	more float64 // m²/s², variance of the noise beside that at rest
	kind readingKind
	none bool // not a reading at all: an integrated speed
}

// headingAt is the direction of travel just after the launch, in degrees, from
// the samples fast enough for course to mean something; NaN without course.
func (s *Samples) headingAt(w Window) float64 {
	var x, y float64
	for i := w.Moving; i < w.To && s.T[i] < s.T[w.Moving]+headingSpan; i++ {
		if s.Out[i] || s.Speed[i] < headingAbove || math.IsNaN(s.Course[i]) {
			continue
		}
		c := s.Course[i] * math.Pi / 180
		weight := min(s.Speed[i], headingFull)
		x += weight * math.Cos(c)
		y += weight * math.Sin(c)
	}
	if x == 0 && y == 0 {
		return math.NaN()
	}
	return bearing(x, y)
}

// readings prepares the samples of a window, in the window's time direction.
func (s *Samples) readings(w Window, heading float64) []reading {
	out := make([]reading, 0, w.To-w.From)
	step := s.Quantum * s.Quantum / 12
	for i := w.From; i < w.To; i++ {
		a := s.slope(i)
		rd := reading{t: s.T[i], y: s.Speed[i], z: s.Speed[i], r: step, more: s.growth.at(s.Speed[i], a)}
		if u := s.timeU(i); u > 0 {
			rd.r += a * a * u * u
		}
		c := (s.Course[i] - heading) * math.Pi / 180
		switch {
		case s.blank != nil && s.blank[i]:
			rd.kind, rd.none = unused, true
		case s.Out[i]:
			rd.kind = unused
		case s.blank != nil: // a standstill
		case s.Held[i]:
			rd.kind = held
		case s.Speed[i] >= projectBelow:
			rd.y = math.Sqrt(max(rd.z*rd.z-s.SD*s.SD, 0))
		case s.Signed && !math.IsNaN(c):
			rd.y = rd.z * math.Cos(c)
		default:
			// E z² = v² + 2σ² of which one σ² lies along the track.
			rd.y = math.Sqrt(max(rd.z*rd.z-s.SD*s.SD, 0))
			if rd.z < lengthSDs*s.SD {
				rd.kind = length
				rd.r += 0.5 * s.SD * s.SD
			}
		}
		out = append(out, rd)
	}
	if w.Reversed {
		slices.Reverse(out)
		for i := range out {
			out[i].t = -out[i].t
		}
	}
	return out
}

// timeU is the standard uncertainty of a sample's instant.
func (s *Samples) timeU(i int) float64 {
	return math.Hypot(s.TimeU[i], s.clockU)
}

// slope is the acceleration about a sample, roughly.
func (s *Samples) slope(i int) float64 {
	a, b := max(i-2, 0), min(i+2, len(s.T)-1)
	if dt := s.T[b] - s.T[a]; dt > 0 {
		return (s.Speed[b] - s.Speed[a]) / dt
	}
	return 0
}

// grid lists the node times from the first reading on: every reading of either
// sensor, and instants between them where they lie far apart. at and am are the
// readings of speed and of acceleration at a node, -1 for none. The nodes lie closer up
// to an instant by which the thrust has built up, and between readings far apart.
func grid(rd []reading, acc []push, upTo float64) (t []float64, at, am []int) {
	add := func(x float64, i, j int) {
		if k := len(t); k > 0 {
			last := t[k-1]
			step := maxNode
			if last > upTo && x-last <= lateNode+nodeSlack {
				step = lateNode
			}
			n := min(int(math.Ceil((x-last)/step-nodeSlack)), mostNodes)
			for k := 1; k < n; k++ {
				t, at, am = append(t, last+(x-last)*float64(k)/float64(n)), append(at, -1), append(am, -1)
			}
		}
		t, at, am = append(t, x), append(at, i), append(am, j)
	}
	j := 0
	for i := range rd {
		for ; j < len(acc) && acc[j].t < rd[i].t; j++ {
			if i > 0 {
				add(acc[j].t, -1, j)
			}
		}
		add(rd[i].t, i, -1)
	}
	return t, at, am
}

// process fills the transition and the process noise of a step of dt seconds
// with jerk intensity q, correlation rho of the sample noise and so much variance of it beside
// that at rest.
func (so *solver) process(n *kalman.Node, dt, q, rho, more float64) {
	n.F = kalman.Identity()
	n.F.Set(stS, stV, dt)
	n.F.Set(stS, stA, dt*dt/2)
	n.F.Set(stV, stA, dt)
	n.F.D[stE] = rho
	jerk(&n.Q, dt, q)
	n.Q[stE][stE] = (so.sd*so.sd + more) * (1 - rho*rho)
	if so.acc != nil {
		n.Q[stB][stB] = so.walk * dt
	}
}

// jerk fills the covariance that white jerk of intensity q gives in dt.
func jerk(m *kalman.Mat, dt, q float64) {
	d2 := dt * dt
	m[stA][stA] = q * dt
	m[stV][stA] = q * d2 / 2
	m[stA][stV] = m[stV][stA]
	m[stV][stV] = q * d2 * dt / 3
	m[stS][stA] = m[stV][stV] / 2
	m[stA][stS] = m[stS][stA]
	m[stS][stV] = q * d2 * d2 / 8
	m[stV][stS] = m[stS][stV]
	m[stS][stS] = q * d2 * d2 * dt / 20
}
