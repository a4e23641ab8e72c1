package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/archive"
	"fromrest/pkg/dataset"
	"fromrest/pkg/session"
)

func archiveCommand() *cli.Command {
	sub := func(name, args, usage, example string, action cli.ActionFunc, flags ...cli.Flag) *cli.Command {
		return &cli.Command{Name: name, ArgsUsage: args, Usage: usage, Action: action, Flags: append(flags, archiveFlag()),
			UsageText: "fromrest archive " + name + " [options] " + args + "\n\nExample:\n   " + example}
	}
	format := &cli.StringFlag{Name: "format", Value: "text", Usage: "`FORMAT`: text or json"}
	return &cli.Command{
		Name:  "archive",
		Usage: "list, show, export, verify and remove the sessions that serve keeps",
		UsageText: `fromrest archive list|show|export|verify|remove [options]

Example: what is there, and one session of it as files
   fromrest archive list
   fromrest archive export 2026-06-14-k7qdm -o session/`,
		Subcommands: []*cli.Command{
			sub("list", "", "list the sessions, the one changed last first", "fromrest archive list", runArchiveList, format),
			sub("show", "SESSION", "show a session's logs, edits and results", "fromrest archive show 2026-06-14-k7qdm", runArchiveShow, format),
			sub("export", "SESSION", "write a session's logs, sheets and results as files, or data sets of all sessions", "fromrest archive export 2026-06-14-k7qdm -o session/", runArchiveExport,
				&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "new folder `DIR`; the session's name by default"},
				&cli.StringFlag{Name: "parquet", Usage: "write runs, times and traces as Parquet data sets under `DIR` instead, of the sessions named or of all"}),
			sub("verify", "", "read everything back and check every hash", "fromrest archive verify", runArchiveVerify),
			sub("remove", "SESSION...", "delete sessions, and the logs that no other session uses", "fromrest archive remove --yes 2026-06-14-k7qdm", runArchiveRemove,
				&cli.BoolFlag{Name: "yes", Usage: "really delete; without it only say what would go"}),
		},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("archive: no subcommand %q; want list, show, export, verify or remove", c.Args().First())
			}
			return cli.ShowSubcommandHelp(c)
		},
	}
}

// openArchive opens the archive of a command that does not create one.
func openArchive(c *cli.Context) (*archive.Archive, error) {
	path, err := archivePath(c)
	if err != nil {
		return nil, err
	}
	a, err := archive.OpenExisting(c.Context, path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no archive at %s yet; fromrest serve makes one", path)
	}
	return a, err
}

// withSession opens the archive and the session named by the only argument.
func withSession(c *cli.Context, fn func(*archive.Archive, archive.Session) error) error {
	if c.NArg() != 1 {
		return usagef("archive %s: want the name of one session; fromrest archive list shows them", c.Command.Name)
	}
	a, err := openArchive(c)
	if err != nil {
		return err
	}
	defer a.Close()
	s, err := a.Session(c.Context, c.Args().First())
	if err != nil {
		return err
	}
	return fn(a, s)
}

// jsonSession is a session as the archive commands print it.
type jsonSession struct {
	ID      string       `json:"id"`
	Title   string       `json:"title"`
	Created string       `json:"created"`
	Changed string       `json:"changed"`
	Sheet   int          `json:"sheet_revision"`
	Logs    []jsonStored `json:"logs"`
}

type jsonStored struct {
	Name   string `json:"name"`
	Mode   string `json:"mode,omitempty"`
	SHA256 string `json:"sha256"`
	Bytes  int64  `json:"bytes"`
	Added  string `json:"added"`
}

const stampJSON = "2006-01-02T15:04:05Z"

func sessionJSON(s archive.Session) jsonSession {
	j := jsonSession{ID: s.ID, Title: s.Title, Created: s.Created.Format(stampJSON), Changed: s.Changed.Format(stampJSON), Sheet: s.Sheet, Logs: []jsonStored{}}
	for _, l := range s.Logs {
		j.Logs = append(j.Logs, jsonStored{l.Name, l.Mode, l.SHA256, l.Bytes, l.Added.Format(stampJSON)})
	}
	return j
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

func runArchiveList(c *cli.Context) error {
	format, err := oneOf(c, "format", "text", "json")
	if err != nil {
		return err
	}
	a, err := openArchive(c)
	if err != nil {
		return err
	}
	defer a.Close()
	list, err := a.Sessions(c.Context)
	if err != nil {
		return err
	}
	if format == "json" {
		out := []jsonSession{}
		for _, s := range list {
			out = append(out, sessionJSON(s))
		}
		return printJSON(c.App.Writer, map[string]any{"schema": "fromrest.archive/1", "sessions": out})
	}
	for _, s := range list {
		var bytes int64
		for _, l := range s.Logs {
			bytes += l.Bytes
		}
		fmt.Fprintf(c.App.Writer, "%-18s %3d logs %8.1f MB  changed %s  %s\n", s.ID, len(s.Logs), float64(bytes)/1e6, s.Changed.Format("2006-01-02 15:04"), oneLine(s.Title))
	}
	return nil
}

// oneLine keeps what a title or a file name holds from steering the terminal.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return '\uFFFD'
		}
		return r
	}, s)
}

