package archive

import (
	"context"
	"io"
	"strings"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// Analyse works a session out from its raw logs, with the targets that its sheet
// adds and with what the sheet says of its runs.
func (a *Archive) Analyse(ctx context.Context, id string, opts session.Options) (*session.Result, error) {
	s, err := a.Session(ctx, id)
	if err != nil {
		return nil, err
	}
	sh, err := a.Sheet(ctx, id)
	if err != nil {
		return nil, err
	}
	var parsed *sheet.Sheet
	if strings.TrimSpace(sh.Body) != "" {
		if parsed, err = sheet.Parse(sh.Body, "sheet of session "+id); err != nil {
			return nil, err
		}
		targets, err := session.SheetTargets(parsed)
		if err != nil {
			return nil, err
		}
		opts.Targets = append(opts.Targets, targets...)
	}
	var in []session.Input
	for _, l := range s.Logs {
		in = append(in, session.Input{Path: l.Name, Mode: l.Mode, Open: func() (io.ReadCloser, error) { return a.OpenLog(ctx, l.SHA256) }})
	}
	if len(in) == 0 {
		return session.Merge(), nil
	}
	res, err := session.Run(ctx, in, opts)
	if err != nil || parsed == nil {
		return res, err
	}
	if parsed.Units != "" {
		res.Settings.Units = parsed.Units
	}
	return res, session.ApplySheet(res, parsed)
}
