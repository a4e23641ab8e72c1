package segment

// Kind is what a stretch of a log is.
type Kind string

// The kinds.
const (
	StandingStart Kind = "standing-start"
	Rolling       Kind = "rolling"
	Braking       Kind = "braking"
)

// Flag is something a reader must know about a run. A flagged run is kept.
type Flag struct {
	Code string // stable kebab-case code
	Text string // one sentence, lower case, no full stop
}

// The codes of flags. Spoils tells which keep a run out of means by default.
const (
	FlagLift         = "lift"          // the driver lifted and went on
	FlagGap          = "gap"           // samples are missing inside the run
	FlagTurn         = "turn"          // the heading changed
	FlagRollingStart = "rolling-start" // no standstill before the launch
	FlagShort        = "short"         // never reached 30 mph
	FlagOutlier      = "outlier"       // samples were set aside
	FlagElsewhere    = "elsewhere"     // it began on another stretch than most
	FlagOtherWay     = "other-way"     // it went another way than the session's
	FlagCoolDown     = "cool-down"     // it began sooner after another than the sheet asks for
	FlagDisagrees    = "disagrees"     // two sources of speed differ beyond their intervals
	FlagLogStart     = "log-start"     // the log begins as the vehicle moves off
	FlagHeld         = "held"          // speed values are held and refreshed slowly
	FlagCreep        = "creep"         // the vehicle crept before the launch
	FlagRollBack     = "roll-back"     // it rolled back before it went
	FlagTwoStep      = "two-step"      // it moved and stood again before the launch
	FlagGentle       = "gentle"        // thrust was fed in over long
	FlagAccel        = "accelerometer" // the accelerometer disagreed and was left out
)
