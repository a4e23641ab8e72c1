package fit

import (
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
	ctx  context.Context
	r    io.Reader
	buf  []byte
	i, j int
	off  int64 // of buf[i] in the input
	crc  uint16
	err  error // io.EOF at the end
}

func newStream(ctx context.Context, r io.Reader) *stream {
	return &stream{ctx: ctx, r: r, buf: make([]byte, 2*window)}
}

// peek returns the next n bytes, fewer only where the input ends.
func (s *stream) peek(n int) []byte {
	for s.j-s.i < n && s.err == nil {
		s.fill()
	}
	return s.buf[s.i:min(s.i+n, s.j)]
}

func (s *stream) fill() {
	if s.err = s.ctx.Err(); s.err != nil {
		return
	}
	if len(s.buf)-s.j < window/2 {
		copy(s.buf, s.buf[s.i:s.j])
		s.j -= s.i
		s.i = 0
	}
	for range 100 {
		n, err := s.r.Read(s.buf[s.j:])
		s.j += n
		s.err = err
		if n > 0 || err != nil {
			return
		}
	}
	s.err = io.ErrNoProgress
}

// skip passes over n bytes that peek has shown.
func (s *stream) skip(n int) {
	s.crc = checksum(s.crc, s.buf[s.i:s.i+n])
	s.i += n
	s.off += int64(n)
}

// failed returns the error that ended the input, nil for its plain end.
func (s *stream) failed() error {
	if s.err == nil || errors.Is(s.err, io.EOF) {
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
