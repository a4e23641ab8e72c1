package main

import (
	"errors"
	"slices"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/figure"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

func overlayCommand() *cli.Command {
	return &cli.Command{
		Name:      "overlay",
		Usage:     "draw the speed of several runs over each other",
		ArgsUsage: logArgs,
		UsageText: `fromrest overlay -o FILE [options] ` + logArgs + `

Example: every run of a folder by time, for a page
   fromrest overlay -o overlay.svg logs/

Example: two modes by distance, for print
   fromrest overlay --by distance -o overlay.pdf calm=calm.nmea full=full.nmea`,
		Flags: slices.Concat(inputFlags(), []cli.Flag{
			outputFlag("write `FILE`, its ending says the format: svg, png or pdf"),
			&cli.StringFlag{Name: "by", Value: "time", Usage: "level `AXIS`: time or distance"},
			&cli.StringFlag{Name: "align", Value: "rollout", Usage: "`INSTANT` that is 0: rollout or launch"},
			&cli.BoolFlag{Name: "narrow", Usage: "draw for the width of a phone or a column"},
		}, pictureFlags()),
		Action: runOverlay,
	}
}

func runOverlay(c *cli.Context) error {
	by, err := oneOf(c, "by", "time", "distance")
	if err != nil {
		return err
	}
	align, err := oneOf(c, "align", "rollout", "launch")
	if err != nil {
		return err
	}
	out := c.String("output")
	if err := figureName(out); err != nil {
		return err
	}
	if n := c.Int("scale"); n < 1 || n > 8 {
		return usagef("--scale %d: want 1 to 8", n)
	}
	return onLogs(c, nil, func(res *session.Result, _ *work) error {
		o := figure.OptionsFor(res)
		if align == "launch" {
			o.From = timing.FromRest
		}
		if c.Bool("narrow") {
			o.Size = figure.Narrow
		}
		f, err := figure.Overlay(res.Runs, figure.Against(by), o)
		if errors.Is(err, figure.ErrNoRun) {
			return errNoRun
		}
		if err != nil {
			return err
		}
		return writeFigure(c, f, out)
	})
}

var errNoRun = &exitError{exitFailed, "no run was found in these logs; fromrest check says what is in them"}
