package main

import (
	"context"
	"io"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/explain"
)

func reportCommand() *cli.Command {
	return &cli.Command{
		Name:      "report",
		Usage:     "write a whole session as one HTML page",
		ArgsUsage: logArgs,
		UsageText: `fromrest report -o FILE [options] ` + logArgs + `

Example: a folder of logs
   fromrest report -o session.html logs/

Example: a log for each drive mode
   fromrest report -o session.html calm=calm.nmea full=full.nmea`,
		Flags: append(inputFlags(),
			outputFlag("write `FILE`"),
			&cli.StringFlag{Name: "title", Usage: "`TITLE` of the page; its date if not given"},
		),
		Action: func(c *cli.Context) error {
			if c.String("output") == "" {
				return usagef("no file to write: give -o FILE")
			}
			return onLogs(c, judged, func(res *session.Result, s *work) error { return writeReport(c, res, s) })
		},
	}
}

func writeReport(c *cli.Context, res *session.Result, s *work) error {
	o := report.HTMLOptions{Title: c.String("title")}
	for _, t := range s.opts.Targets {
		o.Targets = append(o.Targets, t.Name)
	}
	if s.sheet != nil && s.sheet.Vehicle.Mass > 0 && len(s.sheet.Modes) > 0 {
		e, err := explain.Of(context.WithoutCancel(c.Context), res, s.sheet, s.sheet.ModeNames(), res.Settings.Units)
		if err != nil {
			return err
		}
		sec, err := report.ExplainSection(e)
		if err != nil {
			return err
		}
		o.Sections = append(o.Sections, sec)
	}
	return emit(c, func(w io.Writer) error { return report.HTML(w, res, o) })
}
