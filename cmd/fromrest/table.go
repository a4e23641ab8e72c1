package main

import (
	"bytes"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/document"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
)

func tableCommand() *cli.Command {
	return &cli.Command{
		Name:      "table",
		Usage:     "write the timing table, or the methods paragraph, for an article",
		ArgsUsage: logArgs,
		UsageText: `fromrest table [options] ` + logArgs + `

Example: means of the modes for a spreadsheet
   fromrest table --sheet session.toml --format xlsx -o table.xlsx logs/

Example: every run, for a paper
   fromrest table --by run --format latex -o table.tex calm=calm.nmea full=full.nmea

Example: how it was measured, in plain words
   fromrest table --format methods --sheet session.toml logs/`,
		Flags: append(inputFlags(),
			&cli.StringFlag{Name: "format", Value: "text", Usage: "`FORMAT`: text, csv, md, html, json, xlsx, latex or methods"},
			&cli.StringFlag{Name: "by", Value: "mode", Usage: "a column is a `THING`: mode or run"},
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "write `FILE`; the terminal if not given"},
		),
		Action: runTable,
	}
}

func runTable(c *cli.Context) error {
	format, err := oneOf(c, "format", "text", "csv", "md", "html", "json", "xlsx", "latex", "methods")
	if err != nil {
		return err
	}
	by, err := oneOf(c, "by", "mode", "run")
	if err != nil {
		return err
	}
	out := c.String("output")
	if format == "xlsx" && out == "" {
		return usagef("a workbook needs a file: give -o FILE")
	}
	res, s, err := analyseWith(c, timesOnly)
	if err != nil {
		return err
	}
	t := report.ModeTable(res)
	if by == "run" {
		t = report.RunTable(res)
	}
	if len(t.Columns) == 0 {
		return &exitError{exitFailed, "no run was found in these logs; fromrest check says what is in them"}
	}
	b, err := tableBytes(format, t, res)
	if err != nil {
		return err
	}
	if out == "" {
		_, err = c.App.Writer.Write(b)
	} else {
		err = writeFile(c, out, b)
	}
	if err != nil {
		return err
	}
	return outcome(c, s, res)
}

// tableBytes is a table, or the methods paragraph, in a form.
func tableBytes(format string, t *document.Table, res *session.Result) ([]byte, error) {
	var b bytes.Buffer
	var err error
	switch format {
	case "csv":
		err = document.CSV(&b, t)
	case "md":
		err = document.Markdown(&b, t)
	case "html":
		err = document.HTML(&b, t)
	case "json":
		err = document.JSON(&b, t)
	case "xlsx":
		err = report.TableXLSX(&b, t, res)
	case "latex":
		err = document.LaTeX(&b, t)
	case "methods":
		cmp, cerr := session.Compare(res, session.CompareOptions{Targets: report.CompareTargets(res)})
		if cerr != nil {
			cmp = nil // one mode: there was nothing to compare
		}
		b.WriteString(report.Methods(res, cmp) + "\n")
	default:
		err = document.Text(&b, t)
	}
	return b.Bytes(), err
}
