package timing

// Origin is the instant a time counts from.
type Origin string

// The origins.
const (
	FromRest    Origin = "rest"    // the launch: first motion
	FromRollout Origin = "rollout" // 0.3048 m covered
	FromSpeed   Origin = "speed"   // a speed-to-speed pull
)

// Time is one result of a run: how long from the origin to the target.
type Time struct {
	Name    string // "0-60 mph", "1/4 mile", "30-50 mph"
	From    Origin
	Seconds float64 // s
	U95     float64 // s, half-width of the 95 % interval
	// Common is the standard uncertainty in s that the runs which taught each other the
	// build-up share: a mean of them does not shrink it.
	Common float64

	// At a distance target, else NaN: mean speed over the last 66 ft and speed
	// at the mark.
	TrapSpeed, TrapU95 float64 // m/s
	EndSpeed, EndU95   float64 // m/s

	Distance float64 // m covered from the origin to the target
	End      float64 // s since the launch at which the target was reached
	// Flags are the codes of the run's flags that lie before its end.
	Flags []string
	// Doubt is set where a flag of the run touches this time, such as a lift or
	// a gap before its end; it is the flag's code.
	Doubt string
	// Reason is why the time is not known, "" where it is; Seconds and U95 are then NaN.
	Reason string
}

// Stop is the result of a braking run (UN R13 Annex 4).
type Stop struct {
	InitialSpeed      float64 // m/s
	Distance, U95     float64 // m as driven
	Nominal           float64 // m/s
	Corrected, CorU95 float64 // m, Distance·(Nominal/InitialSpeed)²
	MFDD, MFDDU95     float64 // m/s², mean fully developed deceleration, 0.8 to 0.1 of the initial speed
	Seconds, SecU95   float64 // s from the first braking to the stop
}
