package csv

import (
	"bytes"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// headSize is how much of a log is looked at before its dialect, columns and
// clock are decided.
const headSize = 1 << 20

// maxLine is the longest line taken: longer ones are damage, not rows.
const maxLine = 1 << 16

// utf8Reader gives the text as UTF-8 whatever it was written in: UTF-16 is told
// by its byte-order mark, or by the zero bytes of ASCII text; other 8-bit
// encodings pass through, since only header text differs in them.
func utf8Reader(r io.Reader) (io.Reader, error) {
	first := make([]byte, 512)
	n, err := io.ReadFull(r, first)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, err
	}
	first = first[:n]
	r = io.MultiReader(bytes.NewReader(first), r)
	switch {
	case bytes.HasPrefix(first, []byte("\xff\xfe")), zeros(first, 1) > n/3:
		return transform.NewReader(r, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder()), nil
	case bytes.HasPrefix(first, []byte("\xfe\xff")), zeros(first, 0) > n/3:
		return transform.NewReader(r, unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder()), nil
	case bytes.HasPrefix(first, []byte("\xef\xbb\xbf")):
		_, err := io.CopyN(io.Discard, r, 3)
		return r, err
	}
	return r, nil
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

// decodeText makes header text valid UTF-8: bytes that are not are taken as
// Latin-1, and UTF-8 that was encoded twice is undone for the signs that occur
// in units.
func decodeText(b []byte) string {
	if !utf8.Valid(b) {
		r := make([]rune, 0, len(b))
		for _, c := range b {
			r = append(r, rune(c))
		}
		b = []byte(string(r))
	}
	b = bytes.ReplaceAll(b, []byte("Â°"), []byte("°"))
	b = bytes.ReplaceAll(b, []byte("Â²"), []byte("²"))
	return string(b)
}

// lines cuts a stream into lines without copying. Line ends are LF, CR LF, or
// CR alone in a text that has no LF.
type lines struct {
	r          io.Reader
	buf        []byte
	start, end int
	eol        byte
	eof        bool
	err        error // of the reader, other than io.EOF
	num        int   // 1-based number of the line last given
	off        int64 // bytes given so far
	long       bool  // the line last given was cut at maxLine
	ended      bool  // the line last given had its line end
}

// fill reads until the buffer holds want bytes after start, or the end.
func (l *lines) fill(want int) {
	for l.end-l.start < want && !l.eof {
		if l.start > 0 {
			copy(l.buf, l.buf[l.start:l.end])
			l.end -= l.start
			l.start = 0
		}
		if l.end == len(l.buf) {
			return
		}
		n, err := l.r.Read(l.buf[l.end:])
		l.end += n
		if err != nil {
			l.eof = true
			if err != io.EOF {
				l.err = err
			}
		}
	}
}

// newLines reads the head and finds the line end in use.
func newLines(r io.Reader) *lines {
	l := &lines{r: r, buf: make([]byte, headSize), eol: '\n'}
	l.fill(headSize)
	if head := l.buf[:l.end]; bytes.IndexByte(head, '\n') < 0 && bytes.IndexByte(head, '\r') >= 0 {
		l.eol = '\r'
	}
	return l
}

// head returns the bytes held, without consuming them.
func (l *lines) head() []byte { return l.buf[l.start:l.end] }

// next gives the next line without its end, valid until the next call. It
// returns false at the end of the text.
func (l *lines) next() ([]byte, bool) {
	l.long = false
	scanned := 0
	for {
		if i := bytes.IndexByte(l.buf[l.start+scanned:l.end], l.eol); i >= 0 {
			return l.take(scanned+i, 1), true
		}
		scanned = l.end - l.start
		if scanned > maxLine && !l.skipLong() {
			return l.take(0, 0), true
		}
		if scanned > maxLine {
			scanned = 0
			continue
		}
		if l.eof {
			if scanned == 0 {
				return nil, false
			}
			return l.take(scanned, 0), true
		}
		before := l.end - l.start
		l.fill(min(len(l.buf), before+1))
		if l.end-l.start == before && !l.eof {
			l.eof = true // the reader gives nothing and no error
		}
	}
}

// skipLong passes over the rest of a line that is too long, keeping its line
// end for the caller. It reports whether a line end follows.
func (l *lines) skipLong() bool {
	l.long = true
	for {
		if i := bytes.IndexByte(l.buf[l.start:l.end], l.eol); i >= 0 {
			l.off += int64(i)
			l.start += i
			return true
		}
		l.off += int64(l.end - l.start)
		l.start, l.end = 0, 0
		if l.eof {
			return false
		}
		l.fill(1)
	}
}

func (l *lines) take(n, eol int) []byte {
	b := l.buf[l.start : l.start+n]
	l.start += n + eol
	l.off += int64(n + eol)
	l.num++
	l.ended = eol > 0
	if n > 0 && b[n-1] == '\r' {
		b = b[:n-1]
	}
	return b
}
