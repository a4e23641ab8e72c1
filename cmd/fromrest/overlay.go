package main

import (
	"bytes"
	"errors"
	"slices"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/document"
	"fromrest/pkg/figure"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

func overlayCommand() *cli.Command {
	return &cli.Command{
		Name:      "overlay",
		Usage:     "draw several runs over each other: speed, acceleration, or the time gained",
		ArgsUsage: logArgs,
		UsageText: `fromrest overlay -o FILE [options] ` + logArgs + `

Example: every run of a folder against time, for a page
   fromrest overlay -o overlay.svg logs/

Example: two modes against distance, for one column of a printed page
   fromrest overlay --by distance --width 86mm -o overlay.pdf calm=calm.nmea full=full.nmea

Example: acceleration against speed, the part that matters, with its numbers
   fromrest overlay --show acceleration --by speed --x 0:40 --data overlay.csv -o overlay.png calm=calm.nmea full=full.nmea

Example: the mean of each mode over its runs
   fromrest overlay --means -o means.svg calm=calm.nmea full=full.nmea

Example: how far ahead of the first mode the others are
   fromrest overlay --show gained --title "Time gained" -o gained.svg calm=calm.nmea full=full.nmea`,
		Flags: slices.Concat(inputFlags(), []cli.Flag{
			outputFlag("write `FILE`, its ending says the format: svg, png or pdf"),
			choice("show", "speed", "`WHAT` is drawn: speed, acceleration, gained, the time that modes gain on the first, or site, the starts, ways and stops in m from the first start", "speed", "acceleration", "gained", "site"),
			choice("by", "time", "against `WHAT` it is drawn: time, distance or, for acceleration, speed; time gained is drawn against distance", "time", "distance", "speed"),
			choice("align", "rollout", "`INSTANT` that is 0: rollout or launch", "rollout", "launch"),
			&cli.BoolFlag{Name: "means", Usage: "draw the runs thin, and over them the mean of each mode with its 95 % band"},
			&cli.BoolFlag{Name: "narrow", Usage: "draw for the width of a phone or a column"},
			&cli.StringFlag{Name: "data", Usage: "write what is drawn to `FILE` as CSV"},
		}, frameFlags(), csvFlags(), pictureFlags()),
		Action: runOverlay,
	}
}

// overlaid are the flags of overlay.
type overlaid struct {
	show, by, align string
	means           bool
	width           figure.Size // zero where none is given
	frame           figure.Frame
	csv             document.CSVStyle
}

func overlayFlags(c *cli.Context) (o overlaid, err error) {
	if o.show, err = chosen(c, "show"); err != nil {
		return o, err
	}
	if o.by, err = chosen(c, "by"); err != nil {
		return o, err
	}
	if o.by == "speed" && o.show != "acceleration" {
		return o, usagef("--by speed goes with --show acceleration")
	}
	if o.show == "gained" && c.IsSet("by") && o.by != "distance" {
		return o, usagef("--show gained is drawn against distance: --by %s does not go with it", o.by)
	}
	if o.show == "site" && (c.IsSet("by") || c.IsSet("align")) {
		return o, usagef("--show site is drawn in metres: --by and --align do not go with it")
	}
	if o.align, err = chosen(c, "align"); err != nil {
		return o, err
	}
	if o.means = c.Bool("means"); o.means && o.show == "gained" {
		return o, usagef("--show gained draws means alone: --means does not go with it")
	}
	if err := figureName(c.String("output")); err != nil {
		return o, err
	}
	if n := c.Int("scale"); n < 1 || n > 8 {
		return o, usagef("--scale %d: want 1 to 8", n)
	}
	if o.width, o.frame, err = frameWanted(c); err != nil {
		return o, err
	}
	o.csv, err = csvStyle(c)
	return o, err
}

func runOverlay(c *cli.Context) error {
	w, err := overlayFlags(c)
	if err != nil {
		return err
	}
	return onLogs(c, nil, func(res *session.Result, _ *work) error {
		o := figure.OptionsFor(res)
		o.Size, o.Means = w.width, w.means
		if w.align == "launch" {
			o.From = timing.FromRest
		}
		f, err := w.draw(res, o)
		switch {
		case errors.Is(err, figure.ErrNoSite):
			return &exitError{exitFailed, "no site to draw: " + err.Error()}
		case errors.Is(err, figure.ErrNoRun):
			return errNoRun
		case errors.Is(err, figure.ErrNoMode) && w.means:
			return &exitError{exitFailed, "no mean is drawn: it takes counted standing starts of a mode"}
		case errors.Is(err, figure.ErrNoMode):
			return &exitError{exitFailed, "no time is gained: it takes counted runs of two modes"}
		case err != nil:
			return err
		}
		if name := c.String("data"); name != "" {
			var b bytes.Buffer
			if err := w.csv.Lines(&b, f.Data()); err != nil {
				return err
			}
			if err := writeFile(c, name, b.Bytes()); err != nil {
				return err
			}
		}
		return writeFigure(c, f.Framed(w.frame), c.String("output"))
	})
}

func (w *overlaid) draw(res *session.Result, o figure.Options) (*figure.Figure, error) {
	if w.show == "site" {
		return figure.Site(res, o)
	}
	if w.show == "gained" {
		return figure.TimeGained(res.Runs, o)
	}
	return figure.Overlay(res.Runs, figure.Quantity(w.show), figure.Against(w.by), o)
}

var errNoRun = &exitError{exitFailed, "no run was found in these logs; fromrest check says what is in them"}
