package archive

import (
	"cmp"
	"context"
	"io"
	"strings"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// OfVehicle returns the sessions whose sheet names a vehicle, under the title of the sheet where
// it has one. A sheet that cannot be read is an error: it may name the vehicle.
func (a *Archive) OfVehicle(ctx context.Context, vehicle string) ([]Session, error) {
	kept, err := a.Sessions(ctx)
	if err != nil {
		return nil, err
	}
	var out []Session
	for _, s := range kept {
		sh, err := a.Sheet(ctx, s.ID)
		if err != nil {
			return nil, err
		}
		said, err := sheet.Parse(sh.Body, "sheet of session "+s.ID)
		if err != nil {
			return nil, err
		}
		if said.Vehicle.Name == vehicle {
			s.Title = cmp.Or(said.Title, s.Title)
			out = append(out, s)
		}
	}
	return out, nil
}

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
