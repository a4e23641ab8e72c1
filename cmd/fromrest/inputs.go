package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/format"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// logArgs is how the help of a command that takes logs names its arguments.
const logArgs = "LOG|MODE=LOG|FOLDER..."

// inputFlags are the flags of every command that takes logs, but those that a
// command has in its own way.
func inputFlags(except ...string) []cli.Flag {
	flags := []cli.Flag{
		choice("units", "", "speed axis and pulls in `UNIT`: mph or kmh; those of the sheet, else mph, if not given", "mph", "kmh"),
		&cli.StringSliceFlag{Name: "target", Usage: "time to `TARGET` as well, such as \"0-45 mph\" or \"200 m\"; may be repeated"},
		&cli.StringFlag{Name: "zone", Usage: "read and print instants in the time zone `NAME`, such as Atlantic/Reykjavik, or local; that of the sheet, else UTC, if not given"},
		&cli.StringFlag{Name: "columns", Usage: "what the columns of a CSV log are, such as `'time=utc_ms:ms,speed=Speed:km/h'`, or the signal of a CAN log that is the speed"},
		&cli.StringFlag{Name: "speed-unit", Usage: "the `UNIT` of speed in CSV and GPX logs, where they say another or none: m/s, km/h, mph, kn"},
		&cli.StringFlag{Name: "with", Usage: "accelerometer in a `FILE` of its own, to go with the logs"},
		&cli.BoolFlag{Name: "all", Usage: "also list short runs, rolling accelerations and braking runs"},
		&cli.StringFlag{Name: "sheet", Usage: "session sheet `FILE`: modes, runs that do not count, vehicle, conditions; session.toml of the folder if one folder is given"},
		&cli.StringFlag{Name: "receiver", Usage: "how the receiver smooths speed, from a `FILE` that check --learn wrote; that of the sheet if not given"},
		&cli.BoolFlag{Name: "no-sheet", Usage: "pass over a session.toml in the folder"},
		&cli.BoolFlag{Name: "strict", Usage: "exit with status 3 if data of a log had to be dropped"},
		&cli.BoolFlag{Name: "no-memory", Usage: "work every log out anew and remember nothing of it"},
		&cli.BoolFlag{Name: "quiet", Usage: "no progress and no notes on standard error, only errors"},
		&cli.StringFlag{Name: "from", Usage: "read the logs from `TIME` on, in the --zone: 09:21:30, 2026-06-14T09:21:30, or seconds since the log's start"},
		&cli.StringFlag{Name: "to", Usage: "read the logs up to `TIME`"},
		&cli.StringSliceFlag{Name: "only", Usage: "only `WHAT`: a run such as \"full-1#2\", or what measured: gnss, wheel, accel or a track's name; may be repeated"},
	}
	return slices.DeleteFunc(flags, func(f cli.Flag) bool { return slices.Contains(except, f.Names()[0]) })
}

// rowFlags choose the targets that tables show.
func rowFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringSliceFlag{Name: "at", Usage: "show `TARGET` only; may be repeated; those of the sheet if not given"},
		choice("rows", "", "show a `SET` of targets: mph, metric or all; that of the sheet, else of --units, if not given", session.RowsMPH, session.RowsMetric, session.RowsAll),
	}
}

// shownRows turns the flags of rowFlags into options.
func shownRows(c *cli.Context, o *session.Options) (err error) {
	for _, text := range c.StringSlice("at") {
		t, err := timing.ParseTarget(text)
		if err != nil {
			return usagef("--at: %v", err)
		}
		o.At = append(o.At, t)
	}
	if !c.IsSet("rows") {
		return nil
	}
	if len(o.At) > 0 {
		return usagef("--at and --rows exclude each other")
	}
	o.Rows, err = chosen(c, "rows")
	return err
}

// work is what a command that takes logs works on.
type work struct {
	inputs []session.Input
	opts   session.Options
	failed int      // arguments that named no log
	only   []string // runs to show, all if empty
	undone []string // logs left when the command was interrupted
}

// readArgs turns flags and arguments into the inputs and options of an
// analysis. An argument that names no log is reported at once, and the others
// go on.
func readArgs(c *cli.Context) (*work, error) {
	units, err := chosen(c, "units")
	if err != nil {
		return nil, err
	}
	s := &work{opts: session.Options{
		Units:     units,
		All:       c.Bool("all"),
		Columns:   c.String("columns"),
		SpeedUnit: c.String("speed-unit"),
		Version:   buildVersion(),
	}}
	if name := c.String("zone"); name != "" {
		if s.opts.Zone, err = sheet.ParseZone(name); err != nil {
			return nil, usagef("--zone %v", err)
		}
	}
	if err := format.CheckSpeedUnit(s.opts.SpeedUnit); err != nil {
		return nil, usagef("--speed-unit %v", err)
	}
	for _, text := range c.StringSlice("target") {
		t, err := timing.ParseTarget(text)
		if err != nil {
			return nil, usagef("%v", err)
		}
		s.opts.Targets = append(s.opts.Targets, t)
	}
	if c.Command.Name != "compare" { // where --at chooses what is compared
		if err := shownRows(c, &s.opts); err != nil {
			return nil, err
		}
	}
	if s.opts.Sheet, err = loadSheet(c); err != nil {
		return nil, err
	}
	if name := c.String("receiver"); name != "" {
		sh, err := sheet.Load(name)
		if err != nil {
			return nil, err
		}
		if s.opts.Receiver = sh.Receiver; s.opts.Receiver.Filter == "" {
			return nil, usagef("%s has no [receiver]: fromrest check --learn writes one", name)
		}
	}
	if _, err := s.opts.Reading(); err != nil {
		return nil, err
	}
	if !c.Args().Present() {
		return nil, usagef("no log given; see fromrest %s --help", c.Command.Name)
	}
	if err := readPart(c, s); err != nil {
		return nil, err
	}
	var passed []format.Passed
	var errs []error
	s.inputs, passed, errs = inputs(c)
	notePassed(c, passed)
	for _, err := range errs {
		complain(c, err)
	}
	if s.failed = len(errs); len(s.inputs) == 0 {
		return nil, &exitError{code: exitFailed}
	}
	return s, withCompanion(c, s)
}

