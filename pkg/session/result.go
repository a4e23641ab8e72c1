package session

import (
	"fmt"
	"io"
	"time"

	"fromrest/pkg/cache"
	"fromrest/pkg/diag"
	"fromrest/pkg/motion"
	"fromrest/pkg/motion/accel"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/sheet"
)

// Result is everything found in one call. Logs stand in the order of their begin and
// runs in that of their launch; logs without a clock stand last, by their paths.
type Result struct {
	Logs     []*Log
	Runs     []*TimedRun
	Warnings []string      // whole sentences; they belong in every output
	Failed   []*InputError // inputs that gave nothing, with the reason
	Undone   []string      // paths of inputs left when the call was interrupted
	Settings Settings      // as used
	Copies   []Copy        // logs that are in another one, which was taken instead
	Learned  []Learned     // what the launches of each mode taught each other
	// Sheet is the session sheet that was applied, nil where there was none.
	Sheet *sheet.Sheet
	// SheetError names in lines what of the sheet does not fit these logs, nil where
	// all does.
	SheetError error

	compared *comparison
	outside  []outsideTime
	shelf    *cache.Shelf
	site     *Site
	lineup   []string // where runs were left out by Only: the modes of all
}

// Settings is what shaped the result, as used after defaults were filled in.
type Settings struct {
	Version string
	Model   int      // revision of the model, see ModelRevision
	Units   string   // "mph" or "kmh": which speed axis a reader is shown
	Targets []string // names in table order
	// Rows are the names of the targets that tables show, in table order; Chosen is set
	// where somebody chose each of them by name.
	Rows      []string
	Chosen    bool
	Rollout   float64 // m
	Positions bool    // outputs show where runs went, from their start lines
	All       bool    // short runs, rolling accelerations and braking runs are listed too
	// Zone is the time zone that instants are printed in, nil for UTC.
	Zone *time.Location
}

// Log is one input and how good it is.
type Log struct {
	Path   string // as it is shown: see Shown
	Name   string // short name, unique within the result
	Mode   string // "" where none was given
	Format string
	SHA256 string // of the file's bytes, hex
	Bytes  int64
	// Content is the SHA-256 of the log unpacked and ContentBytes its length: what
	// it is known by, however it is packed and called.
	Content      string // hex
	ContentBytes int64

	Start, End time.Time // UTC
	Undated    bool
	Clock      string // see recording.Recording

	Quality  Quality
	Problems *diag.List
	Marks    []recording.Mark
	Coasts   []Coasting // coast-downs found in it
	Logger   map[string]string
	Portrait *Portrait      // what its speed looks like at close quarters; of the first stretch of a long log
	Sky      *recording.Sky // nil where the receiver said nothing of the satellites

	// Worth says what times from it are worth. It is worked out when it is first
	// asked, in a second or two, unless Options.Judge had it worked out before.
	Worth func() Judgement `cbor:"-"`

	file    string                        `cbor:"-"` // its path as given; "" where Path is that
	open    func() (io.ReadCloser, error) `cbor:"-"` // gives its bytes again; nil for those of the file
	long    bool                          `cbor:"-"` // it was analysed in stretches
	witness bool                          `cbor:"-"` // of the other log of the call, by who called
	lean    bool                          `cbor:"-"` // its runs left their columns behind when they were timed
}

// Copy is a log whose bytes are those of another one, or the beginning of those.
type Copy struct {
	Log     *Log // with nothing of its runs
	Of      *Log
	Shorter bool // it is the beginning only
}

// String says in a clause what became of the copy.
func (c *Copy) String() string {
	text := fmt.Sprintf("holds the same bytes as %s: taken once", c.Of.Path)
	if c.Shorter {
		text = fmt.Sprintf("is the beginning of %s: only the longer log is taken", c.Of.Path)
	}
	if m := c.Log.Mode; m != "" && m != c.Of.Mode {
		text += fmt.Sprintf(", as mode %s and not as %s", c.Of.Mode, m)
	}
	return text
}

