// Package archive keeps test sessions in one embedded database: the raw logs
// byte for byte, the session sheets with every earlier state, and the results
// with the version and settings that made them.
//
// # Model
//
// A log is stored once, under the SHA-256 of its bytes, in compressed chunks of
// at most 1 MiB, so that no log is ever whole in memory. A session names logs
// and has one current sheet; an edit adds a sheet and never changes an old one,
// so that undo and redo only move a pointer.
//
// What a call has returned without an error is on disk: the database runs in
// write-ahead mode with a flush at every commit, and everything that belongs
// together is one transaction. A process killed or a disk filled at any instant
// loses only what was not yet acknowledged.
//
// # Limits
//
// A log is as large as the disk allows; a result or a sheet must fit into memory.
// Nothing is encrypted, and deleted bytes stay in the file until their room is used
// again. The folder must be on a local disk: write-ahead mode needs shared memory
// between processes, which network file systems do not give. Times are only
// stored as results; opening a session analyses the raw logs again.
package archive

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/klauspost/compress/zstd"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// ErrNotFound is returned for a session or log that the archive does not hold.
var ErrNotFound = errors.New("not in the archive")

// ErrStale is returned by Edit when the sheet was changed by somebody else
// since the caller read it.
var ErrStale = errors.New("the sheet was changed meanwhile")

// ErrFull is returned when the disk has no room. Nothing of the call was kept;
// what was acknowledged before is untouched.
var ErrFull = errors.New("no space left on the disk of the archive; nothing of this was kept, all that was stored before is safe")

// What an open database takes of the machine. All are assumed: they are far from
// where any of them is felt.
const (
	mostConnections = 4              // to the database; writers take turns, so these are readers
	busyTimeout     = "15000"        // ms that a writer waits for another process
	pageCache       = "4000"         // KiB for each connection
	journalKept     = "16777216"     // bytes of the write-ahead log left in place
	staleSpool      = 24 * time.Hour // no import takes longer
)

// Archive is an open archive. It is safe for concurrent use, also by several
// processes.
type Archive struct {
	db   *sql.DB
	path string

	write sync.Mutex // one writing transaction at a time, instead of waiting in SQLite
	enc   *zstd.Encoder
	dec   *zstd.Decoder
}

// DefaultPath is where the archive of this user lies: in $XDG_DATA_HOME or
// ~/.local/share on Linux and the BSDs, and in the user's configuration folder
// elsewhere.
func DefaultPath() (string, error) {
	base := os.Getenv("XDG_DATA_HOME")
	var err error
	switch {
	case filepath.IsAbs(base):
	case runtime.GOOS == "windows" || runtime.GOOS == "darwin":
		base, err = os.UserConfigDir()
	default:
		base, err = os.UserHomeDir()
		base = filepath.Join(base, ".local", "share")
	}
	if err != nil {
		return "", fmt.Errorf("no folder for the archive: %w; give --archive PATH", err)
	}
	return filepath.Join(base, "fromrest", "archive.db"), nil
}

// Open opens the archive at path and creates it, with its folder, if it is not
// there. An older archive is brought to the present schema in one transaction;
// a newer one and a file that is something else are refused untouched.
func Open(ctx context.Context, path string) (*Archive, error) {
	return open(ctx, path, migrations)
}

// OpenExisting is Open for commands that only look: no archive is an error that
// wraps fs.ErrNotExist.
func OpenExisting(ctx context.Context, path string) (*Archive, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("archive %s: %w", path, plain(err))
	}
	return Open(ctx, path)
}

