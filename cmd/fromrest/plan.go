package main

import (
	"cmp"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/sheet"
)

func planCommand() *cli.Command {
	return &cli.Command{
		Name:      "plan",
		Usage:     "plan a session whose runs can tell the modes apart",
		ArgsUsage: "MODE MODE...",
		UsageText: `fromrest plan [options] MODE MODE...

Example: what four runs of each of three modes find, and their order
   fromrest plan calm plain full

Example: as many runs as find 0.2 s when runs scatter by 0.06 s, as a session sheet
   fromrest plan --smallest 0.2 --scatter 0.06 -o plan.toml calm plain full

Example: the same as a run card to print, on one page
   fromrest plan --smallest 0.2 --scatter 0.06 --format html -o card.html calm plain full

Example: how long the straight must be, by the runs and stops of another day
   fromrest plan --room calm=calm.nmea --room full=full.nmea calm full`,
		Flags: []cli.Flag{
			&cli.IntFlag{Name: "runs", Usage: "`N` runs of each mode; 4 if not given, or what --smallest takes"},
			&cli.IntFlag{Name: "directions", Value: 2, Usage: "`N` directions: 2, turning round after each run, or 1"},
			&cli.Float64Flag{Name: "smallest", Usage: "smallest difference that matters, in `SECONDS`"},
			&cli.Float64Flag{Name: "power", Value: compare.DefaultPower, Usage: "wanted `CHANCE` to find it"},
			&cli.Float64Flag{Name: "scatter", Usage: "standard deviation of repeated runs, in `SECONDS`; about 1.2 % of the time if not given"},
			&cli.Float64Flag{Name: "time", Value: compare.DefaultSeconds, Usage: "about how long the target takes, in `SECONDS`, where no scatter is given"},
			&cli.StringFlag{Name: "past", Usage: "take the scatter from `FILE`, written by compare --format json"},
			&cli.StringFlag{Name: "at", Usage: "`TARGET` that decides; 0-60 mph if not given"},
			choice("from", "", "`ORIGIN` that it counts from: rest or rollout; rollout if not given", "rest", "rollout"),
			&cli.StringFlag{Name: "vehicle", Usage: "`NAME` of the vehicle, as in the sheet: a past session of the same one weighs more"},
			&cli.StringSliceFlag{Name: "room", Usage: "work the straight needed out from the runs and stops of another day's `LOGS`: a folder, or MODE=LOG; may be repeated"},
			&cli.StringFlag{Name: "sheet", Usage: "session sheet `FILE` with straight_m, stopping_m, margin_m and cool_down_s in its plan; that of the folder of --room if not given"},
			choice("units", "", "distances in `UNIT`: mph for feet or kmh for metres; those of the sheet, else mph, if not given", "mph", "kmh"),
			choice("paper", string(report.A4), "`SIZE` of the paper that a card is printed on: a4 or letter", string(report.A4), string(report.Letter)),
			&cli.Uint64Flag{Name: "seed", Usage: "`N` that orders the modes; another gives another order"},
			planForms.flag("`FORMAT`"),
			outputFlag("write `FILE`; the terminal if not given, a session sheet if it ends in .toml, which must not exist"),
		},
		Action: runPlan,
	}
}

var planForms = forms[*report.Plan]{{"text", report.PlanText}, {"md", report.PlanMarkdown}, {"html", report.PlanHTML}, {"json", report.PlanJSON}, {"sheet", report.PlanSheet}}

func runPlan(c *cli.Context) error {
	if out := c.String("output"); !c.IsSet("format") && strings.HasSuffix(out, ".toml") {
		if _, err := os.Stat(out); err == nil {
			return &exitError{exitFailed, out + " exists, and may have been filled in: give another name"}
		}
		if err := c.Set("format", "sheet"); err != nil {
			return err
		}
	}
	return planForms.action(writePlan)(c)
}

