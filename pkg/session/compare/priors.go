package compare

// The verdict.
const (
	// Alpha is the chance of any false claim among the pairs of a target, and 1
	// less the confidence of an interval.
	Alpha     = 0.05 // probability. Origin: common practice.
	maxClosed = 7    // modes for which closed testing is done; the ways to group them grow like 5, 15, 52, 203, 877 for 3 to 7, and beyond Tukey and Kramer's test takes its place. Origin: assumed, some milliseconds.
)

// What a comparison or a plan is to find where nothing is said.
const (
	DefaultSmallest = 0.05 // s; the smallest difference worth knowing. Origin: common practice, the last digit the trade prints is a tenth.
	DefaultPower    = 0.8  // chance to find it. Origin: common practice.
	mostNeeded      = 200  // runs in each mode; more nobody drives. Origin: assumed.
)

// What is allowed for run-to-run scatter where the runs cannot show it.
const (
	AllowanceShare = 0.012 // of the time; scatter of repeated times. Origin: common practice, from memory: careful standing starts of one vehicle on one day repeat to about one per cent, and this is a little above.
	AllowanceLeast = 0.02  // s; the least. Origin: as above.
	AllowanceDF    = 4.0   // degrees of freedom; its weight. Origin: assumed, it may be wrong by a factor of about one and a half either way.
	mostKnownDF    = 200.0 // degrees of freedom; its weight at most with the measurement's part joined. Origin: assumed, more change no printed digit.
	enoughDF       = 8     // residual degrees of freedom that do without it. Origin: assumed, twice its weight.
	driftDF        = 2     // residual degrees of freedom that a drift must leave. Origin: assumed.
)

// The runs' own scatter takes over where a variance so much larger than the one
// known would come up this rarely by chance: sooner against the allowance, which
// is a guess, than against a past session.
const (
	dropAllowance = 0.1   // probability. Origin: assumed.
	dropPast      = 0.025 // probability. Origin: assumed.
)

// A plan.
const (
	mostModes     = 26     // modes. Origin: assumed, a letter each.
	mostRuns      = 100    // runs in each mode. Origin: assumed, more than a day holds.
	leastPower    = Alpha  // the power wanted must exceed it: so much a test has of nothing. Origin: by definition.
	mostTimes     = 1e4    // times the scatter; no larger difference is looked for. Origin: assumed.
	halvings      = 40     // of the interval that holds the detectable difference. Origin: a millionth of a millionth is left.
	shuffles      = 0x91a7 // keeps the shuffle of modes apart from other draws of one seed. Origin: any number.
	singularLeast = 1e-9   // of the largest singular value; smaller is none. Origin: between rounding and any design of runs.
)