func open(ctx context.Context, path string, steps []string) (*Archive, error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, fmt.Errorf("archive %s: %w", path, plain(err))
	}
	// Logs tell where somebody was: a new file is its owner's alone, and the database
	// gives its neighbours the same rights.
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDONLY, 0o600)
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		return nil, fmt.Errorf("archive %s: %w", path, plain(err))
	}
	db, err := sql.Open("sqlite", dsn(path))
	if err != nil {
		return nil, fmt.Errorf("archive %s: %w", path, err)
	}
	db.SetMaxOpenConns(mostConnections)
	a := &Archive{db: db, path: path}
	err = full(a.migrate(ctx, steps))
	if err == nil {
		a.enc, err = zstd.NewWriter(nil, zstd.WithWindowSize(chunkSize),
			zstd.WithEncoderConcurrency(runtime.GOMAXPROCS(0)), zstd.WithLowerEncoderMem(true))
	}
	if err == nil {
		a.dec, err = zstd.NewReader(nil, zstd.WithDecoderMaxMemory(chunkSize),
			zstd.WithDecoderConcurrency(runtime.GOMAXPROCS(0)), zstd.WithDecoderLowmem(true))
	}
	if err != nil {
		return nil, fmt.Errorf("archive %s: %w", path, errors.Join(err, db.Close()))
	}
	a.sweep()
	return a, nil
}

// dsn names the database and sets every connection up: write-ahead log, a flush
// at each commit, foreign keys, and writers that take their lock at the start
// so that no transaction fails half way.
func dsn(path string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		abs = path
	}
	abs = filepath.ToSlash(abs)
	if !strings.HasPrefix(abs, "/") {
		abs = "/" + abs // a drive letter
	}
	q := url.Values{"_pragma": {"busy_timeout(" + busyTimeout + ")", "journal_mode(WAL)", "synchronous(FULL)",
		"foreign_keys(1)", "temp_store(2)", "cache_size(-" + pageCache + ")", "journal_size_limit(" + journalKept + ")"},
		"_txlock": {"immediate"}}
	return (&url.URL{Scheme: "file", Path: abs, RawQuery: q.Encode()}).String()
}

// Path returns the file of the archive.
func (a *Archive) Path() string { return a.path }

// Close folds the write-ahead log into the file and closes it.
func (a *Archive) Close() error {
	a.dec.Close()
	return errors.Join(a.enc.Close(), a.db.Close())
}

// update runs fn in one durable transaction.
func (a *Archive) update(ctx context.Context, fn func(*sql.Tx) error) error {
	a.write.Lock()
	defer a.write.Unlock()
	tx, err := a.db.BeginTx(ctx, nil)
	if err != nil {
		return full(err)
	}
	defer func() { _ = tx.Rollback() }() // does nothing after a commit
	if err := fn(tx); err != nil {
		return full(err)
	}
	return full(tx.Commit())
}

// full turns the several ways of running out of disk into ErrFull.
func full(err error) error {
	var e *sqlite.Error
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) ||
		errors.As(err, &e) && (e.Code()&0xff == sqlite3.SQLITE_FULL) {
		return fmt.Errorf("%w (%w)", ErrFull, err)
	}
	return err
}

// plain strips the operation and the path that the caller prints itself.
func plain(err error) error {
	var pe *os.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}

// found tells of the scan of an only row that what was asked for is not there.
func found(err error, what string) error {
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("%s: %w", what, ErrNotFound)
	}
	return err
}

// list reads every row of a query; columns says where a row's values go.
func list[T any](ctx context.Context, a *Archive, columns func(*T) []any, query string, args ...any) ([]T, error) {
	rows, err := a.db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }() // rows.Err says what went wrong
	var out []T
	for rows.Next() {
		var v T
		if err := rows.Scan(columns(&v)...); err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// execute carries out one statement whose outcome is of no interest.
func execute(ctx context.Context, tx *sql.Tx, query string, args ...any) error {
	_, err := tx.ExecContext(ctx, query, args...)
	return err
}

const stampForm = "2006-01-02T15:04:05.000000Z"

func now() string { return time.Now().UTC().Format(stampForm) }

// stamp scans an instant that now has written; none is the zero time.
type stamp struct{ *time.Time }

// Scan implements sql.Scanner.
func (s stamp) Scan(v any) error {
	text, _ := v.(string)
	*s.Time, _ = time.Parse(stampForm, text)
	return nil
}

// sweep deletes what an interrupted import left behind on systems where an open
// file cannot be unlinked at once.
func (a *Archive) sweep() {
	left, _ := filepath.Glob(filepath.Join(filepath.Dir(a.path), incoming+"*"))
	for _, f := range left {
		if st, err := os.Lstat(f); err == nil && time.Since(st.ModTime()) > staleSpool {
			_ = os.Remove(f) // or the next time
		}
	}
}
