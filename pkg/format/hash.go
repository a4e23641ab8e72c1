package format

import (
	"bufio"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"

	"fromrest/pkg/format/can"
)

// Sum returns the SHA-256 of the file at path, in hex.
func Sum(ctx context.Context, path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", wrap(path, err)
	}
	defer func() { _ = f.Close() }() // only read
	s := sha256.New()
	buf := make([]byte, hashBlock)
	for {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		n, err := f.Read(buf)
		s.Write(buf[:n])
		if err == io.EOF {
			return hex.EncodeToString(s.Sum(nil)), nil
		}
		if err != nil {
			return "", wrap(path, err)
		}
	}
}

// SumUnpacked returns the SHA-256, in hex, of the first n bytes of a log after
// unpacking, and how many there were: fewer where the log is shorter.
func SumUnpacked(ctx context.Context, r io.Reader, n int64) (sum string, bytes int64, err error) {
	head, in, err := peek(r)
	if err != nil {
		return "", 0, err
	}
	if isZipped(head) {
		if in, err = newUnzip(head, in); err != nil {
			return "", 0, err
		}
	}
	s := sha256.New()
	for bytes < n && err == nil {
		if err := ctx.Err(); err != nil {
			return "", bytes, err
		}
		var k int64
		k, err = io.CopyN(s, in, min(hashBlock, n-bytes))
		bytes += k
	}
	if err != nil && !errors.Is(err, io.EOF) {
		return "", bytes, err
	}
	return hex.EncodeToString(s.Sum(nil)), bytes, nil
}

// ColumnsKey is a mapping of columns with, where it names a file, what the file
// holds.
func ColumnsKey(columns string) string {
	if columns == "" {
		return ""
	}
	b, err := os.ReadFile(cmp.Or(can.Database(columns), columns))
	if err != nil {
		return columns
	}
	sum := sha256.Sum256(b)
	return columns + " " + hex.EncodeToString(sum[:])
}

// hashing passes bytes on and hashes them in a goroutine of its own, so that
// the parser does not wait for the hash.
type hashing struct {
	io.Reader
	read  counter
	ahead *bufio.Writer  // before the pipe
	pipe  *io.PipeWriter // to the hashing goroutine
	done  chan struct{}
	sum   string
}

// hashBlock is what the hashing goroutine takes at once.
const hashBlock = 256 << 10 // bytes

func newHashing(r io.Reader, progress func(int64)) *hashing {
	from, to := io.Pipe()
	h := &hashing{read: counter{r: r, progress: progress}, ahead: bufio.NewWriterSize(to, hashBlock), pipe: to, done: make(chan struct{})}
	h.Reader = io.TeeReader(&h.read, h.ahead)
	go func() {
		defer close(h.done)
		s := sha256.New()
		_, _ = io.CopyBuffer(s, from, make([]byte, hashBlock)) // neither end fails
		h.sum = hex.EncodeToString(s.Sum(nil))
	}()
	return h
}

// stop ends the goroutine; it may be called twice.
func (h *hashing) stop() {
	_ = h.ahead.Flush() // the goroutine takes everything
	_ = h.pipe.Close()  // a pipe's end always closes
	<-h.done
}

// result returns the hash and the number of bytes read.
func (h *hashing) result() (sum string, n int64) {
	h.stop()
	return h.sum, h.read.n
}
