package format

import (
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
	defer f.Close()
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
	r        io.Reader
	progress func(int64)
	n        int64
	buf      []byte      // being filled
	full     chan []byte // to the hashing goroutine
	free     chan []byte
	done     chan struct{}
	sum      string
	stopped  bool
}

const (
	hashBlock  = 256 << 10
	hashBlocks = 6
)

func newHashing(r io.Reader, progress func(int64)) *hashing {
	h := &hashing{r: r, progress: progress,
		full: make(chan []byte, hashBlocks), free: make(chan []byte, hashBlocks), done: make(chan struct{})}
	for range hashBlocks {
		h.free <- nil // allocated when first needed: most logs are small
	}
	go func() {
		defer close(h.done)
		s := sha256.New()
		for b := range h.full {
			s.Write(b)
			h.free <- b[:0]
		}
		h.sum = hex.EncodeToString(s.Sum(nil))
	}()
	return h
}

// Read implements io.Reader.
func (h *hashing) Read(p []byte) (int, error) {
	n, err := h.r.Read(p)
	h.n += int64(n)
	for b := p[:n]; len(b) > 0; {
		if h.buf == nil {
			if h.buf = <-h.free; h.buf == nil {
				h.buf = make([]byte, 0, hashBlock)
			}
		}
		k := min(len(b), cap(h.buf)-len(h.buf))
		h.buf = append(h.buf, b[:k]...)
		b = b[k:]
		if len(h.buf) == cap(h.buf) {
			h.full <- h.buf
			h.buf = nil
		}
	}
	if h.progress != nil && n > 0 {
		h.progress(h.n)
	}
	return n, err
}

// stop ends the goroutine; it may be called twice.
func (h *hashing) stop() {
	if h.stopped {
		return
	}
	h.stopped = true
	if len(h.buf) > 0 {
		h.full <- h.buf
		h.buf = nil
	}
	close(h.full)
	<-h.done
}

// result returns the hash and the number of bytes read.
func (h *hashing) result() (sum string, n int64) {
	h.stop()
	return h.sum, h.n
}
