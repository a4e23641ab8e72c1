// Package sheet reads, checks and drafts the session sheet: the TOML file in
// which a tester says what the logs cannot, which vehicle, which modes, which
// run belongs to which mode, which runs do not count and why, and what the air
// and the surface were like.
//
// Everything in a sheet is optional. A key that is not known is an error with
// its line, since a misspelt key would otherwise be a silent loss. Values are SI
// once read; the keys of the file carry their unit in the name. A run is never
// removed by a sheet: an excluded one stays in every table with its reason.
//
// # Model
//
// A sheet is read in three steps: the text is taken apart, so that every mistake is
// told with its line; it is decoded; and its values are checked and turned into SI.
// A sheet with a mistake is none, and all its mistakes are in the one error. A run
// has at most one mode, claimed for it by its own entry or by one of the ways in
// which a mode chooses runs; two different claims are a mistake.
//
// A name is for people. What a log is, a [[log]] entry says by the SHA-256 and the
// length of its unpacked bytes, so that it is known again under another name, packed,
// or grown; what a run is, its log and the instant of its launch say. Resolve finds
// logs and runs by these, and by their names where the sheet has nothing else. A name
// that two logs could have is a mistake: it is never guessed. In a sheet with [[log]]
// entries the order, times and marks of a mode choose among the runs of these logs
// alone, so that a log that comes later moves no mode.
//
// The package knows neither logs nor results: Resolve takes a short description of
// each, and Assign then returns what the sheet says of each run.
//
// Draft writes a sheet, Redraft adds to one what it lacks and leaves the rest of its
// text as it is, byte for byte.
//
// # Limits
//
// A run is found by its launch within 5 s; two runs of a log that are launched closer
// together are told apart only by their number. A log that has become shorter is
// another log.
//

// A sheet has at most 4 MiB, and of mistakes of a kind the first 20 are told. Times
// of day are UTC and name no day: a session is driven within one.
package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/tomltext"
)

// Sheet is a session as its tester describes it.
type Sheet struct {
	Name  string // of the file, for messages
	Title string
	Date  time.Time // UTC midnight, zero where not given
	Place string
	Notes string

	Units   string   // "mph", "kmh" or "" for the default
	Rollout string   // which times lead: "rest", "rollout", "both" or ""
	Targets []string // added targets, as written
	Rows    string   // which targets tables show: "mph", "metric", "all" or "" for those of the units
	At      []string // targets that tables show in place of these, as written
	// Zone is the time zone that instants are printed in, nil for UTC.
	Zone *time.Location
	// Columns says what the columns of CSV logs are, as --columns has it but for a file.
	Columns string
	// With is the name of an accelerometer's log that lies beside the sheet and goes with
	// the logs, "" for none.
	With string
	// ReadFrom and ReadTo bound the part of each log that is read, as --from and --to have it.
	ReadFrom, ReadTo string

	Vehicle    Vehicle
	Conditions Conditions
	Modes      []Mode
	Logs       []LogEntry
	Runs       []RunEntry
	Excluded   []Exclusion
	Plan       Plan
	Past       []PastScatter
	Receiver   Receiver
	Outside    []OutsideTime
	Winds      []WindReading // in the order of the day
	Card       []CardRow

	source string         // as it was read, byte for byte
	text   *tomltext.Text // of its lines; nil for a sheet that was not read
}

// Span is the part of each log that is read, its times being those of a zone.
func (s *Sheet) Span(zone *time.Location) recording.Part {
	var p recording.Part
	for text, b := range map[*string]*recording.Bound{&s.ReadFrom: &p.From, &s.ReadTo: &p.To} {
		if bound, err := recording.ParseBound(*text, zone); err == nil { // else the sheet was not read
			*b = bound
		}
	}
	return p
}

// Mode is a drive mode and the runs that were driven in it.
type Mode struct {
	Name        string `toml:"name"`
	Description string `toml:"description"`

	// Ways to say which runs are this mode's; any of them may be used.
	Runs  []string `toml:"runs"`  // run identities, "sport#2"
	Logs  []string `toml:"logs"`  // names of logs, all of whose runs are meant
	Order []int    `toml:"-"`     // places in the order of launches, from 1
	Times []Span   `toml:"-"`     // times of day within which runs were launched
	Marks []string `toml:"marks"` // texts of the logger's marks that begin this mode

	Driveline Driveline `toml:"-"` // where it differs from the vehicle's
	// PowerShare is the part of the vehicle's torque that this mode gives at full
	// throttle, 0 where not known: all of it is then taken.
	PowerShare float64 `toml:"power_share"`

	line int
}

