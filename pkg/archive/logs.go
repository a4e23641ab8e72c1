package archive

import (
	"bufio"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"time"
)

// chunkSize is the most of a log that one row holds before compression.
const chunkSize = 1 << 20

// incoming is how the name of a spool file begins.
const incoming = "incoming-"

// Stored is what became of an imported log.
type Stored struct {
	SHA256 string // hex, of the raw bytes
	Bytes  int64
	Known  bool // the archive had the same bytes already
	// InSession is set when the session had the log already; it was not added
	// again, and keeps its name and mode.
	InSession bool
}

// Import reads a log to its end and puts it in a session under a name and a
// mode. When it returns without an error the log is on disk. Nothing of it is
// kept otherwise. The reader may be slow: the database is only locked once all
// bytes are here.
func (a *Archive) Import(ctx context.Context, session, name, mode string, r io.Reader) (Stored, error) {
	sp, err := a.spool(ctx, r)
	if err != nil {
		return Stored{}, full(err)
	}
	defer sp.close()
	st := Stored{SHA256: sp.sha, Bytes: sp.bytes}
	err = a.change(ctx, session, func(tx *sql.Tx, _ int) error {
		if err := tx.QueryRowContext(ctx, "SELECT count(*) > 0 FROM logs WHERE sha256 = ?", sp.sha).Scan(&st.Known); err != nil {
			return err
		}
		if !st.Known {
			if err := sp.store(ctx, tx); err != nil {
				return err
			}
		}
		res, err := tx.ExecContext(ctx, `INSERT INTO session_logs (session, sha256, position, name, mode, added)
			SELECT ?1, ?2, 1 + coalesce(max(position), 0), ?3, ?4, ?5 FROM session_logs WHERE session = ?1
			ON CONFLICT DO NOTHING`, session, sp.sha, name, mode, now())
		if err != nil {
			return err
		}
		added, err := res.RowsAffected()
		st.InSession = added == 0
		if err != nil || st.InSession {
			return err
		}
		return touch(ctx, tx, session)
	})
	if err != nil {
		return Stored{}, err
	}
	return st, nil
}

// spooled is a log on its way in: compressed chunks in a file beside the
// database, each after its raw and packed length.
type spooled struct {
	f     *os.File
	sha   string
	bytes int64
}

// close lets go of the spool, of which nothing is needed any more.
func (s *spooled) close() {
	_ = s.f.Close()
	_ = os.Remove(s.f.Name())
}

// spool compresses r into a file and hashes it on the way.
func (a *Archive) spool(ctx context.Context, r io.Reader) (*spooled, error) {
	f, err := os.CreateTemp(filepath.Dir(a.path), incoming)
	if err != nil {
		return nil, err
	}
	// Where an open file can be unlinked nothing is left after a crash;
	// elsewhere close removes it, or a later Open.
	_ = os.Remove(f.Name())
	s := &spooled{f: f}
	err = a.fill(ctx, s, r)
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		s.close()
		return nil, err
	}
	return s, nil
}

func (a *Archive) fill(ctx context.Context, s *spooled, r io.Reader) error {
	hash := sha256.New()
	buf := make([]byte, chunkSize)
	var packed []byte
	var head [8]byte
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := fillBuffer(r, buf)
		if err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		if n > 0 {
			hash.Write(buf[:n])
			s.bytes += int64(n)
			packed = a.enc.EncodeAll(buf[:n], packed[:0])
			binary.LittleEndian.PutUint32(head[:4], uint32(n))
			binary.LittleEndian.PutUint32(head[4:], uint32(len(packed)))
			if _, err := s.f.Write(head[:]); err != nil {
				return err
			}
			if _, err := s.f.Write(packed); err != nil {
				return err
			}
		}
		if err != nil {
			s.sha = hex.EncodeToString(hash.Sum(nil))
			return nil
		}
	}
}

// fillBuffer reads until buf is full or r ends. Unlike io.ReadFull it keeps the
// true end, io.EOF, apart from a connection that was cut, which an HTTP body
// reports as io.ErrUnexpectedEOF.
func fillBuffer(r io.Reader, buf []byte) (n int, err error) {
	for n < len(buf) && err == nil {
		var k int
		k, err = r.Read(buf[n:])
		n += k
	}
	if n == len(buf) && errors.Is(err, io.EOF) {
		return n, io.EOF
	}
	return n, err
}

