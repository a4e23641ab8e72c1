// Package ramp is how the thrust of a launch builds up, and what several launches teach
// each other of it.
//
// Model. Thrust grows from nothing to its full value in one of three shapes over a
// build-up time tau, of which seventeen are tried between a step and four seconds. The
// logarithm of a run's tau is normal about the mu of its mode with a standard deviation s;
// mu is even over the range, s is one of a few values, and a run has the mode's shape with
// some probability and any of them else: a mode, a driver and a vehicle shift the build-up
// by a factor, and no launch is quite like the last. Mu, s and the mode's shape are
// integrated over on a grid.
//
// Units. Times in s, weights are probabilities, evidence is the natural logarithm of the
// likelihood of a run's readings under each ramp of All, with any constant.
//
// Limits. Runs of a mode are taken for alike; a mode that is driven with two feet is only
// as sharp as the widest s. What the readings do not tell apart stays apart: the result is
// a distribution, never one ramp.
//
// Sources: docs/method.md; Gelman et al., Bayesian Data Analysis, 3rd ed., chapter 5, for
// the hierarchical model.
package ramp
