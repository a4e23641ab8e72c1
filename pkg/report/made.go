package report

import (
	"fromrest/pkg/document"
	"fromrest/pkg/session"
)

// made is what made numbers, as JSON and tables hold it.
func made(s *session.Settings) document.Maker {
	return document.Maker{Version: s.Version, Model: s.Model}
}

// madeBy is the last line of a document: what made its numbers.
func madeBy(s *session.Settings) document.Paragraph {
	return document.Paragraph{Text: s.MadeBy(), Kind: document.Remark}
}
