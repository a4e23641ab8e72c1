package main

import (
	"fmt"
	"io"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/archive"
	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
)

// changedSession is a session worked out anew against what an earlier version kept.
type changedSession struct {
	session archive.Session
	changed *report.Changed // nil where no other version left a result
}

var versionsForms = forms[[]changedSession]{{"text", versionsText}, {"json", versionsJSON}}

// runCompareVersions works sessions out anew and says what moved. A session that fails is
// reported, and the others go on.
func runCompareVersions(c *cli.Context, f form[[]changedSession]) error {
	return onArchive(c, func(a *archive.Archive) error {
		list, err := chosenSessions(c, a)
		if err != nil {
			return err
		}
		failed := false
		var out []changedSession
		for _, s := range list {
			changed, err := sinceStored(c, a, s)
			if err := c.Err(); err != nil {
				return err
			}
			if err != nil {
				failed = true
				complain(c, fmt.Errorf("session %s: %w", s.ID, err))
				continue
			}
			out = append(out, changedSession{s, changed})
		}
		if err := f.write(c.App.Writer, out); err != nil || !failed {
			return err
		}
		return &exitError{code: exitFailed}
	})
}

// chosenSessions are the sessions that the arguments name, or all.
func chosenSessions(c *cli.Context, a *archive.Archive) ([]archive.Session, error) {
	if !c.Args().Present() {
		return a.Sessions(c.Context)
	}
	var list []archive.Session
	for _, id := range c.Args().Slice() {
		s, err := a.Session(c.Context, id)
		if err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	return list, nil
}

// sinceStored holds a session against the newest result that another version of the
// program or of its model left.
func sinceStored(c *cli.Context, a *archive.Archive, s archive.Session) (*report.Changed, error) {
	results, err := a.Results(c.Context, s.ID)
	if err != nil || len(results) == 0 {
		return nil, err
	}
	res, err := a.Analyse(c.Context, s.ID, session.Options{Version: buildVersion(), NoTraces: true})
	if err != nil {
		return nil, err
	}
	for i := len(results) - 1; i >= 0; i-- {
		old, err := a.Result(c.Context, s.ID, results[i].Number)
		if err != nil {
			return nil, err
		}
		changed, err := report.Since(old.Body, res, old.Revision == s.Sheet)
		if changed != nil || err != nil {
			return changed, err
		}
	}
	return nil, nil
}

func versionsText(w io.Writer, list []changedSession) error {
	var doc []document.Block
	for _, s := range list {
		doc = append(doc, document.Heading{Text: oneLine(s.session.ID + ", " + s.session.Title)})
		if s.changed == nil {
			doc = append(doc, document.Paragraph{Text: "No other version left a result."})
			continue
		}
		doc = append(doc, document.Paragraph{Text: s.changed.String()})
		if lines := s.changed.Lines(); len(lines) > 0 {
			doc = append(doc, document.List{Items: lines})
		}
	}
	doc = append(doc, document.Paragraph{Text: session.MadeBy(buildVersion(), session.ModelRevision)})
	return document.Text(w, doc...)
}

// jsonVersions is what "archive compare-versions" writes.
type jsonVersions struct {
	Schema   string        `json:"schema"`
	Version  string        `json:"version"`
	Model    int           `json:"model"`
	Sessions []jsonChanged `json:"sessions"`
}

type jsonChanged struct {
	Session string      `json:"session"`
	Against string      `json:"against,omitempty"`
	Times   int         `json:"times"`
	Moved   []jsonMoved `json:"moved"`
	// Verdicts is how many verdicts both have, null where they are not compared.
	Verdicts *int         `json:"verdicts" jsonschema:"nullable"`
	Turned   []jsonTurned `json:"turned"`
	Gone     int          `json:"runs_gone"`
}

type jsonMoved struct {
	Run       string        `json:"run"`
	Name      string        `json:"name"`
	From      timing.Origin `json:"from"`
	Before    *float64      `json:"before_s" jsonschema:"nullable"`
	BeforeU95 *float64      `json:"before_u95_s" jsonschema:"nullable"`
	Now       *float64      `json:"now_s" jsonschema:"nullable"`
	NowU95    *float64      `json:"now_u95_s" jsonschema:"nullable"`
}

type jsonTurned struct {
	A      string        `json:"a"`
	B      string        `json:"b"`
	Name   string        `json:"name"`
	From   timing.Origin `json:"from"`
	Before string        `json:"before"`
	Now    string        `json:"now"`
}

func versionsJSON(w io.Writer, list []changedSession) error {
	out := []jsonChanged{}
	for _, s := range list {
		j := jsonChanged{Session: s.session.ID, Moved: []jsonMoved{}, Turned: []jsonTurned{}}
		if c := s.changed; c != nil {
			j.Against, j.Times, j.Gone = c.By, c.Times, c.Gone
			if c.NoWords == "" {
				j.Verdicts = &c.Judged
			}
			for _, m := range c.Moved {
				j.Moved = append(j.Moved, jsonMoved{m.Run, m.Name, m.From, document.Micro(m.Before[0]), document.Micro(m.Before[1]), document.Micro(m.Now[0]), document.Micro(m.Now[1])})
			}
			for _, t := range c.Turned {
				j.Turned = append(j.Turned, jsonTurned{t.A, t.B, t.Name, t.From, string(t.Before), string(t.Now)})
			}
		}
		out = append(out, j)
	}
	return document.WriteJSON(w, jsonVersions{"fromrest.versions/1", buildVersion(), session.ModelRevision, out})
}