// Quality describes a log's speed samples.
type Quality struct {
	Source     recording.Source
	Track      string
	Fixes      int
	Rate       float64    // Hz, from the median interval
	Gaps       int        // intervals over 2.5 times the median
	GapSeconds float64    // s, all gaps together
	LongestGap float64    // s
	Jitter     float64    // s, standard deviation of intervals about the cadence
	SpeedNoise float64    // m/s, standard deviation of one sample along the track
	NoiseFrom  string     // "standstill", "receiver", "runs" or "assumed"
	Correlated float64    // correlation of the noise of neighbouring samples
	SpeedStep  float64    // m/s, resolution found in the values
	StaticHold float64    // m/s, speed is shown as 0 below this; 0 where it is not
	Unseen     float64    // m/s, below it a 0 says no more than that, by static hold, by rounding or as a bus is; 0 where there is no such speed
	HeldFor    float64    // s, how long a value is held between refreshes; 0 where it is not
	Course     bool       // course was there and fresh at rest, so that speed could be signed
	Courses    int        // samples with a course
	Smoothing  *Smoothing // how the receiver smooths speed; nil where nothing was looked for
	Accel      string     // how the accelerometer was used, "" without one

	// Alignment is how the accelerometer sits and on whose clock, nil without one.
	Alignment *accel.Alignment
	// InertialOnly is set where the log had no speed, so that its times are from
	// the accelerometer alone.
	InertialOnly bool
}

// fused reports whether an accelerometer entered the times.
func (q *Quality) Fused() bool { return q.Alignment != nil && q.Alignment.Reason == "" }

// Judgement is what times from a log are worth.
type Judgement struct {
	Expected []Expected
	Advice   []string // what would improve them, whole sentences, what costs least first
}

// Expected is the half-width a time would have with a log like this.
type Expected struct {
	Name string // target
	From timing.Origin
	U95  float64 // s
	Runs int     // of the log whose median it is; 0 for that of a simulated van
}

// TimedRun is one run of a log.
type TimedRun struct {
	ID   string // stable within a log: "eco#2" is the second run of eco.nmea
	Log  *Log   `cbor:"-"`
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
	Kept     bool   // by the sheet, whatever was flagged
	Excluded string // why not, in the user's or the tool's words
	// WitnessOf is the run of another log that is the same drive and counts instead,
	// nil where there is none.
	WitnessOf *TimedRun `cbor:"-"`
	Flags     []segment.Flag
	Lifts     []Lift // stretches without thrust that the flags call a lift, unless they are found to be shifts
	// Noted are the quantities that the sheet notes of the run, by name.
	Noted map[string]float64 `cbor:"-"`
	// Said are the words that it notes, by name: how it was started, who drove.
	Said map[string]string `cbor:"-"`

	Times []timing.Time // each target from rest, then with rollout; only those reached
	Pulls []timing.Time // speed-to-speed
	// Launches is what the times are under each build-up of thrust, from which they were
	// worked out; nil for a run without a launch.
	Launches *timing.Launches
	stretch  int          `cbor:"-"` // of a long log
	shelved  shelved      `cbor:"-"` // where the rest of a long log's run is
	moved    float64      `cbor:"-"` // s, by what runs taught it
	close    *closeUp     `cbor:"-"` // until the log's portrait is drawn
	base     *TimedRun    `cbor:"-"` // as it was timed alone; nil before it learned
	Stop     *timing.Stop // braking runs only

	Trace motion.Trace
	// Raw are the samples the trace was made from: seconds since the launch,
	// signed speed in m/s, and whether the sample was set aside.
	RawT, RawV []float64
	RawOut     []bool
	// RawAccelT and RawAccel are the accelerometer's forward samples, if used.
	RawAccelT, RawAccel []float64 // s since the launch, m/s²
	Climb               Climb     // heights along the run, as logged
	Ground              Ground    // where it went, by the log's positions
	Halt                Halt      // how it came to rest
	// Stretch is the stretch of ground that it began on, 0 for the one that most of its session did.
	Stretch int `cbor:"-"`
}

// Time returns the run's result for a target and origin, if it reached it and the time
// is known.
func (r *TimedRun) Time(name string, from timing.Origin) (timing.Time, bool) {
	for _, t := range r.Times {
		if t.Name == name && t.From == from && t.Reason == "" {
			return t, true
		}
	}
	return timing.Time{}, false
}
