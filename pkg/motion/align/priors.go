package align

import "math"

// Of the speed that a sensor is held against.
const (
	usualU      = 0.05  // m/s; standard uncertainty of a speed that comes with none. Origin: common practice for receivers
	leastU      = 0.003 // m/s; least standard uncertainty of a speed. Origin: assumed
	leastSpeeds = 8     // 1; fewest speeds that anything can be held against. Origin: assumed
	busRate     = 30.0  // Hz; faster than this a source is a vehicle's bus, which feels the driveline's own swinging. Origin: assumed
	busSpan     = 0.2   // s; such a source's speeds are averaged over. Origin: assumed

	// Of standstills by the speed.
	stillTimes = 4.0  // 1; standard uncertainties below which a speed can be none. Origin: assumed
	leastStill = 0.12 // m/s; least bound of such a speed. Origin: assumed
	mostStill  = 0.5  // m/s; greatest bound of such a speed. Origin: assumed
	shortStill = 1.5  // s; shortest standstill used. Origin: assumed
	stillHole  = 3.0  // s; time without a speed that ends a standstill. Origin: assumed

	// Of the first search for the clock offset.
	coarseStep    = 0.1      // s; grid. Origin: assumed
	coarseMost    = 120_000  // 1; grid points beyond which the grid is made coarser. Origin: assumed
	slopeSpan     = 1.0      // s; least time that slopes are taken over. Origin: assumed
	slopeSteps    = 4        // 1; steps of the grid in that time, at least. Origin: assumed
	nearOffset    = 3.0      // s; how far clocks said to be shared may differ. Origin: assumed
	leastShare    = 0.3      // 1; share of the shorter log that an offset must let overlap. Origin: assumed
	mostSlope     = 14.0     // m/s²; steepest slope of a speed that is believed. Origin: assumed
	floorNoise    = 0.02     // m/s²; keeps an axis that reads nothing from deciding. Origin: assumed
	leastPoints   = 8        // 1; fewest grid points of a regression. Origin: assumed
	leastVariance = 1e-8     // m²/s⁴; variance of the slopes below which there is no motion. Origin: assumed
	mostR2        = 1 - 1e-9 // 1; share explained, at most: keeps its logarithm finite. Origin: assumed
	rival         = 6.0      // 1; log-likelihood by which the next best offset of a sensor on its own clock must be worse. Origin: assumed
	rivalSpans    = 5.0      // 1; spans of a slope from which an offset is another. Origin: assumed
	nothing       = 1e-300   // 1; keeps a quotient finite. Origin: range of a float64

	// Of whether a sensor felt the motion that the speed shows.
	leastCorrelation = 0.7                // 1; correlation of the slopes below which a sensor is loose, of another log, or no accelerometer. Origin: assumed
	foundCorrelation = 0.8                // 1; the same on a clock of its own: the best of all offsets reaches 0.7 by chance. Origin: assumed
	sureCorrelation  = 0.9                // 1; correlation from which an offset is believed that contradicts the clocks. Origin: assumed
	leastMotion      = 0.25               // m/s²; least standard deviation of the speed's slope that tells forward. Origin: assumed
	disagree         = 0.08               // s; difference of the offsets by slopes and by regression that the uncertainty need not cover. Origin: assumed
	disagreeShare    = 0.25               // 1; the same as a share of the speeds' interval. Origin: assumed
	leastGain        = 0.7                // 1; least gain that scale and pitch explain: a soft body pitches a degree for each m/s² at most. Origin: common practice
	mostGain         = 1.3                // 1; greatest such gain. Origin: common practice
	mostGainU        = 0.08               // 1; greatest relative standard uncertainty of a gain of use: an accelerometer of another drive has no better. Origin: assumed
	reverseMemory    = 5.0                // s; how long accelerations across the vehicle last: a corner. Origin: assumed
	turnParts        = 6                  // 1; parts of a log between which forward must not turn. Origin: assumed
	leastTurn        = 15 * math.Pi / 180 // rad; least turn that counts. Origin: assumed
	surely           = 5.0                // 1; standard deviations by which it must be told. Origin: assumed
	skew             = 0.03               // rad; how far from square the axes may be by their errors of scale. Origin: common practice, a few per cent

	// Of the speeds that the regression leaves out.
	shy         = 0.6   // s; about the ends of a standstill: receivers hold and smooth speeds there. Origin: assumed
	stillSD     = 0.005 // m/s; how well the speed of 0 at rest is known. Origin: assumed
	stillCount  = 3     // 1; speeds of a standstill that tell of the motion, the first ones. Origin: assumed
	oddTimes    = 6.0   // 1; robust standard deviations from its neighbours that make a speed an outlier. Origin: assumed
	oddLeast    = 0.15  // m/s; least difference of an outlier. Origin: assumed
	madSD       = 1.5   // 1; standard deviation over the median deviation. Origin: normal distribution, 1.48
	backing     = 1.6   // m/s²; by how much the speed's slope may differ from the sensor's: more is a vehicle that reverses, or a receiver gone wrong. Origin: assumed
	backingSpan = 1.0   // s; least time that such slopes are taken over. Origin: assumed
	backingHole = 5.0   // s; speeds farther apart tell no slope. Origin: assumed

	// Of the regression.
	leastLead       = 0.05   // s; least half of the span that the acceleration at a speed is the mean over. Origin: assumed
	mostLead        = 0.2    // s; greatest half of it. Origin: assumed
	leadNoise       = 0.04   // m²/s⁴; the sensor's noise over twice this, in m²/s³, makes the span. Origin: assumed
	midStep         = 0.05   // s; step of the second search for the offset. Origin: assumed
	spanShare       = 0.4    // 1; share of the speeds' interval that it goes from the first one: what is quick agrees by chance elsewhere too. Origin: assumed
	leastSpan       = 0.15   // s; least way that it goes. Origin: assumed
	mostSpan        = 0.4    // s; greatest way that it goes. Origin: assumed
	spanRoom        = 0.2    // s; kept free at the sensor's ends beyond it. Origin: assumed
	mostRounds      = 12     // 1; rounds of the regression, at most. Origin: assumed
	reweights       = 3      // 1; weightings of the residuals in a round. Origin: assumed
	settled         = 5e-5   // s; move of the offset that ends them. Origin: assumed
	mostMove        = 0.1    // s; greatest move of the offset in a round. Origin: assumed
	mostTurn        = 200e-6 // s/s; greatest change of the drift in a round. Origin: assumed
	looseDrift      = 500e-6 // s/s; prior standard deviation of the drift: keeps it from running away in a short log. Origin: assumed
	mostDrift       = 50e-6  // s/s; uncertainty of the drift above which it counts as not told. Origin: assumed
	usualDrift      = 30e-6  // s/s; standard uncertainty of the rate of two clocks where the log does not tell it. Origin: common practice for quartz
	hubers          = 2.5    // 1; standard deviations from which a residual counts less (Huber). Origin: common practice
	enough          = 5000   // 1; residuals that settle a median. Origin: assumed
	leastSD         = 1e-6   // 1; least standard deviation of whitened residuals. Origin: assumed
	leastScale      = 1e-12  // 1; least variance of whitened residuals. Origin: assumed
	noiseStep       = 0.02   // 1; relative change of the noise by which its share in the first column is told. Origin: assumed
	mostAttenuation = 0.2    // 1; greatest share of the first column's squares taken for noise. Origin: assumed
	mostClear       = 0.7    // 1; greatest share of the offset's squares taken for noise. Origin: assumed

	// Of the wander.
	firstBias  = 1.0   // m/s²; standard deviation of the bias to begin with. Origin: assumed
	unknown    = 1e6   // m²/s²; variance of what nothing tells. Origin: assumed
	slopeWalk  = 0.02  // m/s² per root second; how fast the bias wanders to begin with. Origin: assumed
	mostWalk   = 0.2   // m/s² per root second; how fast it wanders at most. Origin: assumed
	startNoise = 1e-7  // m²/s³; least noise of the sensor to begin with. Origin: assumed
	leastNoise = 1e-8  // m²/s³; least noise tried. Origin: assumed
	mostNoise  = 10.0  // m²/s³; greatest noise tried. Origin: assumed
	leastBias  = 1e-10 // m²/s⁵; least intensity of the bias's walk tried. Origin: assumed
	wideFactor = 8.0   // 1; factor between the values tried first. Origin: assumed
	fineFactor = 2.0   // 1; factor between the values tried next. Origin: assumed
	gainLL     = 0.1   // 1; gain in log-likelihood that is worth a change. Origin: assumed
	settling   = 10    // 1; part of the log, one in so many, in which the filter settles. Origin: assumed

	// Of the uncertainties.
	memory         = 2.0  // s; over which residuals may be correlated. Origin: assumed
	leastStep      = 1e-3 // s; least interval of speeds that it is counted in. Origin: assumed
	lagShare       = 8    // 1; values for each lag of a correlation, at least. Origin: assumed
	stretch        = 10.0 // s; stretches of a log whose scatter is looked at. Origin: assumed
	leastStretches = 5    // 1; fewest stretches whose scatter tells anything. Origin: assumed
	manyStretches  = 12   // 1; stretches that make a long log. Origin: assumed
	trusted        = 0.7  // 1; share of the plain variance that a long log may undercut. Origin: assumed, held to by `go test ./pkg/motion/align -run Honest -v`
)

// Of a receiver's filter.
const (
	leastLagLL = 8.0 // 1; log-likelihood that a filter must gain to be believed in. Origin: assumed, one in 3000 by chance and a wander that is not quite as modelled
	mostRough  = 0.2 // m/s² per root hertz; vibration of a sensor that tells of a filter, at most. Origin: assumed; sound sensors have 0.03, one that swings beside a slow receiver 0.12
	mostMisses = 1   // 1; time constants in a row that may be no better before the search ends. Origin: assumed
)

// lagsTried are the time constants that are tried beside an accelerometer.
var lagsTried = []float64{0.06, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85, 1} // s; time constants tried. Origin: assumed
