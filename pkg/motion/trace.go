// Package motion holds a run's motion as sampled columns, and what more than one
// of the packages below it takes for granted.
//
// A Trace has distance in m, speed in m/s and acceleration in m/s² against time in
// s, each with its standard deviation. Between grid points it is a straight line;
// outside of them it keeps the value at its end.
package motion

import "sort"

// Trace is the estimate of one run on an even or nearly even grid, in columns of
// equal length. Time counts from the launch (negative before it), distance too.
// SD columns are standard deviations of the estimate at that instant.
type Trace struct {
	T  []float64 // s since the launch
	S  []float64 // m since the launch
	V  []float64 // m/s
	A  []float64 // m/s²
	SS []float64 // m, standard deviation of S
	SV []float64 // m/s, standard deviation of V
	SA []float64 // m/s², standard deviation of A
}

// Len returns the number of points.
func (tr *Trace) Len() int { return len(tr.T) }

// at returns the index of the grid point before t and the share of the way to
// the next, clamped to the trace.
func (tr *Trace) at(t float64) (int, float64) {
	n := len(tr.T)
	i := sort.SearchFloat64s(tr.T, t)
	switch {
	case i == 0:
		return 0, 0
	case i >= n:
		return n - 2, 1
	}
	return i - 1, (t - tr.T[i-1]) / (tr.T[i] - tr.T[i-1])
}

// DistanceAt returns the distance at t seconds since the launch and its standard
// deviation, in m, by straight lines between grid points. The trace must have
// two points or more.
func (tr *Trace) DistanceAt(t float64) (s, sd float64) {
	i, f := tr.at(t)
	return tr.S[i] + f*(tr.S[i+1]-tr.S[i]), tr.SS[i] + f*(tr.SS[i+1]-tr.SS[i])
}

// SpeedAt returns the speed at t seconds since the launch and its standard
// deviation, in m/s.
func (tr *Trace) SpeedAt(t float64) (v, sd float64) {
	i, f := tr.at(t)
	return tr.V[i] + f*(tr.V[i+1]-tr.V[i]), tr.SV[i] + f*(tr.SV[i+1]-tr.SV[i])
}

// Later returns the trace with its time counted from d seconds later, on the same grid but
// for the end that is not known then. The trace itself is not changed.
func (tr *Trace) Later(d float64) Trace {
	if tr.Len() < 2 || d == 0 {
		return *tr
	}
	last := tr.T[tr.Len()-1]
	var out Trace
	for _, t := range tr.T {
		if t+d < tr.T[0] || t+d > last {
			continue
		}
		i, f := tr.at(t + d)
		between := func(col []float64) float64 { return col[i] + f*(col[i+1]-col[i]) }
		out.T = append(out.T, t)
		out.S, out.V, out.A = append(out.S, between(tr.S)), append(out.V, between(tr.V)), append(out.A, between(tr.A))
		out.SS, out.SV, out.SA = append(out.SS, between(tr.SS)), append(out.SV, between(tr.SV)), append(out.SA, between(tr.SA))
	}
	return out
}
