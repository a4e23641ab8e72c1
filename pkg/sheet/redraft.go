package sheet

import (
	"errors"
	"fmt"
	"maps"
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

// add adds the entries of some logs and of some runs, as far as they lack.
func (d *redrafting) add(logs []int, ids []string) {
	chosen := map[string]bool{}
	for _, id := range ids {
		chosen[id] = true
	}
	d.addLaunches(chosen)
	d.addSums(logs)
	d.addLogs(logs)
	d.addRuns(chosen)
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
		was.Line, is.Line = 0, 0
		if m := d.modes[i]; m != "" && is.Mode == m {
			was.Mode = m
		}
		if was != is || d.found.Runs[i] != "" && d.found.Runs[i] != found.Runs[i] {
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

// lines puts lines into entries of a kind, after their key.
func lines(table, key string) func(*tomltext.Text, []addition) bool {
	return func(t *tomltext.Text, as []addition) bool {
		texts := map[int]string{}
		for _, a := range as {
			texts[a.at] = a.text
		}
		return len(t.After(table, key, texts)) == 0
	}
}

// addLaunches adds the launches of the chosen runs that are listed without.
func (d *redrafting) addLaunches(chosen map[string]bool) {
	var as []addition
	launches := launchesOf(&d.in)
	for n, e := range d.sheet.Runs {
		if i := d.found.runOf[n]; i >= 0 && e.Launch.IsZero() && launches[i] != "" && chosen[d.runs[i].ID] {
			as = append(as, addition{name: e.ID, text: launches[i], at: n})
		}
	}
	d.each("the launch of", as, lines("run", "id"))
}

// addSums adds what some logs are where the sheet has only their names.
func (d *redrafting) addSums(logs []int) {
	var as []addition
	known := d.sums()
	for n, e := range d.sheet.Logs {
		if i := d.found.logOf[n]; i >= 0 && e.SHA256 == "" && slices.Contains(logs, i) {
			if id := identityOf(&d.in.Logs[i], known); id != "" {
				as = append(as, addition{name: e.Name, text: id, at: n})
			}
		}
	}
	d.each("sha256 and bytes of", as, lines("log", "name"))
}

// sums are those of the logs that the sheet lists.
func (d *redrafting) sums() map[string]bool {
	known := map[string]bool{}
	for _, e := range d.sheet.Logs {
		known[e.SHA256] = true
	}
	return known
}

// addLogs adds those of some logs that the sheet does not list, under the names by
// which its runs are called already.
func (d *redrafting) addLogs(logs []int) {
	taken := map[string]bool{}
	for _, e := range d.sheet.Logs {
		taken[e.Name] = true
	}
	called, known := d.called(), d.sums()
	var as []addition
	for _, i := range logs {
		if d.found.Logs[i] != "" {
			continue
		}
		name := called[i]
		for n := 2; taken[name]; n++ {
			name = fmt.Sprintf("%s(%d)", called[i], n)
		}
		taken[name] = true
		as = append(as, addition{name: name, text: logEntry(name, &d.in.Logs[i], known)})
	}
	d.each("log", as, func(t *tomltext.Text, as []addition) bool {
		t.Add("log", joined(as))
		return true
	})
}

// called is each log's name in the identities of runs.
func (d *redrafting) called() []string {
	var ids []string
	for _, e := range d.sheet.Runs {
		ids = append(ids, e.ID)
	}
	for _, e := range d.sheet.Excluded {
		ids = append(ids, e.Run)
	}
	for _, m := range d.sheet.Modes {
		ids = append(ids, m.Runs...)
	}
	out := slices.Clone(d.found.Logs)
	for _, id := range ids {
		if name, _, ok := cutID(id); ok {
			if l := d.found.log(name).log; l >= 0 && out[l] == "" {
				out[l] = name
			}
		}
	}
	for i := range out {
		if out[i] == "" {
			out[i] = d.in.Logs[i].Name
		}
	}
	return out
}

// addRuns adds the chosen runs that the sheet does not list, with their number, or the
// next that is free where the sheet calls another run so.
func (d *redrafting) addRuns(chosen map[string]bool) {
	used := map[string]bool{}
	for _, e := range d.sheet.Runs {
		used[e.ID] = true
	}
	called, listed := d.called(), maps.Clone(used)
	for _, r := range d.runs {
		used[called[r.Log]+"#"+tailOf(r.ID)] = true
	}
	launches := launchesOf(&d.in)
	var as []addition
	for i, r := range d.in.Runs {
		if d.found.Runs[i] != "" || !chosen[r.ID] {
			continue
		}
		tail := tailOf(r.ID)
		id := called[r.Log] + "#" + tail
		for n := 1; listed[id]; n++ {
			if next := fmt.Sprintf("%s#%s%d", called[r.Log], kindOf(tail), n); !used[next] {
				id = next
			}
		}
		used[id], listed[id] = true, true
		a := addition{name: id}
		written := ""
		if r.Mode != "" && !r.FromSheet && d.says[i].Mode == "" {
			a.mode, d.modes[i] = r.Mode, r.Mode
			written = "mode = " + tomltext.Quote(r.Mode) + "\n"
		}
		a.text = runEntry(&r, id, launches[i], written)
		as = append(as, a)
	}
	d.each("run", as, func(t *tomltext.Text, as []addition) bool {
		if ms := d.undescribed(as); len(ms) > 0 {
			t.Add("mode", joined(ms))
		}
		t.Add("run", joined(as))
		return true
	})
}

// undescribed are the modes that additions need in a sheet that describes its modes.
func (d *redrafting) undescribed(as []addition) (ms []addition) {
	known := d.sheet.ModeNames()
	if len(known) == 0 {
		return nil
	}
	for _, a := range as {
		if a.mode != "" && !slices.Contains(known, a.mode) {
			known = append(known, a.mode)
			ms = append(ms, addition{text: fmt.Sprintf("[[mode]]\nname = %s\ndescription = %s\n", tomltext.Quote(a.mode), tomltext.Quote(d.in.Description[a.mode]))})
		}
	}
	return ms
}

// joined are the texts of additions with a blank line between them.
func joined(as []addition) string {
	var texts []string
	for _, a := range as {
		texts = append(texts, strings.TrimSuffix(a.text, "\n"))
	}
	return strings.Join(texts, "\n\n")
}
