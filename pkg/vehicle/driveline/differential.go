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

	wheel int     // index of a wheel
	limit float64 // N·m a wheel passes to the ground

	a, b  *taker  // outputs of a differential, nil for a wheel
	kind  Kind    // of a differential: Open, Limited or Locked
	share float64 // of the torque that goes to a
	lock  float64 // extra difference of the outputs over torque
}

// join makes a differential of two takers.
func join(d Differential, share float64, a, b *taker) *taker {
	n := &taker{a: a, b: b, kind: cmp.Or(d.Kind, Open), share: share}
	switch n.kind {
	case BrakeControlled:
		n.kind = Open
	case Limited:
		bias := cmp.Or(d.Bias, DefaultBias)
		n.lock = (bias - 1) / (bias + 1)
	}
	n.most = n.capacity()
	n.kinks = n.breaks()
	for _, x := range append([]float64{n.most}, n.kinks...) {
		if x > n.clean && n.thrust(x) >= x*(1-sameTorque) {
			n.clean = x
		}
	}
	return n
}

// band is the range of output a's torque that a differential allows at torque x.
func (n *taker) band(x float64) (lo, hi float64) {
	if n.kind == Locked {
		return 0, x
	}
	h := n.lock * x / 2
	return max(0, n.share*x-h), min(x, n.share*x+h)
}

// output is one side of a differential.
type output struct {
	*taker
	share float64
}

func (n *taker) outputs() [2]output { return [2]output{{n.a, n.share}, {n.b, 1 - n.share}} }

// capacity is the most torque a differential can take without more than its
// outputs can.
func (n *taker) capacity() float64 {
	most := n.a.most + n.b.most
	if n.kind == Locked {
		return most
	}
	for _, o := range n.outputs() {
		if c := o.share - n.lock/2; c > 0 {
			most = min(most, o.most/c)
		}
	}
	return most
}

// breaks lists the torques at which a differential's thrust may change its slope.
func (n *taker) breaks() []float64 {
	var out []float64
	add := func(x float64) {
		if x > 0 && x < n.most {
			out = append(out, x)
		}
	}
	var kinks [2][]float64
	for i, o := range n.outputs() {
		kinks[i] = append([]float64{0, o.most}, o.kinks...)
		for _, k := range kinks[i] {
			if n.kind == Locked {
				continue
			}
			add(k / (o.share + n.lock/2))
			if c := o.share - n.lock/2; c > 0 {
				add(k / c)
			}
		}
	}
	if n.kind == Open {
		return out
	}
	for _, k := range kinks[0] {
		for _, l := range kinks[1] {
			add(k + l)
		}
	}
	return out
}

// thrust is the torque that reaches the ground when x is put in.
func (n *taker) thrust(x float64) float64 {
	if n.a == nil {
		return min(x, n.limit)
	}
	a := n.divide(x)
	return n.a.thrust(a) + n.b.thrust(x-a)
}

// divide is output a's part of torque x: of all that a differential allows the
// one with the most thrust, and among those the one nearest to what it does of
// itself (its share; for a solid shaft, in proportion to grip).
func (n *taker) divide(x float64) float64 {
	lo, hi := n.band(x)
	lo, hi = max(lo, x-n.b.most), min(hi, n.a.most)
	if lo >= hi {
		return max(0, min(x, (lo+hi)/2))
	}
	want := n.share * x
	if n.kind == Locked {
		if s := n.a.clean + n.b.clean; s > 0 {
			want = x * n.a.clean / s
		}
	}
	want = max(lo, min(hi, want))
	value := func(a float64) float64 { return n.a.thrust(a) + n.b.thrust(x-a) }
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
	for _, k := range n.a.kinks {
		consider(k)
	}
	for _, k := range n.b.kinks {
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
	if n.a == nil {
		return at >= n.limit*(1-same)
	}
	a := n.divide(at)
	fa, fb := n.a.free(a), n.b.free(at-a)
	if n.kind == Locked {
		return fa && fb
	}
	if n.kind == Limited && fa != fb { // its clutch must have let go too
		lo, hi := n.band(at)
		eps := same * (at + 1)
		return fa && a <= lo+eps || fb && a >= hi-eps
	}
	return fa || fb
}

// hand gives every wheel its torque: x is what is put in, and spins says whether
// what it is put into turns faster than the road.
func (n *taker) hand(x float64, spins bool, wheel func(i int, torque float64, spins bool)) {
	spins = spins && n.free(x)
	if n.a == nil {
		wheel(n.wheel, x, spins)
		return
	}
	a := n.divide(x)
	n.a.hand(a, spins && (n.kind == Locked || n.a.free(a)), wheel)
	n.b.hand(x-a, spins && (n.kind == Locked || n.b.free(x-a)), wheel)
}
