package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/session"
)

func sheetCommand() *cli.Command {
	return &cli.Command{
		Name:      "sheet",
		Usage:     "draft a session sheet with every run listed, or add what one lacks",
		ArgsUsage: logArgs,
		UsageText: `fromrest sheet [options] ` + logArgs + `

Example: a draft to fill in and give to the other commands with --sheet
   fromrest sheet -o draft.toml logs/

Example: with the modes known already, to the terminal
   fromrest sheet calm=calm.nmea full=full.nmea

Example: a sheet as it is, with the runs of a new log added
   fromrest sheet --sheet session.toml -o more.toml logs/ warmup.nmea`,
		Flags: append(inputFlags(),
			outputFlag("write `FILE`, which must not exist; the terminal if not given"),
			&cli.BoolFlag{Name: "force", Usage: "write over a file that exists"},
		),
		Action: runSheet,
	}
}

func runSheet(c *cli.Context) error {
	out := c.String("output")
	if out != "" && !c.Bool("force") {
		if _, err := os.Stat(out); err == nil {
			return &exitError{exitFailed, out + " exists; give --force to write over it"}
		}
	}
	return onLogs(c, timesOnly, func(res *session.Result, _ *work) error {
		text, left := res.DraftSheet("")
		if err := emit(c, func(w io.Writer) error { _, err := io.WriteString(w, text); return err }); err != nil {
			return err
		}
		if to := res.ToDrive(); len(to) > 0 {
			fmt.Fprintf(c.App.ErrWriter, "still to drive by the plan: %s\n", strings.Join(to, ", "))
		}
		return left
	})
}
