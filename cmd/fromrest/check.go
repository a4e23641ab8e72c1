package main

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/figure"
	"fromrest/pkg/format"
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
   fromrest check warmup.nmea

Example: draw how its speeds scatter and its stops end
   fromrest check -o receiver.svg full.nmea

Example: keep how the receiver smooths speed for logs that have no stop
   fromrest check --learn receiver.toml full.nmea
   fromrest runs --receiver receiver.toml warmup.nmea`,
		Flags: append(append(inputFlags(), pictureFlags()...), checkForms.flag("`FORMAT` of the answer"), fullFlag(),
			&cli.StringFlag{Name: "learn", Usage: "write how the receiver smooths speed to `FILE`, for logs that do not tell it themselves"},
			&cli.StringFlag{Name: "beside", Usage: "hold the log against the `LOG` of another recorder of the same drive"},
			outputFlag("draw a log's scatter under way and the ends of its stops into `FILE`, ending in .svg, .png or .pdf"),
			&cli.BoolFlag{Name: "columns-found", Usage: "print how the columns of CSV logs were read, as the --columns that would repeat it"}),
		Action: checkForms.action(func(c *cli.Context, f form[*session.Result]) error {
			if c.Bool("columns-found") {
				return columnsFound(c)
			}
			if name := c.String("output"); name != "" {
				if err := figureName(name); err != nil {
					return err
				}
			}
			if c.String("beside") != "" {
				if c.String("output") != "" || c.String("learn") != "" {
					return usagef("--beside holds two logs against each other: -o and --learn go with one")
				}
				return checkBeside(c, f.name)
			}
			return onLogs(c, func(o *session.Options) { judged(o); timesOnly(o) }, func(res *session.Result, _ *work) error {
				if name := c.String("learn"); name != "" {
					if err := learn(c, res, name); err != nil {
						return err
					}
				}
				if name := c.String("output"); name != "" {
					if err := drawReceiver(c, res, name); err != nil {
						return err
					}
				}
				if f.name == "text" && len(res.Logs) > report.MostLogs && !c.Bool("full") {
					return report.CheckShort(c.App.Writer, res)
				}
				if f.name == "text" && c.Bool("full") {
					return report.CheckFull(c.App.Writer, res)
				}
				return f.write(c.App.Writer, res)
			})
		}),
	}
}

// drawReceiver draws the one log of a result at close quarters.
func drawReceiver(c *cli.Context, res *session.Result, name string) error {
	if len(res.Logs) != 1 {
		return usagef("-o draws one log, and there are %d", len(res.Logs))
	}
	f := figure.Receiver(res.Logs[0], figure.OptionsFor(res))
	if f == nil {
		return &exitError{exitFailed, res.Logs[0].Path + " shows neither starts nor stops to draw"}
	}
	return writeFigure(c, f, name)
}

// checkBeside holds a log against another one of the same drive.
func checkBeside(c *cli.Context, form string) error {
	s, err := readArgs(c)
	if err != nil {
		return err
	}
	if len(s.inputs) != 1 {
		return usagef("--beside goes with one log, and %d were given", len(s.inputs))
	}
	judged(&s.opts)
	timesOnly(&s.opts)
	tidy := openMemory(c, &s.opts)
	defer tidy()
	res, b, err := session.RunBeside(c.Context, s.inputs[0], session.Input{Path: c.String("beside")}, s.opts)
	if err != nil {
		return err
	}
	if err := res.SheetError; err != nil {
		return err
	}
	if form == "json" {
		err = report.BesideJSON(c.App.Writer, res, b)
	} else {
		err = report.BesideText(c.App.Writer, res, b, c.Bool("full"))
	}
	if err != nil {
		return err
	}
	return outcome(c, s, res)
}

// learn writes how the receiver of logs smooths speed.
func learn(c *cli.Context, res *session.Result, name string) error {
	var b bytes.Buffer
	if err := res.WriteReceiver(&b); err != nil {
		return &exitError{exitFailed, err.Error()}
	}
	return writeFile(c, name, b.Bytes())
}

// columnsFound prints for each log the mapping by which its columns were read.
func columnsFound(c *cli.Context) error {
	work, err := readArgs(c)
	if err != nil {
		return err
	}
	var paths []string
	for _, in := range work.inputs {
		paths = append(paths, in.Path)
	}
	shown := session.Shown(paths)
	for i, in := range work.inputs {
		log, err := format.Open(c.Context, in.Path, format.Options{Columns: work.opts.Columns, SpeedUnit: work.opts.SpeedUnit})
		switch {
		case err != nil:
			complain(c, err)
			work.failed++
		case log.Recording.Columns == "":
			fmt.Fprintf(c.App.Writer, "%s: %s has no columns\n", shown[i], log.Recording.Format)
		default:
			fmt.Fprintf(c.App.Writer, "%s: --columns '%s'\n", shown[i], strings.ReplaceAll(log.Recording.Columns, "'", `'\''`))
		}
	}
	if work.failed > 0 {
		return &exitError{code: exitFailed}
	}
	return nil
}

var checkForms = forms[*session.Result]{{"text", report.CheckText}, {"json", report.CheckJSON}}
