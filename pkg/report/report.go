// Package report says what each document of the program contains: the timing
// tables, the quality of logs, comparisons, explanations, plans, the page of a
// session, and the data sets for other programs. Each is built of the parts of
// package document, as far as its forms say the same from the same parts; JSON
// and Parquet are written from wire structs of their own.
//
// Every time is printed with its 95 % half-width and no finer than that
// supports (uncert.Format). What the analysis warned of travels with every
// form. The same result gives the same bytes: nothing here looks at the clock.
//
// The package holds no model. It neither averages nor tests: a mean, a
// difference or a verdict that is not in the result is asked of package session
// and those beneath it.
package report

import (
	"time"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

// Cautions are what must be said wherever runs are planned or shown: whole
// sentences, in order.
func Cautions() []string {
	return []string{
		"Run only on a closed course, or where local law allows it.",
		"A passenger runs the laptop; the driver drives.",
		"Check tyres, brakes and load before the first run.",
		"Use part-time four-wheel drive on dry pavement only in a straight line, and leave it before turning.",
		"Do not launch against the brakes in low range.",
		"Stop when anything slips, smells or warns.",
		"The maker's manual, the site's rules and local codes come before anything printed here.",
	}
}

// SpeedUnit returns the name and the size in m/s of the unit in which a reader
// is shown speeds: "mph" or "kmh" as in the settings.
func SpeedUnit(units string) (name string, per float64) {
	u := unit.ShownIn(units)
	return u.Speed, u.SpeedPer
}

// DistanceUnit returns the name and the size in m of the unit that distances are
// shown in beside such speeds.
func DistanceUnit(units string) (name string, per float64) {
	u := unit.ShownIn(units)
	return u.Distance, u.DistancePer
}

// OriginName is how an origin is written in a table.
func OriginName(o timing.Origin) string {
	switch o {
	case timing.FromRest:
		return SectionRest
	case timing.FromRollout:
		return SectionRollout
	}
	return "from speed"
}

// Instant prints a launch with milliseconds and its time zone, nil for UTC; without a
// date only the log's time of day.
func Instant(r *session.TimedRun, zone *time.Location) string {
	if r.Log != nil && !dated(r.Log) {
		return launchIn(r, zone).Format("15:04:05.000")
	}
	return launchIn(r, zone).Format("2006-01-02 15:04:05.000 MST")
}

// launchIn is a run's launch in a time zone, nil for UTC; without a date by the log's clock.
func launchIn(r *session.TimedRun, zone *time.Location) time.Time {
	if r.Log != nil && !dated(r.Log) {
		zone = nil
	}
	return shownIn(r.Launch, zone)
}

// shownIn is an instant in a time zone, nil for UTC.
func shownIn(t time.Time, zone *time.Location) time.Time {
	if zone == nil {
		zone = time.UTC
	}
	return t.In(zone)
}

// dated reports whether instants of a log are plainly UTC.
func dated(l *session.Log) bool { return !l.Undated && l.Clock != "elapsed" }

// ClockNote says what instants of a log are, "" where they are plainly UTC.
func ClockNote(l *session.Log) string {
	switch {
	case l.Clock == "elapsed":
		return "the log has no clock: instants count from its beginning"
	case l.Undated:
		return "the log has no date: instants are times of day"
	}
	return ""
}
