package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/diag"
	"fromrest/pkg/format"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// logArgs is how the help of a command that takes logs names its arguments.
const logArgs = "LOG|MODE=LOG|FOLDER..."

// inputFlags are the flags of every command that takes logs, but those that a
// command has in its own way.
func inputFlags(except ...string) []cli.Flag {
	flags := append([]cli.Flag{
		&cli.StringFlag{Name: "units", Value: "mph", Usage: "speed axis and pulls in `UNIT`: mph or kmh"},
		&cli.StringSliceFlag{Name: "target", Usage: "time to `TARGET` as well, such as \"0-45 mph\" or \"200 m\"; may be repeated"},
		&cli.StringFlag{Name: "columns", Usage: "what the columns of a CSV log are, such as `'time=utc_ms:ms,speed=Speed:km/h'`"},
		&cli.StringFlag{Name: "with", Usage: "accelerometer in a `FILE` of its own, to go with the logs"},
		&cli.BoolFlag{Name: "all", Usage: "also list short runs, rolling pulls and brakings"},
		sheetFlag(),
		&cli.BoolFlag{Name: "strict", Usage: "exit with status 3 if data of a log had to be dropped"},
		&cli.BoolFlag{Name: "no-memory", Usage: "work every log out anew and remember nothing of it"},
		&cli.BoolFlag{Name: "quiet", Usage: "no progress and no notes on standard error, only errors"},
	}, partFlags()...)
	return slices.DeleteFunc(flags, func(f cli.Flag) bool { return slices.Contains(except, f.Names()[0]) })
}

// work is what a command that takes logs works on.
type work struct {
	inputs []session.Input
	opts   session.Options
	failed int          // arguments that named no log
	sheet  *sheet.Sheet // nil without --sheet
	only   []string     // runs to show, all if empty
	undone []string     // logs left when the command was interrupted
}

// readArgs turns flags and arguments into the inputs and options of an
// analysis. An argument that names no log is reported at once, and the others
// go on.
func readArgs(c *cli.Context) (*work, error) {
	s := &work{opts: session.Options{
		Units:   c.String("units"),
		All:     c.Bool("all"),
		Columns: c.String("columns"),
		Version: buildVersion(),
	}}
	if s.opts.Units != "mph" && s.opts.Units != "kmh" {
		return nil, usagef("--units %q: want mph or kmh", s.opts.Units)
	}
	for _, text := range c.StringSlice("target") {
		t, err := timing.ParseTarget(text)
		if err != nil {
			return nil, usagef("%v", err)
		}
		s.opts.Targets = append(s.opts.Targets, t)
	}
	sh, err := loadSheet(c, &s.opts)
	if err != nil {
		return nil, err
	}
	s.sheet = sh
	if !c.Args().Present() {
		return nil, usagef("no log given; see fromrest %s --help", c.Command.Name)
	}
	if err := readPart(c, s); err != nil {
		return nil, err
	}
	args, passed, errs := format.Expand(c.Args().Slice())
	notePassed(c, passed)
	for _, err := range errs {
		complain(c, err)
	}
	s.failed = len(errs)
	for _, a := range args {
		s.inputs = append(s.inputs, session.Input{Path: a.Path, Mode: a.Mode})
	}
	if len(s.inputs) == 0 {
		return nil, &exitError{code: exitFailed}
	}
	return s, withCompanion(c, s)
}

