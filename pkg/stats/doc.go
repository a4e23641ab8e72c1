// Package stats holds the statistics that a comparison of repeated runs rests
// on: the mean and scatter of a sample, its median, Student's t and Welch's
// test, quantiles of the F distribution, the studentized range, a
// permutation test, and Holm's correction for several tests at once.
//
// It knows nothing of vehicles; a value is a float64 in whatever unit the
// caller uses, and every result is in that unit or its square. Tests are
// two-sided. Distributions come from gonum's distuv; what that lacks,
// the studentized range, is integrated here.
//
// Normality is assumed by all but the permutation test, which assumes
// exchangeability only. No function guards against runs that are not
// independent: a drift or a slope is the caller's to model.
package stats

import "errors"

// ErrTooFew is returned where a sample has too few values for the question.
var ErrTooFew = errors.New("too few values")

// ErrNotFinite is returned where a value is NaN or infinite.
var ErrNotFinite = errors.New("a value is not finite")

// manyDF is the number of degrees of freedom from which a distribution is taken
// as its limit of infinitely many; its quantiles are then off by less than a
// millionth.
const manyDF = 1e7
