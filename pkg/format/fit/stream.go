package fit

import (
	"bufio"
	"context"
	"errors"
	"io"
)

// window is how far a stream can look ahead: more than the longest message,
// which is a header and 255 fields of 255 bytes twice over.
const window = 1 << 18

// stream reads with look-ahead, counts bytes and keeps the checksum of what was
// passed over.
type stream struct {
	buf *bufio.Reader
	off int64 // of the next byte in the input
	crc uint16
	err error // that ended the input, io.EOF at its plain end
}

// live is a reader until its context is cancelled.
type live struct {
	ctx context.Context
	r   io.Reader
}

// Read implements io.Reader.
func (l live) Read(p []byte) (int, error) {
	if err := l.ctx.Err(); err != nil {
		return 0, err
	}
	return l.r.Read(p)
}

func newStream(ctx context.Context, r io.Reader) *stream {
	return &stream{buf: bufio.NewReaderSize(live{ctx, r}, 2*window)}
}

// peek returns the next n bytes, fewer only where the input ends. They are valid
// until the next call.
func (s *stream) peek(n int) []byte {
	if s.err != nil {
		n = min(n, s.buf.Buffered())
	}
	b, err := s.buf.Peek(n)
	if err != nil {
		s.err = err
	}
	return b
}

// skip passes over n bytes that peek has shown.
func (s *stream) skip(n int) {
	s.crc = checksum(s.crc, s.peek(n))
	_, _ = s.buf.Discard(n) // they are in the buffer
	s.off += int64(n)
}

// failed returns the error that ended the input, nil for its plain end.
func (s *stream) failed() error {
	if errors.Is(s.err, io.EOF) {
		return nil
	}
	return s.err
}

// nibbles is the table of the FIT protocol's CRC-16.
var nibbles = [16]uint16{
	0x0000, 0xCC01, 0xD801, 0x1400, 0xF001, 0x3C00, 0x2800, 0xE401,
	0xA001, 0x6C00, 0x7800, 0xB401, 0x5000, 0x9C01, 0x8801, 0x4400,
}

// tables holds the checksum's tables for eight bytes at a time.
var tables = func() (t [8][256]uint16) {
	for i := range t[0] {
		crc := nibbles[i&15]
		t[0][i] = crc>>4 ^ nibbles[crc&15] ^ nibbles[i>>4]
	}
	for i := range t[0] {
		for k := 1; k < 8; k++ {
			c := t[k-1][i]
			t[k][i] = c>>8 ^ t[0][c&0xFF]
		}
	}
	return t
}()

// checksum continues the FIT protocol's CRC-16 over b.
func checksum(crc uint16, b []byte) uint16 {
	for ; len(b) >= 8; b = b[8:] {
		crc = tables[7][byte(crc)^b[0]] ^ tables[6][byte(crc>>8)^b[1]] ^ tables[5][b[2]] ^ tables[4][b[3]] ^
			tables[3][b[4]] ^ tables[2][b[5]] ^ tables[1][b[6]] ^ tables[0][b[7]]
	}
	for _, c := range b {
		crc = crc>>8 ^ tables[0][byte(crc)^c]
	}
	return crc
}
