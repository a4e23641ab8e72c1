package archive

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/klauspost/compress/zstd"
)

// Result is what an analysis of a session gave, with what made it.
type Result struct {
	Number   int // counts up from 1 within a session; set by SaveResult
	Revision int // of the sheet
	Version  string
	Settings string // JSON
	Body     []byte // JSON of the schema that the body names
	Made     time.Time
}

// SaveResult keeps a result and returns its number. The same result twice in a
// row is kept once.
func (a *Archive) SaveResult(ctx context.Context, id string, r Result) (int, error) {
	body := a.enc.EncodeAll(r.Body, nil)
	sha := hashOf(r.Body)
	var number int
	err := a.change(ctx, id, func(tx *sql.Tx, _ int) error {
		var last Result
		var lastSHA string
		err := tx.QueryRowContext(ctx, "SELECT number, revision, version, settings, sha256 FROM results WHERE session = ? ORDER BY number DESC LIMIT 1", id).
			Scan(&last.Number, &last.Revision, &last.Version, &last.Settings, &lastSHA)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if last.Number > 0 && last.Revision == r.Revision && last.Version == r.Version && last.Settings == r.Settings && lastSHA == sha {
			number = last.Number
			return nil
		}
		number = last.Number + 1
		return execute(ctx, tx, `INSERT INTO results (session, number, revision, version, settings, body, bytes, sha256, made)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`, id, number, r.Revision, r.Version, r.Settings, body, len(r.Body), sha, now())
	})
	return number, err
}

// Results lists the results of a session without their bodies, the first made
// first.
func (a *Archive) Results(ctx context.Context, id string) ([]Result, error) {
	return list(ctx, a, func(r *Result) []any {
		return []any{&r.Number, &r.Revision, &r.Version, &r.Settings, stamp{&r.Made}}
	}, "SELECT number, revision, version, settings, made FROM results WHERE session = ? ORDER BY number", id)
}

// Result returns one result of a session with its body; number 0 is the newest.
func (a *Archive) Result(ctx context.Context, id string, number int) (Result, error) {
	var r Result
	var sha string
	var packed []byte
	var size int64
	err := a.db.QueryRowContext(ctx, `SELECT number, revision, version, settings, body, bytes, sha256, made FROM results
		WHERE session = ?1 AND (?2 = 0 OR number = ?2) ORDER BY number DESC LIMIT 1`, id, number).
		Scan(&r.Number, &r.Revision, &r.Version, &r.Settings, &packed, &size, &sha, stamp{&r.Made})
	if err != nil {
		return Result{}, found(err, fmt.Sprintf("%s, result %d", named(id), number))
	}
	if r.Body, err = unpack(packed, size, sha); err != nil {
		return Result{}, fmt.Errorf("%s, result %d: %w", named(id), r.Number, err)
	}
	return r, nil
}

// MostPast is how many past sessions are asked for their scatter (assumed: more change no
// digit of it).
const MostPast = 24

// Newest are the bodies of the newest results of all sessions but one, the session
// changed last first, some at most. Damaged ones are passed over: Verify names them.
func (a *Archive) Newest(ctx context.Context, but string, most int) ([][]byte, error) {
	ids, err := a.Sessions(ctx)
	if err != nil {
		return nil, err
	}
	var out [][]byte
	for _, s := range ids {
		if s.ID == but || len(out) == most {
			continue
		}
		if r, err := a.Result(ctx, s.ID, 0); err == nil {
			out = append(out, r.Body)
		}
	}
	return out, ctx.Err()
}

var errDamaged = errors.New("the stored bytes are damaged")

// unpack decompresses at most size bytes and checks their hash.
func unpack(packed []byte, size int64, sha string) ([]byte, error) {
	z, err := zstd.NewReader(bytes.NewReader(packed), zstd.WithDecoderConcurrency(1))
	if err != nil {
		return nil, err
	}
	defer z.Close()
	body, err := io.ReadAll(io.LimitReader(z, size+1))
	if err != nil || int64(len(body)) != size || hashOf(body) != sha {
		return nil, errDamaged
	}
	return body, nil
}
