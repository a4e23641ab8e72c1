package archive

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"time"
)

// Sheet is one state of a session's sheet. A state is never changed.
type Sheet struct {
	Revision int // 0 is the empty sheet every session begins with
	Parent   int // the revision it was made from
	Body     string
	Note     string // what the edit did, in a few words
	Author   string // the page that made it, "" where not known
	Undoes   int    // the revision whose edit it takes out of a later text, 0 for none
	Made     time.Time
}

// Change is a new state of a sheet.
type Change struct {
	Base   int // the revision that the caller worked from
	Body   string
	Note   string // as in Sheet, and so are the others
	Author string
	Undoes int
}

// columns are where a row of a query on sheets goes.
func (s *Sheet) columns() []any {
	return []any{&s.Revision, &s.Parent, &s.Body, &s.Note, &s.Author, &s.Undoes, stamp{&s.Made}}
}

// Sheet returns the current sheet of a session.
func (a *Archive) Sheet(ctx context.Context, id string) (Sheet, error) {
	var s Sheet
	err := a.db.QueryRowContext(ctx, `SELECT coalesce(revision, 0), coalesce(parent, 0), coalesce(body, ''), coalesce(note, ''), coalesce(author, ''), coalesce(undoes, 0), made
		FROM sessions LEFT JOIN sheets ON session = id AND revision = sheet WHERE id = ?`, id).Scan(s.columns()...)
	return s, found(err, named(id))
}

// History lists every state of a session's sheet, the first edit first.
func (a *Archive) History(ctx context.Context, id string) ([]Sheet, error) {
	return list(ctx, a, (*Sheet).columns, "SELECT revision, parent, body, note, author, undoes, made FROM sheets WHERE session = ? ORDER BY revision", id)
}

// Edit makes the body of a change the session's sheet. If its base is no longer
// current nothing is changed and the error is ErrStale.
func (a *Archive) Edit(ctx context.Context, id string, c Change) (Sheet, error) {
	s := Sheet{Parent: c.Base, Body: c.Body, Note: c.Note, Author: c.Author, Undoes: c.Undoes, Made: time.Now().UTC().Truncate(time.Microsecond)}
	err := a.change(ctx, id, func(tx *sql.Tx, current int) error {
		if current != c.Base {
			return ErrStale
		}
		err := tx.QueryRowContext(ctx, "SELECT 1 + coalesce(max(revision), 0) FROM sheets WHERE session = ?", id).Scan(&s.Revision)
		if err != nil {
			return err
		}
		if err := execute(ctx, tx, "INSERT INTO sheets (session, revision, parent, body, sha256, note, author, undoes, made) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
			id, s.Revision, s.Parent, s.Body, hashOf([]byte(s.Body)), s.Note, s.Author, s.Undoes, s.Made.Format(stampForm)); err != nil {
			return err
		}
		return point(ctx, tx, id, s.Revision)
	})
	if err != nil {
		return Sheet{}, err
	}
	return s, nil
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
	err := a.change(ctx, id, func(tx *sql.Tx, current int) error {
		var to int
		err := tx.QueryRowContext(ctx, query, id, current).Scan(&to)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		return point(ctx, tx, id, to)
	})
	if err != nil {
		return Sheet{}, err
	}
	return a.Sheet(ctx, id)
}

// point makes a revision the current sheet.
func point(ctx context.Context, tx *sql.Tx, id string, revision int) error {
	return execute(ctx, tx, "UPDATE sessions SET sheet = ?, changed = ? WHERE id = ?", revision, now(), id)
}

func hashOf(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}
