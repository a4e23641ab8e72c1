package inertial

import (
	"math"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/uncert"
)

// grid fills in the speed on an even grid.
func (d *reckoner) grid(out *Reckoning) {
	n := int(d.s.End()/gridStep) + 1
	out.T, out.V, out.U = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range out.T {
		out.T[i] = float64(i) * gridStep
	}
	for _, s := range d.stops {
		out.Rest = append(out.Rest, [2]float64{s.from, s.to})
	}
	first, last := &d.stops[0], &d.stops[len(d.stops)-1]
	d.open(out, first.from, 0, first)
	for k := 1; k < len(d.stops); k++ {
		d.bridge(out, &d.stops[k-1], &d.stops[k])
	}
	d.open(out, last.to, d.s.End(), last)
	for i := range out.U {
		g := usualGainU / usualGain * out.V[i]
		out.U[i] = math.Sqrt(out.U[i]*out.U[i] + g*g)
	}
}

// direction is dir as a vector of three.
func direction(dir []float64) (v [3]float64) {
	copy(v[:], dir)
	return v
}

// bridge reckons between two stops.
func (d *reckoner) bridge(out *Reckoning, from, to *stop) {
	r := d.s.Reader()
	t := to.from - from.to
	b0, b1 := d.biasAt(from, d.dir), d.biasAt(to, d.dir)
	rest := d.left(from, to, d.dir)
	v0 := r.Along(from.to, d.dir)
	// The bias that was missing tells how far it strays.
	stray := max(slopeBias, strays*math.Abs(rest)/t) * d.al.Gain.X
	k := 0
	lost := 0.0
	for i := int(math.Ceil(from.to / gridStep)); i < len(out.T) && out.T[i] < to.from; i++ {
		x := out.T[i] - from.to
		f := x / t
		v := r.Along(out.T[i], d.dir) - v0 - x*(b0+f*(b1-b0)/2) - rest*f*f*(3-2*f)
		out.V[i] = d.al.Gain.X * v
		if d.s.Hit(out.T[i]-gridStep, out.T[i], &k) {
			lost += lostRate * gridStep
		}
		u := stray * x * (1 - f)
		out.U[i] = math.Sqrt(u*u + d.shake*x*(1-f) + lost*lost)
	}
}

// open reckons from a stop to the log's begin or end, where nothing ties it down.
func (d *reckoner) open(out *Reckoning, from, to float64, s *stop) {
	r := d.s.Reader()
	b := d.biasAt(s, d.dir)
	v0 := r.Along(from, d.dir)
	for i, t := range out.T {
		if (t-from)*(t-to) > 0 {
			continue
		}
		x := t - from
		out.V[i] = d.al.Gain.X * (r.Along(t, d.dir) - v0 - b*x)
		out.U[i] = slopeBias * math.Abs(x) * (1 + math.Abs(x)/openTime)
	}
}

// noises fills in the rest of the alignment.
func (d *reckoner) noises(out *Reckoning) {
	al := d.al
	al.Forward = direction(d.dir)
	rest := d.s.Noise(al.Forward, out.Rest)
	var way [][2]float64
	for k := 1; k < len(out.Rest); k++ {
		way = append(way, [2]float64{out.Rest[k-1][1], out.Rest[k][0]})
	}
	moving := d.s.Noise(al.Forward, way)
	al.Rest, al.Moving, al.Rho = al.Gain.X*math.Sqrt(rest.Variance), al.Gain.X*math.Sqrt(moving.Variance), moving.Rho
	if al.Rest > steadyShare*al.Moving {
		// Nothing but its shaking tells steady driving from standing.
		al.AddNote("it shakes as much at its standstills as under way: they may be steady driving")
	}
	ss, n := 0.0, float64(len(d.stops))
	for i := range d.stops {
		al.Bias.X += accel.Dot(al.Forward, d.stops[i].mean) / n
	}
	for i := range d.stops {
		e := accel.Dot(al.Forward, d.stops[i].mean) - al.Bias.X
		ss += e * e
	}
	al.Bias.U = uncert.Combine(math.Sqrt(ss/(n-1)/n), math.Sqrt(rest.Long()/float64(d.stops[0].n)))
}
