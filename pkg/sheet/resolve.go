package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Resolved is what the sheet speaks of, found among the logs and runs of a call.
type Resolved struct {
	Logs    []string // what the sheet calls each log, "" where it has no [[log]] of it
	Runs    []string // the identity that the sheet gives each run, "" where it has no [[run]] of it
	Witness []int    // of each log the index of the log whose witness it is by the sheet, -1 for none
	// Separate is set for each log whose drives are its own by the sheet.
	Separate []bool
	Absent   []string // names of [[log]] entries whose logs are not here at all

	sheet *Sheet
	logs  []Log
	runs  []Run
	errs  []error

	entryOf []int          // of each log its [[log]], -1 for none
	logOf   []int          // of each [[log]] its log, absent, or unknown where it was refused
	runOf   []int          // of each [[run]] its run, absent where it has none
	listed  map[string]int // [[run]] by identity
	byID    map[runKey]int // runs by log and what follows the #
	names   map[string]namedLog
	Outside []int   // of each [[witness]] the index of its run, negative for one that is not here
	exclude []int   // of each [[exclude]] its run
	byName  [][]int // of each mode the runs it names
	byLog   [][]int // of each mode the runs of the logs it names
}

type runKey struct {
	log  int
	tail string
}

// namedLog is the log that a name means.
type namedLog struct {
	log     int    // in the call, absent or unknown
	mistake string // why it is unknown although there are logs of this name
}

const (
	absent  = -1 // passed over without an error, or one has been told
	unknown = -2
)

// Resolve finds the logs and runs that the sheet speaks of among those of a call. The
// error names every mistake in a line of its own; what could be resolved is returned
// beside it. A log of the sheet that is not in the call is no mistake: what the sheet
// says of its runs is passed over.
func (s *Sheet) Resolve(logs []Log, runs []Run) (*Resolved, error) {
	r := &Resolved{sheet: s, logs: logs, runs: runs, Logs: make([]string, len(logs)), Runs: make([]string, len(runs)),
		Witness: slices.Repeat([]int{-1}, len(logs)), Separate: make([]bool, len(logs)), entryOf: slices.Repeat([]int{-1}, len(logs)),
		logOf: slices.Repeat([]int{absent}, len(s.Logs)), runOf: slices.Repeat([]int{absent}, len(s.Runs)),
		listed: map[string]int{}, byID: map[runKey]int{}, names: map[string]namedLog{}}
	for i, run := range runs {
		r.byID[runKey{run.Log, tailOf(run.ID)}] = i
	}
	r.findLogs()
	r.findRuns()
	for _, e := range s.Excluded {
		r.exclude = append(r.exclude, r.run(e.line, e.Run))
	}
	for _, o := range s.Outside {
		r.Outside = append(r.Outside, r.run(o.line, o.Run))
	}
	for i := range s.Modes {
		r.findOfMode(&s.Modes[i])
	}
	return r, errors.Join(r.errs...)
}

func (r *Resolved) fault(line int, format string, args ...any) {
	r.errs = append(r.errs, r.sheet.ErrorAt(line, format, args...))
}

// findRuns finds the run of each [[run]].
func (r *Resolved) findRuns() {
	taken := map[int]int{}
	for i, e := range r.sheet.Runs {
		var run int
		if e.Launch.IsZero() {
			run = r.byNumber(e.line, e.ID)
		} else {
			run = r.byLaunch(&e)
		}
		r.listed[e.ID] = i
		if run < 0 {
			continue
		}
		if first, twice := taken[run]; twice {
			o := r.sheet.Runs[first]
			r.fault(e.line, "run %q is %s, which is run %q from line %d already", e.ID, r.describe(run), o.ID, o.line)
			continue
		}
		taken[run] = i
		r.runOf[i], r.Runs[run] = run, e.ID
	}
}

// run is the run that an identity means outside a [[run]]: that of the [[run]] with
// this identity, else that of its number.
func (r *Resolved) run(line int, id string) int {
	if i, ok := r.listed[id]; ok {
		return r.runOf[i] // absent where its own entry has been refused
	}
	name, tail, ok := cutID(id)
	if l := r.log(name); ok && l.log >= 0 {
		if i, ok := r.listed[r.Logs[l.log]+"#"+tail]; ok && r.Logs[l.log] != "" {
			return r.runOf[i]
		}
	}
	return r.byNumber(line, id)
}

