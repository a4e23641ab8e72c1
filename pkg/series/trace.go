// Package series holds functions of time as sampled columns: interpolation,
// crossings and integration, with no knowledge of what was sampled.
package series

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
