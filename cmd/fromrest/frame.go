package main

import (
	"math"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"
	"gonum.org/v1/plot/vg"

	"fromrest/pkg/figure"
)

// frameFlags say how a figure is to look beside what it shows.
func frameFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "width", Usage: "draw `LENGTH` wide, such as 86mm, 3.4in or 240pt; letters keep their size"},
		&cli.StringFlag{Name: "height", Usage: "draw `LENGTH` high; what goes with the width if not given"},
		&cli.StringFlag{Name: "title", Usage: "`TITLE` of the figure"},
		&cli.StringFlag{Name: "x", Usage: "show `FROM:TO` of the level axis, such as 0:8"},
		&cli.StringFlag{Name: "y", Usage: "show `FROM:TO` of the upright axis"},
	}
}

// frameWanted turns frameFlags, and --narrow, into a size, zero for the usual one, and a
// frame.
func frameWanted(c *cli.Context) (size figure.Size, f figure.Frame, err error) {
	if c.Bool("narrow") {
		size = figure.Narrow
	}
	if c.IsSet("width") {
		if c.Bool("narrow") {
			return size, f, usagef("--width and --narrow exclude each other")
		}
		if size.W, err = length(c, "width"); err != nil {
			return size, f, err
		}
		size.H = figure.HeightFor(size.W)
	}
	if c.IsSet("height") {
		if f.Height, err = length(c, "height"); err != nil {
			return size, f, err
		}
	}
	f.Title = c.String("title")
	if f.X, err = axisRange(c, "x"); err != nil {
		return size, f, err
	}
	f.Y, err = axisRange(c, "y")
	return size, f, err
}

// Figures are drawn from 40 mm, below which no plot is left, to a metre.
const leastLength, mostLength = 40 * vg.Millimeter, 100 * vg.Centimeter

// length reads a flag such as 86mm; a number alone is in mm.
func length(c *cli.Context, flag string) (vg.Length, error) {
	text := strings.ReplaceAll(c.String(flag), " ", "")
	number, per := text, vg.Millimeter
	for unit, size := range map[string]vg.Length{"mm": vg.Millimeter, "cm": vg.Centimeter, "in": vg.Inch, "pt": 1} {
		if before, ok := strings.CutSuffix(text, unit); ok {
			number, per = before, size
		}
	}
	x, err := strconv.ParseFloat(number, 64)
	l := vg.Length(x) * per
	if err != nil || !(l >= leastLength && l <= mostLength) {
		return 0, usagef("--%s %q: want a length of 40mm to 1000mm, such as 86mm", flag, c.String(flag))
	}
	return l, nil
}

// axisRange reads a flag such as 0:8, nil where it is not given.
func axisRange(c *cli.Context, flag string) (*figure.Range, error) {
	if !c.IsSet(flag) {
		return nil, nil
	}
	from, to, ok := strings.Cut(c.String(flag), ":")
	lo, err1 := strconv.ParseFloat(strings.TrimSpace(from), 64)
	hi, err2 := strconv.ParseFloat(strings.TrimSpace(to), 64)
	if !ok || err1 != nil || err2 != nil || !(hi > lo) || math.IsInf(hi-lo, 0) {
		return nil, usagef("--%s %q: want a range such as 0:8", flag, c.String(flag))
	}
	return &figure.Range{Lo: lo, Hi: hi}, nil
}
