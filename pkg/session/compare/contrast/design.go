package contrast

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"fromrest/pkg/stats"
)

// Design is all of a comparison that does not depend on the times.
type Design struct {
	Layout
	Terms, Dropped []string // columns in use, and those not, each with the reason
	EachWay        bool     // each mode has its own direction term
	DF             int      // residual degrees of freedom

	present []int       // runs of each mode
	m       []float64   // residual maker, N by N, row-major
	trace   []float64   // of m over the runs of each mode
	adjust  [][]float64 // weights of each mode's mean on the runs, nil for absent modes
	way     [][]float64 // weights of the direction term of each mode, nil where none
	drift   []float64   // weights of the drift, nil where not fitted
	past    float64     // degrees of freedom that a past scatter weighs
	byMode  [][]float64 // m over the runs of each mode times itself, N by N
	pairs   []*Contrast

	single map[keptKey]*Contrast // of one mode, as asked for

	each   *Design // with a direction term of each mode, nil where the runs do not support it
	unlike float64 // share of its residual sum of squares that it must explain to be used
}

// Contrast is a weighted sum of times and how its scatter is judged.
type Contrast struct {
	A, B    int    // modes whose scatters matter most; equal for a mean
	Refused string // why the order of the runs cannot show it, "" where it can
	// Strain is by how much its standard error is widened, 1 where it is not, since
	// the order of the runs does not withstand a drift of the day.
	Strain  float64
	weights []float64   // by run
	q       []float64   // sum of squares of the weights over the runs of each mode
	expect  []float64   // by mode: share of its variance in the expected estimate
	spread  [][]float64 // by pairs of modes: share in the estimate's own variance
	cap     float64     // degrees of freedom that the design leaves at most
}

// NewDesign works a layout out; past is the weight that a past scatter has, in
// degrees of freedom, 0 without one. The direction has a term for each mode where
// the runs support it and the costs are not known, or do not mend what the
// directions leave unbalanced; where they do, it is kept for times that they do not
// explain.
func NewDesign(l *Layout, past float64) *Design {
	if !l.canEach() {
		return mended(l, past)
	}
	each := newDesign(l, past, true, true)
	if l.Cost == nil {
		return each
	}
	d := mended(l, past)
	if slices.ContainsFunc(d.pairs, d.oneSided) {
		return each
	}
	if more := d.DF - each.DF; more > 0 && each.DF > 0 {
		d.each, d.unlike = each, stats.FQuantile(unlike, float64(more), float64(each.DF))*float64(more)/float64(each.DF)
	}
	return d
}

// mended is the design with one direction term for all modes. Where each mode goes out
// and then back, a drift is told from what the directions cost, and leans on the costs
// more than they bear: it is then given up.
func mended(l *Layout, past float64) *Design {
	d := newDesign(l, past, false, true)
	if d.drift != nil && slices.ContainsFunc(d.pairs, d.oneSided) {
		if plain := newDesign(l, past, false, false); !slices.ContainsFunc(plain.pairs, plain.oneSided) {
			return plain
		}
	}
	return d
}

func newDesign(l *Layout, past float64, each, order bool) *Design {
	d := &Design{Layout: *l, past: past, present: make([]int, l.Modes), EachWay: each}
	c, wayTerm, drift := l.model(each, order)
	d.Terms, d.Dropped = c.terms, c.dropped
	n := len(l.Mode)
	d.DF = n - len(c.x)
	for _, m := range l.Mode {
		d.present[m]++
	}
	d.residualMaker(c.basis)
	rows := solve(c.x)
	d.adjust = make([][]float64, l.Modes)
	at := 0
	for m := range l.Modes {
		if d.present[m] > 0 {
			d.adjust[m] = rows[at]
			at++
		}
	}
	d.directionRows(rows, wayTerm)
	if drift >= 0 {
		d.drift = rows[drift]
	}
	for a := range l.Modes {
		for b := a + 1; b < l.Modes; b++ {
			if d.present[a] > 0 && d.present[b] > 0 {
				p := d.contrast(minus(d.adjust[a], d.adjust[b]), a, b)
				d.strain(p)
				d.pairs = append(d.pairs, p)
			}
		}
	}
	return d
}

// directionRows keeps the weights of each mode's direction term.
func (d *Design) directionRows(rows [][]float64, first int) {
	if first < 0 {
		return
	}
	d.way = make([][]float64, d.Modes)
	at := first
	for m := range d.Modes {
		switch {
		case d.present[m] == 0:
		case d.EachWay:
			d.way[m] = rows[at]
			at++
		case d.Cost != nil:
			w := make([]float64, len(rows[first]))
			for i, x := range rows[first] {
				w[i] = d.Cost[m] * x
			}
			d.way[m] = w
		default:
			d.way[m] = rows[first]
		}
	}
}

// residualMaker is I less the projection on the columns, with its parts by mode.
func (d *Design) residualMaker(basis [][]float64) {
	n := len(d.Mode)
	d.m, d.trace = make([]float64, n*n), make([]float64, d.Modes)
	for i := range n {
		row := d.m[i*n : i*n+n]
		row[i] = 1
		for _, b := range basis {
			for j := range row {
				row[j] -= b[i] * b[j]
			}
		}
		if row[i] < leastResidual {
			row[i] = 0
		}
		d.trace[d.Mode[i]] += row[i]
	}
	d.byMode = make([][]float64, d.Modes)
	for m := range d.byMode {
		d.byMode[m] = make([]float64, n*n)
	}
	for r := range n {
		row, g := d.m[r*n:r*n+n], d.byMode[d.Mode[r]]
		for i, x := range row {
			if x == 0 {
				continue
			}
			for j, y := range row {
				g[i*n+j] += x * y
			}
		}
	}
}

