// Package contrast says what the times of a session can claim of its modes. It knows
// times, modes, ways and order alone: a comparison and a plan both call it, so that a
// plan's power is what the comparison delivers.
//
// # Model
//
// A time is its mode's mean plus what the direction costs the mode, a drift along the
// order, covariates that the order keeps apart from the modes, and scatter of its mode's own
// width. What a direction costs is shaped by what the traces say it costs each mode;
// modes that lose otherwise have a term each where every one has two runs each way.
// Least squares; the residual maker M.
//
// The variance of a mode is told from its own residuals and, with the weight of
// PooledDF, from those of all. The variance of a contrast with weights l is the sum over
// modes of q s², q the sum of l² over the mode's runs: a quadratic form of the residuals,
// corrected for its expectation, with Satterthwaite's degrees of freedom, and no more than
// the design leaves at its least favourable ratio of scatters and after Bell and McCaffrey.
// Pairs are judged together by the studentised range; looks spend the error as O'Brien
// and Fleming's form of Lan and DeMets does; places follow each other through a gate.
//
// # Limits
//
// Measured on simulated sessions (make calibration): at most 6 in 100 lead to any false
// claim; skewed scatter that is four times as wide in one mode as in another up to 10.
// Two runs a mode find only differences of about ten times the scatter. Scatter of
// neighbouring runs is allowed to be correlated by 0.6 by what the order does to it,
// not by what the times show: so few cannot show it.
package contrast
