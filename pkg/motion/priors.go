package motion

// What more than one of the packages below takes for granted.
const (
	Slack        = 1e-9   // s; difference of instants that rounding makes. Origin: rounding
	GapIntervals = 2.5    // 1; usual intervals without a speed that make a gap. Origin: assumed
	RestEdge     = 0.4    // s; left out at either end of a standstill: the vehicle rocks or may have begun to roll, and a clock is not yet known well. Origin: assumed
	Hardest      = 15.0   // m/s²; more than a road vehicle gains or loses. Origin: assumed
	FlatRise     = 0.02   // m/s² or m/s; least slope at an event, so that the instant's uncertainty is finite and large. Origin: assumed
	MostRho      = 0.95   // 1; greatest correlation of an accelerometer's neighbouring samples, of either sign, that is believed. Origin: assumed
	MedianSize   = 0.6745 // 1; median size of a normal value in standard deviations. Origin: normal distribution
	SDOfMedian   = 1.4826 // 1; standard deviation of a normal value in its median size. Origin: normal distribution

	mostRootSteps = 60 // 1; calls after which a root is as near as it gets. Origin: halving from a second to rounding takes fifty
)
