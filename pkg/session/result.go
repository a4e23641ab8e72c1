package session

import (
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/motion"
	"fromrest/pkg/motion/accel"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/sheet"
)

// Result is everything found in one call, in the order the inputs were given.
type Result struct {
	Logs     []*Log
	Runs     []*TimedRun
	Warnings []string      // whole sentences; they belong in every output
	Failed   []*InputError // inputs that gave nothing, with the reason
	Undone   []string      // paths of inputs left when the call was interrupted
	Settings Settings      // as used
	// Sheet is the session sheet that was applied, nil where there was none.
	Sheet *sheet.Sheet
}

// Settings is what shaped the result, as used after defaults were filled in.
type Settings struct {
	Version string
	Model   int      // revision of the model, see ModelRevision
	Units   string   // "mph" or "kmh": which speed axis a reader is shown
	Targets []string // names in table order
	Rollout float64  // m
	All     bool     // short runs, rolling pulls and brakings are listed too
}

// Log is one input and how good it is.
type Log struct {
	Path   string // as given
	Name   string // short name, unique within the result
	Mode   string // "" where none was given
	Format string
	SHA256 string // of the file's bytes, hex
	Bytes  int64

	Start, End time.Time // UTC
	Undated    bool
	Clock      string // see recording.Recording

	Quality  Quality
	Expected []Expected // what a run with this log would be worth
	Advice   []string   // what would improve it, whole sentences
	Problems *diag.List
	Marks    []recording.Mark
	Coasts   []Coasting // coast-downs found in it
	Logger   map[string]string
	Sky      *recording.Sky // nil where the receiver said nothing of the satellites
}

// Quality describes a log's speed samples.
type Quality struct {
	Source     recording.Source
	Track      string
	Fixes      int
	Rate       float64 // Hz, from the median interval
	Gaps       int     // intervals over 2.5 times the median
	GapSeconds float64 // s, all gaps together
	LongestGap float64 // s
	Jitter     float64 // s, standard deviation of intervals about the cadence
	SpeedNoise float64 // m/s, standard deviation of one sample along the track
	NoiseFrom  string  // "standstill", "receiver", "runs" or "assumed"
	Correlated float64 // correlation of the noise of neighbouring samples
	SpeedStep  float64 // m/s, resolution found in the values
	StaticHold float64 // m/s, speed is shown as 0 below this; 0 where it is not
	HeldFor    float64 // s, how long a value is held between refreshes; 0 where it is not
	Course     bool    // course was there, so that speed could be signed
	Accel      string  // how the accelerometer was used, "" without one

	// Alignment is how the accelerometer sits and on whose clock, nil without one.
	Alignment *accel.Alignment
	// InertialOnly is set where the log had no speed, so that its times are from
	// the accelerometer alone.
	InertialOnly bool
}

// fused reports whether an accelerometer entered the times.
func (q *Quality) Fused() bool { return q.Alignment != nil && q.Alignment.Reason == "" }

// Expected is the half-width a time would have with a log like this.
type Expected struct {
	Name string // target
	From timing.Origin
	U95  float64 // s
}

// TimedRun is one run of a log.
type TimedRun struct {
	ID   string // stable within a log: "eco#2" is the second run of eco.nmea
	Log  *Log
	Mode string // "" where none was given
	Kind segment.Kind

	Launch     time.Time // UTC; for a rolling or braking run its begin
	LaunchSD   float64   // s
	LogSeconds float64   // s from the log's first fix to the launch

	HeadingDeg   float64 // degrees from true north, NaN without course
	MaxSpeed     float64 // m/s
	PeakAccel    float64 // m/s², highest mean over 0.1 s or one sample
	PeakAccelU95 float64 // m/s²
	MeanAccel    float64 // m/s², from the launch to the highest speed
	Rollout      float64 // s from the launch to 0.3048 m
	RolloutU95   float64 // s

	Counted  bool   // takes part in means and comparisons
	Excluded string // why not, in the user's or the tool's words
	Flags    []segment.Flag

	Times []timing.Time // each target from rest, then with rollout; only those reached
	Pulls []timing.Time // speed-to-speed
	Stop  *timing.Stop  // braking runs only

	Trace motion.Trace
	// Raw are the samples the trace was made from: seconds since the launch,
	// signed speed in m/s, and whether the sample was set aside.
	RawT, RawV []float64
	RawOut     []bool
	// RawAccelT and RawAccel are the accelerometer's forward samples, if used.
	RawAccelT, RawAccel []float64 // s since the launch, m/s²
	Climb               Climb     // heights along the run, as logged
}

// Time returns the run's result for a target and origin.
func (r *TimedRun) Time(name string, from timing.Origin) (timing.Time, bool) {
	for _, t := range r.Times {
		if t.Name == name && t.From == from {
			return t, true
		}
	}
	return timing.Time{}, false
}