// store copies the spooled chunks into the database.
func (s *spooled) store(ctx context.Context, tx *sql.Tx) error {
	if err := execute(ctx, tx, "INSERT INTO logs (sha256, bytes, added) VALUES (?, ?, ?)", s.sha, s.bytes, now()); err != nil {
		return err
	}
	ins, err := tx.PrepareContext(ctx, "INSERT INTO chunks (sha256, seq, bytes, data) VALUES (?, ?, ?, ?)")
	if err != nil {
		return err
	}
	defer func() { _ = ins.Close() }()
	r := bufio.NewReader(s.f)
	var head [8]byte
	var data []byte
	for seq := 0; ; seq++ {
		if _, err := io.ReadFull(r, head[:]); err != nil {
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
		n := int(binary.LittleEndian.Uint32(head[4:]))
		data = append(data[:0], make([]byte, n)...)
		if _, err := io.ReadFull(r, data); err != nil {
			return err
		}
		if _, err := ins.ExecContext(ctx, s.sha, seq, binary.LittleEndian.Uint32(head[:4]), data); err != nil {
			return err
		}
	}
}

// OpenLog reads a stored log from its beginning, a chunk at a time. The reader
// returns an error at the end if the bytes do not have the log's hash.
func (a *Archive) OpenLog(ctx context.Context, sha string) (io.ReadCloser, error) {
	var size int64
	err := a.db.QueryRowContext(ctx, "SELECT bytes FROM logs WHERE sha256 = ?", sha).Scan(&size)
	if err != nil {
		return nil, found(err, "log "+short(sha))
	}
	return &logReader{a: a, ctx: ctx, sha: sha, size: size, hash: sha256.New()}, nil
}

type logReader struct {
	a    *Archive
	ctx  context.Context
	sha  string
	size int64
	seq  int
	left []byte
	buf  []byte
	got  int64
	err  error
	hash hash.Hash
}

// Read implements io.Reader.
func (r *logReader) Read(p []byte) (int, error) {
	for len(r.left) == 0 && r.err == nil {
		r.err = r.next()
	}
	if len(r.left) == 0 {
		return 0, r.err
	}
	n := copy(p, r.left)
	r.left = r.left[n:]
	return n, nil
}

func (r *logReader) next() error {
	var data []byte
	var size int
	err := r.a.db.QueryRowContext(r.ctx, "SELECT bytes, data FROM chunks WHERE sha256 = ? AND seq = ?", r.sha, r.seq).Scan(&size, &data)
	if errors.Is(err, sql.ErrNoRows) {
		if got := hex.EncodeToString(r.hash.Sum(nil)); got != r.sha || r.got != r.size {
			return fmt.Errorf("log %s: the stored bytes are damaged: %d of %d bytes, SHA-256 %s", short(r.sha), r.got, r.size, short(got))
		}
		return io.EOF
	}
	if err != nil {
		return err
	}
	r.buf, err = r.a.dec.DecodeAll(data, r.buf[:0])
	if err != nil || len(r.buf) != size {
		return fmt.Errorf("log %s: the stored bytes are damaged at chunk %d", short(r.sha), r.seq)
	}
	r.seq++
	r.got += int64(len(r.buf))
	r.hash.Write(r.buf)
	r.left = r.buf
	return nil
}

// Close implements io.Closer.
func (r *logReader) Close() error {
	r.left, r.buf, r.err = nil, nil, os.ErrClosed
	return nil
}

// LogInfo describes a stored log.
type LogInfo struct {
	SHA256   string
	Bytes    int64 // raw
	Packed   int64 // bytes in the database
	Added    time.Time
	Sessions int // how many sessions use it
}

// Logs lists all stored logs, the oldest first.
func (a *Archive) Logs(ctx context.Context) ([]LogInfo, error) {
	return list(ctx, a, func(l *LogInfo) []any {
		return []any{&l.SHA256, &l.Bytes, stamp{&l.Added}, &l.Packed, &l.Sessions}
	}, `SELECT l.sha256, l.bytes, l.added,
		(SELECT coalesce(sum(length(data)), 0) FROM chunks c WHERE c.sha256 = l.sha256),
		(SELECT count(*) FROM session_logs s WHERE s.sha256 = l.sha256)
		FROM logs l ORDER BY l.added, l.sha256`)
}

func short(sha string) string {
	if len(sha) > 12 {
		return sha[:12] + "…"
	}
	return sha
}
