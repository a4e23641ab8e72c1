// Package text reads what stands in a table of text: lines, whatever their
// encoding and line ends, the fields of a line, and in a field a number, an
// angle, a date or a time of day.
//
// It knows nothing of columns. Numbers come as written, angles in degrees, times
// in ns; each reader says whether the field holds what was asked for, and those
// that may be followed by a unit return what follows.
//
// Limits: lines of MaxLine bytes; years from 1970 to 2200.
package text

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

const (
	// HeadSize is how much of a log is looked at before its dialect, columns and
	// clock are decided.
	HeadSize = 1 << 20
	// MaxLine is the longest line taken, in bytes: longer ones are damage, not rows.
	MaxLine = 1 << 16
	// encodingSample is how many bytes tell UTF-16 by its zero bytes.
	encodingSample = 512
)

// Lines cuts a stream into lines without copying. Line ends are LF, CR LF, or
// CR alone in a text that has no LF.
type Lines struct {
	Num   int   // 1-based number of the line last given
	Off   int64 // bytes given so far
	Long  bool  // the line last given is longer than MaxLine
	Ended bool  // the line last given had its line end
	Whole bool  // the head is all of the text
	Err   error // of the reader, other than io.EOF

	r    *bufio.Reader
	head []byte
	eol  byte
}

// NewLines reads the head of a text and finds its encoding and line end. UTF-16
// is told by its byte-order mark, or by the zero bytes of ASCII text; other 8-bit
// encodings pass through, since only header text differs in them. The error is
// the reader's.
func NewLines(r io.Reader) (*Lines, error) {
	l := &Lines{r: bufio.NewReaderSize(r, HeadSize), eol: '\n'}
	first, err := l.r.Peek(encodingSample)
	if err != nil && err != io.EOF {
		return nil, err
	}
	switch n := len(first); {
	case bytes.HasPrefix(first, []byte("\xff\xfe")), zeros(first, 1) > n/3:
		l.decode(unicode.LittleEndian)
	case bytes.HasPrefix(first, []byte("\xfe\xff")), zeros(first, 0) > n/3:
		l.decode(unicode.BigEndian)
	case bytes.HasPrefix(first, []byte("\xef\xbb\xbf")):
		if _, err := l.r.Discard(len("\xef\xbb\xbf")); err != nil {
			return nil, err
		}
	}
	l.head, err = l.r.Peek(HeadSize)
	if err != nil && err != io.EOF {
		return nil, err
	}
	l.Whole = err == io.EOF
	if bytes.IndexByte(l.head, '\n') < 0 && bytes.IndexByte(l.head, '\r') >= 0 {
		l.eol = '\r'
	}
	return l, nil
}

// decode turns the text from UTF-16 into UTF-8.
func (l *Lines) decode(order unicode.Endianness) {
	l.r = bufio.NewReaderSize(transform.NewReader(l.r, unicode.UTF16(order, unicode.UseBOM).NewDecoder()), HeadSize)
}

// zeros counts zero bytes at even (0) or odd (1) offsets where the other byte
// of the pair is not zero.
func zeros(b []byte, odd int) int {
	n := 0
	for i := odd; i < len(b); i += 2 {
		if b[i] == 0 && i^1 < len(b) && b[i^1] != 0 {
			n++
		}
	}
	return n
}

// Next gives the next line without its end, valid until the next call; of a long
// line it gives the last piece. It returns false at the end of the text.
func (l *Lines) Next() ([]byte, bool) {
	line, err := l.r.ReadSlice(l.eol)
	size := len(line)
	for errors.Is(err, bufio.ErrBufferFull) {
		line, err = l.r.ReadSlice(l.eol)
		size += len(line)
	}
	if err != nil && err != io.EOF {
		l.Err = err
	}
	if size == 0 {
		return nil, false
	}
	l.Num++
	l.Off += int64(size)
	l.Ended = err == nil
	l.Long = size > MaxLine
	if l.Ended {
		line = line[:len(line)-1]
	}
	return bytes.TrimSuffix(line, []byte{'\r'}), true
}

// Line is a line of the head.
type Line struct {
	Num     int
	Text    []byte
	Comment bool // empty, or begins with a comment sign
}

// Head returns up to limit lines of the head, without reading them; those that
// are too long are left out, and so is the last one where it may be cut.
func (l *Lines) Head(limit int) []Line {
	var out []Line
	head := l.head
	for num := 1; len(head) > 0 && len(out) < limit; num++ {
		text, rest, ended := cutAt(head, l.eol)
		if !ended && !l.Whole {
			break
		}
		text = bytes.TrimRight(text, "\r")
		if len(text) <= MaxLine {
			out = append(out, Line{num, text, IsComment(text)})
		}
		head = rest
	}
	return out
}

// IsSentences reports whether half of the head's lines begin as NMEA sentences do.
func (l *Lines) IsSentences() bool {
	n := bytes.Count(l.head, []byte{'\n'}) + bytes.Count(l.head, []byte{'\r'})
	return (bytes.Count(l.head, []byte("$G"))+bytes.Count(l.head, []byte("$P")))*3 > n && n > 0
}

// IsComment reports whether a line is empty or begins with #, %, ! or //.
func IsComment(line []byte) bool {
	line = Trim(line)
	return len(line) == 0 || line[0] == '#' || line[0] == '%' || line[0] == '!' || bytes.HasPrefix(line, []byte("//"))
}

// Decode makes header text valid UTF-8: bytes that are not are taken as Latin-1,
// and UTF-8 that was encoded twice is undone for the signs that occur in units.
func Decode(b []byte) string {
	if !utf8.Valid(b) {
		b, _ = charmap.ISO8859_1.NewDecoder().Bytes(b) // every byte is a letter of it
	}
	b = bytes.ReplaceAll(b, []byte("Â°"), []byte("°"))
	return string(bytes.ReplaceAll(b, []byte("Â²"), []byte("²")))
}

// Clip shortens a cell for a message.
func Clip(b []byte) string {
	const most = 40 // bytes, that a message stays a line
	s := Decode(b)
	if len(s) > most {
		s = s[:most] + "…"
	}
	return s
}
