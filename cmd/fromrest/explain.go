package main

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/figure"
	"fromrest/pkg/report"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/vehicle/driveline"
)

func explainCommand() *cli.Command {
	return &cli.Command{
		Name:      "explain",
		Usage:     "say why one mode is quicker: gearing, grip, grade, wind",
		ArgsUsage: "[" + logArgs + "]",
		UsageText: `fromrest explain --sheet FILE [options] [` + logArgs + `]

Example: what the vehicle's data predict, beside what was measured
   fromrest explain --sheet session.toml logs/

Example: which wheels push if the left ones stand on ice
   fromrest explain --sheet session.toml --wheels --no-grip fl,rl

Example: the force in each gear, drawn
   fromrest explain --sheet session.toml --mode full -o force.svg`,
		Flags: slices.Concat(inputFlags(), []cli.Flag{
			explainForms.flag("`FORMAT`"),
			&cli.StringFlag{Name: "mode", Usage: "only `MODE`; needed with -o where the sheet has several"},
			outputFlag("draw the force in each gear, or with --wheels the driveline, into `FILE`: svg, png or pdf"),
		}, pictureFlags(), []cli.Flag{
			&cli.BoolFlag{Name: "wheels", Usage: "say which wheels push"},
			&cli.StringFlag{Name: "no-grip", Usage: "`WHEELS` without grip, of fl, fr, rl, rr"},
			&cli.StringFlag{Name: "in-air", Usage: "`WHEELS` in the air"},
		}),
		Action: explainForms.action(runExplain),
	}
}

// explainForms lack the page, which needs the sheet's title.
var explainForms = forms[*explain.Explanation]{{"text", report.ExplainText}, {"json", report.ExplainJSON}, {"md", report.ExplainMarkdown}, {"html", nil}}

func runExplain(c *cli.Context, f form[*explain.Explanation]) error {
	switch path, _, err := sheetPath(c); {
	case err != nil:
		return err
	case path == "":
		return usagef("no session sheet given: explain needs --sheet FILE, or a folder with a session.toml")
	}
	var modes []string
	if m := c.String("mode"); m != "" {
		modes = []string{m}
	}
	if c.Bool("wheels") {
		return runWheels(c, modes)
	}
	e, s, err := explained(c, modes)
	if err != nil {
		return err
	}
	sh := e.Sheet
	e.Version = buildVersion()
	if out := c.String("output"); out != "" {
		return drawForce(c, e, out)
	}
	if f.write == nil {
		err = report.ExplainHTML(c.App.Writer, e, sh.Title)
	} else {
		err = f.write(c.App.Writer, e)
	}
	if err != nil || s == nil {
		return err
	}
	return outcome(c, s, e.Result)
}

// explained explains the logs by their sheet, or the sheet alone where no logs are given.
func explained(c *cli.Context, modes []string) (*explain.Explanation, *work, error) {
	ctx := context.WithoutCancel(c.Context)
	if !c.Args().Present() {
		sh, err := loadSheet(c)
		if err != nil {
			return nil, nil, err
		}
		units, err := unitsFlag(c)
		if err != nil {
			return nil, nil, err
		}
		e, err := explain.Predicted(ctx, sh, cmp.Or(units, sh.Units), modes...)
		return e, nil, err
	}
	res, s, err := analyse(c, nil)
	if err != nil {
		return nil, nil, err
	}
	e, err := explain.Of(ctx, res, modes...)
	return e, s, err
}

func drawForce(c *cli.Context, e *explain.Explanation, out string) error {
	if err := figureName(out); err != nil {
		return err
	}
	if len(e.Predictions) > 1 {
		return errOneMode
	}
	p := e.Predictions[0]
	if p.Train == nil {
		return &exitError{exitFailed, "the sheet lacks what the force in each gear needs; fromrest explain without -o lists it"}
	}
	return writeFigure(c, figure.TractiveForce(p, e.Measured(p.Mode), e.ShiftSpeeds(p.Mode), figure.OptionsOf(e)), out)
}

var errOneMode = usagef("-o draws one mode: choose it with --mode")

// runWheels answers which wheels push.
func runWheels(c *cli.Context, modes []string) error {
	sh, err := loadSheet(c)
	if err != nil {
		return err
	}
	if len(modes) == 0 {
		modes = explain.ModesOf(nil, sh)
	}
	bare, err := wheelSet(c, "no-grip")
	if err != nil {
		return err
	}
	air, err := wheelSet(c, "in-air")
	if err != nil {
		return err
	}
	for i, m := range modes {
		ch, s, err := explain.Wheels(sh, m, bare, air)
		if err != nil {
			return &exitError{exitFailed, err.Error()}
		}
		if i > 0 {
			fmt.Fprintln(c.App.Writer)
		}
		if out := c.String("output"); out != "" {
			if len(modes) > 1 {
				return errOneMode
			}
			if err := writeFigure(c, figure.Driveline("Which wheels push, mode "+m, &ch, s), out); err != nil {
				return err
			}
		}
		if err := report.WheelsText(c.App.Writer, "Mode "+m, s); err != nil {
			return err
		}
	}
	fmt.Fprintln(c.App.Writer, "\nNever stage wheels in the air or without grip, and never jack a vehicle, on a road.\nLocked drivelines and low range: not on dry pavement.\n\n"+madeBy())
	return nil
}

// wheelSet reads a list such as "fl,rr".
func wheelSet(c *cli.Context, flag string) ([driveline.Wheels]bool, error) {
	names := strings.FieldsFunc(strings.ToLower(c.String(flag)), func(r rune) bool { return r == ',' || r == ' ' })
	set, left := report.WheelSet(names)
	if len(left) > 0 {
		return set, usagef("--%s %q: want wheels of fl, fr, rl, rr", flag, left[0])
	}
	return set, nil
}
