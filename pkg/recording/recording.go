// Package recording holds one log in SI units: the fixes, the acceleration
// samples, the marks, the problems met while reading, and what the logger said
// of itself. Every reader produces a Recording; nothing after it knows formats.
//
// Absence is a value: a quantity that a record did not carry is NaN in a Fix
// and its column may not exist at all. An empty field is missing, never zero.
// Samples are held in columns, allocated when a quantity first appears, so a
// log costs 8 bytes for each number it really has.
package recording

import (
	"time"

	"fromrest/pkg/diag"
)

// Source says what measured a speed.
type Source string

// The sources of speed.
const (
	GNSS     Source = "gnss"     // receiver's velocity (Doppler) solution
	Position Source = "position" // derived from successive positions
	Wheel    Source = "wheel"    // wheel or vehicle-bus speed
	Inertial Source = "inertial" // integrated inertial solution
)

// Mark is an event that the logger or the driver put in the log.
type Mark struct {
	Time time.Time // UTC
	Kind string    // "lap", "start", "stop", "event"
	Text string    // the logger's own words, may be empty
}

// Recording is one log.
type Recording struct {
	Name   string // as given by the user, for messages
	Format string // "nmea", "fit", "csv", "gpx", "ubx", "json", "can", "survey"

	// Tracks are the series of fixes, the best source of speed first: all of
	// one source, strictly increasing in time.
	Tracks []*Track

	// Accel holds the accelerometer's samples, nil where there are none.
	Accel *Accel

	// Sky is what the receiver said of the satellites, nil where it said nothing.
	Sky *Sky

	Marks    []Mark
	Problems diag.List

	// Undated is set when the log carries a time of day but no date; instants
	// then lie on 0001-01-01 UTC.
	Undated bool
	// Clock says what the instants are: "utc", "time-of-day" or "elapsed" (an
	// arbitrary zero, instants then count from 0001-01-01 00:00:00 UTC).
	Clock string

	// Columns is how the columns of a table were read, as a mapping that repeats it; ""
	// for other formats.
	Columns string

	// Logger holds what the logger said of itself, such as "receiver" or
	// "firmware"; may be nil.
	Logger map[string]string
}

// Fixes is the length of the best track.
func (r *Recording) Fixes() int {
	if t := r.Primary(); t != nil {
		return t.Len()
	}
	return 0
}

// Primary returns the best track, or nil.
func (r *Recording) Primary() *Track {
	if len(r.Tracks) == 0 {
		return nil
	}
	return r.Tracks[0]
}

// Accel is an accelerometer's samples in columns. Axes are the sensor's own;
// nothing is levelled or aligned. A one-axis log has only X.
type Accel struct {
	NanoUTC []int64   // ns since the Unix epoch on the recording's clock, increasing
	X, Y, Z []float64 // m/s², specific force; Y and Z nil for one axis
	// OwnClock is set when the instants only share a rate with the fixes: the
	// offset is unknown and may be minutes.
	OwnClock bool
	// Unit is what the log wrote: "g", "m/s2", "counts".
	Unit string
	// GravityRemoved is set when the logger says it subtracted gravity.
	GravityRemoved bool
}

// Len returns the number of samples.
func (a *Accel) Len() int {
	if a == nil {
		return 0
	}
	return len(a.NanoUTC)
}

// Slice returns the samples from i to before j; the columns are shared.
func (a *Accel) Slice(i, j int) Accel {
	part := *a
	part.NanoUTC = a.NanoUTC[i:j:j]
	for _, axis := range []*[]float64{&part.X, &part.Y, &part.Z} {
		if *axis != nil {
			*axis = (*axis)[i:j:j]
		}
	}
	return part
}