// Receiver is how the logs' receiver smooths speed, as another session of it showed. The
// zero value is nothing known.
type Receiver struct {
	Name     string  `toml:"name"`        // for people, with firmware and settings
	Filter   string  `toml:"filter"`      // "none", "first-order", "mean" or "tracker"
	Delay    float64 `toml:"delay_s"`     // s, by which a steady pull is shown late
	DelayU95 float64 `toml:"delay_u95_s"` // s, half of its 95 % interval
	Gain     float64 `toml:"gain"`        // of a tracker
	Rate     float64 `toml:"rate_hz"`     // Hz, at which it was found
	Stops    int     `toml:"stops"`       // that told of it
	Remark   string  `toml:"remark"`
}

// OutsideTime is a time of a run that was not measured by its log: a [[witness]] of the
// file.
type OutsideTime struct {
	Run     string  `toml:"run"`
	Target  string  `toml:"target"`  // as written, such as "0-60 mph"
	Seconds float64 `toml:"seconds"` // s
	U95     float64 `toml:"u95_s"`   // s, half of its 95 % interval
	// Origin is what started its clock: first motion ("rest"), the first foot ("rollout"), or
	// a beam that the bumper cut, the front tyre left, or that stands at the height of the
	// axle ("bumper", "tyre", "axle").
	Origin string `toml:"origin"`
	By     string `toml:"by"` // "light gate", "slip" or "video", for people; "" where not said
	// Start is the way in m covered before its clock started, as measured; nil where it was not.
	Start *float64 `toml:"start_m"`

	line int
}

// Plan is how a session was meant to be driven and judged.
type Plan struct {
	Order    []string `toml:"order"`      // modes of the standing starts by their launch, for runs that nothing else gives a mode
	Runs     int      `toml:"runs"`       // of each mode; 0 where Order says it, or nothing
	Target   string   `toml:"target"`     // that decides, "" for the usual one
	From     string   `toml:"from"`       // origin that decides: "rest", "rollout" or "" for the usual one
	Smallest float64  `toml:"smallest_s"` // s, smallest difference that matters, 0 for none stated
	Final    bool     `toml:"final"`      // no more runs will be driven, planned or not
	// The straight: its length, what it takes to stop from the highest target by the tester's own
	// account, and what is to be left over. A zero is a value not given.
	Straight float64 `toml:"straight_m"` // m
	Stopping float64 `toml:"stopping_m"` // m
	Margin   float64 `toml:"margin_m"`   // m
	// CoolDown is how long the manual or the tester wants between two starts, 0 for nothing asked.
	CoolDown float64 `toml:"cool_down_s"` // s
}

// PerMode is the number of runs planned of each mode, 0 where none was.
func (p *Plan) PerMode() int {
	if p.Runs > 0 || len(p.Order) == 0 {
		return p.Runs
	}
	n := map[string]int{}
	most := 0
	for _, m := range p.Order {
		n[m]++
		most = max(most, n[m])
	}
	return most
}

// PastScatter is how far runs scattered in past sessions.
type PastScatter struct {
	Target  string  `toml:"target"`             // "0-60 mph"
	From    string  `toml:"from"`               // "rest" or "rollout"
	SD      float64 `toml:"scatter_s"`          // s
	DF      float64 `toml:"degrees_of_freedom"` // that it rests on
	Vehicle string  `toml:"vehicle"`            // name of the vehicle, "" for another or several
}

// Span is a range of the time of day in UTC. An End before Begin runs over
// midnight.
type Span struct {
	Begin, End time.Duration // since midnight
}

// Holds reports whether a time of day lies in the span, ends included.
func (s Span) Holds(d time.Duration) bool {
	if s.Begin <= s.End {
		return d >= s.Begin && d <= s.End
	}
	return d >= s.Begin || d <= s.End
}

// LogEntry says which log a name in the sheet means.
type LogEntry struct {
	Name   string `toml:"name"`   // as the identities of its runs begin
	SHA256 string `toml:"sha256"` // of its unpacked bytes, 64 hex digits in lower case; "" where only named
	Bytes  int64  `toml:"-"`      // of them when the sheet was drafted, 0 where only named
	// WitnessOf names the log on whose very drives this one was recorded too, by a
	// second recorder; "" for none.
	WitnessOf string `toml:"witness_of"`
	// Separate is set where none of its drives is another log's, however alike.
	Separate bool `toml:"separate"`

	line int
}

// RunEntry is what a sheet says of one run.
type RunEntry struct {
	ID      string    `toml:"id"`
	Launch  time.Time `toml:"-"`       // UTC, zero where not given
	Mode    string    `toml:"mode"`    // "" where not filled in
	Exclude string    `toml:"exclude"` // why the run does not count, "" where it does
	Keep    bool      `toml:"keep"`    // count it although the tool would not
	Remark  string    `toml:"remark"`
	Noted

	line int
}

