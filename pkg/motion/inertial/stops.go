package inertial

import (
	"math"
	"slices"

	"fromrest/pkg/motion/accel"
)

// block is a short piece of the log.
type block struct {
	from, to float64 // s
	mean     [3]float64
	sd       float64 // m/s², over all axes
	n        int
	still    bool
}

// cut cuts the log into pieces; those with a gap or clipped samples are left out.
func (d *reckoner) cut() {
	in := d.s
	i, k := 0, 0
	for i < len(in.T) {
		b := block{from: in.T[i]}
		var sum, sq [3]float64
		for ; i < len(in.T) && in.T[i] < b.from+blockStill; i++ {
			for j, x := range in.Axes {
				sum[j] += x[i] - in.Mean[j]
				sq[j] += (x[i] - in.Mean[j]) * (x[i] - in.Mean[j])
			}
			b.n++
			b.to = in.T[i]
		}
		if b.n < 3 || in.Hit(b.from, b.to, &k) {
			continue
		}
		n := float64(b.n)
		v := 0.0
		for j := range in.Axes {
			b.mean[j] = in.Mean[j] + sum[j]/n
			v += (sq[j] - sum[j]*sum[j]/n) / (n - 1)
		}
		b.sd = math.Sqrt(max(v, 0))
		d.blocks = append(d.blocks, b)
	}
}

// stop is a stretch of still blocks.
type stop struct {
	from, to float64 // s
	mean     [3]float64
	sd       float64 // m/s², vibration
	n        int     // samples
	i, j     int     // blocks
}

// quiet finds the stretches that look still: calm, and reading the same
// throughout.
func (d *reckoner) quiet() []stop {
	sds := make([]float64, len(d.blocks))
	for i := range d.blocks {
		sds[i] = d.blocks[i].sd
	}
	slices.Sort(sds)
	if len(sds) == 0 {
		return nil
	}
	d.sums = make([][4]float64, len(d.blocks)+1)
	for i, b := range d.blocks {
		n := float64(b.n)
		d.sums[i+1] = d.sums[i]
		for k := range b.mean {
			d.sums[i+1][k] += n * b.mean[k]
		}
		d.sums[i+1][3] += n
	}
	floor := max(sds[len(sds)/calmest], floorSD)
	var out []stop
	for i := 0; i < len(d.blocks); {
		s, next := d.stretch(i, calm*floor)
		if s.to-s.from >= leastStop {
			s.trim(d.blocks)
			for k := s.i; k < s.j; k++ {
				d.blocks[k].still = true
			}
			out = append(out, s)
		}
		i = max(next, i+1)
	}
	return out
}

// stretch is the longest steady stretch from block i on.
func (d *reckoner) stretch(i int, most float64) (s stop, next int) {
	s.i = i
	for j := i; j < len(d.blocks); j++ {
		b := &d.blocks[j]
		if b.sd > most || j > i && b.from-d.blocks[j-1].to > blockHole {
			break
		}
		if j > i && !d.alike(i, j, b, 1) {
			break
		}
		// A second's mean tells a gentle start that a piece's does not.
		if k := j + 1 - wide; k > i+wide && !d.alike(i, k, d.joined(k, j+1), wideSteady) {
			s.j = k
			break
		}
		s.j = j + 1
	}
	if s.j <= i {
		return s, i + 1
	}
	s.fill(d.blocks)
	return s, s.j
}

// joined is the piece that the blocks from i to before j make together.
func (d *reckoner) joined(i, j int) *block {
	s := stop{i: i, j: j}
	s.fill(d.blocks)
	return &block{mean: s.mean, sd: s.sd, n: s.n}
}

// alike reports whether a piece reads what the blocks from i to before j read;
// steadily scales what is allowed beyond noise.
func (d *reckoner) alike(i, j int, b *block, steadily float64) bool {
	p, q := d.sums[i], d.sums[j]
	n := q[3] - p[3]
	// Noise is seldom white: means scatter more than samples say.
	allow := steadily*steady + noisy*b.sd/math.Sqrt(3)*math.Sqrt(1/float64(b.n)+1/n)
	far := 0.0
	for k, m := range b.mean {
		e := m - (q[k]-p[k])/n
		far += e * e
	}
	return far < threeAxes*allow*allow // over three axes
}

