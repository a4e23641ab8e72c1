package beside

const (
	nearStep     = 0.1    // s; between the delays that are tried first. Origin: assumed, half the width of the valley at 10 Hz
	farStep      = 0.5    // s; the same where the clocks have nothing in common. Origin: assumed
	farSamples   = 4000   // 1; samples that are looked at there. Origin: assumed, two hours in a second
	commonClock  = 5.0    // s; by which speeds on a common clock may differ. Origin: assumed, five times the slowest receiver measured
	gridLeast    = 0.02   // s; the finest grid that a speed is filtered on. Origin: assumed
	gridMost     = 0.1    // s; the coarsest. Origin: assumed
	perStep      = 5.0    // 1; points of the grid to an interval of samples. Origin: assumed
	hole         = 2.5    // of the usual interval; over a longer one nothing is drawn. Origin: as gaps of a log
	moving       = 1.0    // m/s; below it speeds are not compared: there they are held and rounded. Origin: the holds of receivers and buses
	slowest      = 1.5    // s; the longest time constant tried. Origin: the slowest receiver measured has 1.0
	tauStep      = 0.05   // s; between those tried. Origin: assumed
	leastPairs   = 60     // 1; samples in common at least. Origin: assumed, a minute at 1 Hz
	wild         = 1.0    // m/s; a difference counts for no more than this while delays are tried. Origin: assumed
	like         = 0.9    // 1; correlation of two speeds of one drive at least. Origin: assumed, drives of one road at other times reach 0.7
	tuning       = 2.0    // of the deviation; beyond it a difference has no more than this influence. Origin: Huber's M-estimator, 1.345 to 2
	block        = 20.0   // s; stretches whose sums of errors are taken for independent. Origin: assumed, several manoeuvres
	mostScatter  = 0.6    // m/s; robust standard deviation of differences, above which two speeds are not of one drive. Origin: pairs of real recordings have 0.02 to 0.11, drives of one road at other times over 1
	leastScaleU  = 5e-5   // 1; standard uncertainty of a scale at least. Origin: as that of a receiver's speed
	leastDelayU  = 0.005  // s; standard uncertainty of a delay at least. Origin: assumed, stamps
	leastScatter = 1e-3   // m/s; of differences, for logs that are copies. Origin: assumed
	rounds       = 5      // 1; of reweighting. Origin: assumed
	mad          = 0.6745 // 1; median absolute deviation of a normal distribution of deviation 1. Origin: exact
	evenSlower   = 0.3    // s; an interval up to which the slower of two logs can be filtered itself. Origin: as estimate.slowestFiltered
	calm         = 0.3    // s; standard deviation by which both speeds are smoothed alike before filters are tried. Origin: assumed, as long as a third of a slow filter
	calmLeast    = 0.1    // s; the same of the quicker log where the other is slow. Origin: assumed
	calmReach    = 3.0    // 1; standard deviations after which that smoothing ends. Origin: 1 in 400 of a normal kernel is left out
	clearer      = 2.0    // 1; of half the logarithm of the likelihood, by which a filter must be better than none. Origin: two parameters more, after Akaike
)
