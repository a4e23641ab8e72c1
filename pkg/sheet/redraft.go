package sheet

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"fromrest/pkg/tomltext"
)

// Redraft returns the text of a sheet that was read, byte for byte, with what it lacks
// added: a [[log]] for each log, the launch in each [[run]], a [[run]] for each run, and
// the [[mode]] of such a run where it came from elsewhere than the sheet. Where the sheet
// lacks nothing its text comes back as it is.
//
// A sheet that does not go with the logs comes back unchanged beside the error of Resolve.
// What cannot be added without changing what the sheet says, or has no place in its
// text, is left out and named in the error beside the text with the rest.
func (s *Sheet) Redraft(in DraftInput) (string, error) {
	if _, err := s.Resolve(in.Logs, runsOf(&in)); err != nil {
		return s.source, err
	}
	var ids []string
	for _, r := range in.Runs {
		ids = append(ids, r.ID)
	}
	d := s.redraft(in)
	logs := make([]int, len(in.Logs))
	for i := range logs {
		logs[i] = i
	}
	d.add(logs, ids)
	return d.sheet.source, errors.Join(d.errs...)
}

// Identify is Redraft for some runs and their logs alone, of a sheet that may be wrong
// about others: it gives them entries that can be edited. The runs are named as the
// call does; their identities in the sheet are returned in the same order, "" for a run
// that is not in the call or could not be listed. A sheet without any [[log]] gets those
// of all logs, so that its modes go on choosing among all of them.
func (s *Sheet) Identify(in DraftInput, runs ...string) (text string, ids []string, err error) {
	d := s.redraft(in)
	var logs []int
	for i, r := range in.Runs {
		if slices.Contains(runs, r.ID) && !slices.Contains(logs, in.Runs[i].Log) {
			logs = append(logs, r.Log)
		}
	}
	if len(s.Logs) == 0 {
		logs = logs[:0]
		for i := range in.Logs {
			logs = append(logs, i)
		}
	}
	d.add(logs, runs)
	ids = make([]string, len(runs))
	for k, id := range runs {
		if i := slices.IndexFunc(in.Runs, func(r DraftRun) bool { return r.ID == id }); i >= 0 {
			ids[k] = d.found.Runs[i]
		}
	}
	return d.sheet.source, ids, errors.Join(d.errs...)
}

// redrafting is a sheet to which entries are being added.
type redrafting struct {
	in    DraftInput
	runs  []Run
	sheet *Sheet // as it is so far
	found *Resolved
	says  []Assignment // of each run, which must stay
	wrong int          // mistakes that it has anyway
	modes map[int]string
	errs  []error
}

func runsOf(in *DraftInput) []Run {
	out := make([]Run, len(in.Runs))
	for i, r := range in.Runs {
		out[i] = r.Run
	}
	return out
}

func (s *Sheet) redraft(in DraftInput) *redrafting {
	in.Logs = slices.Clone(in.Logs)
	for i := range in.Logs {
		in.Logs[i].Prefix = remembered(in.Logs[i].Prefix)
	}
	d := &redrafting{in: in, runs: runsOf(&in), sheet: s, modes: map[int]string{}}
	d.found, d.says, d.wrong = d.look(s)
	return d
}

// remembered reads no prefix twice.
func remembered(prefix func(int64) (string, error)) func(int64) (string, error) {
	if prefix == nil {
		return nil
	}
	known := map[int64]string{}
	return func(n int64) (string, error) {
		if sum, ok := known[n]; ok {
			return sum, nil
		}
		sum, err := prefix(n)
		if err == nil {
			known[n] = sum
		}
		return sum, err
	}
}

// look is what a sheet says of the runs, and how many mistakes it has.
func (d *redrafting) look(s *Sheet) (*Resolved, []Assignment, int) {
	found, _ := s.Resolve(d.in.Logs, d.runs)
	places := make([]int, len(d.runs))
	for i, r := range d.in.Runs {
		places[i] = r.Order
	}
	says, errs := found.assign(places, d.in.Marks)
	return found, says, len(found.errs) + len(errs)
}

