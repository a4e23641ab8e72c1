package compare

// The verdict.
const (
	Alpha     = 0.05 // 1; chance of any false claim among the pairs of a target, and 1 less the confidence of an interval. Origin: common practice.
	maxClosed = 7    // 1; modes for which closed testing is done: the ways to group them grow like 5, 15, 52, 203, 877 for 3 to 7, and beyond Tukey and Kramer's test takes its place. Origin: assumed, some milliseconds.
)

// What a comparison or a plan is to find where nothing is said.
const (
	DefaultSmallest = 0.05 // s; the smallest difference worth knowing. Origin: common practice, the last digit the trade prints is a tenth.
	DefaultPower    = 0.8  // 1; chance to find it. Origin: common practice.
	mostNeeded      = 200  // 1; runs in each mode, more nobody drives. Origin: assumed.
)

// What is allowed for run-to-run scatter where the runs cannot show it.
const (
	AllowanceShare = 0.012 // 1; scatter of repeated times, as a share of the time. Origin: common practice, from memory: careful standing starts of one vehicle on one day repeat to about one per cent, and this is a little above.
	AllowanceLeast = 0.02  // s; the least that is allowed. Origin: common practice, from memory.
	AllowanceDF    = 4.0   // 1; its weight in degrees of freedom. Origin: assumed, it may be wrong by a factor of about one and a half either way.
	mostKnownDF    = 200.0 // 1; its weight at most, in degrees of freedom, with the measurement's part joined. Origin: assumed, more change no printed digit.
	enoughDF       = 8     // 1; residual degrees of freedom that do without it. Origin: assumed, twice its weight.
	driftDF        = 2     // 1; residual degrees of freedom that a drift must leave. Origin: assumed.
)

// The runs' own scatter takes over where a variance so much larger than the one
// known would come up this rarely by chance: sooner against the allowance, which
// is a guess, than against a past session.
const (
	dropAllowance = 0.1   // 1; chance of such a variance at which they replace the allowance. Origin: assumed.
	dropPast      = 0.025 // 1; chance at which they replace a past session. Origin: assumed.
)

// A plan.
const (
	mostModes     = 26     // 1; most modes. Origin: assumed, a letter each.
	mostRuns      = 100    // 1; most runs in each mode. Origin: assumed, more than a day holds.
	leastPower    = Alpha  // 1; the power wanted must exceed it: so much a test has of nothing. Origin: by definition.
	mostTimes     = 1e4    // 1; times the scatter, no larger difference is looked for. Origin: assumed.
	halvings      = 40     // 1; halvings of the interval that holds the detectable difference. Origin: arithmetic, a millionth of a millionth is left.
	shuffles      = 0x91a7 // 1; keeps the shuffle of modes apart from other draws of one seed. Origin: assumed, any number would do.
	singularLeast = 1e-9   // 1; share of the largest singular value, smaller is none. Origin: assumed, between rounding and any design of runs.
)
