package compare

// Result is a comparison at every target.
type Result struct {
	Targets  []*Target
	Warnings []string // whole sentences
	Version  string   // of the program that timed the runs
	Model    int      // revision of its model
}

// Target is the comparison at one target from one origin.
type Target struct {
	Name string // "0-60 mph"
	From string // "rest" or "rollout"

	Modes    []Mode
	Pairs    []Pair
	Model    Model
	Runs     []Run    // all that were given, counted or not
	Warnings []string // whole sentences
}

// Mode is one mode's runs.
type Mode struct {
	Name     string
	N        int     // counted runs
	Mean     float64 // s, of the counted runs
	SD       float64 // s, NaN for one run
	Best     float64 // s
	U95      float64 // s, half-width of the mean's 95 % interval
	Adjusted float64 // s, mean by the model: both directions, middle of the order
	// Directions are the means of each direction, TwoWay the mean of the two;
	// NaN where the mode was driven one way only.
	Directions []Direction
	TwoWay     float64 // s
	TwoWayU95  float64 // s
	Left       int     // runs not counted
}

// Direction is a mode's runs in one direction.
type Direction struct {
	Heading float64 // degrees, mean of all runs that way
	N       int
	Mean    float64 // s
}

// Model says what the times were fitted with.
type Model struct {
	Terms    []string // in use: "mode", "direction", "session", "order"
	Dropped  []string // not in use, each with the reason
	DF       float64  // residual degrees of freedom
	Residual float64  // s, standard deviation about the model, NaN without any
	// Scatter is the standard deviation the verdict rests on and ScatterDF how
	// well it is known; ScatterFrom says where it comes from.
	Scatter     float64 // s
	ScatterDF   float64
	ScatterFrom string
	// Direction is the effect of driving the second direction rather than the
	// first, Drift that of each further run; NaN where not fitted.
	Direction, DirectionU95 float64 // s
	Drift, DriftU95         float64 // s per run
}

// Verdict says whether two modes were told apart.
type Verdict string

// The verdicts.
const (
	AQuicker Verdict = "a quicker"
	BQuicker Verdict = "b quicker"
	NotTold  Verdict = "not told apart"
)

// Pair is the comparison of two modes.
type Pair struct {
	A, B       string
	Difference float64 // s, a minus b, by the model
	Raw        float64 // s, plain mean of a minus plain mean of b
	SE         float64 // s, standard error of Difference
	Lo, Hi     float64 // s
	P          float64 // of the pair alone
	PAdjusted  float64 // by closed testing
	Verdict    Verdict
	RunsNeeded int // more runs in each mode to resolve Options.Smallest; -1 where none would, 0 where the pair is told apart
	Confounded []string

	WelchP, WelchHolm             float64 // NaN where a mode has one run
	PermutationP, PermutationHolm float64
	PermutationSmallest           float64 // smallest p that these counts can give
	Sentence                      string
}

// Half is the half-width of the interval in s.
func (p *Pair) Half() float64 { return (p.Hi - p.Lo) / 2 }
