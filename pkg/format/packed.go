package format

import (
	"bytes"
	"compress/bzip2"
	"compress/gzip"
	"errors"
	"io"

	"github.com/klauspost/compress/zstd"
)

// packings are how a log may be compressed, by its first bytes.
var packings = []struct {
	name, magic string
	open        func(io.Reader) (io.Reader, error)
}{
	{"gzip", "\x1f\x8b", func(r io.Reader) (io.Reader, error) { return gzip.NewReader(r) }},
	{"zstd", "\x28\xb5\x2f\xfd", func(r io.Reader) (io.Reader, error) {
		// One goroutine, so that nothing has to be closed.
		return zstd.NewReader(r, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(mostWindow))
	}},
	{"bzip2", "BZh", func(r io.Reader) (io.Reader, error) { return bzip2.NewReader(r), nil }},
}

// packing is the index in packings of a log that begins with head, -1 for none.
func packing(head []byte) int {
	for i, p := range packings {
		if bytes.HasPrefix(head, []byte(p.magic)) {
			return i
		}
	}
	return -1
}

// isZipped reports whether a log that begins with head is compressed.
func isZipped(head []byte) bool { return packing(head) >= 0 }

var (
	errCut  = errors.New("the compressed log is cut off")
	errBomb = errors.New("the compressed log grows beyond reason")
)

// unzip decompresses and refuses what grows beyond reason. It takes a log that is
// cut off for one that ends there, and says so in cut.
type unzip struct {
	z   io.Reader
	in  counter
	out int64
	cut bool
}

// newUnzip unpacks r, which begins with head.
func newUnzip(head []byte, r io.Reader) (u *unzip, err error) {
	u = &unzip{in: counter{r: r}}
	u.z, err = packings[packing(head)].open(&u.in)
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = errCut
	}
	return u, err
}

// Read implements io.Reader.
func (u *unzip) Read(p []byte) (int, error) {
	n, err := u.z.Read(p)
	u.out += int64(n)
	if grows(u.out, u.in.n) {
		return n, errBomb
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		u.cut, err = true, io.EOF
	}
	return n, err
}

// grows reports whether out bytes are more than in bytes of a log unpack to.
func grows(out, in int64) bool { return out > unzipFree && out > unzipRatio*in }

// guarded is a member of an archive of which packed bytes are known.
type guarded struct {
	io.Reader
	packed, out int64
}

// Read implements io.Reader.
func (g *guarded) Read(p []byte) (int, error) {
	n, err := g.Reader.Read(p)
	if g.out += int64(n); grows(g.out, g.packed) {
		return n, errBomb
	}
	return n, err
}

// counter counts the bytes that are read.
type counter struct {
	r        io.Reader
	n        int64
	progress func(n int64) // may be nil
}

// Read implements io.Reader.
func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	if c.progress != nil && n > 0 {
		c.progress(c.n)
	}
	return n, err
}
