package contrast

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// cell is a kind of session whose truth is known.
type cell struct {
	k      int
	n      []int // runs of each mode
	sd     []float64
	dist   string    // of the scatter: "normal", "t3", "skewed", "outlier", "correlated"
	order  string    // "plan", "shuffled", "blocks"
	ways   []float64 // s, what the second direction costs each mode
	costs  float64   // relative error of the costs that the model is told, NaN for none told
	drift  float64   // s per run
	curve  float64   // s over the session, along the square of the order
	shift  float64   // s, added to the last mode
	places int       // targets and origins, correlated
	looks  bool      // the tester looks after every run
	ratio  float64   // of the widest scatter to the narrowest
	past   *Past
}

// layout is the order of a cell's runs.
func (c *cell) layout(rng *rand.Rand) *Layout {
	l := &Layout{Modes: c.k}
	left := slices.Clone(c.n)
	switch c.order {
	case "blocks":
		for m, n := range c.n {
			l.Mode = append(l.Mode, slices.Repeat([]int{m}, n)...)
		}
	default:
		for pass := range slices.Max(c.n) {
			for i := range c.k {
				m := i
				if pass%2 == 1 {
					m = c.k - 1 - i
				}
				if left[m] > 0 {
					l.Mode, left[m] = append(l.Mode, m), left[m]-1
				}
			}
		}
		if c.order == "shuffled" {
			rng.Shuffle(len(l.Mode), func(i, j int) { l.Mode[i], l.Mode[j] = l.Mode[j], l.Mode[i] })
		}
	}
	for i := range l.Mode {
		l.Way = append(l.Way, float64(i%2)-0.5)
	}
	for m := range c.k {
		switch {
		case math.IsNaN(c.costs):
		case c.ways != nil && slices.Max(c.ways) > 0:
			l.Cost = append(l.Cost, max(c.ways[m], 1e-3)*(1+c.costs*rng.NormFloat64()))
		default:
			l.Cost = append(l.Cost, 1+c.costs*rng.NormFloat64())
		}
	}
	return l
}

// noise is scatter of unit standard deviation.
func (c *cell) noise(rng *rand.Rand, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		switch z := rng.NormFloat64(); c.dist {
		case "t3":
			x[i] = z / math.Sqrt(chi2(rng, 3)/3) / math.Sqrt(3)
		case "skewed":
			x[i] = (chi2(rng, 3) - 3) / math.Sqrt(6)
		case "correlated":
			if x[i] = z; i > 0 {
				x[i] = 0.6*x[i-1] + 0.8*z
			}
		default:
			x[i] = z
		}
	}
	if c.dist == "outlier" {
		x[rng.IntN(n)] += 5
	}
	return x
}

func chi2(rng *rand.Rand, df int) float64 {
	s := 0.0
	for range df {
		z := rng.NormFloat64()
		s += z * z
	}
	return s
}

// times are a session's, at each place: nine tenths of the scatter's variance is
// common to all.
func (c *cell) times(rng *rand.Rand, l *Layout) [][]float64 {
	n := len(l.Mode)
	common := c.noise(rng, n)
	out := make([][]float64, max(c.places, 1))
	for p := range out {
		z := common
		if len(out) > 1 {
			z = c.noise(rng, n)
			for i := range z {
				z[i] = math.Sqrt(0.9)*common[i] + math.Sqrt(0.1)*z[i]
			}
		}
		y := make([]float64, n)
		for i, m := range l.Mode {
			u := float64(i) / float64(n)
			y[i] = 7 + c.sd[m]*z[i] + c.drift*float64(i) + c.curve*u*u
			if c.ways != nil {
				y[i] += c.ways[m] * l.Way[i]
			}
			if m == c.k-1 {
				y[i] += c.shift
			}
		}
		out[p] = y
	}
	return out
}

func (c *cell) String() string {
	return fmt.Sprintf("n %v, scatter %.2g, %s, %s, ways %.2g, drift %.2g, last +%.3g, %d places, looks %v", c.n, c.sd, c.dist, c.order, c.ways, c.drift, c.shift, max(c.places, 1), c.looks)
}

// rates are the chances of any false claim, of a claim for the first and last mode
// and of a wrong word of equality, in 100; refused is the share of pairs.
type rates struct{ false, found, equal, refused float64 }

// run simulates sessions. A claim is false where the two modes have the same mean.
func (c *cell) run(sessions int, seed uint64, smallest float64) rates {
	rng := rand.New(rand.NewPCG(seed, 1))
	var r rates
	l := c.layout(rng)
	var courses []*Course
	for n := 2; n <= len(l.Mode); n++ {
		if c.looks && n%(2*c.k) == 0 || n == len(l.Mode) {
			cut := l.upTo(n)
			courses = append(courses, NewCourse(cut, c.past, Plan{Final: !c.looks && n == len(l.Mode)}))
		}
	}
	for range sessions {
		if c.order == "shuffled" {
			l = c.layout(rng)
			courses = []*Course{NewCourse(l, c.past, Plan{Final: true})}
		}
		y := c.times(rng, l)
		wrong, found, equal := false, false, false
		for _, course := range courses {
			places := make([][]Claim, len(y))
			for p := range y {
				places[p] = course.Claims(y[p][:len(course.Now.Mode)], &Known{Past: c.past}, smallest)
			}
			Gate(places)
			for p, claims := range places {
				for _, k := range claims {
					same := k.A == c.k-1 == (k.B == c.k-1) || c.shift == 0
					wrong = wrong || k.Differ > 0 && same
					found = found || p == 0 && k.Differ > 0 && k.A == 0 && k.B == c.k-1
					equal = equal || k.Equal > 0 && !same
					if p == 0 && course == courses[len(courses)-1] && k.Refused != "" {
						r.refused += 100 / float64(sessions*len(claims))
					}
				}
			}
		}
		r.false += is(wrong) * 100 / float64(sessions)
		r.found += is(found) * 100 / float64(sessions)
		r.equal += is(equal) * 100 / float64(sessions)
	}
	return r
}

// even is n runs of each of k modes that scatter from sd to ratio times sd.
func even(k, n int, sd, ratio float64) *cell {
	c := &cell{k: k, dist: "normal", order: "plan", costs: 0.15}
	for m := range k {
		c.n = append(c.n, n)
		c.sd = append(c.sd, sd*math.Pow(ratio, float64(m)/float64(k-1)))
	}
	return c
}

// trueSE is the standard error of the first mode's mean less the last's.
func (c *cell) trueSE() float64 {
	d := NewDesign(c.layout(rand.New(rand.NewPCG(1, 1))), 0)
	for _, p := range d.pairs {
		if p.A == 0 && p.B == c.k-1 {
			v := 0.0
			for m, q := range p.q {
				v += q * c.sd[m] * c.sd[m]
			}
			return math.Sqrt(v)
		}
	}
	return math.NaN()
}
