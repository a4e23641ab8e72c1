package format

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
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

// ColumnsKey is a mapping of columns with, where it names a file, what the file
// holds.
func ColumnsKey(columns string) string {
	if columns == "" {
		return ""
	}
	b, err := os.ReadFile(columns)
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
	read    counter
	out     *bufio.Writer // to the hashing goroutine
	full    blocks
	done    chan struct{}
	sum     string
	stopped bool
}

const (
	hashBlock  = 256 << 10 // bytes
	hashBlocks = 6
)

// blocks hands copies of what is written to a goroutine and takes them back.
type blocks struct{ full, free chan []byte }

// Write implements io.Writer.
func (b blocks) Write(p []byte) (int, error) {
	b.full <- append(<-b.free, p...)
	return len(p), nil
}

func newHashing(r io.Reader, progress func(int64)) *hashing {
	h := &hashing{read: counter{r: r, progress: progress}, done: make(chan struct{}),
		full: blocks{make(chan []byte, hashBlocks), make(chan []byte, hashBlocks)}}
	h.out = bufio.NewWriterSize(h.full, hashBlock)
	h.Reader = io.TeeReader(&h.read, h.out)
	for range hashBlocks {
		h.full.free <- nil // allocated when first needed: most logs are small
	}
	go func() {
		defer close(h.done)
		s := sha256.New()
		for b := range h.full.full {
			s.Write(b)
			h.full.free <- b[:0]
		}
		h.sum = hex.EncodeToString(s.Sum(nil))
	}()
	return h
}

// stop ends the goroutine; it may be called twice.
func (h *hashing) stop() {
	if h.stopped {
		return
	}
	h.stopped = true
	_ = h.out.Flush() // blocks take everything
	close(h.full.full)
	<-h.done
}

// result returns the hash and the number of bytes read.
func (h *hashing) result() (sum string, n int64) {
	h.stop()
	return h.sum, h.read.n
}
