package ramp

const (
	heldShare     = 0.03 // 1; share of full thrust that rolling resistance holds at rest: 0.012 of the weight against a third of it. Origin: common practice
	lagOver       = 4.0  // 1; build-up times after which a first-order rise no longer changes acceleration. Origin: 1 - exp(-12)
	leastTau      = 0.03 // s; begin of the prior of the build-up: that of a quick electric drive. Origin: common practice, from memory
	mostTau       = 4.0  // s; end of it. Origin: the slowest of 70 recorded departures took 4.1 s
	stepTau       = 0.02 // s; what a step stands for: all that is quicker. Origin: assumed
	ownShape      = 0.3  // 1; probability that a run has a shape of its own. Origin: assumed; a shape forced on all runs is too sure
	mus           = 24   // 1; means tried. Origin: assumed
	filterOver    = 7.0  // 1; time constants after which a filter of the first order shows nothing more of the past. Origin: exp(-7) is a thousandth
	nearPole      = 1e-4 // 1; relative distance of two time constants at which the closed form is still good. Origin: rounding
	mostTaps      = 60   // 1; fixes that a tracking filter remembers, at most. Origin: arithmetic, gains from 0.2
	leastTap      = 1e-5 // 1; weight of a fix that is none. Origin: assumed
	usualRelease  = 0.3  // s; in which a brake is let go before a vehicle stands, the middle of the prior. Origin: common practice, 0.05 to 1.5 s
	releaseSpread = 0.8  // 1; standard deviation of its logarithm. Origin: as usualRelease
	leastMode     = 1e-6 // 1; least probability of a mode's build-up that is kept. Origin: assumed
	leastExponent = -900 // 1; binary exponent below which products are scaled. Origin: a float64 begins to lose digits at -1022
)

// shapePrior weighs the shapes of the build-up before the data speak.
var shapePrior = [numShapes]float64{0.36, 0.34, 0.3} // 1; linear, half a cosine, first order. Origin: assumed

// taus are the build-up times tried.
var taus = []float64{0.03, 0.045, 0.065, 0.09, 0.12, 0.16, 0.21, 0.28, 0.37, 0.5, 0.68, 0.92, 1.25, 1.7, 2.3, 3.2} // s; build-up times tried, a factor of about 1.35 apart. Origin: assumed

// spreads are the scatters of the build-up's logarithm among the runs of a mode.
var spreads = []float64{0.15, 0.3, 0.6, 1.2} // 1; standard deviations of the logarithm tried. Origin: assumed
