package main

import (
	"github.com/urfave/cli/v2"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
)

func checkCommand() *cli.Command {
	return &cli.Command{
		Name:      "check",
		Usage:     "say how good logs are and what a time from them would be worth",
		ArgsUsage: logArgs,
		UsageText: `fromrest check [options] ` + logArgs + `

Example: before the first run, on a minute of standing and driving
   fromrest check warmup.nmea`,
		Flags: append(inputFlags(), checkForms.flag("`FORMAT` of the answer")),
		Action: func(c *cli.Context) error {
			f, err := checkForms.chosen(c)
			if err != nil {
				return err
			}
			return onLogs(c, func(o *session.Options) { judged(o); timesOnly(o) }, func(res *session.Result, _ *work) error {
				return f.write(c.App.Writer, res)
			})
		},
	}
}

var checkForms = forms[*session.Result]{{"text", report.CheckText}, {"json", report.CheckJSON}}
