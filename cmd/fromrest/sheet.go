package main

import (
	"fmt"
	"io"
	"os"
	"slices"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
)

func sheetCommand() *cli.Command {
	return &cli.Command{
		Name:      "sheet",
		Usage:     "draft a session sheet with every run listed, to be filled in",
		ArgsUsage: logArgs,
		UsageText: `fromrest sheet [options] ` + logArgs + `

Example: a draft to fill in and give to the other commands with --sheet
   fromrest sheet -o draft.toml logs/

Example: with the modes known already, to the terminal
   fromrest sheet calm=calm.nmea full=full.nmea`,
		Flags: append(inputFlags(),
			outputFlag("write `FILE`, which must not exist; the terminal if not given"),
			&cli.BoolFlag{Name: "force", Usage: "write over a file that exists"},
		),
		Action: runSheet,
	}
}

func runSheet(c *cli.Context) error {
	out := c.String("output")
	if out != "" && !c.Bool("force") {
		if _, err := os.Stat(out); err == nil {
			return &exitError{exitFailed, out + " exists; give --force to write over it"}
		}
	}
	return onLogs(c, nil, func(res *session.Result, _ *work) error {
		return emit(c, func(w io.Writer) error { return sheet.Draft(w, draftInput(res, c.String("units"))) })
	})
}

// draftInput describes a result for the draft of its sheet.
func draftInput(res *session.Result, units string) sheet.DraftInput {
	in := sheet.DraftInput{Units: units, Logs: session.SheetLogs(res), Marks: session.SheetMarks(res)}
	place := session.LaunchOrder(res.Runs)
	if sh := res.Sheet; sh != nil { // redraft what is known
		in.Title, in.Date, in.Place, in.Vehicle, in.Conditions = sh.Title, sh.Date, sh.Place, &sh.Vehicle, &sh.Conditions
		in.Description = map[string]string{}
		for _, m := range sh.Modes {
			in.Modes = append(in.Modes, m.Name)
			in.Description[m.Name] = m.Description
		}
	}
	name, per := report.SpeedUnit(units)
	for i, r := range session.SheetRuns(res) {
		tr := res.Runs[i]
		d := sheet.DraftRun{Run: r, Order: place[i], Mode: tr.Mode, Note: fmt.Sprintf("to %s %s", uncert.RoundHalfUp(tr.MaxSpeed/per, 0), name)}
		if tr.HeadingDeg == tr.HeadingDeg {
			d.Note = fmt.Sprintf("heading %03.0f°, ", tr.HeadingDeg) + d.Note
		}
		if !tr.Counted {
			d.Doubt = tr.Excluded
		}
		in.Runs = append(in.Runs, d)
		if in.Date.IsZero() && !tr.Log.Undated && tr.Log.Clock != "elapsed" {
			in.Date = tr.Launch
		}
	}
	slices.SortStableFunc(in.Runs, func(a, b sheet.DraftRun) int { return a.Order - b.Order })
	for _, m := range sheet.ModesOf(in.Runs) {
		if !slices.Contains(in.Modes, m) {
			in.Modes = append(in.Modes, m)
		}
	}
	return in
}
