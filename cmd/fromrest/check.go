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
		Flags: append(inputFlags(),
			&cli.StringFlag{Name: "format", Value: "text", Usage: "`FORMAT` of the answer: text or json"}),
		Action: func(c *cli.Context) error {
			format, err := oneOf(c, "format", "text", "json")
			if err != nil {
				return err
			}
			res, s, err := analyseWith(c, func(o *session.Options) { judged(o); timesOnly(o) })
			if err != nil {
				return err
			}
			write := report.CheckText
			if format == "json" {
				write = report.CheckJSON
			}
			if err := write(c.App.Writer, res); err != nil {
				return err
			}
			return outcome(c, s, res)
		},
	}
}
