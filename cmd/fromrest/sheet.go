package main

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/motion/timing"
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
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "write `FILE`, which must not exist; the terminal if not given"},
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
	res, s, err := analyse(c)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := sheet.Draft(&b, draftInput(res, c.String("units"))); err != nil {
		return err
	}
	if out == "" {
		_, err = c.App.Writer.Write(b.Bytes())
	} else {
		err = writeFile(c, out, b.Bytes())
	}
	if err != nil {
		return err
	}
	return outcome(c, s, res)
}

// draftInput describes a result for the draft of its sheet.
func draftInput(res *session.Result, units string) sheet.DraftInput {
	in := sheet.DraftInput{Units: units}
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
		d := sheet.DraftRun{Run: r, Mode: tr.Mode, Note: fmt.Sprintf("to %s %s", uncert.RoundHalfUp(tr.MaxSpeed/per, 0), name)}
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

// sheetFlag is --sheet, of every command that takes logs.
func sheetFlag() cli.Flag {
	return &cli.StringFlag{Name: "sheet", Usage: "session sheet `FILE`: modes, runs that do not count, vehicle, conditions"}
}

// loadSheet reads the sheet that --sheet names, nil without one. Its units and
// targets apply where no flag says otherwise.
func loadSheet(c *cli.Context, opts *session.Options) (*sheet.Sheet, error) {
	path := c.String("sheet")
	if path == "" {
		return nil, nil
	}
	sh, err := sheet.Load(path)
	if err != nil {
		return nil, err
	}
	if sh.Units != "" && !c.IsSet("units") {
		opts.Units = sh.Units
	}
	for _, text := range sh.Targets {
		t, err := timing.ParseTarget(text)
		if err != nil {
			return nil, sh.Errorf("targets", "%s", strings.TrimSpace(err.Error()))
		}
		opts.Targets = append(opts.Targets, t)
	}
	return sh, nil
}