func writePlan(c *cli.Context, f form[*report.Plan]) error {
	o := compare.PlanOptions{Version: buildVersion(), Runs: c.Int("runs"), Ways: c.Int("directions"), Smallest: c.Float64("smallest"),
		Power: c.Float64("power"), Seconds: c.Float64("time"), Seed: c.Uint64("seed")}
	for _, a := range c.Args().Slice() {
		o.Modes = append(o.Modes, strings.TrimSpace(a))
	}
	for _, x := range []struct {
		flag, want string
		ok         bool
	}{{"runs", "1 or more", o.Runs >= 1}, {"smallest", "a positive number of seconds", o.Smallest > 0},
		{"scatter", "a positive number of seconds", c.Float64("scatter") > 0}, {"directions", "1 or 2", o.Ways != 0}} {
		if c.IsSet(x.flag) && !x.ok {
			return usagef("--%s %s: want %s", x.flag, c.Value(x.flag), x.want)
		}
	}
	if err := planScatter(c, &o); err != nil {
		return err
	}
	bar := newProgress(c, 1)
	p, err := compare.NewPlan(o, bar.simulated)
	bar.done()
	var no *compare.InfeasibleError
	if errors.As(err, &no) {
		return &exitError{exitFailed, err.Error()}
	} else if err != nil {
		return usagef("%v", err)
	}
	day, err := dayOf(c, p)
	if err != nil {
		return err
	}
	return emit(c, func(w io.Writer) error { return f.write(w, day) })
}

// dayOf adds to a plan what the day needs besides: the straight, by the runs of another day and
// the sheet, and how long to cool down.
func dayOf(c *cli.Context, p *compare.Plan) (*report.Plan, error) {
	units, err := chosen(c, "units")
	if err != nil {
		return nil, err
	}
	paper, err := chosen(c, "paper")
	if err != nil {
		return nil, err
	}
	day := &report.Plan{Plan: p, Paper: report.Paperwork(paper)}
	logs := c.StringSlice("room")
	var sh *sheet.Sheet
	name := c.String("sheet")
	if name == "" && len(logs) == 1 {
		own := filepath.Join(logs[0], folderSheet)
		if fi, err := os.Stat(own); err == nil && fi.Mode().IsRegular() {
			name = own
		}
	}
	if name != "" {
		if sh, err = sheet.Load(name); err != nil {
			return nil, err
		}
		day.Day, units = sh.Plan, cmp.Or(units, sh.Units)
	}
	if day.Day.Target == "" {
		day.Day.Target = p.Options.Target
	}
	day.Units = cmp.Or(units, "mph")
	var res *session.Result
	if len(logs) > 0 {
		if res, err = logsOf(c, logs, sh, day.Units); err != nil {
			return nil, err
		}
	}
	day.Rooms = session.Rooms(res, &day.Day, p.Options.Modes)
	return day, nil
}

// planScatter takes the target that decides, and the scatter there, which may be that
// of a past session.
func planScatter(c *cli.Context, o *compare.PlanOptions) error {
	name := "0-60 mph"
	if text := c.String("at"); text != "" {
		t, err := timing.ParseTarget(text)
		if err != nil {
			return usagef("--at: %v", err)
		}
		name, o.Target = t.Name, t.Name
	}
	from := string(timing.FromRollout)
	if c.IsSet("from") {
		var err error
		if from, err = chosen(c, "from"); err != nil {
			return err
		}
		o.From = from
	}
	if sd := c.Float64("scatter"); sd > 0 {
		o.Scatter = &compare.Scatter{SD: sd, From: "the command line"}
	}
	past, err := readPast(c.String("past"))
	if err != nil || past == nil {
		return err
	}
	if o.Scatter != nil {
		return usagef("--past and --scatter exclude each other")
	}
	if o.Scatter = past.At(name, from, c.String("vehicle")); o.Scatter == nil {
		return &exitError{exitFailed, c.String("past") + ": the scatter at " + name + " from " + from + " is not in it"}
	}
	o.Past = true
	return nil
}
