package sheet

import (
	"cmp"
	"errors"
	"slices"
	"strings"
	"time"
)

// Mark is an event in a log.
type Mark struct {
	Log  string // short name
	Time time.Time
	Text string
}

// Assignment is what the sheet says of a run.
type Assignment struct {
	RunID    string // as the call names it
	Mode     string // "" where the sheet names none
	Planned  string // that the plan's order has for a run to which nothing else gives one
	Excluded string // the reason, "" where it counts
	// Parts are the exclusions of its times from a target on.
	Parts  []Part
	Keep   bool // count it although the tool would not
	Remark string
	Noted  Noted
	Line   int // of its [[run]] in the sheet, 0 where it has none
}

// unplaced is an assignment without where in the sheet it stands, by an entry or by the
// plan.
func (a Assignment) unplaced() Assignment {
	a.Line, a.Parts = 0, slices.Clone(a.Parts)
	a.Mode, a.Planned = cmp.Or(a.Mode, a.Planned), ""
	for i := range a.Parts {
		a.Parts[i].Line = 0
	}
	return a
}

// Part is an exclusion of a run's times from a target on.
type Part struct {
	Target, Reason string
	Line           int // of its [[exclude]] in the sheet
}

// claim is a mode given to a run, and where.
type claim struct {
	mode string
	line int
	how  string
}

// own is how a claim is made by a [[run]].
const own = "by its own entry"

// Assign returns what the sheet says of each run, in the order of the call. Places are
// those of the runs by their launch, from 1, 0 for a run that has none. The error names
// every mistake in a line of its own, such as a run that is given two modes; what could
// be assigned is returned beside it.
func (r *Resolved) Assign(places []int, marks []Mark) ([]Assignment, error) {
	out, errs := r.assign(places, marks)
	return out, errors.Join(errs...)
}

func (r *Resolved) assign(places []int, marks []Mark) ([]Assignment, []error) {
	s := r.sheet
	var errs []error
	out := make([]Assignment, len(r.runs))
	for i := range out {
		out[i].RunID = r.runs[i].ID
	}
	claims := make([][]claim, len(r.runs))
	rank := r.rank(places)
	for i := range s.Modes {
		errs = append(errs, r.claimMode(i, rank, marks, claims)...)
	}
	for i, e := range s.Runs {
		run := r.runOf[i]
		if run < 0 {
			continue
		}
		if e.Mode != "" {
			claims[run] = append(claims[run], claim{e.Mode, e.line, own})
		}
		a := &out[run]
		a.Excluded, a.Keep, a.Remark, a.Noted, a.Line = e.Exclude, e.Keep, e.Remark, e.Noted, e.line
	}
	errs = append(errs, r.fromCard(rank, out)...)
	for i, e := range s.Excluded {
		if run := r.exclude[i]; run >= 0 {
			if e.From != "" {
				out[run].Parts = append(out[run].Parts, Part{e.From, e.Reason, e.line})
				continue
			}
			out[run].Excluded = e.Reason
		}
	}
	for i, cs := range claims {
		var err error
		if out[i].Mode, err = s.settle(r.runs[i].ID, cs); err != nil {
			errs = append(errs, err)
		}
		if n := rank[i]; len(cs) == 0 && n > 0 && n <= len(s.Plan.Order) && len(r.Absent) == 0 {
			out[i].Planned = s.Plan.Order[n-1]
		}
	}
	if len(s.Plan.Order) > 0 && len(r.Absent) > 0 {
		errs = append(errs, s.Errorf("plan.order", "order cannot be counted without log %q", r.Absent[0]))
	}
	return out, errs
}

// fromCard adds what the run card has of the runs that were launched in its order. What a run's own
// entry says goes before it. A row without a note is one that is still to be driven.
func (r *Resolved) fromCard(rank []int, out []Assignment) (errs []error) {
	for _, c := range r.sheet.Card {
		i := slices.Index(rank, c.Run)
		switch noted := c.Spoiled != "" || c.Remark != "" || c.Noted != (Noted{}); {
		case !noted:
		case len(r.Absent) > 0:
			return append(errs, r.sheet.ErrorAt(c.line, "the card's runs cannot be counted without log %q", r.Absent[0]))
		case i < 0:
			errs = append(errs, r.sheet.ErrorAt(c.line, "there is no run %d; the logs have %d", c.Run, slices.Max(append(rank, 0))))
		default:
			a := &out[i]
			a.Noted.under(&c.Noted)
			a.Excluded, a.Remark = cmp.Or(a.Excluded, c.Spoiled), cmp.Or(a.Remark, c.Remark)
			if a.Line == 0 {
				a.Line = c.line
			}
		}
	}
	return errs
}

