package session

import (
	"cmp"
	"errors"
	"io"
	"slices"
	"strings"
	"time"

	"fromrest/pkg/cache"
	"fromrest/pkg/diag"
	"fromrest/pkg/format"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
)

// Input is one log to analyse.
type Input struct {
	Path string // opened, unless Open is set, and what Shown leaves of it is shown
	Mode string // drive mode, "" if unknown
	// Open, if set, gives the bytes instead of the file at Path.
	Open func() (io.ReadCloser, error)
	// Beside is the accelerometer's table that goes with the log, "" for none.
	Beside string

	shown   string // what outputs call it; "" for Path
	witness bool   // it recorded the drives of the other input of the call
}

// Options shapes an analysis. The zero value is usable. The tag of every field says
// whether it shapes what is found in a log, and so what may be recalled for it.
type Options struct {
	Units   string          `shapes:"yes"` // "mph" or "kmh"; "" takes the sheet's, else mph
	Targets []timing.Target `shapes:"yes"` // added to the standard ones
	// At are the targets that tables show, in their order; none for those of Rows. What is
	// not timed yet is timed. The sheet's stand where none are given.
	At []timing.Target `shapes:"no"`
	// Rows are the targets that tables show: "mph", "metric" or "all"; "" takes the sheet's,
	// else those of Units.
	Rows string `shapes:"no"`
	// Zone is the time zone that instants are printed in; nil takes the sheet's, else UTC.
	Zone    *time.Location `shapes:"no"`
	All     bool           `shapes:"yes"` // also short runs, rolling accelerations and braking runs
	Version string         `shapes:"no"`  // recorded in the settings
	// Judge works out Log.Worth with each log and remembers it, apart.
	Judge   bool   `shapes:"no"`
	Columns string `shapes:"yes"` // CSV mapping, see the formats page
	// SpeedUnit is the unit of speed of logs whose format does not settle it, "" for
	// what they say.
	SpeedUnit string `shapes:"yes"`
	// With, if set, is a log whose accelerometer goes with the inputs.
	With *format.Companion `shapes:"yes"`
	// Part says what of each log is read; the zero value is all.
	Part format.Part `shapes:"yes"`

	// Receiver is what is known of how the receiver smooths speed; the zero value takes
	// the sheet's.
	Receiver sheet.Receiver `shapes:"yes"`

	// Sheet, if set, says what was driven. Its units stand where none are given here,
	// its targets after those given here.
	Sheet   *sheet.Sheet   `shapes:"no"`
	Compare CompareOptions `shapes:"no"` // how modes are held against each other

	// Progress, if set, is called from one goroutine at a time with the number
	// of bytes read so far of all inputs and the total; total is 0 if unknown.
	Progress func(done, total int64) `shapes:"no"`
	Total    int64                   `shapes:"no"` // bytes of all inputs, handed on to Progress
	// Finished, if set, is called from one goroutine at a time with the number
	// of inputs that are done.
	Finished func(logs int) `shapes:"no"`

	// NoTraces leaves the traces and samples of runs out of the result, for calls
	// over many logs that print times only. They are remembered apart.
	NoTraces bool `shapes:"no"`
	// Positions has outputs show where runs went, from their start lines; none shows degrees.
	Positions bool `shapes:"no"`
	// Shelve lays what NoTraces would leave out of a log that is too long to be held whole
	// where TimedRun.Whole takes it from. The result is to be closed then.
	Shelve bool `shapes:"no"`
	// Memory, if set, keeps what finished logs gave for the next call. Build then
	// identifies the program: what one build remembers is not believed by another.
	Memory cache.Memory `shapes:"no"`
	Build  string       `shapes:"yes"`
}

// The rows that tables may show, see Options.Rows.
const (
	RowsMPH    = "mph"    // the standard ones: miles an hour, feet and miles
	RowsMetric = "metric" // those of timing.Metric
	RowsAll    = "all"    // every target that runs were timed to
)

// Reading returns the options that logs are read with: with the units, targets, rows, columns,
// receiver and part of the sheet, and without the sheet. What was read with equal ones need not be read
// again when a sheet changes. The error names the targets of the sheet that are none;
// the options are usable beside it.
func (o Options) Reading() (Options, error) {
	var err error
	if sh := o.Sheet; sh != nil {
		o.Columns = cmp.Or(o.Columns, sh.Columns)
		o.Units, o.Receiver, o.Zone = cmp.Or(o.Units, sh.Units), cmp.Or(o.Receiver, sh.Receiver), cmp.Or(o.Zone, sh.Zone)
		if o.Part.Span.All() {
			o.Part.Span = sh.Span(o.Zone)
		}
		var own, at []timing.Target
		var wrong error
		own, err = parseTargets(sh, "targets", sh.Targets)
		at, wrong = parseTargets(sh, "at", sh.At)
		err = errors.Join(err, wrong)
		o.Targets = append(slices.Clone(o.Targets), own...)
		if o.At == nil && o.Rows == "" {
			o.At, o.Rows = at, sh.Rows
		}
		o.NoTraces = o.NoTraces && len(sh.Outside) == 0 // these are held against traces
		o.Sheet = nil
	}
	o.Units, o.Zone = cmp.Or(o.Units, "mph"), cmp.Or(o.Zone, time.UTC)
	if o.Rows == "" && o.Units == "kmh" {
		o.Rows = RowsMetric
	}
	if o.Units == "kmh" || o.Rows == RowsMetric {
		o.Targets = append(timing.Metric(), o.Targets...)
	}
	o.Targets = append(o.Targets, o.At...)
	return o, err
}

// InputError is an input that gave nothing: the others are still analysed.
type InputError struct {
	Path  string // as given
	Shown string // as outputs show it; "" for Path
	Err   error
}

// Cause is why the input gave nothing, without its path and as outputs show it: see Shown.
func (e *InputError) Cause() string {
	text := strings.TrimPrefix(e.Err.Error(), e.Path+": ")
	return diag.Discreet(strings.ReplaceAll(text, e.Path, e.Called()))
}

// Called is what outputs call the input.
func (e *InputError) Called() string { return cmp.Or(e.Shown, e.Path) }

// Error prints the path and the cause in one line.
func (e *InputError) Error() string { return e.Path + ": " + e.Err.Error() }

// Unwrap returns the cause.
func (e *InputError) Unwrap() error { return e.Err }
