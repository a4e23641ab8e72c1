package archive

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
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

// Sheet is one state of a session's sheet. A state is never changed.
type Sheet struct {
	Revision int // 0 is the empty sheet every session begins with
	Parent   int // the revision it was made from
	Body     string
	Note     string // what the edit did, in a few words
	Made     time.Time
}

// NewSession begins a session. Its id is the day and four random letters.
func (a *Archive) NewSession(ctx context.Context, title string) (Session, error) {
	s := Session{Title: title, Created: time.Now().UTC().Truncate(time.Microsecond)}
	s.Changed = s.Created
	s.ID = s.Created.Format("2006-01-02-") + strings.ToLower(rand.Text()[:5])
	at := s.Created.Format(stampForm)
	return s, a.update(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO sessions (id, title, created, changed) VALUES (?, ?, ?, ?)", s.ID, title, at, at)
		return err
	})
}

// SetTitle renames a session.
func (a *Archive) SetTitle(ctx context.Context, id, title string) error {
	return a.update(ctx, func(tx *sql.Tx) error {
		if err := needSession(ctx, tx, id); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "UPDATE sessions SET title = ?, changed = ? WHERE id = ?", title, now(), id)
		return err
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
		return Session{}, missing(id)
	}
	return list[0], nil
}

// FindSession returns the newest session of a title, or ErrNotFound.
func (a *Archive) FindSession(ctx context.Context, title string) (Session, error) {
	var id string
	err := a.db.QueryRowContext(ctx, "SELECT id FROM sessions WHERE title = ? ORDER BY created DESC LIMIT 1", title).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return Session{}, fmt.Errorf("session %q: %w", title, ErrNotFound)
	}
	if err != nil {
		return Session{}, err
	}
	return a.Session(ctx, id)
}

func (a *Archive) sessions(ctx context.Context, id string) ([]Session, error) {
	rows, err := a.db.QueryContext(ctx, `SELECT s.id, s.title, s.created, s.changed, s.sheet,
		l.sha256, l.name, l.mode, l.added, g.bytes
		FROM sessions s LEFT JOIN session_logs l ON l.session = s.id LEFT JOIN logs g ON g.sha256 = l.sha256
		WHERE ?1 = '' OR s.id = ?1 ORDER BY s.changed DESC, s.id, l.position`, id)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []Session
	for rows.Next() {
		var s Session
		var created, changed string
		var sha, name, mode, added sql.NullString
		var bytes sql.NullInt64
		if err := rows.Scan(&s.ID, &s.Title, &created, &changed, &s.Sheet, &sha, &name, &mode, &added, &bytes); err != nil {
			return nil, err
		}
		if len(out) == 0 || out[len(out)-1].ID != s.ID {
			s.Created, s.Changed = stamp(created), stamp(changed)
			out = append(out, s)
		}
		if sha.Valid {
			last := &out[len(out)-1]
			last.Logs = append(last.Logs, SessionLog{sha.String, bytes.Int64, name.String, mode.String, stamp(added.String)})
		}
	}
	return out, rows.Err()
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
			return fmt.Errorf("log %s: %w", short(sha), ErrNotFound)
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
	return a.update(ctx, func(tx *sql.Tx) error {
		if err := needSession(ctx, tx, id); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM sessions WHERE id = ?", id); err != nil {
			return err
		}
		return unused(ctx, tx)
	})
}

func unused(ctx context.Context, tx *sql.Tx) error {
	_, err := tx.ExecContext(ctx, "DELETE FROM logs WHERE sha256 NOT IN (SELECT sha256 FROM session_logs)")
	return err
}

// Sheet returns the current sheet of a session.
func (a *Archive) Sheet(ctx context.Context, id string) (Sheet, error) {
	return sheetAt(ctx, a.db, id, "(SELECT sheet FROM sessions WHERE id = ?1)")
}

// History lists every state of a session's sheet, the first edit first.
func (a *Archive) History(ctx context.Context, id string) ([]Sheet, error) {
	rows, err := a.db.QueryContext(ctx, "SELECT revision, parent, body, note, made FROM sheets WHERE session = ? ORDER BY revision", id)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []Sheet
	for rows.Next() {
		var s Sheet
		var made string
		if err := rows.Scan(&s.Revision, &s.Parent, &s.Body, &s.Note, &made); err != nil {
			return nil, err
		}
		s.Made = stamp(made)
		out = append(out, s)
	}
	return out, rows.Err()
}

