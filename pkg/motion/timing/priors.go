package timing

import "fromrest/pkg/uncert"

// Of the traces.
const (
	TraceStep   = 0.02 // s; grid of the traces. Origin: assumed
	traceBefore = 1.0  // s; before the launch that a trace begins. Origin: assumed
	stopBefore  = 0.5  // s; after a stop that its trace ends. Origin: assumed
	looseEnd    = 0.3  // s; at the end of a trace in which no peak is looked for: a smoother's ends are loose. Origin: assumed

	// Of a time and its interval.
	reachedWeight = 0.9          // 1; probability of the paths that must reach a target. Origin: assumed
	level         = uncert.Level // 1; probability that an interval holds. Origin: common practice
	untoldLevel   = 0.9          // 1; probability that an interval holds behind each filter where nothing tells which it is. Origin: simulated filters, at which nine intervals of ten hold: those that it stands for are quicker
	leastDF       = 2.0          // 1; degrees of freedom below which Student's factor is not asked for. Origin: assumed
	mostT         = 4.3          // 1; factor for as few. Origin: Student's t for 2 degrees of freedom
	manyDF        = 200.0        // 1; degrees of freedom from which a normal distribution will do. Origin: assumed
	leastSD       = 1e-9         // s; keeps a quotient finite. Origin: rounding
	leastHalf     = 1e-6         // s; least half-width that is tried. Origin: assumed
	mostHalf      = 1e4          // s; greatest half-width that is tried. Origin: assumed
	halfGrows     = 1.3          // 1; factor in between. Origin: assumed
	halfTol       = 1e-6         // s; to which it is found. Origin: a millionth is printed in JSON

	// Of a braking.
	mfddFrom    = 0.8  // 1; share of the initial speed from which mean fully developed deceleration is taken. Origin: UN R13 Annex 4
	mfddTo      = 0.1  // 1; share of the initial speed to which it is. Origin: UN R13 Annex 4
	nominalStep = 10   // 1; nominal speeds are multiples of this in the unit used. Origin: assumed
	nominalFit  = 0.02 // 1; share of a nominal speed that may be missing. Origin: assumed
	setIn       = 0.5  // 1; share of the mean deceleration at which braking begins. Origin: assumed
	setInFrom   = 0.2  // 1; share at the begin of what is not known of that instant. Origin: assumed
	setInTo     = 0.8  // 1; share at its end. Origin: assumed

	// Of what a user may ask for.
	leastTarget = 1.0       // m; shortest distance. Origin: assumed
	mostTarget  = 100_000.0 // m; longest distance. Origin: assumed
)
