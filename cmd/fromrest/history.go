package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/archive"
	"fromrest/pkg/figure"
	"fromrest/pkg/format"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/history"
	"fromrest/pkg/sheet"
)

func historyCommand() *cli.Command {
	return &cli.Command{
		Name:      "history",
		Usage:     "show a vehicle's times by date, and whether they stepped or drifted",
		ArgsUsage: "FOLDER FOLDER...",
		UsageText: `fromrest history [options] FOLDER FOLDER...

Example: the sessions of a vehicle, each a folder with its logs and its sheet
   fromrest history logs/

Example: one target, drawn, and for a script
   fromrest history --at "0-60 mph" -o history.svg logs/
   fromrest history --at "0-60 mph" --format json logs/`,
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "at", Usage: "`TARGET` to follow; the one that decides in the first session if not given"},
			choice("origin", "", "`ORIGIN` that it counts from: rest or rollout; rollout if not given", "rest", "rollout"),
			&cli.StringFlag{Name: "vehicle", Usage: "only sessions whose sheet has a vehicle of this `NAME`"},
			&cli.BoolFlag{Name: "kept", Usage: "the sessions that serve keeps as well, of the vehicle named"},
			archiveFlag(),
			&cli.BoolFlag{Name: "quiet", Usage: "no progress and no notes on standard error, only errors"},
			historyForms.flag("`FORMAT`"),
			outputFlag("draw the times by date into `FILE`, ending in .svg, .png or .pdf"),
			&cli.BoolFlag{Name: "dark", Usage: "draw a png light on dark"},
			&cli.IntFlag{Name: "scale", Value: 2, Usage: "draw a png with `N` times 96 dots an inch"},
		},
		Action: historyForms.action(runHistory),
	}
}

var historyForms = forms[[]history.Series]{{"text", report.HistoryText}, {"md", report.HistoryMarkdown}, {"json", report.HistoryJSON}}

func runHistory(c *cli.Context, f form[[]history.Series]) error {
	origin, err := chosen(c, "origin")
	if err != nil {
		return err
	}
	target := c.String("at")
	if target != "" {
		t, err := timing.ParseTarget(target)
		if err != nil {
			return usagef("--at: %v", err)
		}
		target = t.Name
	}
	switch {
	case !c.Args().Present() && !c.Bool("kept"):
		return usagef("no session given; see fromrest history --help")
	case c.Bool("kept") && c.String("vehicle") == "":
		return usagef("--kept takes the sessions of one vehicle: name it with --vehicle")
	case c.IsSet("output"):
		if err := figureName(c.String("output")); err != nil {
			return err
		}
	}
	results, names, err := historyOf(c)
	if err != nil {
		return err
	}
	if len(results) == 0 {
		return &exitError{exitFailed, "no session of " + cmp.Or(c.String("vehicle"), "any vehicle") + " was found"}
	}
	all := history.Of(results, names, target, timing.Origin(origin))
	if len(all) == 0 {
		return &exitError{exitFailed, "no run that counts reached the target"}
	}
	if out := c.String("output"); out != "" {
		fig, err := figure.History(all, figure.OptionsFor(results[0]))
		if err != nil {
			return &exitError{exitFailed, err.Error()}
		}
		return writeFigure(c, fig, out)
	}
	return f.write(c.App.Writer, all)
}

// historyOf are the results of the folders given, and of the sessions kept, with what they are called.
func historyOf(c *cli.Context) (results []*session.Result, names []string, err error) {
	add := func(res *session.Result, name string) {
		if want := c.String("vehicle"); want != "" && (res.Sheet == nil || res.Sheet.Vehicle.Name != want) {
			return
		}
		if res.Sheet != nil {
			name = cmp.Or(res.Sheet.Title, name)
		}
		results, names = append(results, res), append(names, name)
	}
	for _, dir := range c.Args().Slice() {
		res, err := sessionOf(c, dir)
		if err != nil {
			return nil, nil, err
		}
		add(res, filepath.Base(filepath.Clean(dir)))
	}
	if !c.Bool("kept") {
		return results, names, nil
	}
	err = onArchive(c, func(a *archive.Archive) error {
		kept, err := a.OfVehicle(c.Context, c.String("vehicle"))
		if err != nil {
			return err
		}
		for _, s := range kept {
			res, err := a.Analyse(c.Context, s.ID, session.Options{Version: buildVersion(), NoTraces: true})
			if err != nil {
				return fmt.Errorf("%s: %w", s.ID, err)
			}
			add(res, s.Title)
		}
		return nil
	})
	return results, names, err
}

// sessionOf is the result of a folder of logs with the sheet that lies in it.
func sessionOf(c *cli.Context, dir string) (*session.Result, error) {
	var sh *sheet.Sheet
	own := filepath.Join(dir, folderSheet)
	if _, err := os.Stat(own); err == nil {
		if sh, err = sheet.Load(own); err != nil {
			return nil, err
		}
	}
	res, err := logsOf(c, []string{dir}, sh, "")
	if err != nil {
		return nil, fmt.Errorf("%s: %w", strings.TrimSuffix(dir, "/"), err)
	}
	return res, nil
}

// logsOf are the runs of some logs with a sheet, in full or not at all.
func logsOf(c *cli.Context, logs []string, sh *sheet.Sheet, units string) (*session.Result, error) {
	args, _, errs := format.Expand(logs)
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	var in []session.Input
	for _, a := range args {
		in = append(in, session.Input{Path: a.Path, Mode: a.Mode, Beside: a.Beside})
	}
	res, err := session.Run(c.Context, in, session.Options{Version: buildVersion(), Sheet: sh, Units: units, NoTraces: true})
	if err != nil {
		return nil, err
	}
	if len(res.Failed) > 0 {
		return nil, failure(res.Failed[0])
	}
	return res, res.SheetError
}
