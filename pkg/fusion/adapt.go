package fusion

import (
	"math"

	"fromrest/pkg/kalman"
)

// Adaptation of the jerk intensity. A run is mostly smooth with a few sharp
// events (shifts, wheel spin, the end of thrust): intensity is constant over
// short blocks whose values scatter about a common one as a scaled inverse
// chi-square with few degrees of freedom, and is found by expectation
// maximisation from the smoother's own score.
const (
	block    = 0.2 // s, length of a block
	blockDF  = 2.5 // degrees of freedom of the scatter
	rounds   = 7   // of expectation maximisation
	minQ     = 0.02
	maxQ     = 4000.0
	outlierT = 5.0 // deleted residuals beyond this many standard deviations are set aside
)

// adapt fits jerk intensities, and the noise where the log alone does not tell
// it, under one hypothesis; h is nil for a rolling run.
func (so *solver) adapt(h *hypothesis) {
	common := startQ
	for range rounds {
		k0 := 0
		if h != nil {
			k0 = so.run(*h)
		} else {
			so.runRolling()
		}
		if k0 >= len(so.t) {
			return
		}
		common = so.blocks(k0, common)
		so.noise(k0)
		so.setAside(k0)
		for k := 0; k < k0; k++ {
			so.q[k] = so.q[k0]
		}
		so.prepare(0, len(so.t))
	}
	so.atRest()
}

// blocks updates the intensities from node k0 on and returns the common value.
func (so *solver) blocks(k0 int, common float64) float64 {
	inv, n := 0.0, 0.0
	for a := k0; a < len(so.t); {
		b := a + 1
		for b < len(so.t) && so.t[b] < so.t[a]+block {
			b++
		}
		sum, count := 0.0, 0.0
		for k := max(a, k0+1); k < b; k++ {
			sum += so.q[k] * (3 + so.jerkScore(k))
			count += 3
		}
		// Neighbouring steps of one block share one thrust: what they tell is
		// worth less than their number says, or the prior would never matter.
		q := (blockDF*common + sum) / (blockDF + count)
		q = min(max(q, minQ), maxQ)
		for k := a; k < b; k++ {
			so.q[k] = q
		}
		inv += 1 / q
		n++
		a = b
	}
	return min(max(n/inv, minQ), 200)
}

// jerkScore is the excess of the smoothed jerk over its expectation, in units of
// the three degrees of freedom of a step: r'Qr - tr(NQ).
func (so *solver) jerkScore(k int) float64 {
	nd := &so.node[k]
	r, nn := nd.Score()
	sum := 0.0
	for i := stS; i <= stA; i++ {
		for j := stS; j <= stA; j++ {
			sum += nd.Q[i][j] * (r[i]*r[j] - nn[i][j])
		}
	}
	return sum
}

// noise updates the sample noise where standstills told too little of it.
func (so *solver) noise(k0 int) {
	if so.s.From == "standstill" && so.s.DF > 60 {
		return
	}
	sum, n := 0.0, 0.0
	for k := k0 + 1; k < len(so.t); k++ {
		nd := &so.node[k]
		if !nd.Has {
			continue
		}
		r, nn := nd.Score()
		sum += 1 + nd.Q[stE][stE]*(r[stE]*r[stE]-nn[stE][stE])
		n++
	}
	if n == 0 {
		return
	}
	prior := so.s.SD * so.s.SD
	now := so.sd * so.sd * sum / n
	// Motion tells less of the noise than rest does: half of it is the model's.
	v := (so.s.DF*prior + 0.5*n*now) / (so.s.DF + 0.5*n)
	so.sd = max(math.Sqrt(v), minSD)
}

// setAside marks readings far from what all the others predict, and takes back
// those that no longer are.
func (so *solver) setAside(k0 int) {
	for k := k0; k < len(so.t); k++ {
		i := so.at[k]
		if i < 0 || so.rd[i].kind == held || so.rd[i].kind == unused {
			continue
		}
		nd := &so.node[k]
		if !nd.Has {
			continue
		}
		res, va := nd.Deleted()
		if va > 0 && res*res > outlierT*outlierT*va {
			// Kept in the model with a variance that lets it say nothing.
			so.rd[i].kind = unused
			nd.Has = false
			nd.Obs = kalman.Obs{H: nd.Obs.H, Y: nd.Obs.Y, R: nd.Obs.R}
		}
	}
}
