package accel

import "math"

// Of whether a sensor is of use.
const (
	LeastRate       = 20.0   // Hz; the slowest useful sensor: an alarm at 10 Hz cannot place a launch better than a receiver does. Origin: assumed
	rateSlack       = 0.97   // 1; share of LeastRate that still passes: nominal rates are missed by a few per cent. Origin: assumed
	shortest        = 10.0   // s; least length of a log worth aligning. Origin: assumed
	gapIntervals    = 5.0    // 1; sample intervals without a sample that make a gap. Origin: assumed
	leastGap        = 0.1    // s; shortest gap. Origin: assumed
	mostGap         = 0.1    // 1; share of the log that gaps may take. Origin: assumed
	leastClip       = 3      // 1; equal extreme values in a row that are clipped. Origin: assumed
	leastLevels     = 40     // 1; steps of its resolution an axis must have gone through to be looked at for clipping. Origin: assumed
	nearEnd         = 0.02   // 1; share of an axis' range that counts as near its end. Origin: assumed
	mostClip        = 0.01   // 1; share of the samples that may be clipped. Origin: assumed
	coarsest        = 0.6    // m/s²; coarsest step in which a usable sensor may read. Origin: assumed
	Wild            = 400.0  // m/s²; how far a sample may be from the middle of its axis: 40 g, even in the wrong unit, is a damaged value. Origin: assumed
	enoughIntervals = 20_000 // 1; intervals that settle a median. Origin: assumed
	enoughSamples   = 2000   // 1; samples that settle the middle of an axis. Origin: assumed
	farAhead        = 256    // 1; samples ahead beyond which the place of an instant is searched for, not walked to. Origin: assumed

	// Of noise.
	blockTime        = 0.3   // s; length of the pieces that a parabola is taken off to see a sample's noise. Origin: assumed
	leastBlock       = 6     // 1; fewest samples of such a piece: three are taken up by the parabola. Origin: assumed
	calmer           = 99    // %; share of the pieces that noise is taken from: kerbs and gear changes are none. Origin: assumed
	swingTime        = 0.125 // s; means over it are held against what samples promise of them: a body nods on its springs a few times a second. Origin: common practice
	leastSwings      = 50    // 1; third differences of such means that tell anything. Origin: assumed
	swings           = 1.4   // 1; how many times the variance promised makes it the body's swinging. Origin: assumed
	leastRho         = -0.8  // 1; least correlation of neighbours that narrows a mean. Origin: assumed
	thirdDifferences = 20    // 1; variance of a third difference of independent values in theirs. Origin: 1 + 9 + 9 + 1

	// Of gravity at rest.
	leastPose    = 10                // 1; fewest samples of a standstill whose mean is used. Origin: assumed
	LeastGravity = 0.7               // m/s²; mean reading at rest below which gravity has been taken off the samples. Origin: assumed
	unitFit      = 0.06              // 1; how far from gravity, relative, a reading at rest in g or mg may be. Origin: assumed
	gravityFit   = 0.1               // 1; how far from gravity, relative, a reading at rest in m/s² may be. Origin: common practice
	LooseAngle   = 9 * math.Pi / 180 // rad; how far gravity may turn between standstills: the ground differs by a few degrees, a sensor that slid by more. Origin: assumed
)
