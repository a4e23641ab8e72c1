package main

import (
	"errors"
	"io"
	"os"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session/compare"
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

Example: the same to print
   fromrest plan --smallest 0.2 --scatter 0.06 --format html -o plan.html calm plain full`,
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
			&cli.Uint64Flag{Name: "seed", Usage: "`N` that orders the modes; another gives another order"},
			planForms.flag("`FORMAT`"),
			outputFlag("write `FILE`; the terminal if not given, a session sheet if it ends in .toml, which must not exist"),
		},
		Action: runPlan,
	}
}

var planForms = forms[*compare.Plan]{{"text", report.PlanText}, {"md", report.PlanMarkdown}, {"html", report.PlanHTML}, {"json", report.PlanJSON}, {"sheet", report.PlanSheet}}

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

func writePlan(c *cli.Context, f form[*compare.Plan]) error {
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
	return emit(c, func(w io.Writer) error { return f.write(w, p) })
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
