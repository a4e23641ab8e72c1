package contrast

import (
	"math"
	"slices"
)

// strain says what the order of the runs does to a difference, whatever the times. So
// few runs cannot show whether scatter is correlated or a drift curved, so that the
// order must withstand it, or the standard error is widened, or the pair refused.
func (d *Design) strain(c *Contrast) {
	if d.DF == 0 {
		return
	}
	l2 := dot(c.weights, c.weights)
	switch {
	case d.apart(c, "session", d.Block):
		c.Refused = "the two were never driven in the same stretch, so that the day would pass for a difference; drive both in each"
	case d.apart(c, "stretch", d.Ground):
		c.Refused = "the two were never driven on the same stretch, so that its surface and grade would pass for a difference; drive both from one start"
	case d.oneSided(c):
		c.Refused = "the two were not driven equally often each way, so that grade and wind would pass for a difference; drive each as often out as back"
	case math.Abs(d.curved(c)) > mostCurved*math.Sqrt(l2):
		c.Refused = DrivenApart
	}
	if s := d.inflated(c, l2); s > mostInflated {
		c.Strain = s
	}
}

// DrivenApart is why an order does not withstand a drift, and what would.
const DrivenApart = "the modes were not driven in turn, so that a drift of the day could pass for a difference; drive them in one order and then in the reverse"

// apart reports whether the two modes of a pair share none of the parts that the runs fall
// into and the model could not take the parts out by its term.
func (d *Design) apart(c *Contrast, term string, part []int) bool {
	if len(d.parted(part)) == 0 || slices.Contains(d.Terms, term) {
		return false
	}
	for i, m := range d.Mode {
		for j, o := range d.Mode {
			if m == c.A && o == c.B && part[i] == part[j] {
				return false
			}
		}
	}
	return true
}

// oneSided reports whether directions are too unbalanced for the model to mend.
func (d *Design) oneSided(c *Contrast) bool {
	if d.EachWay || !d.bothWays() {
		return false
	}
	most := leastOneSided
	if d.Cost != nil {
		most = mostOneSided
	}
	side := make([]float64, d.Modes)
	for i, x := range c.weights {
		side[d.Mode[i]] += x * d.Way[i]
	}
	for _, s := range side {
		if math.Abs(s) > most {
			return true
		}
	}
	return false
}

// inflated is how much larger the standard error is than the model takes it for
// where the scatter of neighbouring runs is correlated.
func (d *Design) inflated(c *Contrast, l2 float64) float64 {
	n := len(c.weights)
	v, left := 0.0, 0.0
	near := make([]float64, n) // correlation by distance
	for i := range near {
		near[i] = math.Pow(nearRuns, float64(i))
	}
	for i := range n {
		for j := range n {
			if d.block(i) != d.block(j) {
				continue
			}
			r := near[max(i-j, j-i)]
			v += c.weights[i] * c.weights[j] * r
			left += d.m[i*n+j] * r // trace of M V, and M is idempotent
		}
	}
	return math.Sqrt(v / (left / float64(d.DF) * l2))
}

// curved is what a drift along the square of the order, from 0 to 1 over the
// session, adds to the difference, or one along the order where the model has no
// term for it.
func (d *Design) curved(c *Contrast) float64 {
	place, last := map[int]float64{}, map[int]float64{}
	for i := range d.Mode {
		last[d.block(i)]++
	}
	line, square := 0.0, 0.0
	for i, x := range c.weights {
		b := d.block(i)
		place[b]++
		u := place[b] / last[b]
		line += x * u // the weights of a pair sum to nothing
		square += x * u * u
	}
	if d.drift == nil && math.Abs(line) > math.Abs(square) {
		return line
	}
	return square
}

// Strain is the most that the order widens the standard error of a pair, infinite
// where it refuses one.
func (d *Design) Strain() float64 {
	worst := 1.0
	for _, c := range d.pairs {
		if c.Refused != "" {
			return math.Inf(1)
		}
		worst = max(worst, c.Strain)
	}
	return worst
}