// byNumber is the run of an identity's log and number.
func (r *Resolved) byNumber(line int, id string) int {
	name, tail, ok := cutID(id)
	l := namedLog{log: unknown}
	if ok {
		l = r.log(name)
	}
	if l.mistake != "" {
		r.fault(line, "run %q: %s", id, l.mistake)
		return absent
	}
	if l.log == absent {
		return absent
	}
	if run, ok := r.byID[runKey{l.log, tail}]; ok {
		return run
	}
	r.noSuchRun(line, id)
	return absent
}

// byLaunch is the run of the identity's log and kind that was launched when the entry
// says.
func (r *Resolved) byLaunch(e *RunEntry) int {
	name, tail, ok := cutID(e.ID)
	l := namedLog{log: unknown}
	if ok {
		l = r.log(name)
	}
	switch {
	case l.mistake != "":
		r.fault(e.line, "run %q: %s", e.ID, l.mistake)
		return absent
	case l.log == absent:
		return absent
	case l.log == unknown:
		r.noSuchRun(e.line, e.ID)
		return absent
	}
	var near []int
	for i, run := range r.runs {
		if run.Log == l.log && kindOf(tailOf(run.ID)) == kindOf(tail) && apart(run.Launch, e.Launch) <= launchWithin {
			near = append(near, i)
		}
	}
	line := r.sheet.text.Line("run.launch", e.line)
	switch len(near) {
	case 1:
		return near[0]
	case 0:
		r.fault(line, "run %q: no run of %s was launched within %g s of %s", e.ID, whereIs(&r.logs[l.log]), launchWithin.Seconds(), instant(e.Launch))
	default:
		r.fault(line, "run %q: %s and %s were both launched within %g s of %s; leave launch out to go by the number", e.ID,
			r.describe(near[0]), r.describe(near[1]), launchWithin.Seconds(), instant(e.Launch))
	}
	return absent
}

// apart is the time between two launches, of the time of day alone where one has no
// date and the other has one.
func apart(a, b time.Time) time.Duration {
	if (a.Year() <= 1) != (b.Year() <= 1) {
		d := (sinceMidnight(a.UTC()) - sinceMidnight(b.UTC())).Abs()
		return min(d, 24*time.Hour-d)
	}
	return a.Sub(b).Abs()
}

func (r *Resolved) describe(run int) string {
	return fmt.Sprintf("%s at %s", r.runs[run].ID, instant(r.runs[run].Launch))
}

// instant writes a time as TOML does.
func instant(t time.Time) string {
	return t.UTC().Round(time.Millisecond).Format("2006-01-02T15:04:05.000Z")
}

// cutID takes an identity apart into the name of the log and what follows the #.
func cutID(id string) (name, tail string, ok bool) {
	i := strings.LastIndexByte(id, '#')
	if i < 0 {
		return id, "", false
	}
	return id[:i], id[i+1:], true
}

func tailOf(id string) string {
	_, tail, _ := cutID(id)
	return tail
}

// kindOf is what comes before the number in the tail of an identity, such as "stop".
func kindOf(tail string) string { return strings.TrimRight(tail, "0123456789") }

// findOfMode finds the runs and logs that a mode names.
func (r *Resolved) findOfMode(m *Mode) {
	at := func(key string) int { return r.sheet.text.Line("mode."+key, m.line) }
	var named, ofLogs []int
	for _, id := range m.Runs {
		if run := r.run(at("runs"), id); run >= 0 {
			named = append(named, run)
		}
	}
	for _, name := range m.Logs {
		l := r.log(name)
		before := len(ofLogs)
		for i, run := range r.runs {
			if run.Log == l.log {
				ofLogs = append(ofLogs, i)
			}
		}
		switch {
		case l.mistake != "":
			r.fault(at("logs"), "%s", l.mistake)
		case l.log != absent && len(ofLogs) == before:
			r.fault(at("logs"), "no run is from a log %q", name)
		}
	}
	r.byName, r.byLog = append(r.byName, named), append(r.byLog, ofLogs)
}

// mostListed is how many runs an error lists (assumed).
const mostListed = 12

func (r *Resolved) noSuchRun(line int, id string) {
	var ids []string
	for _, run := range r.runs[:min(len(r.runs), mostListed)] {
		ids = append(ids, run.ID)
	}
	have := cmp.Or(strings.Join(ids, ", "), "none")
	if more := len(r.runs) - len(ids); more > 0 {
		have += fmt.Sprintf(" and %d more", more)
	}
	r.fault(line, "run %q does not exist; the logs have %s", id, have)
}
