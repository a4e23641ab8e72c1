package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

func demoCommand() *cli.Command {
	return &cli.Command{
		Name:  "demo",
		Usage: "write a simulated session and its report, to look around in",
		UsageText: `fromrest demo [options]

Writes the logs of an invented panel van with three power maps, driven both ways
on a damp runway, the session sheet that describes them, and the report.

Example: into a folder of its own
   fromrest demo -o van`,
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Value: "demo", Usage: "write into `FOLDER`, over files of the same names"},
		},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("demo takes no log: %q; give the folder with -o", c.Args().First())
			}
			dir := c.String("output")
			logs, err := synth.WriteDemo(dir)
			if err != nil {
				return err
			}
			res, err := demoResult(c, dir, logs)
			if err != nil {
				return err
			}
			var page bytes.Buffer
			if err := report.HTML(context.WithoutCancel(c.Context), &page, res, report.Paper{}); err != nil {
				return err
			}
			if err := writeWhole(filepath.Join(dir, "report.html"), page.Bytes()); err != nil {
				return err
			}
			demoText(c, dir, logs, res)
			return nil
		},
	}
}

// demoResult analyses the logs just written. They go by their names without the
// folder, so that the report's bytes do not depend on where it is.
func demoResult(c *cli.Context, dir string, logs []synth.DemoLog) (*session.Result, error) {
	var inputs []session.Input
	for _, l := range logs {
		path := filepath.Join(dir, l.Name)
		inputs = append(inputs, session.Input{Path: l.Name, Mode: l.Mode,
			Open: func() (io.ReadCloser, error) { return os.Open(path) }})
	}
	sheet, err := sheet.Load(filepath.Join(dir, synth.DemoSheet))
	if err != nil {
		return nil, err
	}
	bar := newProgress(c, 1)
	res, err := session.Run(c.Context, inputs, session.Options{Version: buildVersion(), Sheet: sheet, Progress: bar.update})
	bar.done()
	if err != nil {
		return nil, err
	}
	if len(res.Failed) > 0 {
		return nil, res.Failed[0]
	}
	return res, res.SheetError
}

// demoText says what was written and what to type next.
func demoText(c *cli.Context, dir string, logs []synth.DemoLog, res *session.Result) {
	w := c.App.Writer
	fmt.Fprintf(w, "A simulated session of %d standing starts is in %s:\n", len(res.Runs), dir)
	for _, l := range logs {
		fmt.Fprintf(w, "  %-14s mode %s\n", l.Name, l.Mode)
	}
	fmt.Fprintf(w, "  %-14s the session sheet: vehicle, modes, conditions\n", synth.DemoSheet)
	at := func(name string) string { return filepath.Join(dir, name) }
	fmt.Fprintf(w, "\nIts report, to open in a browser, is %s\n\nNext, try\n", at("report.html"))
	for _, next := range []struct{ command, rest string }{
		{"runs", at("full-1.nmea")},
		{"check", at("full-2.fit")},
		{"overlay", "-o " + at("overlay.svg") + " calm=" + at("calm-1.nmea") + " full=" + at("full-1.nmea")},
		{"compare", dir},
		{"explain", dir},
	} {
		if c.App.Command(next.command) != nil {
			fmt.Fprintf(w, "  fromrest %s %s\n", next.command, next.rest)
		}
	}
}