// inputs are the logs that the arguments name, as format.Expand finds them.
func inputs(c *cli.Context) (logs []session.Input, passed []format.Passed, errs []error) {
	args, passed, errs := format.Expand(c.Args().Slice())
	for _, a := range args {
		in := session.Input{Path: a.Path, Mode: a.Mode, Beside: a.Beside}
		if a.Path == format.Stdin {
			in.Open = func() (io.ReadCloser, error) { return io.NopCloser(c.App.Reader), nil }
		}
		logs = append(logs, in)
	}
	return logs, passed, errs
}

// withCompanion reads the accelerometer that --with names, or else the sheet.
func withCompanion(c *cli.Context, s *work) error {
	path := c.String("with")
	if sh := s.opts.Sheet; path == "" && sh != nil && sh.With != "" {
		path = filepath.Join(filepath.Dir(sh.Name), sh.With)
	}
	if path == "" {
		return nil
	}
	w, err := format.OpenCompanion(c.Context, path, format.Options{Columns: s.opts.Columns})
	if errors.Is(err, context.Canceled) {
		return context.Canceled
	}
	if err != nil {
		return err
	}
	// A folder may hold it among the logs.
	if it, err := os.Stat(path); err == nil {
		s.inputs = slices.DeleteFunc(s.inputs, func(in session.Input) bool {
			fi, err := os.Stat(in.Path)
			return err == nil && os.SameFile(fi, it)
		})
	}
	if len(s.inputs) == 0 {
		return usagef("--with %s: no log beside it", path)
	}
	w.Several = len(s.inputs) > 1
	s.opts.With = w
	return nil
}

// readPart turns the flags into the part of the logs to read and the runs to show.
func readPart(c *cli.Context, s *work) error {
	span, zone := &s.opts.Part.Span, s.opts.Zone
	if zone == nil && s.opts.Sheet != nil {
		zone = s.opts.Sheet.Zone
	}
	for flag, b := range map[string]*recording.Bound{"from": &span.From, "to": &span.To} {
		text := c.String(flag)
		if flag == "from" && originWord(c, text) {
			continue
		}
		var err error
		if *b, err = recording.ParseBound(text, zone); err != nil {
			return usagef("--%s %v", flag, err)
		}
	}
	for _, w := range c.StringSlice("only") {
		switch w = strings.TrimSpace(w); {
		case w == "":
			return usagef("--only: want a run or what measured")
		case strings.Contains(w, "#"):
			s.only = append(s.only, w)
		default:
			s.opts.Part.Tracks = append(s.opts.Part.Tracks, w)
		}
	}
	return nil
}

// originWord reports whether the --from of compare names an origin.
func originWord(c *cli.Context, text string) bool {
	return c.Command.Name == "compare" && slices.Contains([]string{string(timing.FromRest), string(timing.FromRollout), "both"}, text)
}

// folderSheet is the name of the sheet that goes with the logs of its folder.
const folderSheet = "session.toml"

// sheetPath is the sheet to use: the one that --sheet names, else that of the folder
// where one folder is given; "" where there is none.
func sheetPath(c *cli.Context) (path string, found bool, err error) {
	path = c.String("sheet")
	if path != "" || c.Bool("no-sheet") {
		if path != "" && c.Bool("no-sheet") {
			return "", false, usagef("--sheet and --no-sheet exclude each other")
		}
		return path, false, nil
	}
	if c.NArg() != 1 {
		return "", false, nil
	}
	path = filepath.Join(c.Args().First(), folderSheet)
	if fi, err := os.Stat(path); err != nil || !fi.Mode().IsRegular() {
		return "", false, nil // a sheet that cannot be looked at is no sheet of this folder
	}
	return path, true, nil
}

// loadSheet reads the sheet to use and, where nobody named it, says which it is; nil
// where there is none.
func loadSheet(c *cli.Context) (*sheet.Sheet, error) {
	path, found, err := sheetPath(c)
	if err != nil || path == "" {
		return nil, err
	}
	if found && !c.Bool("quiet") {
		fmt.Fprintf(c.App.ErrWriter, "fromrest: with the sheet %s; --no-sheet passes over it\n", path)
	}
	return sheet.Load(path)
}
