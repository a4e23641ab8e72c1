package align

import (
	"math"

	"fromrest/pkg/uncert"
)

// grid fills in the speed on an even grid.
func (d *reckoner) grid(out *Alone) {
	n := int(d.in.end()/aloneStep) + 1
	out.T, out.V, out.U = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range out.T {
		out.T[i] = float64(i) * aloneStep
	}
	for _, s := range d.stops {
		out.Rest = append(out.Rest, [2]float64{s.from, s.to})
	}
	d.shake = d.noiseRate()
	first, last := &d.stops[0], &d.stops[len(d.stops)-1]
	d.open(out, first.from, 0, first)
	for k := 1; k < len(d.stops); k++ {
		d.bridge(out, &d.stops[k-1], &d.stops[k])
	}
	d.open(out, last.to, d.in.end(), last)
	for i := range out.U {
		g := aloneGainU / aloneGain * out.V[i]
		out.U[i] = math.Sqrt(out.U[i]*out.U[i] + g*g)
	}
}

// noiseRate is the variance that the sensor's noise adds to the speed in a
// second, in m²/s³; the calm is that of the stops.
func (d *reckoner) noiseRate() float64 {
	n := noiseOf(d.a, d.in, direction(d.dir), d.al.Rate, [][2]float64{{0, d.in.end()}})
	return n.long() / d.al.Rate
}

// direction is dir as a vector of three.
func direction(dir []float64) (v [3]float64) {
	copy(v[:], dir)
	return v
}

// bridge reckons between two stops.
func (d *reckoner) bridge(out *Alone, from, to *stop) {
	r := reader{in: d.in}
	t := to.from - from.to
	b0, b1 := d.biasAt(from, d.dir), d.biasAt(to, d.dir)
	rest := d.left(from, to, d.dir)
	v0 := r.along(from.to, d.dir)
	shake := d.shake
	// The bias that was missing tells how far it strays.
	stray := math.Max(aloneBias, 1.5*math.Abs(rest)/t) * d.al.Gain.X
	k := 0
	lost := 0.0
	for i := int(math.Ceil(from.to / aloneStep)); i < len(out.T) && out.T[i] < to.from; i++ {
		x := out.T[i] - from.to
		f := x / t
		v := r.along(out.T[i], d.dir) - v0 - x*(b0+f*(b1-b0)/2) - rest*f*f*(3-2*f)
		out.V[i] = d.al.Gain.X * v
		if d.in.hit(out.T[i]-aloneStep, out.T[i], &k) {
			lost += lostRate * aloneStep
		}
		u := stray * x * (1 - f)
		out.U[i] = math.Sqrt(u*u + shake*x*(1-f) + lost*lost)
	}
}

// lostRate is by how much the acceleration is unknown where samples are missing
// or clipped, in m/s².
const lostRate = 1.5

// open reckons from a stop to the log's begin or end, where nothing ties it down.
func (d *reckoner) open(out *Alone, from, to float64, s *stop) {
	r := reader{in: d.in}
	b := d.biasAt(s, d.dir)
	v0 := r.along(from, d.dir)
	for i, t := range out.T {
		if (t-from)*(t-to) > 0 {
			continue
		}
		x := t - from
		out.V[i] = d.al.Gain.X * (r.along(t, d.dir) - v0 - b*x)
		out.U[i] = aloneBias * math.Abs(x) * (1 + math.Abs(x)/10)
	}
}

// steadyShare is the share of the shaking under way from which shaking at rest is
// suspicious.
const steadyShare = 0.75

// noises fills in the rest of the alignment.
func (d *reckoner) noises(out *Alone) {
	al := d.al
	al.Forward = direction(d.dir)
	rest := noiseOf(d.a, d.in, al.Forward, al.Rate, out.Rest)
	var way [][2]float64
	for k := 1; k < len(out.Rest); k++ {
		way = append(way, [2]float64{out.Rest[k-1][1], out.Rest[k][0]})
	}
	moving := noiseOf(d.a, d.in, al.Forward, al.Rate, way)
	al.Rest, al.Moving, al.Rho = al.Gain.X*math.Sqrt(rest.variance), al.Gain.X*math.Sqrt(moving.variance), moving.rho
	if al.Rest > steadyShare*al.Moving {
		// Nothing but its shaking tells steady driving from standing.
		al.note("it shakes as much at its standstills as under way: they may be steady driving")
	}
	ss, n := 0.0, float64(len(d.stops))
	for i := range d.stops {
		al.Bias.X += dot(al.Forward, d.stops[i].mean) / n
	}
	for i := range d.stops {
		e := dot(al.Forward, d.stops[i].mean) - al.Bias.X
		ss += e * e
	}
	al.Bias.U = uncert.Combine(math.Sqrt(ss/(n-1)/n), math.Sqrt(rest.long()/float64(d.stops[0].n)))
}
