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

// What a compressed log may grow to: a real one shrinks to a fifth or a tenth, a
// hostile one to a thousandth.
const (
	unzipRatio  = 200       // 1; times its packed size. Origin: assumed
	unzipFree   = 64 << 20  // byte; allowed whatever the ratio. Origin: assumed
	mostWindow  = 256 << 20 // byte; memory of a decompressor. Origin: assumed
	mostMembers = 10000     // 1; files of an archive. Origin: assumed
	mostHeld    = 256 << 20 // byte; archive that comes through a pipe. Origin: assumed
)
