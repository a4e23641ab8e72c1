package gpx

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"io"
)

// errToken is returned when one token of the XML grows beyond its limit.
var errToken = errors.New("a tag, a text or a comment is longer than a track can have")

// source feeds the XML decoder byte by byte, so that after a syntax error
// reading can go on behind it. It counts lines, bounds the length of a token,
// and keeps the token that is being read in sight, to go back to its beginning.
type source struct {
	ctx        context.Context
	r          *bufio.Reader // of clean UTF-8
	win        []byte        // what is in sight of it
	start, pos int           // win[start:pos] is the token, as far as it is read
	base       int64         // of win[0] in the text
	err        error         // from r, or of a ctx that is cancelled
	line       int           // at pos
	maxToken   int
	furthest   int64 // position reached before going back
	again      int64 // bytes gone back over
}

// block is how much is read at once.
const block = 64 << 10

func newSource(ctx context.Context, r io.Reader, maxToken int) *source {
	return &source{ctx: ctx, r: bufio.NewReaderSize(r, maxToken+block), line: 1, maxToken: maxToken}
}

// token returns what is read of the token.
func (s *source) token() []byte { return s.win[s.start:s.pos] }

// next lets the next token begin, ahead where one byte of it is read already.
func (s *source) next(ahead bool) {
	s.start = s.pos
	if ahead {
		s.start--
	}
}

// more brings more into sight and reports whether there was any. It moves win.
func (s *source) more() bool {
	if s.err = cmp.Or(s.err, s.ctx.Err()); s.err != nil {
		return false
	}
	_, _ = s.r.Discard(s.start) // it is in the buffer
	s.base += int64(s.start)
	s.win, s.pos, s.start = s.win[s.start:], s.pos-s.start, 0
	_, s.err = s.r.Peek(len(s.win) + 1)
	s.win, _ = s.r.Peek(s.r.Buffered())
	return s.err == nil
}

// took passes over the n bytes of a token.
func (s *source) took(n int) {
	s.line += bytes.Count(s.win[s.pos:s.pos+n], []byte{'\n'})
	s.pos += n
	s.start = s.pos
}

// ReadByte implements io.ByteReader.
func (s *source) ReadByte() (byte, error) {
	if s.pos-s.start >= s.maxToken {
		return 0, errToken
	}
	if s.pos == len(s.win) && !s.more() {
		return 0, s.err
	}
	c := s.win[s.pos]
	s.pos++
	if c == '\n' {
		s.line++
	}
	return c, nil
}

// Read implements io.Reader for the decoder's conversions of encodings.
func (s *source) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	c, err := s.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = c
	return 1, nil
}

// read returns how much of the text has been read.
func (s *source) read() int64 { return max(s.furthest, s.base+int64(s.pos)) }

// goBack returns to just behind the beginning of the token that failed: a
// comment or a quotation that damage opened may have swallowed many points.
// What is gone back over stays in proportion to what is read, so that no text
// can make reading slow.
func (s *source) goBack() {
	t := s.token()
	s.furthest = s.read()
	if n := int64(len(t)); n >= 2 && s.again+n <= 2*s.furthest+int64(s.maxToken) {
		s.again += n
		s.line -= bytes.Count(t[1:], []byte{'\n'})
		s.pos = s.start + 1
	}
}

// skipTo moves to the next point's tag and reports whether there is one.
func (s *source) skipTo(tag string) bool {
	for {
		s.next(false)
		b := s.win[s.pos:]
		i := bytes.Index(b, []byte(tag))
		switch end := i + len(tag); {
		case i < 0:
			s.took(max(0, len(b)-len(tag)+1))
		case end == len(b): // what follows is not in sight
			s.took(i)
		case isBlank(b[end]) || b[end] == '>':
			s.took(i)
			return true
		default:
			s.took(end)
			continue
		}
		if !s.more() {
			s.took(len(s.win) - s.pos)
			return false
		}
	}
}

// exhausted reports whether everything there is has been handed on.
func (s *source) exhausted() bool { return s.pos == len(s.win) && !s.more() }
