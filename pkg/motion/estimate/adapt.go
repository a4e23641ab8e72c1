package estimate

import "math"

// adapt finds the jerk intensities, and the noise where the log alone does not
// tell it, under one hypothesis; h is nil for a rolling run. A run is mostly smooth
// with a few sharp events (shifts, wheel spin, the end of thrust): intensity is
// constant over short blocks whose values scatter about a common one as a scaled
// inverse chi-square with few degrees of freedom, and is found by Fisher scoring
// on the smoother's own score.
func (so *solver) adapt(h *hypothesis) {
	common := so.pace.firstQ
	for k := range so.q {
		so.q[k] = common
	}
	so.prepare(0, len(so.t))
	for round := range so.pace.rounds {
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
		if round >= settledRounds {
			so.shake(k0)
			so.wander(k0)
		}
		so.instants(k0)
		so.setAside(k0)
		for k := 0; k < k0; k++ {
			so.q[k] = so.q[k0]
		}
		if h != nil && so.acc != nil {
			so.settleLaunch(k0, common)
		}
		so.prepare(0, len(so.t))
	}
	so.atRest()
}

// leastQ is the floor of the common intensity: between samples a second apart a
// shift can hide, at 4 a second none can.
func (so *solver) leastQ() float64 {
	if so.acc != nil {
		return minQ
	}
	return max(minQ, slowQ*min(max((so.s.Step-quickStep)/(slowStep-quickStep), 0), mostSlow))
}

// patch is one block of nodes with what the smoother's score says of its
// intensity: half of gain is the slope of the log-likelihood over the logarithm
// of the intensity, half of info the expected square of that slope.
type patch struct {
	from, to   int
	gain, info float64
	memory     float64 // share of the block over which the score is the same
}

// blocks updates the intensities from node k0 on and returns the common value,
// by one step of Fisher scoring: first for all blocks together, those that stand
// out weighing less, then for each by itself against the scatter's prior.
func (so *solver) blocks(k0 int, common float64) float64 {
	var ps []patch
	up, down := 0.0, 0.0
	for a := k0; a < len(so.t); {
		b := a + 1
		for b < len(so.t) && so.t[b] < so.t[a]+block {
			b++
		}
		p := so.score(max(a, k0+1), b)
		p.from = a
		ps = append(ps, p)
		w := min(common/so.q[a], 1)
		up += w * p.gain
		down += w * p.info
		a = b
	}
	// A weak prior on the common intensity carries the runs whose samples are too
	// few to tell it.
	up -= (math.Log(common) - math.Log(usualQ)) / (usualSpread * usualSpread)
	down += 1 / (usualSpread * usualSpread)
	all := min(max(up/down, -maxStep), maxStep)
	c := min(max(common*math.Exp(all), so.leastQ()), mostCommonQ)
	all = math.Log(c / common)
	for _, p := range ps {
		q := so.q[p.from] * math.Exp(all)
		slope := p.gain - all*p.info - blockDF*(1-c/q)
		curve := p.info + blockDF*max(c/q, leastPull)
		q *= math.Exp(min(max(slope/curve, -maxStep), maxStep))
		q = min(max(q, minQ), maxQ)
		for k := p.from; k < p.to; k++ {
			so.q[k] = q
		}
	}
	return c
}

// score sums the excess of the smoothed jerk over its expectation,
// r'Qr - tr(NQ), over nodes from..to-1, with the spread it would have were the
// intensity right. The score hardly changes within a block, so the spread is
// that of one step as long as the block.
func (so *solver) score(from, to int) patch {
	p := patch{to: to}
	var qs, ns [3][3]float64
	n := 0.0
	for k := from; k < to; k++ {
		nd := &so.node[k]
		r, nn := nd.Score()
		for i := range 3 {
			for j := range 3 {
				p.gain += nd.Q[i][j] * (r[i]*r[j] - nn[i][j])
				qs[i][j] += nd.Q[i][j]
				ns[i][j] += nn[i][j]
			}
		}
		n++
	}
	if n == 0 {
		return p
	}
	p.memory = so.memory(so.q[from])
	var m [3][3]float64
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				m[i][j] += ns[i][k] / n * qs[k][j]
			}
		}
	}
	for i := range 3 {
		for j := range 3 {
			p.info += m[i][j] * m[j][i]
		}
	}
	p.info *= p.memory
	return p
}

// noise joins what a standstill told of the sample noise with what the run tells: a
// receiver may be noisier under way.
func (so *solver) noise(k0 int) {
	sum, n := 0.0, 0.0
	for k := k0 + 1; k < len(so.t); k++ {
		nd := &so.node[k]
		if !nd.Has || so.at[k] < 0 {
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
	v := (so.s.DF*prior + motionShare*n*now) / (so.s.DF + motionShare*n)
	so.sd = max(math.Sqrt(v), minSD)
}

// instants fits the scatter of the samples' true instants about their stamps: an
// error that grows with acceleration, and that the cadence does not show.
func (so *solver) instants(k0 int) {
	slope, info := 0.0, 0.0
	for k := k0 + 1; k < len(so.t); k++ {
		if so.at[k] < 0 {
			continue
		}
		s, i := so.node[k].ObsScore()
		a := so.node[k].Mean()[stA]
		slope += a * a * s
		info += a * a * a * a * i
	}
	if info <= 0 {
		return
	}
	so.clock = max(so.clock+slope/info, 0)
	used := so.clock
	if used < clearly/math.Sqrt(info) {
		used = 0
	}
	for k := k0; k < len(so.t); k++ {
		if i := so.at[k]; i >= 0 {
			a := so.node[k].Mean()[stA]
			so.node[k].Obs.R = so.rd[i].r + a*a*used
		}
	}
}

// setAside marks readings far from what all the others predict. Just after the
// launch the model itself is the doubtful part, and no reading is set aside.
func (so *solver) setAside(k0 int) {
	for k := so.first(so.t[k0] + launchPhase); k < len(so.t); k++ {
		nd := &so.node[k]
		if !nd.Has {
			continue
		}
		res, va := nd.Deleted()
		if va <= 0 || res*res <= outlierT*outlierT*va {
			continue
		}
		nd.Has = false
		if i := so.at[k]; i >= 0 {
			so.rd[i].kind = unused
		} else if i := so.am[k]; i >= 0 {
			so.acc[i].bad = true
		}
	}
}

// settleLaunch keeps the launch to the build-up's shapes: an accelerometer is so
// fine that the jerk, if free to stand in for the build-up, lets any earlier
// instant pass for the launch. The full thrust is told by what follows.
func (so *solver) settleLaunch(k0 int, common float64) {
	t0 := so.t[k0]
	sum, n := 0.0, 0.0
	for k := 0; k < len(so.t) && so.t[k] < t0+settle; k++ {
		so.q[k] = max(min(so.q[k], common), launchQ)
		if k > k0 && so.t[k] > t0+settle/2 {
			sum += so.node[k].Mean()[stA]
			n++
		}
	}
	if n > 0 {
		so.thrust = sum / n
		u := thrustShare*so.thrust + leastThrust
		so.thrustV = u * u
	}
}

// memory is the share of a block over which the jerk's score stays the same: an
// accelerometer tells acceleration anew within the time in which jerk of
// intensity q outgrows its noise.
func (so *solver) memory(q float64) float64 {
	if so.acc == nil {
		return 1
	}
	return min(memoryTimes*math.Sqrt(so.av/so.s.Accel.Rate/q)/block, 1)
}
