package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/archive"
	"fromrest/pkg/figure"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
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

Example: its figures, for print and for a page
   fromrest compare --figures figures --at "0-60 mph" calm=calm.nmea full=full.nmea

Example: one target, with rollout only
   fromrest compare --at "0-60 mph" --from rollout calm=calm.nmea full=full.nmea

Example: all the runs are in that will be driven, and 0.1 s is what matters
   fromrest compare --final --smallest 0.1 calm=calm.nmea full=full.nmea`,
		Flags: append(inputFlags("from"),
			compareForms.flag("`FORMAT`"),
			&cli.StringSliceFlag{Name: "at", Usage: "compare at `TARGET` only; may be repeated"},
			&cli.StringFlag{Name: "from", Value: "both", Usage: "compare times from `ORIGIN`: rest, rollout or both; or a TIME: read the logs from there on, as in runs"},
			choice("origin", "both", "compare times from `ORIGIN`, where --from is a time", "rest", "rollout", "both"),
			&cli.StringFlag{Name: "primary", Usage: "`TARGET` that decides; the sheet's if not given, else 0-60 mph"},
			choice("primary-from", "", "`ORIGIN` that it counts from: rest or rollout; the sheet's if not given, else rollout", "rest", "rollout"),
			&cli.BoolFlag{Name: "final", Usage: "no more runs will be driven: judge these as the last"},
			&cli.IntFlag{Name: "planned", Usage: "`N` runs of each mode were planned; the sheet's if not given, else 8"},
			&cli.Float64Flag{Name: "smallest", Usage: "smallest difference that matters, in `SECONDS`: modes may then be found equal within it"},
			&cli.BoolFlag{Name: "tests", Usage: "show p values, and second tests that know no model"},
			&cli.StringFlag{Name: "past", Usage: "take the scatter of a past session from `FILE`, written by compare --format json"},
			&cli.StringFlag{Name: "figures", Usage: "draw the comparison into `FOLDER`: svg and pdf for print, png for a page at one and two times its size"},
		),
		Action: compareForms.action(runCompare),
	}
}

var compareForms = forms[*compare.Result]{{"text", report.CompareText}, {"json", report.CompareJSON}, {"md", report.CompareMarkdown}}

func runCompare(c *cli.Context, f form[*compare.Result]) error {
	opts, err := compareOptions(c)
	if err != nil {
		return err
	}
	at, from, err := comparedAt(c)
	if err != nil {
		return err
	}
	dir := c.String("figures")
	more := func(o *session.Options) { o.Compare, o.NoTraces = opts, dir == "" }
	answer := func(res *session.Result, _ *work) error {
		if sh := res.Sheet; sh != nil && !originGiven(c) && (sh.Rollout == "rest" || sh.Rollout == "rollout") {
			from = []timing.Origin{timing.Origin(sh.Rollout)}
		}
		if at == nil && f.name != "json" {
			at = report.CompareTargets(res)
		}
		cmp, err := res.Compare(at, from...)
		if err != nil {
			return err
		}
		cmp.Warnings, cmp.Tests = append(cmp.Warnings, res.Warnings...), c.Bool("tests")
		if line := offered(c, res); line != "" {
			cmp.Offered = append(cmp.Offered, line)
		}
		if dir != "" {
			if err := compareFigures(c, dir, res, cmp); err != nil {
				return err
			}
		}
		return f.write(c.App.Writer, cmp)
	}
	if days := daysOf(c); len(days) > 1 {
		return onDays(c, days, more, answer)
	}
	return onLogs(c, more, answer)
}

// offered is what the past sessions that serve keeps have to offer to a comparison, "" for
// nothing: an archive that is not there, or in use, is no mistake here.
func offered(c *cli.Context, res *session.Result) string {
	path, err := archive.DefaultPath()
	if err != nil || res.Sheet == nil || c.IsSet("past") {
		return ""
	}
	a, err := archive.OpenExisting(c.Context, path)
	if err != nil {
		return ""
	}
	defer func() { _ = a.Close() }() // only read
	bodies, err := a.Newest(c.Context, "", archive.MostPast)
	if err != nil {
		return ""
	}
	return report.Offer(res, bodies)
}

// originGiven reports whether --origin or --from says where times count from.
func originGiven(c *cli.Context) bool {
	return c.IsSet("origin") || c.IsSet("from") && originWord(c, c.String("from"))
}

// compareOptions turns the flags of compare into its options.
func compareOptions(c *cli.Context) (session.CompareOptions, error) {
	o := session.CompareOptions{Smallest: c.Float64("smallest"), Planned: c.Int("planned"), Final: c.Bool("final")}
	if c.IsSet("smallest") && !(o.Smallest > 0 && o.Smallest < 100) {
		return o, usagef("--smallest %g: want a positive number of seconds", o.Smallest)
	}
	if c.IsSet("planned") && (o.Planned < 1 || o.Planned > 1000) {
		return o, usagef("--planned %d: want 1 to 1000", o.Planned)
	}
	if text := c.String("primary"); text != "" {
		t, err := timing.ParseTarget(text)
		if err != nil {
			return o, usagef("--primary: %v", err)
		}
		o.Target = t.Name
	}
	if c.IsSet("primary-from") {
		from, err := chosen(c, "primary-from")
		if err != nil {
			return o, err
		}
		o.From = timing.Origin(from)
	}
	past, err := readPast(c.String("past"))
	if err != nil || past == nil {
		return o, err
	}
	o.Past = func(target string, from timing.Origin, vehicle string) *compare.Scatter {
		return past.At(target, string(from), vehicle)
	}
	return o, nil
}

// comparedAt are the targets and origins that flags of compare name, nil where none is.
func comparedAt(c *cli.Context) (targets []string, origins []timing.Origin, err error) {
	from, err := chosen(c, "origin")
	if err != nil {
		return nil, nil, err
	}
	if w := c.String("from"); c.IsSet("from") && originWord(c, w) {
		from = w
	}
	if from != "both" {
		origins = []timing.Origin{timing.Origin(from)}
	}
	for _, text := range c.StringSlice("at") {
		t, err := timing.ParseTarget(text)
		if err != nil {
			return nil, nil, usagef("--at: %v", err)
		}
		targets = append(targets, t.Name)
	}
	return targets, origins, nil
}

// readPast reads a past comparison, nil where no file is named.
func readPast(path string) (*compare.Past, error) {
	if path == "" {
		return nil, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // only read
	return compare.ReadPast(f, path)
}

// compareFigures draws each target, the mean traces and the time gained.
func compareFigures(c *cli.Context, dir string, res *session.Result, cmp *compare.Result) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	o := figure.OptionsFor(res)
	n := 0
	var failed error // the first, after which nothing is drawn
	draw := func(name string, make func() (*figure.Figure, error)) {
		if failed != nil {
			return
		}
		f, err := make()
		if errors.Is(err, figure.ErrNoMode) {
			return
		}
		if err == nil {
			err = writeAllForms(filepath.Join(dir, name), f)
		}
		n, failed = n+1, err
	}
	for _, t := range cmp.Targets {
		draw(fileWord(t.Name+"-"+t.From), func() (*figure.Figure, error) { return figure.ModeDots(t, o) })
	}
	for _, by := range []figure.Against{figure.ByTime, figure.ByDistance} {
		draw("speed-against-"+string(by), func() (*figure.Figure, error) { return figure.ModeTraces(res.Runs, by, o) })
	}
	draw("time-gained", func() (*figure.Figure, error) { return figure.TimeGained(res.Runs, o) })
	if failed != nil {
		return failed
	}
	fmt.Fprintf(c.App.ErrWriter, "drew %d figures into %s\n", n, dir)
	return nil
}

// writeAllForms writes a figure as svg, pdf and png at both sizes.
func writeAllForms(stem string, f *figure.Figure) error {
	for _, form := range []struct {
		end   string
		scale float64
	}{{".svg", 0}, {".pdf", 0}, {".png", 1}, {"@2x.png", 2}} {
		path := stem + form.end
		data, err := picture(f, path, figure.Light(), form.scale)
		if err != nil {
			return err
		}
		if err := writeWhole(path, data); err != nil {
			return err
		}
	}
	return nil
}

// fileWord makes a name that any file system takes of a target's.
func fileWord(s string) string {
	return strings.Trim(strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '.' {
			return r
		}
		return '-'
	}, strings.ToLower(s)), "-")
}
