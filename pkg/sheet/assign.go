package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"
	"time"
)

// Run is what Assign must know of a run.
type Run struct {
	ID     string    // "sport#2"
	Log    string    // short name of its log, "sport"
	Path   string    // of its log as given
	Launch time.Time // UTC
	Order  int       // place among all launches, from 1
}

// Mark is an event in a log.
type Mark struct {
	Log  string // short name
	Time time.Time
	Text string
}

// Assignment is what the sheet says of a run.
type Assignment struct {
	RunID    string
	Mode     string // "" where the sheet names none
	Excluded string // the reason, "" where it counts
	Keep     bool   // count it although the tool would not
	Remark   string
}

// claim is a mode given to a run, and where.
type claim struct {
	mode string
	line int
	how  string
}

// Assign returns what the sheet says of each run, in the order given. Every
// mistake found is in the error: a run or log that does not exist, a run given
// two modes.
func (s *Sheet) Assign(runs []Run, marks []Mark) ([]Assignment, error) {
	var errs []error
	out := make([]Assignment, len(runs))
	index := map[string]int{}
	for i, r := range runs {
		out[i].RunID = r.ID
		index[r.ID] = i
	}
	claims := make([][]claim, len(runs))
	for i := range s.Modes {
		errs = append(errs, s.claimMode(&s.Modes[i], runs, marks, claims)...)
	}
	for _, e := range s.Runs {
		i, ok := index[e.ID]
		if !ok {
			errs = append(errs, s.noSuchRun(e.line, e.ID, runs))
			continue
		}
		if e.Mode != "" {
			claims[i] = append(claims[i], claim{e.Mode, e.line, "by its own entry"})
		}
		out[i].Excluded, out[i].Keep, out[i].Remark = e.Exclude, e.Keep, e.Remark
	}
	for _, e := range s.Excluded {
		if i, ok := index[e.Run]; ok {
			out[i].Excluded = e.Reason
		} else {
			errs = append(errs, s.noSuchRun(e.line, e.Run, runs))
		}
	}
	for i, cs := range claims {
		for _, c := range cs {
			if out[i].Mode != "" && c.mode != out[i].Mode {
				errs = append(errs, s.errorAt(c.line, "run %q is given mode %q %s, but it already has mode %q from line %d",
					runs[i].ID, c.mode, c.how, out[i].Mode, cs[0].line))
				break
			}
			out[i].Mode = c.mode
		}
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return out, nil
}

// claimMode adds a claim for each run that a mode's selectors choose.
func (s *Sheet) claimMode(m *Mode, runs []Run, marks []Mark, claims [][]claim) []error {
	var errs []error
	at := func(key string) int { return s.text.Line("mode."+key, m.line) }
	choose := func(key, how string, chosen func(Run) bool) (found bool) {
		for i, r := range runs {
			if chosen(r) {
				claims[i] = append(claims[i], claim{m.Name, at(key), how})
				found = true
			}
		}
		return found
	}
	for _, id := range m.Runs {
		if !choose("runs", "by name", func(r Run) bool { return r.ID == id }) {
			errs = append(errs, s.noSuchRun(at("runs"), id, runs))
		}
	}
	for _, name := range m.Logs {
		if !choose("logs", "by its log", func(r Run) bool { return sameLog(name, r) }) {
			errs = append(errs, s.errorAt(at("logs"), "no run is from a log %q", name))
		}
	}
	for _, n := range m.Order {
		if !choose("order", "by its order", func(r Run) bool { return r.Order == n }) {
			errs = append(errs, s.errorAt(at("order"), "there is no run %d in order; the logs have %d", n, len(runs)))
		}
	}
	for _, span := range m.Times {
		choose("times", "by the time of day", func(r Run) bool { return span.Holds(sinceMidnight(r.Launch.UTC())) })
	}
	for _, t := range m.Marks {
		choose("marks", "by a mark", func(r Run) bool { return s.lastModeMark(r, marks) == key(t) })
		if !slices.ContainsFunc(marks, func(k Mark) bool { return key(k.Text) == key(t) }) {
			errs = append(errs, s.errorAt(at("marks"), "no log has a mark %q", t))
		}
	}
	return errs
}

// lastModeMark returns the text of the last mark before a run's launch, in its
// own log, that begins any mode.
func (s *Sheet) lastModeMark(r Run, marks []Mark) string {
	var best Mark
	found := ""
	for _, k := range marks {
		named := slices.ContainsFunc(s.Modes, func(m Mode) bool {
			return slices.ContainsFunc(m.Marks, func(t string) bool { return key(t) == key(k.Text) })
		})
		if k.Log == r.Log && named && !k.Time.After(r.Launch) && (found == "" || !k.Time.Before(best.Time)) {
			best, found = k, key(k.Text)
		}
	}
	return found
}

func key(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

// sameLog matches a log by its short name, its path or the last part of it.
func sameLog(name string, r Run) bool {
	p := strings.ReplaceAll(r.Path, `\`, "/")
	return name == r.Log || name == r.Path || name == path.Base(p)
}

// mostListed is how many runs an error lists (assumed).
const mostListed = 12

func (s *Sheet) noSuchRun(line int, id string, runs []Run) error {
	var ids []string
	for _, r := range runs[:min(len(runs), mostListed)] {
		ids = append(ids, r.ID)
	}
	have := cmp.Or(strings.Join(ids, ", "), "none")
	if more := len(runs) - len(ids); more > 0 {
		have += fmt.Sprintf(" and %d more", more)
	}
	return s.errorAt(line, "run %q does not exist; the logs have %s", id, have)
}
