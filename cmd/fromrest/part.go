package main

import (
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
)

// partFlags are the flags that read a part of the logs.
func partFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "from", Usage: "read the logs from `TIME` on, in UTC: 09:21:30, 2026-06-14T09:21:30, or seconds since the log's start"},
		&cli.StringFlag{Name: "to", Usage: "read the logs up to `TIME`"},
		&cli.StringSliceFlag{Name: "only", Usage: "only `WHAT`: a run such as \"full-1#2\", or what measured: gnss, wheel, accel or a track's name; may be repeated"},
	}
}

// readPart turns the flags into the part of the logs to read and the runs to show.
func readPart(c *cli.Context, s *work) error {
	span := &s.opts.Part.Span
	for flag, b := range map[string]*recording.Bound{"from": &span.From, "to": &span.To} {
		text := c.String(flag)
		if flag == "from" && originWord(c, text) {
			continue
		}
		var err error
		if *b, err = recording.ParseBound(text); err != nil {
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

// onlyRuns leaves the runs named by --only in a result.
func onlyRuns(res *session.Result, ids []string) error {
	if len(ids) == 0 {
		return nil
	}
	known := map[string]bool{}
	for _, r := range res.Runs {
		known[r.ID] = true
	}
	for _, id := range ids {
		if !known[id] {
			return &exitError{exitFailed, "--only " + id + ": no such run in these logs"}
		}
	}
	res.Runs = slices.DeleteFunc(res.Runs, func(r *session.TimedRun) bool { return !slices.Contains(ids, r.ID) })
	with := map[*session.Log]bool{}
	for _, r := range res.Runs {
		with[r.Log] = true
	}
	res.Logs = slices.DeleteFunc(res.Logs, func(l *session.Log) bool { return !with[l] })
	return nil
}
