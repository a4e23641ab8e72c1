package inertial

import (
	"cmp"
	"math"
	"slices"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/unit"
)

// axes finds the standstills and forward, each with the help of the other.
func (d *reckoner) axes() string {
	d.cut()
	d.cand = d.quiet()
	if len(d.cand) == 0 {
		return "it never stands still"
	}
	d.rest = d.cand[d.typical()].mean
	if why := d.level(); why != "" {
		return why
	}
	for range axisRounds {
		d.choose()
		if why := d.forward(); why != "" {
			return why
		}
	}
	d.choose()
	if len(d.stops) < 2 {
		return "it stands still only once: speed cannot be tied down at both ends of a motion"
	}
	return ""
}

// level finds gravity and the plane of level directions.
func (d *reckoner) level() string {
	al := d.al
	if len(d.s.Axes) == 1 {
		d.plane, d.dir = [2][]float64{{1}, {0}}, []float64{1}
		return ""
	}
	al.Gravity = accel.Norm(d.rest)
	if why := al.WrongUnit(); why != "" {
		return why
	}
	if f := al.Factor(); al.Gravity > gravityShare*accel.LeastGravity && math.Abs(al.Gravity-unit.GravityStandard) > gravityBand && f != 1 {
		al.Gain.X, al.Gain.U = al.Gain.X*f, al.Gain.U*f
	}
	if why := al.TooCoarse(d.s); why != "" {
		return why
	}
	p := d.principal([3]float64{}, [3]float64{})
	second := d.principal([3]float64{}, p)
	if al.Gravity*al.Factor() >= accel.LeastGravity {
		al.Up = accel.Unit(d.rest)
		p = d.principal(al.Up, [3]float64{})
		second = accel.Cross(al.Up, p)
	}
	d.plane = [2][]float64{p[:], second[:]}
	d.dir = p[:]
	return ""
}

// typical is the longest still-looking stretch whose reading is about as long as
// that of most of their time: steady braking looks still as well.
func (d *reckoner) typical() int {
	order := make([]int, len(d.cand))
	total := 0.0
	for i, c := range d.cand {
		order[i] = i
		total += c.to - c.from
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(accel.Norm(d.cand[i].mean), accel.Norm(d.cand[j].mean)) })
	most, sum := order[0], 0.0
	for _, i := range order {
		if sum += d.cand[i].to - d.cand[i].from; sum >= total/2 {
			most = i
			break
		}
	}
	g := accel.Norm(d.cand[most].mean)
	for i, c := range d.cand {
		if b := &d.cand[most]; math.Abs(accel.Norm(c.mean)-g) < alikeGravity*g && c.to-c.from > b.to-b.from {
			most = i
		}
	}
	return most
}

// principal is the direction square to two others in which the blocks that move
// vary most, by power iteration.
func (d *reckoner) principal(not, nor [3]float64) [3]float64 {
	var c [3][3]float64
	for i := range d.blocks {
		b := &d.blocks[i]
		if b.still {
			continue
		}
		var v [3]float64
		for j := range v {
			v[j] = b.mean[j] - d.rest[j]
		}
		v = accel.Without(accel.Without(v, not), nor)
		for j := range v {
			for k := range v {
				c[j][k] += v[j] * v[k]
			}
		}
	}
	x := accel.Unit(accel.Without(accel.Without(oblique, not), nor))
	for range powers {
		y := [3]float64{accel.Dot(c[0], x), accel.Dot(c[1], x), accel.Dot(c[2], x)}
		if accel.Norm(y) == 0 {
			break
		}
		x = accel.Unit(y)
	}
	return x
}

// forward chooses the direction that varies most and still comes to naught from
// stop to stop; what is across the vehicle does not come to naught in a bend.
func (d *reckoner) forward() string {
	if len(d.s.Axes) == 1 {
		d.orient()
		return ""
	}
	var c, n [2][2]float64 // energy, and speed left over
	for i := range d.blocks {
		if b := &d.blocks[i]; !b.still {
			var v [2]float64
			for k, p := range d.plane {
				for j := range 3 {
					v[k] += p[j] * (b.mean[j] - d.rest[j])
				}
			}
			add(&c, v, blockStill)
		}
	}
	time := 0.0
	for i := 1; i < len(d.stops); i++ {
		from, to := &d.stops[i-1], &d.stops[i]
		var v [2]float64
		for k, p := range d.plane {
			v[k] = d.left(from, to, p)
		}
		add(&n, v, 1)
		t := to.from - from.to
		time += leftOver + wanders*wanders*t*t
	}
	if c[0][0]+c[1][1] < calmEnergy*blockStill*float64(len(d.blocks)) && c[0][0]+c[1][1] < leastEnergy {
		return "it hardly moves"
	}
	best, at := -1.0, 0.0
	for k := range directions {
		s, co := math.Sincos(float64(k) * math.Pi / directions)
		q := func(m *[2][2]float64) float64 { return co*co*m[0][0] + 2*s*co*m[0][1] + s*s*m[1][1] }
		if r := q(&c) / (q(&n) + time + leftOver); r > best {
			best, at = r, float64(k)*math.Pi/directions
		}
	}
	s, co := math.Sincos(at)
	dir := make([]float64, 3)
	for j := range dir {
		dir[j] = co*d.plane[0][j] + s*d.plane[1][j]
	}
	d.dir = dir
	d.orient()
	return ""
}

// add adds the square of v, times w.
func add(m *[2][2]float64, v [2]float64, w float64) {
	for i := range v {
		for j := range v {
			m[i][j] += w * v[i] * v[j]
		}
	}
}

// orient turns forward so that the first motion goes that way.
func (d *reckoner) orient() {
	if len(d.stops) == 0 {
		return
	}
	from := &d.stops[0]
	r := d.s.Reader()
	bias := d.biasAt(from, d.dir)
	v0 := r.Along(from.to, d.dir)
	for t := from.to; t < d.s.End(); t += orientStep {
		v := r.Along(t, d.dir) - v0 - bias*(t-from.to)
		if math.Abs(v) > orientSpeed {
			if v < 0 {
				for j := range d.dir {
					d.dir[j] = -d.dir[j]
				}
			}
			return
		}
		// Bias and slope must not pass for motion after long.
		if t-from.to > orientSpan {
			break
		}
	}
}

// biasAt is what the integral of dir grows by in a second at a stop.
func (d *reckoner) biasAt(s *stop, dir []float64) float64 {
	b := 0.0
	for j, x := range dir {
		b += x * (s.mean[j] - d.s.Mean[j])
	}
	return b
}

// left is the speed in dir that is left over from one stop to another, in m/s,
// with a bias that goes from one's to the other's.
func (d *reckoner) left(from, to *stop, dir []float64) float64 {
	r := d.s.Reader()
	t := to.from - from.to
	v := -r.Along(from.to, dir)
	v += r.Along(to.from, dir)
	return v - t*(d.biasAt(from, dir)+d.biasAt(to, dir))/2
}
