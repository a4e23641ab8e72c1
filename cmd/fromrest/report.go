package main

import (
	"context"
	"io"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/document"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

func reportCommand() *cli.Command {
	return &cli.Command{
		Name:      "report",
		Usage:     "write a whole session as one HTML page",
		ArgsUsage: logArgs,
		UsageText: `fromrest report -o FILE [options] ` + logArgs + `

Example: a folder of logs
   fromrest report -o session.html logs/

Example: a log for each drive mode, on three pages at most
   fromrest report --short -o session.html calm=calm.nmea full=full.nmea`,
		Flags: append(append(inputFlags(), rowFlags()...),
			outputFlag("write `FILE`"),
			&cli.StringFlag{Name: "title", Usage: "`TITLE` of the page; its date if not given"},
			quickestFlag(),
			&cli.BoolFlag{Name: "short", Usage: "the answer, why, and how it was measured; no figure of each run"},
			&cli.BoolFlag{Name: "full", Usage: "all of the explanation, run by run, and all that is known of each log"},
		),
		Action: runReport,
	}
}

func runReport(c *cli.Context) error {
	name, want := c.String("output"), report.Paper{Title: c.String("title"), Quickest: c.Bool("mark-quickest")}
	var needs func(*session.Options)
	switch {
	case name == "":
		return usagef("no file to write: give -o FILE")
	case strings.EqualFold(filepath.Ext(name), ".pdf"):
		return usagef("-o %s: a report is written as HTML; any browser prints it, as in: chromium --headless --no-pdf-header-footer --print-to-pdf=%s %s.html", name, name, strings.TrimSuffix(name, filepath.Ext(name)))
	case c.Bool("short") && c.Bool("full"):
		return usagef("--short and --full: which?")
	case c.Bool("short"):
		want.Extent = report.Short
	case c.Bool("full"):
		want.Extent, needs = report.Full, judged
	}
	return onLogs(c, needs, func(res *session.Result, _ *work) error {
		return emit(c, func(w io.Writer) error { return report.HTML(context.WithoutCancel(c.Context), w, res, want) })
	})
}

func tableCommand() *cli.Command {
	return &cli.Command{
		Name:      "table",
		Usage:     "write the timing table, the methods paragraph or the reference, for an article",
		ArgsUsage: logArgs,
		UsageText: `fromrest table [options] ` + logArgs + `

Example: means of the modes for a spreadsheet
   fromrest table --sheet session.toml --format xlsx -o table.xlsx logs/

Example: every run, for a paper
   fromrest table --by run --format latex -o table.tex calm=calm.nmea full=full.nmea

Example: how it was measured, in plain words, and the reference it cites
   fromrest table --format methods --sheet session.toml logs/
   fromrest table --format bibtex --sheet session.toml logs/`,
		Flags: append(append(inputFlags(), append(rowFlags(), csvFlags()...)...),
			tableForms.flag("`FORMAT`"),
			quickestFlag(),
			choice("by", "mode", "a column is a `THING`: mode or run", "mode", "run"),
			outputFlag("write `FILE`; the terminal if not given"),
		),
		Action: tableForms.action(runTable),
	}
}

// quickestFlag has the quickest mode marked.
func quickestFlag() cli.Flag {
	return &cli.BoolFlag{Name: "mark-quickest", Usage: "mark the quickest mode at each target where the runs can tell"}
}

// tabled is a timing table and the result it is made of.
type tabled struct {
	*document.Table
	res *session.Result
	csv document.CSVStyle
}

// table makes a form of a writer that needs the table alone.
func table(write func(io.Writer, *document.Table) error) func(io.Writer, tabled) error {
	return func(w io.Writer, t tabled) error { return write(w, t.Table) }
}

// page makes a form of a writer of documents, of which the table is the whole.
func page(write func(io.Writer, ...document.Block) error) func(io.Writer, tabled) error {
	return func(w io.Writer, t tabled) error { return write(w, t.Table) }
}

var tableForms = forms[tabled]{
	{"text", page(document.Text)},
	{"csv", func(w io.Writer, t tabled) error { return t.csv.Table(w, t.Table) }},
	{"md", page(document.Markdown)},
	{"html", page(document.HTML)},
	{"json", table(document.JSON)},
	{"xlsx", func(w io.Writer, t tabled) error { return report.TableXLSX(w, t.Table, t.res) }},
	{"latex", table(document.LaTeX)},
	{"methods", methods},
	{"bibtex", func(w io.Writer, t tabled) error { return report.BibTeX(w, t.res) }},
}

// methods writes the paragraph on how the table came about.
func methods(w io.Writer, t tabled) error {
	cmp, err := t.res.Compare(report.CompareTargets(t.res))
	if err != nil {
		cmp = nil // one mode: there was nothing to compare
	}
	_, err = io.WriteString(w, unit.Printed(report.Methods(t.res, cmp))+"\n")
	return err
}

func runTable(c *cli.Context, f form[tabled]) error {
	by, err := chosen(c, "by")
	if err != nil {
		return err
	}
	style, err := csvStyle(c)
	if err != nil {
		return err
	}
	mark := c.Bool("mark-quickest")
	if mark && by == "run" {
		return usagef("--mark-quickest goes with --by mode: single runs are not tested against each other")
	}
	if f.name == "xlsx" && c.String("output") == "" {
		return usagef("a workbook needs a file: give -o FILE")
	}
	return onLogs(c, timesOnly, func(res *session.Result, _ *work) error {
		tableOf := report.ModeTable
		switch {
		case by == "run":
			tableOf = report.RunTable
		case mark:
			tableOf = report.QuickestTable
		}
		t := tableOf(res)
		if len(t.Columns) == 0 {
			return errNoRun
		}
		return emit(c, func(w io.Writer) error { return f.write(w, tabled{t, res, style}) })
	})
}