// Exclusion takes one run out of all means, with the reason.
type Exclusion struct {
	Run    string `toml:"run"`
	From   string `toml:"from"` // the target from which on its times do not count; "" for the whole run
	Reason string `toml:"reason"`

	line int
}

// Driveline says which axles are driven and how they are joined.
type Driveline struct {
	Driven     string  `toml:"driven"`               // "front", "rear", "all", "part-time"; "" where not known
	Range      string  `toml:"range"`                // "high" or "low"; "" where not known
	StartGear  int     `toml:"start_gear"`           // 0 where not known
	Front      string  `toml:"front_differential"`   // differential: "open", "limited-slip", "locked", "brake-controlled"; "" where not known
	Centre     string  `toml:"centre_differential"`  // the same, or "none"
	Rear       string  `toml:"rear_differential"`    // as Front
	Efficiency float64 `toml:"driveline_efficiency"` // share of engine power that reaches the wheels, 0 where not known
	Bias       float64 `toml:"torque_bias"`          // torque ratio at which a limited-slip differential lets go, 0 where not known
	Share      float64 `toml:"centre_front_share"`   // part of an open centre's torque that goes to the front, 0 where not known
	Brake      float64 `toml:"brake_torque_nm"`      // N·m that the brakes of a brake-controlled axle put on one wheel, 0 where not known
	BuildUp    float64 `toml:"build_up_s"`           // s over which thrust builds up at the launch, 0 where not known
}

// Vehicle is what is known of the vehicle. A zero is a value not given.
type Vehicle struct {
	Name  string  `toml:"name"`
	Odo   float64 `toml:"odometer_km"`      // km, at the session
	Mass  float64 `toml:"mass_kg"`          // kg, as tested
	Tyre  string  `toml:"tyre"`             // size as written on it
	Brake string  `toml:"brakes_and_tyres"` // a remark on brakes and tyres, free text

	TyreRadius   float64   `toml:"tyre_radius_m"` // m, rolling
	Gears        []float64 `toml:"gears"`         // ratios, first gear first
	FinalDrive   float64   `toml:"final_drive"`   // ratio
	TransferHigh float64   `toml:"transfer_high"` // ratio of the transfer case in high range
	TransferLow  float64   `toml:"transfer_low"`  // ratio in low range

	Torque      []TorquePoint `toml:"-"`                  // full-throttle curve, by rising speed
	RatedPower  float64       `toml:"power_kw"`           // W
	PowerSpeed  float64       `toml:"power_rpm"`          // rad/s, at rated power
	RatedTorque float64       `toml:"torque_nm"`          // N·m
	TorqueSpeed float64       `toml:"torque_rpm"`         // rad/s, at rated torque
	IdleSpeed   float64       `toml:"idle_rpm"`           // rad/s
	LimitSpeed  float64       `toml:"limit_rpm"`          // rad/s, highest engine speed
	ShiftSpeed  float64       `toml:"shift_rpm"`          // rad/s, where it shifts up at full throttle
	ShiftTime   float64       `toml:"shift_s"`            // s a shift lasts
	ShiftThrust float64       `toml:"shift_thrust_share"` // share of thrust kept during a shift, 0 to 1; 0 where not known: none

	DragArea          float64 `toml:"drag_area_m2"`       // m², drag coefficient times frontal area
	RollingResistance float64 `toml:"rolling_resistance"` // ratio to weight
	FrontMass         float64 `toml:"front_axle_kg"`      // kg on the front axle
	RearMass          float64 `toml:"rear_axle_kg"`       // kg on the rear axle
	Wheelbase         float64 `toml:"wheelbase_m"`        // m
	CGHeight          float64 `toml:"cg_height_m"`        // m, centre of gravity above ground
	FrontTrack        float64 `toml:"front_track_m"`      // m between the wheels of the front axle, 0 where not known
	RearTrack         float64 `toml:"rear_track_m"`       // m between the wheels of the rear axle, 0 where not known
	FrontSolid        bool    `toml:"-"`                  // a beam axle with its differential in it; independent where not said
	RearSolid         bool    `toml:"-"`
	RollShare         float64 `toml:"front_roll_stiffness_share"` // part of the roll stiffness on the front axle, 0 where not known
	Friction          float64 `toml:"friction"`                   // tyre to surface, along
	MassFactor        float64 `toml:"mass_factor"`                // effective mass over mass, rotating parts included, in every gear
	Engine            string  `toml:"engine"`                     // "naturally aspirated", "turbocharged", "diesel", "electric"; "" where not known
	LaunchSpeed       float64 `toml:"launch_rpm"`                 // rad/s, held by clutch or converter while the road catches up
	EngineInertia     float64 `toml:"engine_inertia_kgm2"`        // kg·m², what turns with the engine or motor
	WheelInertia      float64 `toml:"wheel_inertia_kgm2"`         // kg·m², all wheels and what turns with them
	Gearbox           string  `toml:"gearbox"`                    // "clutch", "converter", "single-speed"; "" where not known
	StallRatio        float64 `toml:"stall_torque_ratio"`         // torque ratio of a converter at stall, 0 where not known
	Auxiliary         float64 `toml:"auxiliary_kw"`               // W that the engine gives to what does not drive
	Sliding           float64 `toml:"sliding_friction"`           // tyre to surface once it spins, 0 where not known

	Driveline Driveline `toml:"-"`
}

