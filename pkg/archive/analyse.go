package archive

import (
	"context"
	"io"
	"strings"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// Analyse works a session out from its raw logs and its sheet.
func (a *Archive) Analyse(ctx context.Context, id string, opts session.Options) (*session.Result, error) {
	s, err := a.Session(ctx, id)
	if err != nil {
		return nil, err
	}
	sh, err := a.Sheet(ctx, id)
	if err != nil {
		return nil, err
	}
	if strings.TrimSpace(sh.Body) != "" {
		if opts.Sheet, err = sheet.Parse(sh.Body, "sheet of session "+id); err != nil {
			return nil, err
		}
	}
	var in []session.Input
	for _, l := range s.Logs {
		in = append(in, session.Input{Path: l.Name, Mode: l.Mode, Open: func() (io.ReadCloser, error) { return a.OpenLog(ctx, l.SHA256) }})
	}
	if len(in) == 0 {
		return session.Merge(opts), nil
	}
	res, err := session.Run(ctx, in, opts)
	if err != nil {
		return res, err
	}
	return res, res.SheetError
}
