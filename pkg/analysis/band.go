package analysis

import "fromrest/pkg/session"

func forceBands(runs []TracedRun, modes []ModeForce, cs []RunConditions, sh *session.Sheet) []ForceBand {
	return nil
}