// TorquePoint is one point of an engine's torque curve.
type TorquePoint struct {
	Speed  float64 // rad/s
	Torque float64 // N·m
}

// Conditions is what the tester noted of air and surface. A nil is a value not
// given: a wind of 0 m/s is a value.
type Conditions struct {
	Temperature *float64 `toml:"temperature_c"`    // K
	Pressure    *float64 `toml:"pressure_hpa"`     // Pa, at the site, not reduced to sea level
	Humidity    *float64 `toml:"humidity_percent"` // relative, 0 to 1
	Wind        *float64 `toml:"wind_mps"`         // m/s, mean
	Gust        *float64 `toml:"gust_mps"`         // m/s
	WindFrom    *float64 `toml:"wind_from_deg"`    // degrees from true north the wind comes from
	Altitude    *float64 `toml:"altitude_m"`       // m above mean sea level
	Grade       *float64 `toml:"grade_percent"`    // rise over run, along GradeHeading
	// GradeHeading is the heading along which Grade rises, degrees from true
	// north.
	GradeHeading *float64 `toml:"grade_heading_deg"`
	Surface      string   `toml:"surface"` // "dry asphalt"
	// Halves of the 95 % intervals of the readings, as their instruments have them; nil for what
	// is common.
	TemperatureU95 *float64 `toml:"temperature_u95_c"`    // K
	PressureU95    *float64 `toml:"pressure_u95_hpa"`     // Pa
	HumidityU95    *float64 `toml:"humidity_u95_percent"` // relative, 0 to 1
	WindU95        *float64 `toml:"wind_u95_mps"`         // m/s
}

// Error is a mistake in a sheet, in one line with its place.
type Error struct {
	Sheet string
	Line  int // 1-based, 0 where no line can be named
	Text  string
}

// Error prints "session.toml: line 12: ...".
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Sheet + ": " + e.Text
	}
	return fmt.Sprintf("%s: line %d: %s", e.Sheet, e.Line, e.Text)
}

// Errorf returns an Error at the line of a top-level key, such as "targets", for
// checks that a caller makes.
func (s *Sheet) Errorf(key, format string, args ...any) error {
	return s.ErrorAt(s.text.Line(key, 0), format, args...)
}

// ErrorAt returns an Error at a line of the sheet, such as an Assignment's.
func (s *Sheet) ErrorAt(line int, format string, args ...any) error {
	return &Error{Sheet: s.Name, Line: line, Text: fmt.Sprintf(format, args...)}
}

// OutsideError is a mistake of the i-th outside time.
func (s *Sheet) OutsideError(i int, format string, args ...any) error {
	return s.ErrorAt(s.Outside[i].line, format, args...)
}

// ModeNames returns the names of the modes in the order of the sheet.
func (s *Sheet) ModeNames() []string {
	names := make([]string, len(s.Modes))
	for i, m := range s.Modes {
		names[i] = m.Name
	}
	return names
}

// ModeDriveline returns the driveline of a mode: what the mode says, and the
// vehicle's own where it says nothing.
func (s *Sheet) ModeDriveline(name string) Driveline {
	d := s.Vehicle.Driveline
	if i := slices.IndexFunc(s.Modes, func(m Mode) bool { return m.Name == name }); i >= 0 {
		o := s.Modes[i].Driveline
		d = Driveline{Driven: cmp.Or(o.Driven, d.Driven), Range: cmp.Or(o.Range, d.Range), StartGear: cmp.Or(o.StartGear, d.StartGear),
			Front: cmp.Or(o.Front, d.Front), Centre: cmp.Or(o.Centre, d.Centre), Rear: cmp.Or(o.Rear, d.Rear),
			Efficiency: cmp.Or(o.Efficiency, d.Efficiency), Bias: cmp.Or(o.Bias, d.Bias), Share: cmp.Or(o.Share, d.Share),
			Brake: cmp.Or(o.Brake, d.Brake), BuildUp: cmp.Or(o.BuildUp, d.BuildUp)}
	}
	return d
}
