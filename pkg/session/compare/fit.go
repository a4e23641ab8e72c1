package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// fit is the linear model fitted to the counted runs.
type fit struct {
	terms, dropped []string
	beta           []float64  // modes first
	cov            *mat.Dense // of beta over the scatter's variance
	df             int
	rss            float64
	dirCol, ordCol int // -1 where not fitted
}

// fit chooses the terms that the runs support and fits them. The direction term
// is kept whenever it can be told from the modes: grade and wind are always
// there. The drift is kept while it leaves two residual degrees of freedom.
func (d *data) fit() *fit {
	var cols [][]float64
	for m := range d.names {
		cols = append(cols, indicator(d.mode, m))
	}
	f := &fit{terms: []string{"mode"}, dirCol: -1, ordCol: -1}
	// add takes a term in and returns its first column, or says why it cannot.
	add := func(term, otherwise string, more ...[]float64) int {
		next := slices.Concat(cols, more)
		if rank(next) < len(next) {
			f.dropped = append(f.dropped, term+": "+otherwise)
			return -1
		}
		first := len(cols)
		cols, f.terms = next, append(f.terms, term)
		return first
	}
	if len(d.blocks) > 1 {
		add("session", "the modes were not driven in the same sessions", d.sessions()...)
	}
	switch len(d.ways) {
	case 0:
		f.dropped = append(f.dropped, "direction: "+d.noWays)
	case 1:
		f.dropped = append(f.dropped, "direction: all runs went one way")
	default:
		f.dirCol = add("direction", "it cannot be told from the modes in these runs", d.dir)
	}
	with := slices.Concat(cols, [][]float64{d.order})
	if rank(with) == len(with) && len(d.runs)-len(with) < driftDF {
		f.dropped = append(f.dropped, "order: too few runs to spend one on a drift")
	} else {
		f.ordCol = add("order", "it cannot be told from the other terms in these runs", d.order)
	}
	f.solve(cols, len(d.names), d.runs)
	return f
}

// indicator is a column of ones where the index is the one asked for.
func indicator(index []int, which int) []float64 {
	c := make([]float64, len(index))
	for i, x := range index {
		c[i] = float64(b2i(x == which))
	}
	return c
}

// sessions are the columns of all sessions but the first, centred, so that the
// modes' terms stay means over the sessions.
func (d *data) sessions() [][]float64 {
	var cols [][]float64
	for b := 1; b < len(d.blocks); b++ {
		c := indicator(d.block, b)
		mean := 0.0
		for _, v := range c {
			mean += v / float64(len(c))
		}
		for i := range c {
			c[i] -= mean
		}
		cols = append(cols, c)
	}
	return cols
}

func matrix(cols [][]float64) *mat.Dense {
	x := mat.NewDense(len(cols[0]), len(cols), nil)
	for j, c := range cols {
		x.SetCol(j, c)
	}
	return x
}

// rank counts singular values above rounding.
func rank(cols [][]float64) int {
	if len(cols) > len(cols[0]) {
		return len(cols[0])
	}
	var svd mat.SVD
	if !svd.Factorize(matrix(cols), mat.SVDNone) {
		return 0
	}
	r := 0
	s := svd.Values(nil)
	for _, v := range s {
		if v > singularLeast*s[0] {
			r++
		}
	}
	return r
}

// solve fits by least squares. Times are taken from their mean first, so that
// no digits are lost to it; the first columns are the modes'.
func (f *fit) solve(cols [][]float64, modes int, runs []Run) {
	x := matrix(cols)
	mean := 0.0
	for _, r := range runs {
		mean += r.Seconds / float64(len(runs))
	}
	y := mat.NewVecDense(len(runs), nil)
	for i, r := range runs {
		y.SetVec(i, r.Seconds-mean)
	}
	var qr mat.QR
	qr.Factorize(x)
	var b mat.VecDense
	// The columns were found independent, so that an error only says that the
	// condition is poor.
	_ = qr.SolveVecTo(&b, false, y)
	var fitted mat.VecDense
	fitted.MulVec(x, &b)
	for i := range runs {
		e := y.AtVec(i) - fitted.AtVec(i)
		f.rss += e * e
	}
	f.df = len(runs) - len(cols)
	if f.df == 0 {
		f.rss = 0
	}
	var xtx mat.Dense
	xtx.Mul(x.T(), x)
	f.cov = mat.NewDense(len(cols), len(cols), nil)
	_ = f.cov.Inverse(&xtx) // as above
	f.beta = make([]float64, len(cols))
	for j := range f.beta {
		f.beta[j] = b.AtVec(j)
	}
	for m := range modes {
		f.beta[m] += mean
	}
}

// model describes the fit for a reader.
func (f *fit) model(v *variance) Model {
	m := Model{Terms: f.terms, Dropped: f.dropped, DF: float64(f.df), Residual: math.NaN(),
		Scatter: math.Sqrt(v.s2), ScatterDF: v.df, ScatterFrom: v.from,
		Direction: math.NaN(), DirectionU95: math.NaN(), Drift: math.NaN(), DriftU95: math.NaN()}
	if f.df > 0 {
		m.Residual = math.Sqrt(f.rss / float64(f.df))
	}
	half := func(col int) float64 { return v.t() * math.Sqrt(v.s2*f.cov.At(col, col)) }
	if f.dirCol >= 0 {
		m.Direction, m.DirectionU95 = f.beta[f.dirCol], half(f.dirCol)
	}
	if f.ordCol >= 0 {
		m.Drift, m.DriftU95 = f.beta[f.ordCol], half(f.ordCol)
	}
	return m
}

// String lists the terms: "mode + direction + order, 4 residual degrees of
// freedom".
func (m Model) String() string {
	unit := "degrees"
	if m.DF == 1 {
		unit = "degree"
	}
	return fmt.Sprintf("%s, %g residual %s of freedom", strings.Join(m.Terms, " + "), m.DF, unit)
}
