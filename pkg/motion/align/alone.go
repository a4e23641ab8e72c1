package align

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
)

// Alone is what an accelerometer without any speed beside it tells: speed dead
// reckoned between the standstills that its own stillness betrays.
type Alone struct {
	T     []float64    // s since the first sample, every aloneStep
	V     []float64    // m/s, forward; the first motion of the log is taken to be forward
	U     []float64    // m/s, standard uncertainty of V
	Rest  [][2]float64 // s, standstills, in order
	Align *Alignment   // of the sensor; its Reason says why V is empty
}

// Of a sensor by itself.
const (
	aloneStep = 0.025 // s, grid of the result
	// aloneGain is what the vehicle does for 1 m/s² of the sensor, and how well
	// that is known: pitch under acceleration makes a few per cent, the sensor's
	// scale as much (common practice, from memory; nothing in such a log tells).
	aloneGain, aloneGainU = 0.97, 0.04
	// aloneBias is by how much the bias between two standstills may leave the
	// straight line between its values there, in m/s²: the slope of the road.
	aloneBias = 0.05
)

// Integrate finds the standstills of an accelerometer, its forward axis and the
// speed between them: the dominant level direction that comes to naught from one
// standstill to the next. Between two standstills the bias goes from one's to the
// other's, and what speed is left at the second is taken out by a bias that grows
// and dies away in between. The error is that of a cancelled context; a sensor
// that cannot be used comes back with a Reason.
func Integrate(ctx context.Context, a *recording.Accel) (*Alone, error) {
	if a.Len() == 0 {
		return nil, errors.New("no acceleration to integrate")
	}
	al := &Alignment{UpU: math.NaN(), ForwardU: math.NaN(), Rest: math.NaN(), Moving: math.NaN(), Correlation: math.NaN()}
	out := &Alone{Align: al}
	if al.Reason = al.unusable(a); al.Reason != "" {
		return out, nil
	}
	al.Middle = recording.Instant(a.NanoUTC[0])
	al.Begin = al.Middle
	al.Gain = uncert.Value{X: aloneGain, U: aloneGainU}
	clips := findClips(a)
	for _, c := range clips {
		al.Clipped += c[1] - c[0]
	}
	if al.Reason = al.overClipped(a); al.Reason != "" {
		return out, nil
	}
	d := &reckoner{a: a, al: al, in: integrate(a, findGaps(a, al.Rate), clips)}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if al.Reason = d.axes(); al.Reason != "" {
		return out, nil
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	d.grid(out)
	d.noises(out)
	return out, ctx.Err()
}

// reckoner is a dead reckoning at work.
type reckoner struct {
	a      *recording.Accel
	al     *Alignment
	in     *integral
	blocks []block
	sums   [][4]float64 // of the blocks before each: readings, and samples
	cand   []stop       // stretches that look still
	stops  []stop       // those that are
	plane  [2][]float64 // directions among which forward lies
	dir    []float64    // forward, on the sensor's axes
	shake  float64      // m²/s³, see noiseRate
}

// axes finds the standstills and forward, each with the help of the other.
func (d *reckoner) axes() string {
	d.blocks = blocksOf(d.a, d.in, blockStill)
	d.cand = d.quiet()
	if len(d.cand) == 0 {
		return "it never stands still"
	}
	if why := d.level(); why != "" {
		return why
	}
	for range 3 {
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
	axes := len(d.in.w)
	if axes == 1 {
		d.plane, d.dir = [2][]float64{{1}, {0}}, []float64{1}
		return ""
	}
	best := d.typical()
	al.Gravity = norm(d.cand[best].mean)
	if why := al.units(); why != "" {
		return why
	}
	if f := al.factor(); al.Gravity > 0.9*leastGravity && math.Abs(al.Gravity-9.81) > 1.2 && f != 1 {
		al.Gain.X, al.Gain.U = al.Gain.X*f, al.Gain.U*f
	}
	if why := al.tooCoarse(d.a); why != "" {
		return why
	}
	p := d.principal([3]float64{}, [3]float64{})
	second := d.principal([3]float64{}, p)
	if al.Gravity*al.factor() >= leastGravity {
		al.Up = unitVector(d.cand[best].mean)
		p = d.principal(al.Up, [3]float64{})
		second = cross(al.Up, p)
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
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(norm(d.cand[i].mean), norm(d.cand[j].mean)) })
	most, sum := order[0], 0.0
	for _, i := range order {
		if sum += d.cand[i].to - d.cand[i].from; sum >= total/2 {
			most = i
			break
		}
	}
	g := norm(d.cand[most].mean)
	for i, c := range d.cand {
		if b := &d.cand[most]; math.Abs(norm(c.mean)-g) < 0.01*g && c.to-c.from > b.to-b.from {
			most = i
		}
	}
	return most
}

// principal is the direction square to two others in which the blocks that move
// vary most, by power iteration.
func (d *reckoner) principal(not, nor [3]float64) [3]float64 {
	var c [3][3]float64
	rest := d.cand[d.typical()].mean
	for i := range d.blocks {
		b := &d.blocks[i]
		if b.still {
			continue
		}
		var v [3]float64
		for j := range v {
			v[j] = b.mean[j] - rest[j]
		}
		v = without(without(v, not), nor)
		for j := range v {
			for k := range v {
				c[j][k] += v[j] * v[k]
			}
		}
	}
	x := unitVector(without(without([3]float64{0.61, 0.53, 0.59}, not), nor))
	for range 60 {
		y := [3]float64{dot(c[0], x), dot(c[1], x), dot(c[2], x)}
		if norm(y) == 0 {
			break
		}
		x = unitVector(y)
	}
	return x
}

// without is v less its part along the unit vector u, v where u is zero.
func without(v, u [3]float64) [3]float64 {
	s := dot(v, u)
	for j := range v {
		v[j] -= s * u[j]
	}
	return v
}

// forward chooses the direction that varies most and still comes to naught from
// stop to stop; what is across the vehicle does not come to naught in a bend.
func (d *reckoner) forward() string {
	if len(d.in.w) == 1 {
		d.orient()
		return ""
	}
	var c, n [2][2]float64 // energy, and speed left over
	rest := d.cand[d.typical()].mean
	for i := range d.blocks {
		if b := &d.blocks[i]; !b.still {
			var v [2]float64
			for k, p := range d.plane {
				for j := range 3 {
					v[k] += p[j] * (b.mean[j] - rest[j])
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
		time += 0.25 + 0.02*0.02*t*t
	}
	if c[0][0]+c[1][1] < 0.1*blockStill*float64(len(d.blocks)) && c[0][0]+c[1][1] < 20 {
		return "it hardly moves"
	}
	best, at := -1.0, 0.0
	for k := range 360 {
		s, co := math.Sincos(float64(k) * math.Pi / 360)
		q := func(m *[2][2]float64) float64 { return co*co*m[0][0] + 2*s*co*m[0][1] + s*s*m[1][1] }
		if r := q(&c) / (q(&n) + time + 0.25); r > best {
			best, at = r, float64(k)*math.Pi/360
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
	r := reader{in: d.in}
	bias := d.biasAt(from, d.dir)
	v0 := r.along(from.to, d.dir)
	for t := from.to; t < d.in.end(); t += 0.1 {
		v := r.along(t, d.dir) - v0 - bias*(t-from.to)
		if math.Abs(v) > 1.5 {
			if v < 0 {
				for j := range d.dir {
					d.dir[j] = -d.dir[j]
				}
			}
			return
		}
		// Bias and slope must not pass for motion after long.
		if t-from.to > 60 {
			break
		}
	}
}

// biasAt is what the integral of dir grows by in a second at a stop.
func (d *reckoner) biasAt(s *stop, dir []float64) float64 {
	b := 0.0
	for j, x := range dir {
		b += x * (s.mean[j] - d.in.mean[j])
	}
	return b
}

// left is the speed in dir that is left over from one stop to another, in m/s,
// with a bias that goes from one's to the other's.
func (d *reckoner) left(from, to *stop, dir []float64) float64 {
	r := reader{in: d.in}
	t := to.from - from.to
	v := -r.along(from.to, dir)
	v += r.along(to.from, dir)
	return v - t*(d.biasAt(from, dir)+d.biasAt(to, dir))/2
}
