package compare

import "fromrest/pkg/session/compare/contrast"

const aMinute = 60.0 // s; what trends with the gap between starts are told for. Origin: by definition.

// The verdict.
const (
	Alpha      = contrast.Alpha // 1; chance of any false claim, and 1 less the confidence of an interval. Origin: common practice.
	costSteps  = 20             // 1; steps of a mode's cost, to the largest. Origin: assumed, a third of what is harmless.
	standOutDF = 3              // 1; residual degrees of freedom from which a run can be seen to stand out. Origin: assumed, fewer cannot tell it from the rest.
)

// What a comparison or a plan is to find where nothing is said.
const (
	DefaultSmallest = 0.1 // s; the smallest difference worth knowing. Origin: common practice, the last digit the trade prints.
	DefaultPower    = 0.8 // 1; chance to find it. Origin: common practice.
	DefaultRuns     = 4   // 1; runs of each mode that are planned. Origin: assumed, twice out and back.
	DefaultSeconds  = 8.0 // s; time to the target that is planned for. Origin: assumed, a van to 60 mph.
)

// What is allowed for run-to-run scatter where the runs cannot show it: for plans
// and for the words on single runs, never for a verdict.
const (
	AllowanceShare = 0.012 // 1; scatter of repeated times, as a share of the time. Origin: common practice, from memory: careful standing starts of one vehicle on one day repeat to about one per cent, and this is a little above.
	AllowanceLeast = 0.02  // s; the least that is allowed. Origin: common practice, from memory.
)

// A plan.
const (
	mostModes  = 26     // 1; most modes. Origin: assumed, a letter each.
	mostRuns   = 100    // 1; most runs in each mode. Origin: assumed, more than a day holds.
	mostNeeded = 40     // 1; runs in each mode up to which the number needed is looked for. Origin: assumed, a long day.
	hopeless   = 3.0    // 1; times the smallest difference, a plan that finds only more is not taken further. Origin: arithmetic, nine times the runs.
	leastPower = Alpha  // 1; the power wanted must exceed it: so much a test has of nothing. Origin: by definition.
	shuffles   = 0x91a7 // 1; keeps the shuffle of modes apart from other draws of one seed. Origin: assumed, any number would do.
	orders     = 40     // 1; random orders of which the steadiest is taken. Origin: assumed, more find none much better.
	swapFrom   = 4      // 1; modes from which the way back need not reverse the order. Origin: arithmetic, fewer have no other.
)

// planRuns are the numbers of runs that a plan's table shows.
var planRuns = []int{2, 4, 6, 8, 12} // 1; runs of each mode. Origin: assumed, one to six rounds out and back.
