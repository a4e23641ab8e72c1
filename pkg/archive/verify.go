package archive

import (
	"context"
	"fmt"
	"io"
	"strings"
)

// Fault is something in the archive that is not as it was stored.
type Fault struct {
	Where string // "log 3f2a…", "session ID, sheet 4", "database"
	Text  string
}

// String prints the fault in one line.
func (f Fault) String() string { return f.Where + ": " + f.Text }

// Checked counts what Verify looked at.
type Checked struct {
	Logs, Sheets, Results int
	Bytes                 int64 // raw bytes of the logs
}

// Verify reads everything back: the structure of the database, the hash of each
// log, sheet and result, and that every session's logs and sheet are there. The
// error is for an archive that could not be read at all.
func (a *Archive) Verify(ctx context.Context) (Checked, []Fault, error) {
	var n Checked
	faults, err := a.verifyDatabase(ctx)
	if err != nil {
		return n, faults, err
	}
	logs, err := a.Logs(ctx)
	if err != nil {
		return n, faults, err
	}
	for _, l := range logs {
		r, err := a.OpenLog(ctx, l.SHA256)
		if err == nil {
			_, err = io.Copy(io.Discard, r)
			_ = r.Close()
		}
		if ctx.Err() != nil {
			return n, faults, ctx.Err()
		}
		if err != nil {
			faults = append(faults, Fault{"log " + short(l.SHA256), strings.TrimPrefix(err.Error(), "log "+short(l.SHA256)+": ")})
		}
		n.Logs++
		n.Bytes += l.Bytes
	}
	more, err := a.verifySessions(ctx, &n)
	return n, append(faults, more...), err
}

// verifyDatabase looks at the structure that SQLite itself keeps.
func (a *Archive) verifyDatabase(ctx context.Context) ([]Fault, error) {
	var faults []Fault
	for _, check := range []string{"PRAGMA integrity_check", "SELECT 'a row of '||\"table\"||' points nowhere' FROM pragma_foreign_key_check"} {
		texts, err := list(ctx, a, func(text *string) []any { return []any{text} }, check)
		if err != nil {
			return nil, err
		}
		for _, text := range texts {
			if text != "ok" {
				faults = append(faults, Fault{"database", text})
			}
		}
	}
	return faults, nil
}

// hashedSheet is a sheet with the hash that it was stored with.
type hashedSheet struct {
	revision  int
	body, sha string
}

// verifySessions looks at the sheets and results of each session.
func (a *Archive) verifySessions(ctx context.Context, n *Checked) ([]Fault, error) {
	sessions, err := a.Sessions(ctx)
	if err != nil {
		return nil, err
	}
	var faults []Fault
	for _, s := range sessions {
		damaged := func(kind string, number int) {
			faults = append(faults, Fault{fmt.Sprintf("session %s, %s %d", s.ID, kind, number), errDamaged.Error()})
		}
		sheets, err := list(ctx, a, func(h *hashedSheet) []any {
			return []any{&h.revision, &h.body, &h.sha}
		}, "SELECT revision, body, sha256 FROM sheets WHERE session = ?", s.ID)
		if err != nil {
			return nil, err
		}
		found := s.Sheet == 0
		for _, h := range sheets {
			found = found || h.revision == s.Sheet
			if hashOf([]byte(h.body)) != h.sha {
				damaged("sheet", h.revision)
			}
		}
		if !found {
			faults = append(faults, Fault{"session " + s.ID, "its current sheet is missing"})
		}
		results, err := a.Results(ctx, s.ID)
		if err != nil {
			return nil, err
		}
		for _, r := range results {
			if _, err := a.Result(ctx, s.ID, r.Number); err != nil {
				damaged("result", r.Number)
			}
		}
		n.Sheets += len(sheets)
		n.Results += len(results)
	}
	return faults, nil
}
