package compare

import "fromrest/pkg/session/compare/contrast"

// Result is a comparison at every target.
type Result struct {
	// Primary is the place that decides, in Targets or not; WhyPrimary says why it
	// is not the usual one, "" where it is.
	Primary    *Target
	WhyPrimary string
	Targets    []*Target
	Warnings   []string // whole sentences
	// Offered are past sessions whose scatter could be used, a line each.
	Offered []string
	ToDrive []string // modes that the plan still has to drive, in order
	Tests   bool     // second tests and p values are to be shown
	Vehicle string   // its name, "" where not known
	Version string   // of the program that timed the runs
	Model   int      // revision of its model
}

// Target is the comparison at one target from one origin.
type Target struct {
	Name string // "0-60 mph"
	From string // "rest" or "rollout"

	Primary  bool // the place that decides
	Modes    []Mode
	Pairs    []Pair
	Model    Model
	StandOut []StandOut
	Runs     []Run    // all that were given, counted or not
	Notes    []string // what the model found besides, without a full stop
	Warnings []string // whole sentences
	// Over says that the last look has been taken, PlanRuns how many runs of each
	// mode were planned or assumed.
	Over     bool
	PlanRuns int

	second func() // fills in the second tests of the pairs, once
}

// Mode is one mode's runs.
type Mode struct {
	Name     string
	N        int     // counted runs
	Mean     float64 // s, of the counted runs
	SD       float64 // s, NaN for one run
	Scatter  float64 // s, run-to-run standard deviation about the model, drawn towards that of all modes; NaN where unknown
	Best     float64 // s
	U95      float64 // s, half-width of the mean's 95 % interval
	Adjusted float64 // s, mean by the model: both directions, middle of the order
	// Directions are the means of each direction, TwoWay the mean of the two;
	// NaN where the mode was driven one way only.
	Directions []Direction
	TwoWay     float64 // s
	TwoWayU95  float64 // s
	// Way is what the second direction costs by the model, NaN where not fitted.
	Way, WayU95 float64 // s
	Left        int     // runs not counted
}

// Direction is a mode's runs in one direction.
type Direction struct {
	Heading float64 // degrees, mean of all runs that way
	N       int
	Mean    float64 // s
}

// Model says what the times were fitted with.
type Model struct {
	Terms    []string // in use: "mode", "direction", "session", "stretch", "order", covariates
	Dropped  []string // not in use, each with the reason
	DF       float64  // residual degrees of freedom
	Residual float64  // s, standard deviation about the model over all modes, NaN without any
	// ScatterFrom says what the scatter of each mode is known from.
	ScatterFrom string
	Towards     [2]float64 // degrees, headings of the two directions, zero where there are not two
	// Drift is the effect of each further run; NaN where not fitted.
	Drift, DriftU95 float64        // s per run
	DriftTold       bool           // it is surer than chance, by its share of the error of trends
	Gap             contrast.Trend // of the times with the gap before each start, in s for each s; the zero value where not looked for
}

// Verdict says what the runs show of two modes.
type Verdict string

// The verdicts.
const (
	AQuicker Verdict = "a quicker"
	BQuicker Verdict = "b quicker"
	Equal    Verdict = "equal"          // within the smallest difference that matters
	NotTold  Verdict = "not told apart" // not enough runs, or not yet
	Refused  Verdict = "no verdict"     // the order of the runs cannot show it
)

// State says whether a pair's verdict can still change.
type State string

// The states.
const (
	Decided State = "decided"  // stopping now keeps the promise
	DriveOn State = "drive on" // more runs would tell
	TooMany State = "too many" // more than contrast.MostMore runs of each would be needed
	Ended   State = "ended"    // the last planned run is in
)

// Pair is the comparison of two modes.
type Pair struct {
	A, B       string
	Difference float64 // s, a minus b, by the model
	Raw        float64 // s, plain mean of a minus plain mean of b
	SE         float64 // s, standard error of Difference; NaN where the runs cannot show their scatter
	DF         float64 // its degrees of freedom
	Lo, Hi     float64 // s, interval that holds at 95 % for all pairs together
	Within     float64 // s, half-width of the interval that equality is judged by: 95 % on the side that errs
	P          float64 // of the pair alone, by a single test of all runs
	PAdjusted  float64 // for all pairs
	Level      float64 // that PAdjusted had to reach at the last look
	Verdict    Verdict
	State      State
	Why        string  // why the pair is not asked for, "" where it is
	Strain     float64 // by which the order of the runs widens the interval, 1 where it does not
	DecidedAt  int     // counted runs of the session at the look that decided, 0 where none did
	// Fixed says that a single test of all runs would tell the two apart.
	Fixed bool
	// More are the further runs of each mode that would find For in s as often as
	// wanted, MoreLo to MoreHi the range of 80 % of it, since the scatter is known
	// as poorly; 0 where it was not asked for, -1 where no practical number would.
	More, MoreLo, MoreHi int
	For                  float64
	Confounded           []string

	// Second tests, for who calls Target.SecondTests.
	WelchP, WelchHolm             float64 // NaN where a mode has one run
	PermutationP, PermutationHolm float64
	PermutationSmallest           float64 // smallest p that these counts can give
	Sentence                      string
}

// Quickest is the mode that is told to be quicker than each other mode, "" where the runs
// tell of none.
func (t *Target) Quickest() string {
	won := map[string]int{}
	for i := range t.Pairs {
		switch p := &t.Pairs[i]; p.Verdict {
		case AQuicker:
			won[p.A]++
		case BQuicker:
			won[p.B]++
		}
	}
	for _, m := range t.Modes {
		if len(t.Modes) > 1 && won[m.Name] == len(t.Modes)-1 {
			return m.Name
		}
	}
	return ""
}

// Half is the half-width of the interval in s.
func (p *Pair) Half() float64 { return (p.Hi - p.Lo) / 2 }

// StandOut is a counted run that the others do not explain.
type StandOut struct {
	ID       string
	Mode     string
	Off      float64 // s, its time less what the other runs lead to expect
	P        float64 // chance of any run so far off
	Trace    string  // what its trace says, "" for nothing
	Without  []Pair  // the pairs of its mode without it
	Sentence string
}
