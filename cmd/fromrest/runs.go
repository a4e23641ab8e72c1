package main

import (
	"github.com/urfave/cli/v2"

	"fromrest/pkg/report"
)

func runsCommand() *cli.Command {
	return &cli.Command{
		Name:      "runs",
		Usage:     "find the runs in logs and time them",
		ArgsUsage: logArgs,
		UsageText: `fromrest runs [options] ` + logArgs + `

Example: the timing table of every log in a folder
   fromrest runs logs/

Example: two drive modes, for a script
   fromrest runs --format json calm=calm.nmea full=full.nmea`,
		Flags: append(inputFlags(),
			&cli.StringFlag{Name: "format", Value: "text", Usage: "`FORMAT` of the table: text, json, csv or md"}),
		Action: runRuns,
	}
}

func runRuns(c *cli.Context) error {
	format, err := oneOf(c, "format", "text", "json", "csv", "md")
	if err != nil {
		return err
	}
	res, s, err := analyse(c)
	if err != nil {
		return err
	}
	switch format {
	case "json":
		err = report.RunsJSON(c.App.Writer, res)
	case "csv":
		err = report.RunsCSV(c.App.Writer, res)
	case "md":
		err = report.RunsMarkdown(c.App.Writer, res)
	default:
		err = report.RunsText(c.App.Writer, res)
	}
	if err != nil {
		return err
	}
	return outcome(c, s, res)
}
