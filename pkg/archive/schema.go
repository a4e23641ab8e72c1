package archive

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// applicationID marks the file as ours: "FrRs".
const applicationID = 0x46725273

// migrations are the steps from an empty file to the present schema: step i
// leads from version i to version i+1. A published step is never edited; a
// change is a new step.
var migrations = []string{
	`CREATE TABLE logs (
		sha256 TEXT PRIMARY KEY,
		bytes  INTEGER NOT NULL,
		added  TEXT NOT NULL
	);
	CREATE TABLE chunks (
		sha256 TEXT NOT NULL REFERENCES logs ON DELETE CASCADE,
		seq    INTEGER NOT NULL,
		bytes  INTEGER NOT NULL,
		data   BLOB NOT NULL,
		UNIQUE (sha256, seq)
	);
	CREATE TABLE sessions (
		id      TEXT PRIMARY KEY,
		title   TEXT NOT NULL,
		created TEXT NOT NULL,
		changed TEXT NOT NULL,
		sheet   INTEGER NOT NULL DEFAULT 0
	);
	CREATE TABLE session_logs (
		session  TEXT NOT NULL REFERENCES sessions ON DELETE CASCADE,
		sha256   TEXT NOT NULL REFERENCES logs,
		position INTEGER NOT NULL,
		name     TEXT NOT NULL,
		mode     TEXT NOT NULL,
		added    TEXT NOT NULL,
		PRIMARY KEY (session, sha256)
	);
	CREATE INDEX session_logs_sha256 ON session_logs (sha256);
	CREATE TABLE sheets (
		session  TEXT NOT NULL REFERENCES sessions ON DELETE CASCADE,
		revision INTEGER NOT NULL,
		parent   INTEGER NOT NULL,
		body     TEXT NOT NULL,
		sha256   TEXT NOT NULL,
		note     TEXT NOT NULL,
		made     TEXT NOT NULL,
		PRIMARY KEY (session, revision)
	);
	CREATE TABLE results (
		session  TEXT NOT NULL REFERENCES sessions ON DELETE CASCADE,
		number   INTEGER NOT NULL,
		revision INTEGER NOT NULL,
		version  TEXT NOT NULL,
		settings TEXT NOT NULL,
		body     BLOB NOT NULL,
		bytes    INTEGER NOT NULL,
		sha256   TEXT NOT NULL,
		made     TEXT NOT NULL,
		PRIMARY KEY (session, number)
	);`,
	// Finished logs are remembered, so that a second call over a folder costs
	// only what changed.
	`CREATE TABLE finished (
		sha256  TEXT NOT NULL,
		version TEXT NOT NULL,
		keyhash TEXT NOT NULL,
		body    BLOB NOT NULL,
		bytes   INTEGER NOT NULL,
		bodysha TEXT NOT NULL,
		used    TEXT NOT NULL,
		PRIMARY KEY (sha256, version, keyhash)
	);`,
	// They belong into the user's cache, see package cache: what can be worked out again
	// has no place among what cannot.
	`DROP TABLE finished;`,
	// Whose edit it was, so that each undoes its own also after the program was ended.
	`ALTER TABLE sheets ADD COLUMN author TEXT NOT NULL DEFAULT '';
	ALTER TABLE sheets ADD COLUMN undoes INTEGER NOT NULL DEFAULT 0;`,
}

// migrate brings the file to the version len(steps), or refuses it.
func (a *Archive) migrate(ctx context.Context, steps []string) error {
	version, err := schemaOf(ctx, a.db, len(steps))
	if err != nil || version == len(steps) {
		return err
	}
	return a.update(ctx, func(tx *sql.Tx) error {
		// Again under the write lock: another process may have been quicker.
		version, err := schemaOf(ctx, tx, len(steps))
		if err != nil {
			return err
		}
		for v := version; v < len(steps); v++ {
			if err := execute(ctx, tx, steps[v]); err != nil {
				return fmt.Errorf("schema %d to %d: %w", v, v+1, err)
			}
		}
		return execute(ctx, tx, fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, len(steps)))
	})
}

// querier is the database or a transaction on it.
type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// schemaOf reads the schema version and refuses a database that is not ours, or newer
// than the one that this program has.
func schemaOf(ctx context.Context, q querier, have int) (int, error) {
	var id, version, tables int
	err := q.QueryRowContext(ctx, `SELECT application_id, user_version, (SELECT count(*) FROM sqlite_master)
		FROM pragma_application_id, pragma_user_version`).Scan(&id, &version, &tables)
	var e *sqlite.Error
	if errors.As(err, &e) && e.Code()&0xff == sqlite3.SQLITE_NOTADB {
		return 0, errors.New("the file is not a database")
	}
	if err != nil {
		return 0, err
	}
	if id != applicationID && (tables > 0 || version > 0) {
		return 0, errors.New("the file is a database of another program")
	}
	if version > have {
		return 0, fmt.Errorf("its schema is %d, written by a newer fromrest, and this one knows only up to %d: it was left as it is; update fromrest to open it", version, have)
	}
	return version, nil
}
