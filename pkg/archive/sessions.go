package archive

import (
	"context"
	"crypto/rand"
	"database/sql"
	"fmt"
	"strings"
	"time"
)

// Session is one test session of the archive.
type Session struct {
	ID      string
	Title   string
	Created time.Time
	Changed time.Time
	Sheet   int // current revision of the sheet; 0 is the empty sheet
	Logs    []SessionLog
}

// SessionLog is a log as one session knows it.
type SessionLog struct {
	SHA256 string
	Bytes  int64
	Name   string // file name as it was dropped
	Mode   string // drive mode by the folder or the answer given, "" if none
	Added  time.Time
}

// NewSession begins a session. Its id is the day and five random letters or digits.
func (a *Archive) NewSession(ctx context.Context, title string) (Session, error) {
	s := Session{Title: title, Created: time.Now().UTC().Truncate(time.Microsecond)}
	s.Changed = s.Created
	s.ID = s.Created.Format("2006-01-02-") + strings.ToLower(rand.Text()[:5])
	at := s.Created.Format(stampForm)
	return s, a.update(ctx, func(tx *sql.Tx) error {
		return execute(ctx, tx, "INSERT INTO sessions (id, title, created, changed) VALUES (?, ?, ?, ?)", s.ID, title, at, at)
	})
}

// change runs fn in one durable transaction on a session that must exist; current
// is the revision of its sheet.
func (a *Archive) change(ctx context.Context, id string, fn func(tx *sql.Tx, current int) error) error {
	return a.update(ctx, func(tx *sql.Tx) error {
		var current int
		err := tx.QueryRowContext(ctx, "SELECT sheet FROM sessions WHERE id = ?", id).Scan(&current)
		if err != nil {
			return found(err, named(id))
		}
		return fn(tx, current)
	})
}

// SetTitle renames a session.
func (a *Archive) SetTitle(ctx context.Context, id, title string) error {
	return a.change(ctx, id, func(tx *sql.Tx, _ int) error {
		return execute(ctx, tx, "UPDATE sessions SET title = ?, changed = ? WHERE id = ?", title, now(), id)
	})
}

// Sessions lists all sessions with their logs, the one changed last first.
func (a *Archive) Sessions(ctx context.Context) ([]Session, error) {
	return a.sessions(ctx, "")
}

// Session returns one session.
func (a *Archive) Session(ctx context.Context, id string) (Session, error) {
	list, err := a.sessions(ctx, id)
	if err != nil {
		return Session{}, err
	}
	if id == "" || len(list) == 0 {
		return Session{}, found(sql.ErrNoRows, named(id))
	}
	return list[0], nil
}

// FindSession returns the newest session of a title, or ErrNotFound.
func (a *Archive) FindSession(ctx context.Context, title string) (Session, error) {
	var id string
	err := a.db.QueryRowContext(ctx, "SELECT id FROM sessions WHERE title = ? ORDER BY created DESC LIMIT 1", title).Scan(&id)
	if err != nil {
		return Session{}, found(err, named(title))
	}
	return a.Session(ctx, id)
}

func (a *Archive) sessions(ctx context.Context, id string) ([]Session, error) {
	type joined struct {
		s Session
		l SessionLog // one of its logs, nothing where it has none
	}
	rows, err := list(ctx, a, func(j *joined) []any {
		return []any{&j.s.ID, &j.s.Title, stamp{&j.s.Created}, stamp{&j.s.Changed}, &j.s.Sheet,
			&j.l.SHA256, &j.l.Name, &j.l.Mode, stamp{&j.l.Added}, &j.l.Bytes}
	}, `SELECT s.id, s.title, s.created, s.changed, s.sheet, coalesce(l.sha256, ''), coalesce(l.name, ''), coalesce(l.mode, ''), l.added, coalesce(g.bytes, 0)
		FROM sessions s LEFT JOIN session_logs l ON l.session = s.id LEFT JOIN logs g ON g.sha256 = l.sha256
		WHERE ?1 = '' OR s.id = ?1 ORDER BY s.changed DESC, s.id, l.position`, id)
	var out []Session
	for _, r := range rows {
		if len(out) == 0 || out[len(out)-1].ID != r.s.ID {
			out = append(out, r.s)
		}
		if last := &out[len(out)-1]; r.l.SHA256 != "" {
			last.Logs = append(last.Logs, r.l)
		}
	}
	return out, err
}

// DropLog takes a log out of a session and deletes its bytes if no other
// session uses them.
func (a *Archive) DropLog(ctx context.Context, id, sha string) error {
	return a.update(ctx, func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, "DELETE FROM session_logs WHERE session = ? AND sha256 = ?", id, sha)
		if err != nil {
			return err
		}
		if n, _ := res.RowsAffected(); n == 0 {
			return found(sql.ErrNoRows, "log "+short(sha))
		}
		if err := touch(ctx, tx, id); err != nil {
			return err
		}
		return unused(ctx, tx)
	})
}

// Remove deletes a session with its sheets and results, and the logs that no
// other session uses. The room is given back to the database, not to the disk.
func (a *Archive) Remove(ctx context.Context, id string) error {
	return a.change(ctx, id, func(tx *sql.Tx, _ int) error {
		if err := execute(ctx, tx, "DELETE FROM sessions WHERE id = ?", id); err != nil {
			return err
		}
		return unused(ctx, tx)
	})
}

// unused deletes the logs that no session uses.
func unused(ctx context.Context, tx *sql.Tx) error {
	return execute(ctx, tx, "DELETE FROM logs WHERE sha256 NOT IN (SELECT sha256 FROM session_logs)")
}

func touch(ctx context.Context, tx *sql.Tx, id string) error {
	return execute(ctx, tx, "UPDATE sessions SET changed = ? WHERE id = ?", now(), id)
}

// named is how errors call a session.
func named(id string) string { return fmt.Sprintf("session %q", id) }