// fill computes a stop from its blocks.
func (s *stop) fill(blocks []block) {
	s.mean, s.n, s.sd = [3]float64{}, 0, 0
	for _, b := range blocks[s.i:s.j] {
		for k := range s.mean {
			s.mean[k] += b.mean[k] * float64(b.n)
		}
		s.n += b.n
		s.sd += b.sd * b.sd
	}
	for k := range s.mean {
		s.mean[k] /= float64(s.n)
	}
	s.sd = math.Sqrt(s.sd / float64(s.j-s.i))
	s.from, s.to = blocks[s.i].from, blocks[s.j-1].to
}

// trim takes a block off either end, in which the vehicle may rock or leave.
func (s *stop) trim(blocks []block) {
	if s.j-s.i > wide {
		s.i, s.j = s.i+1, s.j-1
		s.fill(blocks)
	}
}

// choose takes those of the still-looking stretches that are standstills: at a
// steady speed a vehicle looks as still, but the acceleration before says that it
// moves. Of all chains of stretches the one is taken that stands longest and
// calmest while its speeds come to naught from each to the next.
func (d *reckoner) choose() {
	n := len(d.cand)
	score, from := make([]float64, n), make([]int, n)
	least := math.Inf(1)
	for i := range d.cand {
		least = min(least, d.cand[i].sd)
	}
	d.shake = d.s.Noise(direction(d.dir), [][2]float64{{0, d.s.End()}}).Long() / d.al.Rate
	top := 0
	for j := range d.cand {
		from[j] = -1
		best := 0.0
		for i := j - 1; i >= 0 && j-i <= mostBack; i-- {
			if s := score[i] - d.doubt(&d.cand[i], &d.cand[j]); s > best {
				best, from[j] = s, i
			}
		}
		c := &d.cand[j]
		score[j] = best + min(c.to-c.from, longStop)*math.Pow(max(least, floorSD)/max(c.sd, floorSD), 2)
		if score[j] > score[top] {
			top = j
		}
	}
	d.stops = nil
	for j := top; j >= 0; j = from[j] {
		d.stops = append(d.stops, d.cand[j])
	}
	slices.Reverse(d.stops)
	d.join()
}

// join makes one standstill of two that hardly anything parts.
func (d *reckoner) join() {
	out := d.stops[:1]
	for _, s := range d.stops[1:] {
		last := &out[len(out)-1]
		if s.from-last.to < joinBlocks*blockStill && math.Abs(d.left(last, &s, d.dir)) < joinSpeed {
			n, m := float64(last.n), float64(s.n)
			for k := range last.mean {
				last.mean[k] = (n*last.mean[k] + m*s.mean[k]) / (n + m)
			}
			last.sd = math.Sqrt((n*last.sd*last.sd + m*s.sd*s.sd) / (n + m))
			last.to, last.n, last.j = s.to, last.n+s.n, s.j
			continue
		}
		out = append(out, s)
	}
	d.stops = out
}

// doubt is how much speaks against two still stretches, one after the other,
// both being standstills: half the square of the speed left over, in standard
// deviations.
func (d *reckoner) doubt(from, to *stop) float64 {
	if accel.Angle(from.mean, to.mean) > accel.LooseAngle && d.al.Gravity > accel.LeastGravity {
		return math.Inf(1)
	}
	t := to.from - from.to
	b := slopeBias * t / 2
	e := d.left(from, to, d.dir)
	// The ground does not change its slope under a vehicle that has no time to go
	// elsewhere.
	turn := d.biasAt(from, d.dir) - d.biasAt(to, d.dir)
	allow := leastSlope + min(slopeGrows*t, mostSlopes)
	return 0.5*e*e/(leftOverRest+d.shake*t+b*b) + 0.5*turn*turn/allow/allow
}
