package analysis

import "fromrest/pkg/session"

// TraceOf reads shifts, forces, use of grip and differences between modes from the
// traces of the runs whose conditions are given.
func TraceOf(res *Result, cs []RunConditions, sh *session.Sheet) *Traced {
	return &Traced{}
}
