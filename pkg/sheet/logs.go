package sheet

import (
	"fmt"
	"slices"
	"strings"
)

// findLogs finds the log of each [[log]]: by its bytes, else by the bytes that it
// began with before it grew. A name alone decides only where no bytes are noted.
func (r *Resolved) findLogs() {
	entries := r.sheet.Logs
	for _, find := range []func(e *LogEntry) ([]int, error){r.ofBytes, r.grown, r.ofName} {
		for i := range entries {
			e := &entries[i]
			if r.logOf[i] != absent {
				continue
			}
			cands, err := find(e)
			if err == nil && len(cands) > 1 {
				err = fmt.Errorf("log %q may be %s", e.Name, r.or(cands))
			}
			switch {
			case err != nil:
				r.fault(e.line, "%v", err)
				r.logOf[i] = unknown
			case len(cands) == 1:
				r.logOf[i], r.entryOf[cands[0]], r.Logs[cands[0]] = cands[0], i, e.Name
			}
		}
	}
	place := map[string]int{}
	for i, e := range entries {
		place[e.Name] = i
		if r.logOf[i] == absent {
			r.Absent = append(r.Absent, e.Name)
		}
	}
	for i, e := range entries {
		if r.logOf[i] >= 0 {
			r.Separate[r.logOf[i]] = e.Separate
		}
		if of, ok := place[e.WitnessOf]; ok && e.WitnessOf != "" && r.logOf[i] >= 0 && r.logOf[of] >= 0 {
			r.Witness[r.logOf[i]] = r.logOf[of]
		}
	}
}

// ofBytes are the logs that have the bytes of an entry; of copies the one that has its
// name as well.
func (r *Resolved) ofBytes(e *LogEntry) ([]int, error) {
	cands := r.free(func(l *Log) bool { return e.SHA256 != "" && strings.EqualFold(l.SHA256, e.SHA256) })
	return r.rather(cands, e.Name), nil
}

// grown are the logs that begin with the bytes of an entry and have more. Those of its
// name are looked at first, since each look reads the log.
func (r *Resolved) grown(e *LogEntry) ([]int, error) {
	if e.SHA256 == "" {
		return nil, nil
	}
	for _, named := range []bool{true, false} {
		var cands []int
		for _, i := range r.free(func(l *Log) bool { return l.Prefix != nil && l.Bytes > e.Bytes && fits(e.Name, l) == named }) {
			sum, err := r.logs[i].Prefix(e.Bytes)
			if err != nil {
				return nil, fmt.Errorf("log %q cannot be held against %s: %w", e.Name, whereIs(&r.logs[i]), err)
			}
			if strings.EqualFold(sum, e.SHA256) {
				cands = append(cands, i)
			}
		}
		if len(cands) > 0 {
			return cands, nil
		}
	}
	return nil, nil
}

// ofName are the logs that an entry means which notes no bytes. One that notes them
// and still has no log must not have one of its name.
func (r *Resolved) ofName(e *LogEntry) ([]int, error) {
	cands := r.free(func(l *Log) bool { return fits(e.Name, l) })
	if e.SHA256 == "" || len(cands) == 0 {
		return cands, nil
	}
	return nil, fmt.Errorf("log %q matches %s by name and not by its bytes: that is another recording, or it was changed", e.Name, r.or(cands))
}

// free are the logs without a [[log]] for which fn holds.
func (r *Resolved) free(fn func(*Log) bool) (is []int) {
	for i := range r.logs {
		if r.entryOf[i] < 0 && fn(&r.logs[i]) {
			is = append(is, i)
		}
	}
	return is
}

// rather is the one of several logs that has a name or, where none does, that it fits;
// all of them where that decides nothing.
func (r *Resolved) rather(cands []int, name string) []int {
	var fit []int
	for _, i := range cands {
		if r.logs[i].Name == name {
			return []int{i}
		}
		if fits(name, &r.logs[i]) {
			fit = append(fit, i)
		}
	}
	if len(fit) == 1 {
		return fit
	}
	return cands
}

// or names logs between which nothing decides.
func (r *Resolved) or(cands []int) string {
	var names []string
	for _, i := range cands {
		names = append(names, whereIs(&r.logs[i]))
	}
	return strings.Join(names, " or ")
}

// log is the log that a name means: that of the [[log]] of this name, else the one that
// it fits, the sheet's own logs before others. Two that fit are refused rather than
// chosen from, even where one has this very name: short names are given in the order
// of the logs, and another log before it would get the name.
func (r *Resolved) log(name string) namedLog {
	if l, ok := r.names[name]; ok {
		return l
	}
	l := r.named(name)
	r.names[name] = l
	return l
}

func (r *Resolved) named(name string) namedLog {
	if i := r.entry(name); i >= 0 {
		return r.ofEntry(i)
	}
	var fit, own []int
	for i := range r.logs {
		if fits(name, &r.logs[i]) {
			fit = append(fit, i)
			if r.entryOf[i] >= 0 {
				own = append(own, i)
			}
		}
	}
	if len(own) > 0 {
		fit = own
	} else if i := r.entry(withoutEnding(name)); i >= 0 {
		if len(fit) == 0 {
			return r.ofEntry(i)
		}
		return namedLog{unknown, fmt.Sprintf("%q may be %s or the [[log]] %q", name, r.or(fit), r.sheet.Logs[i].Name)}
	}
	switch len(fit) {
	case 0:
		return namedLog{log: unknown}
	case 1:
		return namedLog{log: fit[0]}
	}
	return namedLog{unknown, fmt.Sprintf("%q may be %s: name the log by more of its path, or give it a [[log]]", name, r.or(fit))}
}

// entry is the [[log]] of a name, -1 for none.
func (r *Resolved) entry(name string) int {
	return slices.IndexFunc(r.sheet.Logs, func(e LogEntry) bool { return e.Name == name })
}

// ofEntry is the log of a [[log]]; one that was refused has been told of.
func (r *Resolved) ofEntry(i int) namedLog { return namedLog{log: max(r.logOf[i], absent)} }
