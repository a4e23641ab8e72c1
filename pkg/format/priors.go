package format

// How speeds are held against positions.
const (
	unitMatch       = 0.04 // 1; difference of logarithms that makes a unit: mph and knots lie 0.14 apart, km/h and ft/s 0.09. Origin: arithmetic
	flaggedFactor   = 0.04 // 1; logarithm of a factor that is told: worn or larger tyres make less. Origin: assumed
	steady          = 0.15 // 1; change of speed within a stretch of steady driving, as a part of it. Origin: assumed
	leastWay        = 200  // m; steady driving that tells a factor. Origin: assumed
	shortestWay     = 20.0 // m; way of a stretch, so long that position noise of a metre is small. Origin: assumed
	shortestStretch = 0.95 // s; the same in time: receivers print a position a second. Origin: assumed
	longestStretch  = 20.0 // s; after which a stretch is given up: slow driving bends. Origin: assumed
	longestStep     = 3.0  // s; gap between fixes within a stretch. Origin: assumed
	fewestStretches = 5    // 1; stretches that tell a factor. Origin: assumed
	leastSure       = 0.02 // 1; spread of the stretches' middle half over the root of their number, of the factor. Origin: assumed
)
