package gpx

import (
	"bytes"
	"context"
	"errors"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// errToken is returned when one token of the XML grows beyond its limit.
var errToken = errors.New("a tag, a text or a comment is longer than a track can have")

// source feeds the XML decoder byte by byte, so that after a syntax error
// reading can go on behind it. It counts lines, bounds the length of a token,
// and replaces bytes that XML forbids, which would otherwise end the reading.
type source struct {
	ctx      context.Context
	r        io.Reader
	buf      []byte
	i, j     int // buf[i:ready] is cleaned, buf[ready:j] not yet
	ready    int
	err      error // from r
	line     int
	token    []byte // bytes since the last token ended
	maxToken int
	read     int64  // bytes handed on the first time
	again    int64  // bytes gone back over
	replaced int    // bytes that were no XML
	hold     []byte // hold[back:] is to be read again
	back     int
}

func newSource(ctx context.Context, r io.Reader, maxToken int) *source {
	return &source{ctx: ctx, r: r, buf: make([]byte, 64<<10), line: 1, maxToken: maxToken}
}

// ReadByte implements io.ByteReader.
func (s *source) ReadByte() (byte, error) {
	if len(s.token) >= s.maxToken {
		return 0, errToken
	}
	var c byte
	if s.back < len(s.hold) {
		c = s.hold[s.back]
		s.back++
	} else {
		for s.i == s.ready {
			if err := s.fill(); err != nil {
				return 0, err
			}
		}
		c = s.buf[s.i]
		s.i++
		s.read++
	}
	s.token = append(s.token, c)
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

// fill reads more and cleans it.
func (s *source) fill() error {
	if s.err != nil && s.ready == s.j {
		return s.err
	}
	copy(s.buf, s.buf[s.ready:s.j])
	s.j -= s.ready
	s.i, s.ready = 0, 0
	s.load()
	return nil
}

// more reads on behind what is not handed on yet, and reports whether there was
// more.
func (s *source) more() bool {
	if s.err != nil {
		return false
	}
	kept := s.ready - s.i
	copy(s.buf, s.buf[s.i:s.j])
	s.j -= s.i
	s.i, s.ready = 0, kept
	s.load()
	return s.ready > kept
}

// load reads into the rest of the buffer and cleans it.
func (s *source) load() {
	if err := s.ctx.Err(); err != nil {
		s.err = err
	}
	for tries := 0; s.err == nil; tries++ {
		n, err := s.r.Read(s.buf[s.j:])
		s.j += n
		s.err = err
		if n > 0 {
			break
		}
		if tries > 100 {
			s.err = io.ErrNoProgress
		}
	}
	s.ready += s.clean(s.buf[s.ready:s.j], s.err != nil)
}

// clean replaces what XML forbids and returns how much of b is settled; a
// character cut by the end of b waits for the rest of it.
func (s *source) clean(b []byte, last bool) int {
	for i := 0; i < len(b); {
		c := b[i]
		switch {
		case c >= ' ' && c < utf8.RuneSelf, c == '\n', c == '\t', c == '\r':
			i++
		case c < ' ':
			b[i] = ' '
			s.replaced++
			i++
		default:
			r, n := utf8.DecodeRune(b[i:])
			if r == utf8.RuneError && n == 1 {
				if !last && !utf8.FullRune(b[i:]) {
					return i
				}
				b[i] = '?'
				s.replaced++
			} else if r == 0xFFFE || r == 0xFFFF {
				copy(b[i:i+n], "???")
				s.replaced += n
			}
			i += n
		}
	}
	return len(b)
}

// next lets the next token begin.
func (s *source) next() { s.token = s.token[:0] }

// unread puts bytes back to be read again.
func (s *source) unread(b []byte) {
	if s.back < len(b) { // make room in front
		rest := s.hold[s.back:]
		grown := make([]byte, 2*(len(b)+len(rest))+1024)
		s.back = len(grown) - len(rest)
		copy(grown[s.back:], rest)
		s.hold = grown
	}
	s.back -= len(b)
	copy(s.hold[s.back:], b)
	s.line -= bytes.Count(b, []byte("\n"))
}

// goBack returns to just behind the beginning of the token that failed: a
// comment or a quotation that damage opened may have swallowed many points.
// What is gone back over stays in proportion to what is read, so that no text
// can make reading slow.
func (s *source) goBack() {
	n := int64(len(s.token))
	if n < 2 || s.again+n > 2*s.read+int64(s.maxToken) {
		return
	}
	s.again += n
	s.unread(s.token[1:])
}

// skipTo moves to the next point's tag and reports whether there is one.
func (s *source) skipTo(tag string) bool {
	matched := 0
	for {
		s.next()
		c, err := s.ReadByte()
		if err != nil {
			return false
		}
		switch {
		case matched == len(tag):
			if c == ' ' || c == '\n' || c == '\r' || c == '\t' || c == '>' {
				s.unread(append([]byte(tag), c))
				s.next()
				return true
			}
			matched = 0
		case c == tag[matched]:
			matched++
			continue
		default:
			matched = 0
		}
		if c == tag[0] {
			matched = 1
		}
	}
}

// headLen is how much of the beginning is looked at for the encoding.
const headLen = 512

var encodingName = regexp.MustCompile(`^\s*<\?xml[^>]*\sencoding\s*=\s*["']([A-Za-z0-9._-]+)["']`)

// decode turns the encodings that GPX files come in into UTF-8: UTF-16 with a
// byte-order mark, and Windows-1252, of which ISO 8859-1 is a part. It returns
// the name of an encoding that it does not know.
func decode(r io.Reader) (io.Reader, string) {
	head := make([]byte, headLen)
	n, err := io.ReadFull(r, head)
	head = head[:n]
	rest := r
	if err != nil {
		if errors.Is(err, io.ErrUnexpectedEOF) {
			err = io.EOF
		}
		rest = failing{err}
	}
	whole := io.MultiReader(bytes.NewReader(head), rest)
	if bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff")) {
		d := unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder()
		return transform.NewReader(whole, d), ""
	}
	m := encodingName.FindSubmatch(head)
	if m == nil {
		return whole, ""
	}
	switch label := strings.ToLower(string(m[1])); label {
	case "utf-8", "utf8", "us-ascii", "ascii", "utf-16", "utf16":
		return whole, ""
	case "iso-8859-1", "latin1", "iso-8859-15", "windows-1252", "cp1252":
		return transform.NewReader(whole, charmap.Windows1252.NewDecoder()), ""
	default:
		return whole, label
	}
}

// failing is a reader that only fails.
type failing struct{ err error }

// Read implements io.Reader.
func (f failing) Read([]byte) (int, error) { return 0, f.err }

// exhausted reports whether everything there is has been handed on.
func (s *source) exhausted() bool {
	for s.err == nil && s.back == len(s.hold) && s.i == s.ready {
		s.fill()
	}
	return s.err != nil && s.back == len(s.hold) && s.i == s.ready && s.ready == s.j
}