// solve gives the rows of the least-squares estimator: coefficients from times.
func solve(cols [][]float64) [][]float64 {
	n, p := len(cols[0]), len(cols)
	x := mat.NewDense(n, p, nil)
	for j, c := range cols {
		x.SetCol(j, c)
	}
	var qr mat.QR
	qr.Factorize(x)
	eye := mat.NewDense(n, n, nil)
	for i := range n {
		eye.Set(i, i, 1)
	}
	var inv mat.Dense
	// The columns were found independent, so that an error only says that the
	// condition is poor.
	_ = qr.SolveTo(&inv, false, eye)
	rows := make([][]float64, p)
	for j := range rows {
		rows[j] = append([]float64(nil), inv.RawRowView(j)...)
	}
	return rows
}

// contrastsOf are the weights of every pair of present modes under columns whose
// first are the modes'.
func contrastsOf(cols [][]float64, l *Layout) [][]float64 {
	rows := solve(cols)
	k := 0
	for _, n := range l.counts() {
		k += int(is(n[0]+n[1] > 0))
	}
	var out [][]float64
	for a := range k {
		for b := a + 1; b < k; b++ {
			out = append(out, minus(rows[a], rows[b]))
		}
	}
	return out
}

func minus(a, b []float64) []float64 {
	d := make([]float64, len(a))
	for i := range d {
		d[i] = a[i] - b[i]
	}
	return d
}

// contrast works out how the variance of a weighted sum is estimated from the
// residuals: as the quadratic form e'We whose weights, by mode, come from the
// moderated variances.
func (d *Design) contrast(l []float64, a, b int) *Contrast {
	n, k := len(l), d.Modes
	c := &Contrast{A: a, B: b, Strain: 1, weights: l, q: make([]float64, k), expect: make([]float64, k), spread: make([][]float64, k)}
	for i, x := range l {
		c.q[d.Mode[i]] += x * x
	}
	for m := range c.spread {
		c.spread[m] = make([]float64, k)
	}
	if d.DF == 0 {
		return c
	}
	w, common := make([]float64, k), 0.0
	for m := range k {
		den := d.past + PooledDF + d.trace[m]
		w[m] = c.q[m] / den
		common += c.q[m] * PooledDF / den / float64(d.DF)
	}
	for i := range n {
		for j := range n {
			x := 0.0
			for m := range k {
				x += (w[m] + common) * d.byMode[m][i*n+j]
			}
			if i == j {
				c.expect[d.Mode[i]] += x
			}
			c.spread[d.Mode[i]][d.Mode[j]] += x * x
		}
	}
	c.cap = min(d.bellMcCaffrey(l), d.leastDF(c)) + d.past
	return c
}

// bellMcCaffrey is the degrees of freedom of the leverage-corrected variance of a
// contrast, which rest on the design alone (Bell and McCaffrey, Survey Methodology
// 28, 2002, 169-181).
func (d *Design) bellMcCaffrey(l []float64) float64 {
	n := len(l)
	tr, sq := 0.0, 0.0
	a := make([]float64, n)
	for i, x := range l {
		if mii := d.m[i*n+i]; mii > leastResidual {
			a[i] = x * x / mii
			tr += x * x
		}
	}
	for i := range n {
		for j := range n {
			mij := d.m[i*n+j]
			sq += a[i] * a[j] * mij * mij
		}
	}
	if !(sq > 0) {
		return float64(d.DF) // no run of it keeps a residual: its scatter is that of the others
	}
	return tr * tr / sq
}

// leastDF is the least number of degrees of freedom over the ratios that the
// scatters of a pair may have, the other modes scattering as the first, as the
// wilder or as the steadier of the two.
func (d *Design) leastDF(c *Contrast) float64 {
	most := ratioEqual
	lo, hi := math.MaxInt, 0
	modes := 0
	for _, n := range d.present {
		if n > 0 {
			lo, hi, modes = min(lo, n), max(hi, n), modes+1
		}
	}
	if float64(hi) >= manyMore*float64(lo) {
		most = ratioUnequal
	}
	least := math.Inf(1)
	s := make([]float64, d.Modes)
	for step := range ratioSteps {
		r := math.Pow(most, 2*float64(step)/(ratioSteps-1)-1)
		for _, other := range []float64{1, min(1, r), max(1, r)} {
			for m := range s {
				s[m] = other * other
			}
			s[c.A], s[c.B] = 1, r*r
			least = min(least, c.satterthwaite(s))
			if modes == 2 {
				break
			}
		}
	}
	return least
}

// satterthwaite is the degrees of freedom of the estimate where the modes scatter
// with the given variances.
func (c *Contrast) satterthwaite(s2 []float64) float64 {
	e, v := 0.0, 0.0
	for m, s := range s2 {
		e += s * c.expect[m]
		for o, t := range s2 {
			v += s * t * c.spread[m][o]
		}
	}
	if !(v > 0) {
		return 0
	}
	return e * e / v
}
