package compare

import (
	"fmt"
	"math"

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
	n, k := len(d.runs), len(d.names)
	cols := make([][]float64, 0, k+3)
	for m := range k {
		c := make([]float64, n)
		for i := range c {
			if d.mode[i] == m {
				c[i] = 1
			}
		}
		cols = append(cols, c)
	}
	f := &fit{terms: []string{"mode"}, dirCol: -1, ordCol: -1}
	if len(d.blocks) > 1 {
		cols = d.addBlocks(f, cols)
	}
	switch {
	case len(d.ways) == 0:
		f.dropped = append(f.dropped, "direction: "+d.noWays)
	case len(d.ways) == 1:
		f.dropped = append(f.dropped, "direction: all runs went one way")
	default:
		if next := append(cols[:len(cols):len(cols)], d.dir); rank(next) == len(next) {
			f.dirCol, cols = len(cols), next
			f.terms = append(f.terms, "direction")
		} else {
			f.dropped = append(f.dropped, "direction: it cannot be told from the modes in these runs")
		}
	}
	next := append(cols[:len(cols):len(cols)], d.order)
	switch {
	case rank(next) < len(next):
		f.dropped = append(f.dropped, "order: it cannot be told from the other terms in these runs")
	case n-len(next) < 2:
		f.dropped = append(f.dropped, "order: too few runs to spend one on a drift")
	default:
		f.ordCol, cols = len(cols), next
		f.terms = append(f.terms, "order")
	}
	f.solve(cols, k, d.runs)
	return f
}

func (d *data) addBlocks(f *fit, cols [][]float64) [][]float64 {
	added := cols
	for b := 1; b < len(d.blocks); b++ {
		c := make([]float64, len(d.runs))
		for i := range c {
			if d.block[i] == b {
				c[i] = 1
			}
		}
		added = append(added[:len(added):len(added)], c)
	}
	if rank(added) < len(added) {
		f.dropped = append(f.dropped, "session: the modes were not driven in the same sessions")
		return cols
	}
	f.terms = append(f.terms, "session")
	// Centred, so that the modes' terms stay means over the sessions.
	for c := len(cols); c < len(added); c++ {
		mean := 0.0
		for _, v := range added[c] {
			mean += v / float64(len(d.runs))
		}
		for i := range added[c] {
			added[c][i] -= mean
		}
	}
	return added
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
		if v > 1e-9*s[0] {
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
	s := ""
	for i, t := range m.Terms {
		if i > 0 {
			s += " + "
		}
		s += t
	}
	unit := "degrees"
	if m.DF == 1 {
		unit = "degree"
	}
	return fmt.Sprintf("%s, %g residual %s of freedom", s, m.DF, unit)
}
