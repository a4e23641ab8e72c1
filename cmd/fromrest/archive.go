package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/archive"
	"fromrest/pkg/document"
	"fromrest/pkg/session"
)

func archiveCommand() *cli.Command {
	sub := func(name, args, usage, example string, action cli.ActionFunc, flags ...cli.Flag) *cli.Command {
		return &cli.Command{Name: name, ArgsUsage: args, Usage: usage, Action: action, Flags: append(flags, archiveFlag()),
			UsageText: "fromrest archive " + name + " [options] " + args + "\n\nExample:\n   " + example}
	}
	format := archiveForms.flag("`FORMAT`")
	return &cli.Command{
		Name:  "archive",
		Usage: "list, show, export, compare, verify and remove the sessions that serve keeps",
		UsageText: `fromrest archive list|show|export|compare-versions|verify|remove [options]

Example: what is there, and one session of it as files
   fromrest archive list
   fromrest archive export 2026-06-14-k7qdm -o session/`,
		Subcommands: []*cli.Command{
			sub("list", "", "list the sessions, the one changed last first", "fromrest archive list", archiveForms.action(runArchiveList), format),
			sub("show", "SESSION", "show a session's logs, edits and results", "fromrest archive show 2026-06-14-k7qdm", archiveForms.action(runArchiveShow), format),
			sub("export", "SESSION", "write a session's logs, sheets and results as files, or data sets of all sessions", "fromrest archive export 2026-06-14-k7qdm -o session/", runArchiveExport,
				outputFlag("new folder `DIR`; the session's name by default"),
				&cli.StringFlag{Name: "parquet", Usage: "write runs, times, traces, means and differences as Parquet data sets under `DIR` instead, of the sessions named or of all"}),
			sub("compare-versions", "[SESSION...]", "work sessions out anew and say which times moved, and which verdicts turned, since another version kept its result", "fromrest archive compare-versions", versionsForms.action(runCompareVersions), versionsForms.flag("`FORMAT`")),
			sub("verify", "", "read everything back and check every hash", "fromrest archive verify", runArchiveVerify),
			sub("remove", "SESSION...", "delete sessions, and the logs that no other session uses", "fromrest archive remove --yes 2026-06-14-k7qdm", runArchiveRemove,
				&cli.BoolFlag{Name: "yes", Usage: "really delete; without it only say what would go"}),
		},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("archive: no subcommand %q; want list, show, export, compare-versions, verify or remove", c.Args().First())
			}
			return cli.ShowSubcommandHelp(c)
		},
	}
}

// onArchive opens the archive, which is not created here, for fn.
func onArchive(c *cli.Context, fn func(*archive.Archive) error) error {
	path, err := archivePath(c)
	if err != nil {
		return err
	}
	a, err := archive.OpenExisting(c.Context, path)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("there is no archive at %s yet; fromrest serve makes one", path)
	}
	if err != nil {
		return err
	}
	err = fn(a)
	return cmp.Or(err, a.Close())
}

// withSession opens the archive and the session named by the only argument.
func withSession(c *cli.Context, fn func(*archive.Archive, archive.Session) error) error {
	if c.NArg() != 1 {
		return usagef("archive %s: want the name of one session; fromrest archive list shows them", c.Command.Name)
	}
	return onArchive(c, func(a *archive.Archive) error {
		s, err := a.Session(c.Context, c.Args().First())
		if err != nil {
			return err
		}
		return fn(a, s)
	})
}

// jsonArchive is what "archive list" writes.
type jsonArchive struct {
	Schema   string        `json:"schema"`
	Sessions []jsonSession `json:"sessions"`
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

const (
	stampJSON = "2006-01-02T15:04:05Z"
	stampText = "2006-01-02 15:04"
)

// archiveForms are those of list; show writes its text by itself.
var archiveForms = forms[[]archive.Session]{{"text", sessionsText}, {"json", sessionsJSON}}

func sessionsJSON(w io.Writer, list []archive.Session) error {
	out := []jsonSession{}
	for _, s := range list {
		j := jsonSession{ID: s.ID, Title: s.Title, Created: s.Created.Format(stampJSON), Changed: s.Changed.Format(stampJSON), Sheet: s.Sheet, Logs: []jsonStored{}}
		for _, l := range s.Logs {
			j.Logs = append(j.Logs, jsonStored{l.Name, l.Mode, l.SHA256, l.Bytes, l.Added.Format(stampJSON)})
		}
		out = append(out, j)
	}
	return document.WriteJSON(w, jsonArchive{"fromrest.archive/1", out})
}

func sessionsText(w io.Writer, list []archive.Session) error {
	for _, s := range list {
		var bytes int64
		for _, l := range s.Logs {
			bytes += l.Bytes
		}
		if _, err := fmt.Fprintf(w, "%-18s %3d logs %8.1f MB  changed %s  %s\n", s.ID, len(s.Logs), float64(bytes)/1e6, s.Changed.Format(stampText), oneLine(s.Title)); err != nil {
			return err
		}
	}
	return nil
}

func runArchiveList(c *cli.Context, f form[[]archive.Session]) error {
	return onArchive(c, func(a *archive.Archive) error {
		list, err := a.Sessions(c.Context)
		if err != nil {
			return err
		}
		return f.write(c.App.Writer, list)
	})
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

func runArchiveShow(c *cli.Context, f form[[]archive.Session]) error {
	return withSession(c, func(a *archive.Archive, s archive.Session) error {
		if f.name == "json" {
			return f.write(c.App.Writer, []archive.Session{s})
		}
		w := c.App.Writer
		fmt.Fprintf(w, "%s\nsession %s, begun %s, changed %s UTC\n\nlogs\n", oneLine(s.Title), s.ID, s.Created.Format(stampText), s.Changed.Format(stampText))
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
		return onArchive(c, func(a *archive.Archive) error { return exportParquet(c, a, dir) })
	}
	return withSession(c, func(a *archive.Archive, s archive.Session) error {
		files, err := a.Export(c.Context, s.ID, cmp.Or(c.String("output"), s.ID))
		for _, f := range files {
			fmt.Fprintln(c.App.Writer, f)
		}
		return err
	})
}

// exportParquet analyses sessions anew and writes them as data sets. A session
// that fails is reported, and the others go on.
func exportParquet(c *cli.Context, a *archive.Archive, dir string) error {
	list, err := chosenSessions(c, a)
	if err != nil {
		return err
	}
	failed := false
	for _, s := range list {
		id := s.ID
		res, err := a.Analyse(c.Context, id, session.Options{Version: buildVersion(), All: true})
		if err == nil {
			for _, f := range res.Failed {
				complain(c, f)
			}
			err = writeParquet(c, dir, id, res)
		}
		if err := c.Err(); err != nil {
			return err
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
	return onArchive(c, func(a *archive.Archive) error {
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
	})
}

func runArchiveRemove(c *cli.Context) error {
	if !c.Args().Present() {
		return usagef("archive remove: want the names of sessions; fromrest archive list shows them")
	}
	return onArchive(c, func(a *archive.Archive) error {
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
	})
}
