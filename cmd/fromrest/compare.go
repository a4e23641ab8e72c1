package main

import (
	"os"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/analysis"
	"fromrest/pkg/compare"
	"fromrest/pkg/report"
	"fromrest/pkg/timing"
)

func compareCommand() *cli.Command {
	return &cli.Command{
		Name:      "compare",
		Usage:     "say which mode is quicker, by how much, and whether the runs can tell",
		ArgsUsage: logArgs,
		UsageText: `fromrest compare [options] ` + logArgs + `

Example: two drive modes, a log each
   fromrest compare calm=calm.nmea full=full.nmea

Example: a session with its sheet, for a script
   fromrest compare --sheet session.toml --format json logs/

Example: one target, with rollout only
   fromrest compare --at "0-60 mph" --from rollout calm=calm.nmea full=full.nmea`,
		Flags: append(inputFlags(),
			&cli.StringFlag{Name: "format", Value: "text", Usage: "`FORMAT`: text, json or md"},
			&cli.StringSliceFlag{Name: "at", Usage: "compare at `TARGET` only; may be repeated"},
			&cli.StringFlag{Name: "from", Value: "both", Usage: "compare times from `ORIGIN`: rest, rollout or both"},
			&cli.Float64Flag{Name: "smallest", Value: 0.05, Usage: "smallest difference worth knowing, in `SECONDS`"},
			&cli.StringFlag{Name: "past", Usage: "take the scatter of a past session from `FILE`, written by compare --format json"},
			&cli.BoolFlag{Name: "own-scatter", Usage: "use nothing but the scatter of these runs"},
		),
		Action: runCompare,
	}
}

func runCompare(c *cli.Context) error {
	format, err := oneOf(c, "format", "text", "json", "md")
	if err != nil {
		return err
	}
	opts, err := compareOptions(c)
	if err != nil {
		return err
	}
	res, s, err := analyse(c)
	if err != nil {
		return err
	}
	if opts.Targets == nil && format != "json" {
		opts.Targets = report.CompareTargets(res)
	}
	cmp, err := analysis.Compare(res, opts)
	if err != nil {
		return err
	}
	cmp.Warnings = append(cmp.Warnings, res.Warnings...)
	switch format {
	case "json":
		err = report.CompareJSON(c.App.Writer, cmp)
	case "md":
		err = report.CompareMarkdown(c.App.Writer, cmp)
	default:
		err = report.CompareText(c.App.Writer, cmp)
	}
	if err != nil {
		return err
	}
	return outcome(c, s, res)
}

// compareOptions turns the flags of compare into its options.
func compareOptions(c *cli.Context) (analysis.CompareOptions, error) {
	o := analysis.CompareOptions{Smallest: c.Float64("smallest"), OwnScatter: c.Bool("own-scatter")}
	from, err := oneOf(c, "from", "rest", "rollout", "both")
	if err != nil {
		return o, err
	}
	if from != "both" {
		o.From = []timing.Origin{timing.Origin(from)}
	}
	if !(o.Smallest > 0 && o.Smallest < 100) {
		return o, usagef("--smallest %g: want a positive number of seconds", o.Smallest)
	}
	for _, text := range c.StringSlice("at") {
		t, err := timing.ParseTarget(text)
		if err != nil {
			return o, usagef("--at: %v", err)
		}
		o.Targets = append(o.Targets, t.Name)
	}
	past, err := readPast(c.String("past"))
	if err != nil || past == nil {
		return o, err
	}
	if o.OwnScatter {
		return o, usagef("--past and --own-scatter exclude each other")
	}
	o.Past = func(target string, from timing.Origin) *compare.Scatter { return past.At(target, string(from)) }
	return o, nil
}

// readPast reads a past comparison, nil where no file is named.
func readPast(path string) (*report.PastScatter, error) {
	if path == "" {
		return nil, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return report.ReadPast(f, path)
}
