package report

import (
	"fmt"
	"path/filepath"
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/document"
	"fromrest/pkg/session"
)

// logView is a log in a page.
type logView struct {
	*session.Log
	File             string // the last element of its path
	Items            []document.Term
	Problems, Advice []string
}

// JudgedMost is up to how many logs a report judges each: what one log would be
// worth is of no interest in a season's, and costs more than all else.
const JudgedMost = 60

// worth is what times from a log are worth, nothing where nobody knows.
func worth(l *session.Log) session.Judgement {
	if l.Worth == nil {
		return session.Judgement{}
	}
	return l.Worth()
}

// logs fills in what is known of each log, and once what is true of all. What a better
// log would be worth is said in a full report alone.
func (d *pageData) logs(res *session.Result, extent Extent) {
	for _, l := range res.Logs {
		v := logView{l, filepath.Base(l.Path), QualityItems(l, res.Settings.Units), problemLines(l), nil}
		if extent == Full && len(res.Logs) <= JudgedMost {
			v.Advice = worth(l).Advice
		}
		d.Logs = append(d.Logs, v)
	}
	if len(d.Logs) < 2 {
		return
	}
	d.Shared = only(d.Logs[0].Items, func(t document.Term) bool {
		return !slices.ContainsFunc(d.Logs, func(v logView) bool { return !slices.Contains(v.Items, t) })
	})
	for i := range d.Logs {
		d.Logs[i].Items = only(d.Logs[i].Items, func(t document.Term) bool { return !slices.Contains(d.Shared, t) })
	}
}

// filesTable names the files that a result was read from.
func filesTable(res *session.Result) *document.Table {
	t := document.TableOf(document.Whole, "", "log", "file", "bytes", "dropped records", "SHA-256")
	t.Label = "Files of the logs"
	for _, l := range res.Logs {
		dropped := 0
		if l.Problems != nil {
			dropped = l.Problems.Count(diag.Dropped)
		}
		t.Add(l.Name, filepath.Base(l.Path), fmt.Sprint(l.Bytes), fmt.Sprint(dropped), l.SHA256)
	}
	return t
}
