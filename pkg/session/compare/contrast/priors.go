package contrast

// How the scatter of each mode is told from few runs.
const (
	PooledDF = 4.0 // 1; weight of the scatter of all modes in that of each, in degrees of freedom. Origin: chosen on simulated sessions, make calibration shows what it keeps.

	ratioEqual    = 2.0  // 1; scatters of the two modes of a pair may differ by so much, as a ratio, when its degrees of freedom are taken at their least. Origin: as above.
	ratioUnequal  = 4.0  // 1; the same where one mode has many more runs than another. Origin: as above.
	manyMore      = 2.0  // 1; times the runs of the least driven mode, more is many more. Origin: as above.
	ratioSteps    = 9    // 1; ratios tried between the extremes. Origin: assumed, the least is flat.
	leastSE       = 1e-6 // s; least standard error. Origin: by definition, times are worked out to a microsecond.
	leastResidual = 1e-9 // 1; share of a run left in its residual, less is none. Origin: arithmetic.
)

// What a past session's scatter weighs, in degrees of freedom: scatters of two
// days differ though neither is wrong.
const (
	PastSame  = 7.0 // 1; that of the same vehicle. Origin: chosen on simulated sessions whose scatters differ by about 30 %.
	PastOther = 3.0 // 1; that of any other, of four modes or more, and of two runs a mode. Origin: as above.
	manyModes = 4   // 1; modes from which a past session of the same vehicle weighs as any other. Origin: as above.
	fewRuns   = 2   // 1; runs in the least driven mode up to which it does. Origin: as above.
)

// When the order of the runs cannot keep a difference apart from something else.
const (
	nearRuns      = 0.6  // 1; correlation of the scatter of neighbouring runs that a design must withstand. Origin: assumed, stronger than a warming drive line or a falling wind leaves.
	mostInflated  = 1.2  // 1; a standard error so much larger under it is too much. Origin: simulated sessions, balanced orders reach 1.17 and blocks start at 1.35.
	mostCurved    = 0.5  // 1; share of a curved drift in a difference, in its standard errors per residual. Origin: simulated sessions, as above.
	mostOneSided  = 0.2  // 1; imbalance of directions in a mode, of one half where all runs went one way, that the cost of each mode mends. Origin: assumed, three runs a mode leave 0.17.
	leastOneSided = 0.02 // 1; the same where that cost is not known. Origin: assumed, rounding of a balanced order.
	driftDF       = 2    // 1; residual degrees of freedom that a drift must leave. Origin: assumed.
	extraDF       = 3    // 1; those that a covariate must leave. Origin: assumed.
	mostConfused  = 1.1  // 1; a covariate that makes a pair's standard error so much larger is not told from the modes. Origin: assumed.
	independent   = 1e-8 // 1; share of a column's length outside those before it, less is none. Origin: arithmetic, between rounding and any design of runs.
	unlike        = 0.01 // 1; chance by which modes that lose alike each way, but for their costs, would seem not to: each then has its own direction term. Origin: assumed, small enough to add nothing to false claims.
	eachWay       = 2    // 1; runs of every mode in each direction from which each mode has its own direction term. Origin: one would leave a mode no residual.
	leastShare    = 1e-3 // 1; share of the plan that a first look has at least. Origin: arithmetic.
)

// How looks are spent.
const (
	Alpha       = 0.05 // 1; chance of any false claim. Origin: common practice.
	AssumedRuns = 8    // 1; runs of each mode that a session without a plan is taken to aim for. Origin: assumed, two out-and-back rounds of four; more is rarely driven.
	worthALook  = 1e-6 // 1; chance spent on a look, less is not worth having taken it. Origin: arithmetic.
	gridSteps   = 64   // 1; steps of the grid on which the looks' paths are followed, even. Origin: arithmetic, halving changes no boundary by a thousandth.
	bisections  = 40   // 1; halvings that find a boundary. Origin: arithmetic.
	farOut      = 8.0  // 1; standard deviations beyond which a path is not followed. Origin: arithmetic.
	rangeFrom   = 1e-4 // 1; level from which pairs are judged by the studentised range, below it by Bonferroni's inequality, which is then nearly as sharp. Origin: arithmetic, the range is known to a ten-millionth.
	leastDF     = 0.5  // 1; degrees of freedom are tabulated from here. Origin: arithmetic.
	mostDF      = 1000 // 1; and up to here. Origin: arithmetic, more change no digit.
)

// Simulated sessions.
const (
	PlanSessions   = 1600   // 1; sessions that a plan is worked out from. Origin: arithmetic, two points of standard error at 80 in 100.
	neededSessions = 300    // 1; those for the runs still needed. Origin: arithmetic, it is printed with a range far wider than their error.
	MostMore       = 20     // 1; more runs of each mode, beyond them nobody drives on. Origin: assumed, an afternoon.
	draws          = 0x5e55 // 1; keeps simulated scatter apart from other draws of one seed. Origin: assumed, any number would do.
)