func runArchiveShow(c *cli.Context) error {
	format, err := oneOf(c, "format", "text", "json")
	if err != nil {
		return err
	}
	return withSession(c, func(a *archive.Archive, s archive.Session) error {
		if format == "json" {
			return printJSON(c.App.Writer, map[string]any{"schema": "fromrest.archive/1", "sessions": []jsonSession{sessionJSON(s)}})
		}
		w := c.App.Writer
		fmt.Fprintf(w, "%s\nsession %s, begun %s, changed %s UTC\n\nlogs\n", oneLine(s.Title), s.ID, s.Created.Format("2006-01-02 15:04"), s.Changed.Format("2006-01-02 15:04"))
		for _, l := range s.Logs {
			fmt.Fprintf(w, "  %.12s %10d bytes  %-12s %s\n", l.SHA256, l.Bytes, oneLine(l.Mode), oneLine(l.Name))
		}
		sheets, err := a.History(c.Context, s.ID)
		if err != nil {
			return err
		}
		fmt.Fprintln(w, "\nedits of the sheet")
		for _, sh := range sheets {
			mark := " "
			if sh.Revision == s.Sheet {
				mark = "*"
			}
			fmt.Fprintf(w, "%s %3d  from %3d  %s  %s\n", mark, sh.Revision, sh.Parent, sh.Made.Format("2006-01-02 15:04:05"), oneLine(sh.Note))
		}
		results, err := a.Results(c.Context, s.ID)
		if err != nil {
			return err
		}
		fmt.Fprintln(w, "\nresults")
		for _, r := range results {
			fmt.Fprintf(w, "  %3d  sheet %3d  version %s  %s\n", r.Number, r.Revision, oneLine(r.Version), r.Made.Format("2006-01-02 15:04:05"))
		}
		return nil
	})
}

func runArchiveExport(c *cli.Context) error {
	if dir := c.String("parquet"); dir != "" {
		return exportParquet(c, dir)
	}
	return withSession(c, func(a *archive.Archive, s archive.Session) error {
		dir := c.String("output")
		if dir == "" {
			dir = s.ID
		}
		files, err := a.Export(c.Context, s.ID, dir)
		for _, f := range files {
			fmt.Fprintln(c.App.Writer, f)
		}
		return err
	})
}

// exportParquet analyses sessions anew and writes them as data sets. A session
// that fails is reported, and the others go on.
func exportParquet(c *cli.Context, dir string) error {
	a, err := openArchive(c)
	if err != nil {
		return err
	}
	defer a.Close()
	ids := c.Args().Slice()
	if len(ids) == 0 {
		list, err := a.Sessions(c.Context)
		if err != nil {
			return err
		}
		for _, s := range list {
			ids = append(ids, s.ID)
		}
	}
	failed := false
	for _, id := range ids {
		res, err := a.Analyse(c.Context, id, session.Options{Version: buildVersion(), All: true})
		if err == nil {
			for _, f := range res.Failed {
				complain(c, f)
			}
			var files []string
			files, err = dataset.Write(dir, id, res)
			for _, f := range files {
				fmt.Fprintln(c.App.Writer, f)
			}
		}
		if c.Context.Err() != nil {
			return c.Context.Err()
		}
		if err != nil {
			failed = true
			complain(c, err)
		}
	}
	if failed {
		return &exitError{code: exitFailed}
	}
	return nil
}

func runArchiveVerify(c *cli.Context) error {
	if c.Args().Present() {
		return usagef("archive verify checks everything and takes no session")
	}
	a, err := openArchive(c)
	if err != nil {
		return err
	}
	defer a.Close()
	n, faults, err := a.Verify(c.Context)
	if err != nil {
		return err
	}
	for _, f := range faults {
		fmt.Fprintln(c.App.ErrWriter, "fromrest: "+f.String())
	}
	if len(faults) > 0 {
		return &exitError{exitFailed, fmt.Sprintf("%d faults in %s", len(faults), a.Path())}
	}
	fmt.Fprintf(c.App.Writer, "%s is whole: %d logs of %.1f MB, %d sheets, %d results\n", a.Path(), n.Logs, float64(n.Bytes)/1e6, n.Sheets, n.Results)
	return nil
}

func runArchiveRemove(c *cli.Context) error {
	if !c.Args().Present() {
		return usagef("archive remove: want the names of sessions; fromrest archive list shows them")
	}
	a, err := openArchive(c)
	if err != nil {
		return err
	}
	defer a.Close()
	for _, id := range c.Args().Slice() {
		s, err := a.Session(c.Context, id)
		if err != nil {
			return err
		}
		if !c.Bool("yes") {
			fmt.Fprintf(c.App.Writer, "would remove %s, %d logs, %s; --yes does it\n", s.ID, len(s.Logs), oneLine(s.Title))
			continue
		}
		if err := a.Remove(c.Context, id); err != nil {
			return err
		}
		fmt.Fprintf(c.App.Writer, "removed %s, %s\n", s.ID, oneLine(s.Title))
	}
	return nil
}
