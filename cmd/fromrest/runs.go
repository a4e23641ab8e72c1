package main

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/dataset"
	"fromrest/pkg/document"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
)

func runsCommand() *cli.Command {
	return &cli.Command{
		Name:      "runs",
		Usage:     "find the runs in logs and time them",
		ArgsUsage: logArgs,
		UsageText: `fromrest runs [options] ` + logArgs + `

Example: the timing table of every log in a folder
   fromrest runs logs/

Example: two drive modes, for a script
   fromrest runs --format json calm=calm.nmea full=full.nmea

Example: four minutes of a long log, and nothing but the receiver's speed
   fromrest runs --from 09:19 --to 09:23 --only gnss full.nmea

Example: a season's logs as data sets for a query engine
   fromrest runs --format parquet --session season -o sets logs/`,
		Flags: append(append(inputFlags(), append(append(rowFlags(), csvFlags()...), fullFlag())...),
			runsForms.flag("`FORMAT` of the table"),
			outputFlag("write Parquet data sets under `FOLDER`"),
			&cli.BoolFlag{Name: "with-positions", Usage: "have JSON and Parquet say where each run went, in m from its start line; the output names the choice, and none has degrees"},
			&cli.BoolFlag{Name: "follow", Usage: "print each run as growing logs come to show it, with seconds from rollout and how the modes stand, until Ctrl-C; for the passenger, or at rest"},
			&cli.StringFlag{Name: "session", Usage: "`NAME` of the Parquet partition; the sheet's title or the folder's name if not given"}),
		Action: runsForms.action(runRuns),
	}
}

var runsForms = forms[*session.Result]{{"text", report.RunsText}, {"json", report.RunsJSON}, {"csv", report.RunsCSV(document.CSVStyle{})},
	{"md", report.RunsMarkdown}, {"parquet", nil}}

func runRuns(c *cli.Context, f form[*session.Result]) error {
	style, err := csvStyle(c)
	if err != nil {
		return err
	}
	if f.name == "csv" {
		f.write = report.RunsCSV(style)
	}
	sets, out, name := f.write == nil, c.String("output"), c.String("session")
	switch {
	case c.Bool("follow") && f.name != "text":
		return usagef("--follow prints text: it does not go with --format %s", f.name)
	case c.Bool("with-positions") && !sets && f.name != "json":
		return usagef("--with-positions goes with --format json or parquet")
	case sets && out == "":
		return usagef("Parquet is a folder of data sets: give -o FOLDER")
	case !sets && out != "":
		return usagef("-o goes with --format parquet; the other formats are printed")
	case !sets && name != "":
		return usagef("--session names a Parquet partition: it goes with --format parquet")
	case sets && c.NArg() > 1 && name == "" && c.String("sheet") == "":
		return errNoPartition
	case sets:
		return onLogs(c, func(o *session.Options) { o.Shelve, o.Positions = true, c.Bool("with-positions") }, func(res *session.Result, _ *work) error {
			name, err := partition(c, res)
			if err != nil {
				return err
			}
			return writeParquet(c, out, name, res)
		})
	}
	if c.Bool("follow") {
		return follow(c)
	}
	return onLogs(c, func(o *session.Options) { o.Positions = c.Bool("with-positions"); o.NoTraces = !o.Positions }, func(res *session.Result, _ *work) error {
		if f.name == "text" && len(res.Runs) > report.MostRuns && !c.Bool("full") {
			return report.RunsShort(c.App.Writer, res)
		}
		return f.write(c.App.Writer, res)
	})
}

const (
	// lookEvery is how often --follow looks at its logs.
	lookEvery = time.Second
	// runOver is how long a log must go on after a run before the run is printed: the
	// estimate of its end rests on what comes after.
	runOver = 2 * time.Second
)

// follow prints the runs of growing logs until it is interrupted.
func follow(c *cli.Context) error {
	s, err := readArgs(c)
	if err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, "fromrest: following; Ctrl-C ends it. A passenger runs the laptop; the driver drives.")
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	f := follower{opts: s.opts, printed: map[string]bool{}, told: map[string]bool{}}
	_, _, said := inputs(c)
	for _, err := range said { // by readArgs
		f.told[err.Error()] = true
	}
	for {
		if err := f.look(c); err != nil && c.Err() == nil {
			return err
		}
		select {
		case <-c.Done():
			return nil
		case <-tick.C:
		}
	}
}

// follower is what was said of growing logs, and how long they were at the last look.
type follower struct {
	opts    session.Options
	printed map[string]bool // by run
	told    map[string]bool // by what was wrong
	size    int64
}

// look reads logs that have grown and prints what is new in them; what is wrong with one is
// said once.
func (f *follower) look(c *cli.Context) error {
	logs, _, errs := inputs(c) // more of them as a folder fills
	for _, err := range errs {
		f.tell(c, err)
	}
	var size int64
	for _, in := range logs {
		if fi, err := os.Stat(in.Path); err == nil {
			size += fi.Size()
		}
	}
	if size == f.size {
		return nil
	}
	f.size = size
	res, err := session.Run(c.Context, logs, f.opts)
	if err != nil || res.SheetError != nil {
		return cmp.Or(err, res.SheetError)
	}
	for _, failed := range res.Failed {
		f.tell(c, failure(failed))
	}
	var fresh []*session.TimedRun
	for _, r := range res.StandingStarts() {
		if !f.printed[r.ID] && over(r) {
			f.printed[r.ID] = true
			fresh = append(fresh, r)
		}
	}
	return report.NewRuns(c.App.Writer, res, fresh)
}

// tell says once what is wrong.
func (f *follower) tell(c *cli.Context, err error) {
	if text := err.Error(); !f.told[text] {
		f.told[text] = true
		complain(c, err)
	}
}

// over reports whether a run's log goes on long enough after it.
func over(r *session.TimedRun) bool {
	n := r.Trace.Len()
	return n > 0 && r.Log.End.Sub(r.Launch.Add(time.Duration(r.Trace.T[n-1]*float64(time.Second)))) >= runOver
}

// fullFlag asks for everything where there is much.
func fullFlag() cli.Flag {
	return &cli.BoolFlag{Name: "full", Usage: "print every run or log as text, however many there are"}
}

var errNoPartition = usagef("several logs: name the Parquet partition with --session NAME")

// writeParquet writes a result as the partition of a session of each data set under
// a folder, and lists the files.
func writeParquet(c *cli.Context, dir, name string, res *session.Result) error {
	files, err := dataset.Write(dir, name, res)
	for _, f := range files {
		fmt.Fprintln(c.App.Writer, f)
	}
	return err
}

// partition is the name of the session that the result is written as: another
// call with the same name replaces it.
func partition(c *cli.Context, res *session.Result) (string, error) {
	if s := c.String("session"); s != "" {
		return s, nil
	}
	if res.Sheet != nil && res.Sheet.Title != "" {
		return res.Sheet.Title, nil
	}
	if c.NArg() != 1 {
		return "", errNoPartition
	}
	path := c.Args().First()
	if len(res.Logs) == 1 && filepath.Clean(path) == filepath.Clean(res.Logs[0].Path) {
		return res.Logs[0].Name, nil
	}
	abs, err := filepath.Abs(strings.TrimSuffix(path, string(filepath.Separator)))
	if err != nil {
		return "", err
	}
	return filepath.Base(abs), nil
}
