package report

import "fromrest/pkg/session"

// TitleOf is what a session without a title is called: by the date of its first log.
func TitleOf(res *session.Result) string { return sessionTitle(res) }
