package report

import (
	"fromrest/pkg/document"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// SheetFacts is what a session sheet says of the session, only what was given: vehicle,
// place and conditions as every head has them.
func SheetFacts(sh *sheet.Sheet) []document.Term { return sheetFacts(sh) }

// TitleOf is what a session without a title is called: by the date of its first log.
func TitleOf(res *session.Result) string { return sessionTitle(res) }
