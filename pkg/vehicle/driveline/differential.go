package driveline

import (
	"cmp"
	"math"
)

// taker is anything that takes torque: a wheel, or a differential with what
// hangs on it. Its thrust is a concave, piecewise linear function of its torque.
type taker struct {
	most  float64   // N·m it can take
	clean float64   // N·m up to which all of it becomes thrust
	kinks []float64 // N·m at which the slope may change
	wheel int       // index, -1 for a differential
	limit float64   // N·m a wheel passes to the ground
	d     *tie
}

// tie joins two takers.
type tie struct {
	kind    Kind
	a, b    *taker
	share   float64 // to a
	preload float64 // N·m
	lock    float64 // extra difference over torque
}

func wheelTaker(i int, limit, brake float64) *taker {
	return &taker{most: limit + brake, clean: limit, kinks: []float64{limit}, wheel: i, limit: limit}
}

// join makes a differential of two takers.
func join(d Differential, share float64, a, b *taker) *taker {
	t := &tie{kind: d.Kind, a: a, b: b, share: share}
	if t.kind == "" || t.kind == BrakeControlled {
		t.kind = Open
	}
	if t.kind == Limited {
		bias := cmp.Or(d.Bias, DefaultBias)
		t.preload, t.lock = d.Preload, (bias-1)/(bias+1)
	}
	n := &taker{wheel: -1, d: t}
	n.most = t.capacity()
	n.kinks = t.breaks(n.most)
	n.clean = t.cleanUpTo(n)
	return n
}

// band is the range of output a's torque that the tie allows at torque x.
func (t *tie) band(x float64) (lo, hi float64) {
	if t.kind == Locked {
		return 0, x
	}
	h := (t.preload + t.lock*x) / 2
	return max(0, t.share*x-h), min(x, t.share*x+h)
}

// output is one side of a tie.
type output struct {
	*taker
	share float64
}

func (t *tie) outputs() [2]output { return [2]output{{t.a, t.share}, {t.b, 1 - t.share}} }

// capacity is the most torque the tie can take without more than its outputs can.
func (t *tie) capacity() float64 {
	most := t.a.most + t.b.most
	if t.kind == Locked {
		return most
	}
	for _, o := range t.outputs() {
		if c := o.share - t.lock/2; c > 0 {
			most = min(most, (o.most+t.preload/2)/c)
		}
	}
	return most
}

// breaks lists the torques at which thrust may change its slope.
func (t *tie) breaks(most float64) []float64 {
	var out []float64
	add := func(x float64) {
		if x > 0 && x < most {
			out = append(out, x)
		}
	}
	var kinks [2][]float64
	for i, o := range t.outputs() {
		kinks[i] = append([]float64{0, o.most}, o.kinks...)
		for _, k := range kinks[i] {
			if t.kind == Locked {
				continue
			}
			add((k - t.preload/2) / (o.share + t.lock/2))
			if c := o.share - t.lock/2; c > 0 {
				add((k + t.preload/2) / c)
			}
		}
	}
	for _, k := range kinks[0] {
		for _, l := range kinks[1] {
			if t.kind != Open {
				add(k + l)
			}
		}
	}
	return out
}

// cleanUpTo is the torque up to which nothing is lost to brakes or spinning.
func (t *tie) cleanUpTo(n *taker) float64 {
	best := 0.0
	for _, x := range append([]float64{n.most}, n.kinks...) {
		if x > best && n.thrust(x) >= x*(1-sameTorque) {
			best = x
		}
	}
	return best
}

// thrust is the torque that reaches the ground when x is put in.
func (n *taker) thrust(x float64) float64 {
	if n.d == nil {
		return min(x, n.limit)
	}
	a := n.d.divide(x)
	return n.d.a.thrust(a) + n.d.b.thrust(x-a)
}

// divide is output a's part of torque x: of all that the tie allows the one with
// the most thrust, and among those the one nearest to what the tie does of
// itself (its share; for a solid shaft, in proportion to grip).
func (t *tie) divide(x float64) float64 {
	lo, hi := t.band(x)
	lo, hi = max(lo, x-t.b.most), min(hi, t.a.most)
	if lo >= hi {
		return max(0, min(x, (lo+hi)/2))
	}
	want := t.share * x
	if t.kind == Locked {
		if s := t.a.clean + t.b.clean; s > 0 {
			want = x * t.a.clean / s
		}
	}
	want = max(lo, min(hi, want))
	value := func(a float64) float64 { return t.a.thrust(a) + t.b.thrust(x-a) }
	best, at := value(want), want
	eps := sameDivided * (x + 1)
	consider := func(a float64) {
		if a < lo || a > hi {
			return
		}
		v := value(a)
		if v > best+eps || v > best-eps && math.Abs(a-want) < math.Abs(at-want) {
			best, at = max(v, best), a
		}
	}
	consider(lo)
	consider(hi)
	for _, k := range t.a.kinks {
		consider(k)
	}
	for _, k := range t.b.kinks {
		consider(x - k)
	}
	return at
}

// useful is the smallest torque with which the most thrust is reached.
func (n *taker) useful() float64 {
	best, at := n.thrust(n.most), n.most
	for _, x := range n.kinks {
		if v := n.thrust(x); v > best*(1-sameTorque) && x < at {
			best, at = max(v, best), x
		}
	}
	return at
}

// free reports whether more torque would make it turn faster than the road: a
// wheel beyond its grip, an output that nothing holds. at is the torque it has.
func (n *taker) free(at float64) bool {
	if n.d == nil {
		return at >= n.limit*(1-same)
	}
	t := n.d
	a := t.divide(at)
	fa, fb := t.a.free(a), t.b.free(at-a)
	if t.kind == Locked {
		return fa && fb
	}
	if t.kind == Limited && fa != fb { // its clutch must have let go too
		lo, hi := t.band(at)
		eps := same * (at + 1)
		return fa && a <= lo+eps || fb && a >= hi-eps
	}
	return fa || fb
}

// walk hands every wheel its torque and speed, and every tie its balance. The
// input turns at speed in, what grips at speed road, both in rad/s.
func (n *taker) walk(x, in, road float64, spinning bool, wheel func(i int, torque, speed float64, spins bool), each func(t *tie, x, a, in, sa, sb float64)) {
	spinning = spinning && n.free(x)
	if !spinning {
		in = road
	}
	if n.d == nil {
		wheel(n.wheel, x, in, spinning)
		return
	}
	t := n.d
	a := t.divide(x)
	fa, fb := spinning && t.a.free(a), spinning && t.b.free(x-a)
	sa, sb := in, in
	switch {
	case t.kind == Locked:
		fa, fb = spinning, spinning
	case fa && !fb:
		sa, sb = (in-(1-t.share)*road)/t.share, road
	case fb && !fa:
		sa, sb = road, (in-t.share*road)/(1-t.share)
	}
	each(t, x, a, in, sa, sb)
	t.a.walk(a, sa, road, fa, wheel, each)
	t.b.walk(x-a, sb, road, fb, wheel, each)
}