// settle is the mode that claims give a run. Where they differ that is its own entry's,
// beside the error.
func (s *Sheet) settle(id string, cs []claim) (string, error) {
	if len(cs) == 0 {
		return "", nil
	}
	for _, c := range cs[1:] {
		if c.mode == cs[0].mode {
			continue
		}
		err := s.ErrorAt(c.line, "run %q is given mode %q %s, but it already has mode %q from line %d", id, c.mode, c.how, cs[0].mode, cs[0].line)
		if last := cs[len(cs)-1]; last.how == own {
			return last.mode, err
		}
		return "", err
	}
	return cs[0].mode, nil
}

// chosenFrom reports whether order, times and marks choose among a run's log: in a
// sheet with [[log]] entries they do among these logs alone.
func (r *Resolved) chosenFrom(run Run) bool {
	return len(r.sheet.Logs) == 0 || r.entryOf[run.Log] >= 0
}

// rank is each run's place among those that order chooses from, 0 for the others.
func (r *Resolved) rank(places []int) []int {
	var index []int
	for i, run := range r.runs {
		if i < len(places) && places[i] > 0 && r.chosenFrom(run) {
			index = append(index, i)
		}
	}
	slices.SortStableFunc(index, func(a, b int) int { return cmp.Compare(places[a], places[b]) })
	out := make([]int, len(r.runs))
	for n, i := range index {
		out[i] = n + 1
	}
	return out
}

// claimMode adds a claim for each run that a mode's selectors choose.
func (r *Resolved) claimMode(index int, rank []int, marks []Mark, claims [][]claim) []error {
	s := r.sheet
	m := &s.Modes[index]
	var errs []error
	at := func(key string) int { return s.text.Line("mode."+key, m.line) }
	add := func(run int, key, how string) { claims[run] = append(claims[run], claim{m.Name, at(key), how}) }
	for _, i := range r.byName[index] {
		add(i, "runs", "by name")
	}
	for _, i := range r.byLog[index] {
		add(i, "logs", "by its log")
	}
	if len(m.Order) > 0 && len(r.Absent) > 0 {
		errs = append(errs, s.ErrorAt(at("order"), "order cannot be counted without log %q", r.Absent[0]))
	} else {
		for _, n := range m.Order {
			if i := slices.Index(rank, n); i >= 0 {
				add(i, "order", "by its order")
			} else {
				errs = append(errs, s.ErrorAt(at("order"), "there is no run %d in order; the logs have %d", n, slices.Max(append(rank, 0))))
			}
		}
	}
	for i, run := range r.runs {
		if !r.chosenFrom(run) {
			continue
		}
		if slices.ContainsFunc(m.Times, func(span Span) bool { return span.Holds(sinceMidnight(run.Launch.UTC())) }) {
			add(i, "times", "by the time of day")
		}
		if last := r.lastModeMark(run, marks); last != "" && slices.ContainsFunc(m.Marks, func(t string) bool { return key(t) == last }) {
			add(i, "marks", "by a mark")
		}
	}
	for _, t := range m.Marks {
		if len(r.Absent) == 0 && !slices.ContainsFunc(marks, func(k Mark) bool { return key(k.Text) == key(t) }) {
			errs = append(errs, s.ErrorAt(at("marks"), "no log has a mark %q", t))
		}
	}
	return errs
}

// lastModeMark returns the text of the last mark before a run's launch, in its
// own log, that begins any mode.
func (r *Resolved) lastModeMark(run Run, marks []Mark) string {
	var best Mark
	found := ""
	for _, k := range marks {
		named := slices.ContainsFunc(r.sheet.Modes, func(m Mode) bool {
			return slices.ContainsFunc(m.Marks, func(t string) bool { return key(t) == key(k.Text) })
		})
		if k.Log == r.logs[run.Log].Name && named && !k.Time.After(run.Launch) && (found == "" || !k.Time.Before(best.Time)) {
			best, found = k, key(k.Text)
		}
	}
	return found
}

func key(s string) string { return strings.ToLower(strings.TrimSpace(s)) }