// Edit makes body the session's sheet. base is the revision that the caller
// worked from; if it is no longer current nothing is changed and the error is
// ErrStale.
func (a *Archive) Edit(ctx context.Context, id string, base int, body, note string) (Sheet, error) {
	var s Sheet
	err := a.update(ctx, func(tx *sql.Tx) error {
		var current, last int
		err := tx.QueryRowContext(ctx, `SELECT sheet, (SELECT coalesce(max(revision), 0) FROM sheets WHERE session = ?1)
			FROM sessions WHERE id = ?1`, id).Scan(&current, &last)
		if errors.Is(err, sql.ErrNoRows) {
			return missing(id)
		}
		if err != nil {
			return err
		}
		if current != base {
			return ErrStale
		}
		at := now()
		s = Sheet{Revision: last + 1, Parent: current, Body: body, Note: note, Made: stamp(at)}
		if _, err := tx.ExecContext(ctx, "INSERT INTO sheets (session, revision, parent, body, sha256, note, made) VALUES (?, ?, ?, ?, ?, ?, ?)",
			id, s.Revision, s.Parent, body, hashOf([]byte(body)), note, at); err != nil {
			return err
		}
		return point(ctx, tx, id, s.Revision)
	})
	return s, err
}

// Undo goes back to the sheet that the current one was made from, and Redo to
// the newest one made from the current. Where there is none the sheet stays and
// is returned as it is.
func (a *Archive) Undo(ctx context.Context, id string) (Sheet, error) {
	return a.step(ctx, id, "SELECT parent FROM sheets WHERE session = ?1 AND revision = ?2")
}

// Redo is the inverse of Undo.
func (a *Archive) Redo(ctx context.Context, id string) (Sheet, error) {
	return a.step(ctx, id, "SELECT max(revision) FROM sheets WHERE session = ?1 AND parent = ?2 HAVING count(*) > 0")
}

func (a *Archive) step(ctx context.Context, id, query string) (Sheet, error) {
	err := a.update(ctx, func(tx *sql.Tx) error {
		var current, to int
		err := tx.QueryRowContext(ctx, "SELECT sheet FROM sessions WHERE id = ?", id).Scan(&current)
		if errors.Is(err, sql.ErrNoRows) {
			return missing(id)
		}
		if err != nil {
			return err
		}
		switch err := tx.QueryRowContext(ctx, query, id, current).Scan(&to); {
		case errors.Is(err, sql.ErrNoRows):
			return nil
		case err != nil:
			return err
		}
		return point(ctx, tx, id, to)
	})
	if err != nil {
		return Sheet{}, err
	}
	return a.Sheet(ctx, id)
}

func point(ctx context.Context, tx *sql.Tx, id string, revision int) error {
	_, err := tx.ExecContext(ctx, "UPDATE sessions SET sheet = ?, changed = ? WHERE id = ?", revision, now(), id)
	return err
}

func sheetAt(ctx context.Context, q querier, id, revision string) (Sheet, error) {
	var s Sheet
	var made string
	err := q.QueryRowContext(ctx, "SELECT revision, parent, body, note, made FROM sheets WHERE session = ?1 AND revision = "+revision, id).
		Scan(&s.Revision, &s.Parent, &s.Body, &s.Note, &made)
	if errors.Is(err, sql.ErrNoRows) {
		var n int
		if err := q.QueryRowContext(ctx, "SELECT count(*) FROM sessions WHERE id = ?", id).Scan(&n); err != nil {
			return Sheet{}, err
		}
		if n == 0 {
			return Sheet{}, missing(id)
		}
		return Sheet{}, nil
	}
	s.Made = stamp(made)
	return s, err
}

func needSession(ctx context.Context, q querier, id string) error {
	var n int
	if err := q.QueryRowContext(ctx, "SELECT count(*) FROM sessions WHERE id = ?", id).Scan(&n); err != nil {
		return err
	}
	if n == 0 {
		return missing(id)
	}
	return nil
}

func touch(ctx context.Context, tx *sql.Tx, id string) error {
	_, err := tx.ExecContext(ctx, "UPDATE sessions SET changed = ? WHERE id = ?", now(), id)
	return err
}

func missing(id string) error { return fmt.Errorf("session %q: %w", id, ErrNotFound) }

func hashOf(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}
