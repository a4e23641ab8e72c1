package session

import (
	"cmp"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// nameLogs gives every log a short name of its own: the last element of its path
// without the ending, and as much more of it as tells it from all others.
func (r *Result) nameLogs() { nameApart(r.Logs, map[string]bool{}) }

// nameApart names logs apart from each other and from the names taken. Of logs whose
// names are alike all get more of their path, so that no name depends on the order of
// the logs: only logs of one very path are numbered.
func nameApart(logs []*Log, taken map[string]bool) {
	level := map[*Log]int{}
	for _, l := range logs {
		l.Name = nameAt(l.given(), 0)
	}
	for alike := logs; len(alike) > 0; {
		uses := map[string]int{}
		for _, l := range logs {
			uses[l.Name]++
		}
		alike = nil
		for _, l := range logs {
			if uses[l.Name] == 1 && !taken[l.Name] || nameAt(l.given(), level[l]+1) == "" {
				continue
			}
			alike = append(alike, l)
		}
		for _, l := range alike {
			level[l]++
			l.Name = nameAt(l.given(), level[l])
		}
	}
	used := map[string]bool{}
	for _, l := range logs {
		base := l.Name
		for n := 2; used[l.Name] || taken[l.Name]; n++ {
			l.Name = fmt.Sprintf("%s(%d)", base, n)
		}
		used[l.Name] = true
	}
}

// nameAt is a name made of a path: its last element without the ending, with it, then
// with more of its folders for each level, "" beyond the last.
func nameAt(p string, level int) string {
	dir, base := path.Split(path.Clean(filepath.ToSlash(p)))
	folders := strings.FieldsFunc(dir, func(r rune) bool { return r == '/' })
	folders = slices.DeleteFunc(folders, func(f string) bool { return f == "." || f == ".." })
	name := strings.TrimSuffix(base, ".gz")
	name = cmp.Or(strings.TrimSuffix(name, path.Ext(name)), base)
	switch n := len(folders); {
	case level == 0:
		return name
	case level == 1:
		return base
	case level <= n+1:
		return path.Join(append(folders[n-level+1:], name)...)
	case level == n+2:
		return path.Join(append(folders, base)...)
	}
	return ""
}

// sort brings logs and runs into the order of time. Of a log whose clock has an
// arbitrary zero nothing but its path says where it belongs.
func (r *Result) sort() {
	elapsed := func(l *Log) int {
		if l.Clock == "elapsed" {
			return 1
		}
		return 0
	}
	compare := func(a, b *Log) int {
		if c := cmp.Compare(elapsed(a), elapsed(b)); c != 0 {
			return c
		}
		if elapsed(a) == 0 {
			if c := a.Start.Compare(b.Start); c != 0 {
				return c
			}
		}
		return cmp.Or(strings.Compare(a.given(), b.given()), strings.Compare(a.Content, b.Content))
	}
	slices.SortStableFunc(r.Logs, compare)
	slices.SortStableFunc(r.Runs, func(a, b *TimedRun) int {
		if a.Log == b.Log || elapsed(a.Log)+elapsed(b.Log) == 0 {
			if c := a.Launch.Compare(b.Launch); c != 0 {
				return c
			}
		}
		return compare(a.Log, b.Log)
	})
}

// nameRuns gives every run its identity: that of the sheet where it has one, else the
// log's name and the run's number there, or the next that is free.
func (r *Result) nameRuns(given []string) {
	used := map[string]bool{}
	for _, id := range given {
		used[id] = true
	}
	for i, run := range r.Runs {
		if given != nil && given[i] != "" {
			run.ID = given[i]
			continue
		}
		tail := run.tail()
		kind := strings.TrimRight(tail, "0123456789")
		id := run.Log.Name + "#" + tail
		for n := 1; used[id]; n++ {
			id = fmt.Sprintf("%s#%s%d", run.Log.Name, kind, n)
		}
		used[id], run.ID = true, id
	}
}
