package main

import (
	"errors"
	"io"
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

Example: four runs of each of three modes
   fromrest plan --runs 4 calm plain full

Example: as many runs as find 0.1 s when runs scatter by 0.06 s, to print
   fromrest plan --smallest 0.1 --scatter 0.06 --format html -o plan.html calm plain full`,
		Flags: []cli.Flag{
			&cli.IntFlag{Name: "runs", Usage: "`N` runs of each mode; worked out from the scatter if not given"},
			&cli.IntFlag{Name: "directions", Value: 2, Usage: "`N` directions: 2, turning round after each run, or 1"},
			&cli.Float64Flag{Name: "smallest", Value: 0.05, Usage: "smallest difference worth knowing, in `SECONDS`"},
			&cli.Float64Flag{Name: "power", Value: 0.8, Usage: "wanted `CHANCE` to find it"},
			&cli.Float64Flag{Name: "scatter", Usage: "standard deviation of repeated runs, in `SECONDS`"},
			&cli.StringFlag{Name: "past", Usage: "take the scatter from `FILE`, written by compare --format json"},
			&cli.StringFlag{Name: "at", Value: "0-60 mph", Usage: "`TARGET` that the scatter of --past is taken at"},
			&cli.StringFlag{Name: "from", Value: "rollout", Usage: "`ORIGIN` of it: rest or rollout"},
			&cli.Uint64Flag{Name: "seed", Usage: "`N` that orders the modes; another gives another order"},
			planForms.flag("`FORMAT`"),
			outputFlag("write `FILE`; the terminal if not given"),
		},
		Action: planForms.action(runPlan),
	}
}

var planForms = forms[*compare.Plan]{{"text", report.PlanText}, {"md", report.PlanMarkdown}, {"html", report.PlanHTML}, {"json", report.PlanJSON}}

func runPlan(c *cli.Context, f form[*compare.Plan]) error {
	o := compare.PlanOptions{Version: buildVersion(), Runs: c.Int("runs"), Ways: c.Int("directions"), Smallest: c.Float64("smallest"),
		Power: c.Float64("power"), Scatter: c.Float64("scatter"), Seed: c.Uint64("seed")}
	for _, a := range c.Args().Slice() {
		o.Modes = append(o.Modes, strings.TrimSpace(a))
	}
	if c.IsSet("runs") && o.Runs < 1 {
		return usagef("--runs %d: want 1 or more", o.Runs)
	}
	if c.IsSet("scatter") && !(o.Scatter > 0) {
		return usagef("--scatter %g: want a positive number of seconds", o.Scatter)
	}
	if c.IsSet("directions") && o.Ways == 0 {
		return usagef("--directions 0: want 1 or 2")
	}
	if err := planScatter(c, &o); err != nil {
		return err
	}
	if o.Runs == 0 && o.Scatter == 0 {
		return usagef("give --runs, or --scatter or --past to work them out from")
	}
	p, err := compare.NewPlan(o)
	var no *compare.InfeasibleError
	if errors.As(err, &no) {
		return &exitError{exitFailed, err.Error()}
	} else if err != nil {
		return usagef("%v", err)
	}
	return emit(c, func(w io.Writer) error { return f.write(w, p) })
}

// planScatter takes the scatter of a past session.
func planScatter(c *cli.Context, o *compare.PlanOptions) error {
	past, err := readPast(c.String("past"))
	if err != nil || past == nil {
		return err
	}
	if o.Scatter != 0 {
		return usagef("--past and --scatter exclude each other")
	}
	from, err := oneOf(c, "from", "rest", "rollout")
	if err != nil {
		return err
	}
	t, err := timing.ParseTarget(c.String("at"))
	if err != nil {
		return usagef("--at: %v", err)
	}
	s := past.At(t.Name, from)
	if s == nil {
		return &exitError{exitFailed, c.String("past") + ": the scatter at " + t.Name + " from " + from + " is not in it"}
	}
	o.Scatter = s.SD
	return nil
}
