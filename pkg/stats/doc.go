// Package stats holds the statistics that a comparison of repeated runs rests
// on: samples, t tests and intervals, exact rank and permutation tests, one-way
// analysis of variance and repeatability, multiple comparisons, power.
//
// It knows nothing of vehicles; a value is a float64 in whatever unit the
// caller uses, and every result is in that unit or its square. Tests are two-
// sided unless a name says otherwise. Distributions come from gonum's distuv;
// what that lacks (the noncentral t and F, the studentized range) is integrated
// here.
//
// Normality is assumed by the t tests, the analysis of variance and the power
// functions. The rank and permutation tests assume exchangeability only. No
// function guards against runs that are not independent: a drift or a slope is
// the caller's to model.
package stats

import "errors"

// ErrTooFew is returned where a sample has too few values for the question.
var ErrTooFew = errors.New("too few values")

// ErrNotFinite is returned where a value is NaN or infinite.
var ErrNotFinite = errors.New("a value is not finite")
