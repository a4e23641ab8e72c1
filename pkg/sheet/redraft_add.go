package sheet

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"fromrest/pkg/tomltext"
)

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
	for _, o := range d.sheet.Outside {
		ids = append(ids, o.Run)
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
