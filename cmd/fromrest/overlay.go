package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

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
		Flags: append(inputFlags(),
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "write `FILE`, its ending says the format: svg, png or pdf"},
			&cli.StringFlag{Name: "by", Value: "time", Usage: "level `AXIS`: time or distance"},
			&cli.StringFlag{Name: "align", Value: "rollout", Usage: "`INSTANT` that is 0: rollout or launch"},
			&cli.BoolFlag{Name: "narrow", Usage: "draw for the width of a phone or a column"},
			&cli.BoolFlag{Name: "dark", Usage: "draw a png light on dark"},
			&cli.IntFlag{Name: "scale", Value: 2, Usage: "draw a png with `N` times 96 dots an inch"},
		),
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
	res, s, err := analyse(c)
	if err != nil {
		return err
	}
	f, err := figure.Overlay(res.Runs, figure.Against(by), figureOptions(c, res, align))
	if errors.Is(err, figure.ErrNoRun) {
		return &exitError{exitFailed, "no run was found in these logs; fromrest check says what is in them"}
	} else if err != nil {
		return err
	}
	if err := writeFigure(c, f, out); err != nil {
		return err
	}
	return outcome(c, s, res)
}

func figureOptions(c *cli.Context, res *session.Result, align string) figure.Options {
	o := figure.Options{Units: res.Settings.Units, From: timing.FromRollout}
	if align == "launch" {
		o.From = timing.FromRest
	}
	if c.Bool("narrow") {
		o.Size = figure.Narrow
	}
	return o
}

// figureName checks that a file's ending names a format figures are written in.
func figureName(path string) error {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".svg", ".png", ".pdf":
		return nil
	}
	if path == "" {
		return usagef("no file to draw into: give -o FILE, ending in .svg, .png or .pdf")
	}
	return usagef("-o %q: want a name ending in .svg, .png or .pdf", path)
}

// writeFigure writes a figure in the format of the file's ending.
func writeFigure(c *cli.Context, f *figure.Figure, path string) (err error) {
	var data []byte
	switch strings.ToLower(filepath.Ext(path)) {
	case ".svg":
		data = f.SVG()
	case ".png":
		t := figure.Light()
		if c.Bool("dark") {
			t = figure.Dark()
		}
		data, err = f.PNG(t, float64(c.Int("scale")))
	case ".pdf":
		data, err = f.PDF()
	}
	if err != nil {
		return err
	}
	return writeFile(c, path, data)
}

// writeFile writes a result and says on standard error that it did.
func writeFile(c *cli.Context, path string, data []byte) error {
	if err := os.WriteFile(path, data, 0o644); err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, "wrote "+path)
	return nil
}
