package session

import "strings"

// Merge puts the results of separate calls together into what one call over all
// their inputs, in that order, would have given: names of logs and identities of
// runs are made unique anew and the warnings collected again. The parts are not
// changed and share their traces with the result.
func Merge(parts ...*Result) *Result {
	res := &Result{}
	for i, p := range parts {
		if i == 0 {
			res.Settings = p.Settings
		}
		res.Failed = append(res.Failed, p.Failed...)
		logs := map[*Log]*Log{}
		for _, l := range p.Logs {
			c := *l
			logs[l] = &c
			res.Logs = append(res.Logs, &c)
		}
		for _, r := range p.Runs {
			c := *r
			c.Log = logs[r.Log]
			c.ID = r.ID[strings.LastIndexByte(r.ID, '#')+1:]
			res.Runs = append(res.Runs, &c)
		}
	}
	nameLogs(res)
	warn(res)
	return res
}