// withCompanion reads the accelerometer that --with names.
func withCompanion(c *cli.Context, s *work) error {
	path := c.String("with")
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

// analyse reads the command's logs and runs the pipeline on them, with a
// progress bar on a terminal. What failed is printed; outcome gives the exit
// status once the results are out.
func analyse(c *cli.Context) (*session.Result, *work, error) {
	return analyseWith(c, nil)
}

// analyseWith is analyse for a command that wants further options.
func analyseWith(c *cli.Context, more func(*session.Options)) (*session.Result, *work, error) {
	s, err := readArgs(c)
	if err != nil {
		return nil, nil, err
	}
	if more != nil {
		more(&s.opts)
	}
	if c.Command.Name == "report" && len(s.inputs) > judgedMost {
		s.opts.Judge = false
	}
	for _, in := range s.inputs {
		if fi, err := os.Stat(in.Path); err == nil {
			s.opts.Total += fi.Size()
		}
	}
	bar := newProgress(c, len(s.inputs))
	s.opts.Progress, s.opts.Finished = bar.update, bar.finished
	tidy := openMemory(c, &s.opts)
	res, err := session.Run(c.Context, s.inputs, s.opts)
	bar.done()
	tidy()
	if err != nil && (res == nil || len(res.Logs) == 0) {
		return nil, nil, err // also where it was interrupted before anything was done
	}
	s.undone = res.Undone
	for _, f := range res.Failed {
		if strings.HasPrefix(f.Err.Error(), f.Path+": ") {
			complain(c, f.Err) // it names the file already
		} else {
			complain(c, f)
		}
	}
	s.failed += len(res.Failed)
	// A log remembered from an earlier call was not joined anew.
	joined := func(l *session.Log) bool { return l.Quality.Accel != "" }
	if w := s.opts.With; w != nil && w.Joined() == 0 && !slices.ContainsFunc(res.Logs, joined) {
		complain(c, fmt.Errorf("%s: goes with none of the logs: %s", w.Name(), w.Why()))
	}
	if s.sheet != nil {
		if err := session.ApplySheet(res, s.sheet); err != nil {
			if len(s.undone) > 0 {
				err = fmt.Errorf("interrupted, and the sheet does not fit what was done: %w", err)
			}
			return nil, nil, err
		}
	}
	return res, s, onlyRuns(res, s.only)
}

// outcome is the exit status of a command whose results have been written.
func outcome(c *cli.Context, s *work, res *session.Result) error {
	if n := len(s.undone); n > 0 {
		return &exitError{exitInterrupted, fmt.Sprintf("interrupted: %d of %d logs are done; not done: %s", len(s.inputs)-n, len(s.inputs), some(s.undone))}
	}
	if s.failed > 0 {
		return &exitError{code: exitFailed}
	}
	if !c.Bool("strict") {
		return nil
	}
	for _, l := range res.Logs {
		if l.Problems == nil {
			continue
		}
		if n := l.Problems.Count(diag.Dropped); n > 0 {
			return &exitError{exitStrict, fmt.Sprintf("%s: %d records were dropped and --strict was given", l.Path, n)}
		}
	}
	return nil
}

// some lists the first few of many names.
func some(names []string) string {
	const few = 8
	if n := len(names) - few; n > 1 {
		return strings.Join(names[:few], ", ") + fmt.Sprintf(" and %d more", n)
	}
	return strings.Join(names, ", ")
}

// notePassed says which files of folders were passed over, apart from documents
// that nobody takes for a log.
func notePassed(c *cli.Context, passed []format.Passed) {
	if c.Bool("quiet") {
		return
	}
	var whys []string
	by := map[string][]string{}
	for _, p := range passed {
		if p.Document {
			continue
		}
		if by[p.Why] == nil {
			whys = append(whys, p.Why)
		}
		by[p.Why] = append(by[p.Why], p.Path)
	}
	for _, why := range whys {
		fmt.Fprintf(c.App.ErrWriter, "fromrest: passed over, %s: %s\n", why, some(by[why]))
	}
}

// timesOnly asks for results without traces, for commands that draw nothing.
func timesOnly(o *session.Options) { o.NoTraces = true }

// judgedMost is up to how many logs a report judges each: what one log would be
// worth is of no interest in a season's, and costs more than all else.
const judgedMost = 60

// judged asks for what each log is worth, which costs a second or two.
func judged(o *session.Options) { o.Judge = true }

// complain prints an error in one line without ending the command.
func complain(c *cli.Context, err error) {
	text := strings.Join(strings.Fields(err.Error()), " ")
	fmt.Fprintln(c.App.ErrWriter, "fromrest: "+text)
}

// oneOf checks a flag that chooses among words.
func oneOf(c *cli.Context, flag string, words ...string) (string, error) {
	v := c.String(flag)
	for _, w := range words {
		if v == w {
			return v, nil
		}
	}
	return "", usagef("--%s %q: want %s", flag, v, strings.Join(words[:len(words)-1], ", ")+" or "+words[len(words)-1])
}
