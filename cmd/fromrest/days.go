package main

import (
	"flag"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/session"
)

// daysOf are calls for each of the folders given, where all arguments are folders and a
// session sheet lies in each: sessions of several days, each under its own sheet.
func daysOf(c *cli.Context) []*cli.Context {
	if c.String("sheet") != "" || c.Bool("no-sheet") || c.NArg() < 2 {
		return nil
	}
	var out []*cli.Context
	for _, dir := range c.Args().Slice() {
		if fi, err := os.Stat(filepath.Join(dir, folderSheet)); err != nil || !fi.Mode().IsRegular() {
			return nil
		}
		set := flag.NewFlagSet(dir, flag.ContinueOnError)
		if set.Parse([]string{"--", dir}) != nil {
			return nil
		}
		of := cli.NewContext(c.App, set, c)
		of.Command = c.Command
		out = append(out, of)
	}
	return out
}

// onDays is onLogs for sessions of several days, put together.
func onDays(c *cli.Context, days []*cli.Context, more func(*session.Options), answer func(*session.Result, *work) error) error {
	var parts []*session.Result
	var works []*work
	for _, day := range days {
		res, s, err := analyse(day, more)
		if err != nil {
			return err
		}
		defer func() { _ = res.Close() }() // it holds nothing that lasts
		noteLeft(day, res)
		parts, works = append(parts, res), append(works, s)
	}
	res, err := session.Together(parts...)
	if err != nil {
		return err
	}
	if err := answer(res, works[0]); err != nil {
		return err
	}
	for i, s := range works {
		if err := outcome(days[i], s, parts[i]); err != nil {
			return err
		}
	}
	return nil
}
