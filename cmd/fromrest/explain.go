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

Example: whether it moves off on a rise of 20 % with one wheel on ice
   fromrest explain --sheet session.toml --wheels --grade 20 --friction rl=0.1

Example: the force in each gear, drawn
   fromrest explain --sheet session.toml --mode full -o force.svg`,
		Flags: slices.Concat(inputFlags(), []cli.Flag{
			explainForms.flag("`FORMAT`"),
			&cli.BoolFlag{Name: "full", Usage: "all that stands behind the answer: shifts, forces, grip, conditions run by run"},
			&cli.StringFlag{Name: "mode", Usage: "only `MODE`; needed with -o where the sheet has several"},
			outputFlag("draw the force in each gear, or with --wheels the driveline, into `FILE`: svg, png or pdf"),
		}, pictureFlags(), []cli.Flag{
			&cli.BoolFlag{Name: "wheels", Usage: "say which wheels push"},
			&cli.StringFlag{Name: "no-grip", Usage: "`WHEELS` without grip, of fl, fr, rl, rr"},
			&cli.StringFlag{Name: "in-air", Usage: "`WHEELS` in the air"},
			&cli.StringFlag{Name: "friction", Usage: "another friction under some wheels, `fl=0.1,rl=0.3`"},
			&cli.Float64Flag{Name: "grade", Usage: "`PERCENT` that the ground rises ahead"},
			&cli.IntFlag{Name: "gear", Usage: "`GEAR` that is in, the start gear unless given"},
			&cli.BoolFlag{Name: "endless", Usage: "as much torque as the wheels take, whatever the engine gives"},
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
	for _, flag := range []string{"no-grip", "in-air", "friction", "grade", "gear", "endless"} {
		if c.IsSet(flag) {
			return usagef("--%s goes with --wheels", flag)
		}
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
	if c.Bool("full") && f.name == "text" {
		f.write = report.ExplainFull
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
		units, err := chosen(c, "units")
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
	on, err := stand(c)
	if err != nil {
		return err
	}
	for i, m := range modes {
		ch, s, err := explain.Wheels(sh, m, on)
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

// steepest is far beyond what a vehicle climbs, in per cent (assumed).
const steepest = 200

// stand reads what the wheels stand on.
func stand(c *cli.Context) (on explain.Stand, err error) {
	if on.Bare, err = wheelSet(c, "no-grip"); err != nil {
		return on, err
	}
	if on.Air, err = wheelSet(c, "in-air"); err != nil {
		return on, err
	}
	values, left := report.WheelValues(strings.FieldsFunc(strings.ToLower(c.String("friction")), func(r rune) bool { return r == ',' || r == ' ' }))
	if left != "" {
		return on, usagef("--friction %q: want wheels of fl, fr, rl, rr with a number, each once, such as fl=0.1", left)
	}
	for k, v := range values {
		on.Friction[k] = v
		on.Bare[k] = on.Bare[k] || v == 0
	}
	if g := c.Float64("grade"); !(g >= -steepest && g <= steepest) {
		return on, usagef("--grade %g: want %d to %d per cent", g, -steepest, steepest)
	}
	on.Grade, on.Gear, on.Endless = c.Float64("grade")/100, c.Int("gear"), c.Bool("endless")
	if on.Gear < 0 {
		return on, usagef("--gear %d: gears count from 1", on.Gear)
	}
	return on, nil
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