// addition is an entry to add, or lines of one.
type addition struct {
	name string // for a message
	text string
	at   int    // of lines, the entry's index in the sheet
	mode string // of a run, the [[mode]] that it needs as well
}

// each makes some additions: all together, or one by one where they cannot all be made.
func (d *redrafting) each(what string, as []addition, change func(*tomltext.Text, []addition) bool) {
	if len(as) == 0 || d.try(as, change) == "" {
		return
	}
	var left []string
	why := ""
	for _, a := range as {
		if w := d.try([]addition{a}, change); w != "" {
			left, why = append(left, a.name), w
		}
	}
	if len(left) > 0 {
		d.errs = append(d.errs, d.sheet.ErrorAt(0, "%s %s was not added: %s", what, strings.Join(left, ", "), why))
	}
}

// try makes additions if the sheet then says what it did, and returns why it does not.
func (d *redrafting) try(as []addition, change func(*tomltext.Text, []addition) bool) string {
	const noPlace = "the way in which the sheet is written leaves no place for it"
	var mistake *Error
	t := tomltext.New(d.sheet.source)
	if !change(t, as) {
		return noPlace
	}
	s, err := Parse(t.String(), d.sheet.Name)
	if errors.As(err, &mistake) {
		return "the sheet could not be read then: " + mistake.Text
	}
	if err != nil || !s.goesOn(d.sheet) {
		return noPlace
	}
	found, says, wrong := d.look(s)
	for i := range says {
		was, is := d.says[i], says[i]
		was, is = was.unplaced(), is.unplaced()
		if m := d.modes[i]; m != "" && is.Mode == m {
			was.Mode = m
		}
		if !reflect.DeepEqual(was, is) || d.found.Runs[i] != "" && d.found.Runs[i] != found.Runs[i] {
			return fmt.Sprintf("it would change what the sheet says of run %s", d.runs[i].ID)
		}
	}
	if wrong > d.wrong {
		return "the sheet would then contradict itself"
	}
	d.sheet, d.found, d.wrong = s, found, wrong
	return ""
}

// goesOn reports whether a sheet says all that an earlier one said, and beyond that has
// only further entries, launches and sums.
func (s *Sheet) goesOn(from *Sheet) bool {
	a, b := from.plain(), s.plain()
	if len(b.Logs) < len(a.Logs) || len(b.Runs) < len(a.Runs) || len(b.Modes) < len(a.Modes) {
		return false
	}
	b.Logs, b.Runs, b.Modes = b.Logs[:len(a.Logs)], b.Runs[:len(a.Runs)], b.Modes[:len(a.Modes)]
	for i, e := range a.Runs {
		if e.Launch.IsZero() {
			b.Runs[i].Launch = e.Launch
		}
	}
	for i, e := range a.Logs {
		if e.SHA256 == "" {
			b.Logs[i].SHA256, b.Logs[i].Bytes = "", 0
		}
	}
	return reflect.DeepEqual(a, b)
}

// plain is a sheet without its text and where in that something stands.
func (s *Sheet) plain() Sheet {
	c := *s
	c.source, c.text = "", nil
	c.Modes, c.Logs, c.Runs, c.Excluded = append([]Mode{}, s.Modes...), append([]LogEntry{}, s.Logs...),
		append([]RunEntry{}, s.Runs...), append([]Exclusion{}, s.Excluded...)
	c.Outside, c.Card = append([]OutsideTime{}, s.Outside...), append([]CardRow{}, s.Card...)
	for i := range c.Card {
		c.Card[i].line = 0
	}
	for i := range c.Outside {
		c.Outside[i].line = 0
	}
	for i := range c.Modes {
		c.Modes[i].line = 0
	}
	for i := range c.Logs {
		c.Logs[i].line = 0
	}
	for i := range c.Runs {
		c.Runs[i].line = 0
	}
	for i := range c.Excluded {
		c.Excluded[i].line = 0
	}
	return c
}
