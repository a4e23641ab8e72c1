package gpx

import (
	"bufio"
	"bytes"
	"cmp"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// headLen is how much of the beginning is looked at for the encoding.
const headLen = 512

var encodingName = regexp.MustCompile(`^\s*<\?xml[^>]*\sencoding\s*=\s*["']([A-Za-z0-9._-]+)["']`)

// decode turns the encodings that GPX files come in into UTF-8: UTF-16 with a
// byte-order mark, and Windows-1252, of which ISO 8859-1 is a part. It returns
// the name of an encoding that it does not know.
func decode(r io.Reader) (io.Reader, string) {
	whole := bufio.NewReaderSize(r, block)
	head, _ := whole.Peek(headLen)
	if isUTF16(head) {
		return transform.NewReader(whole, utf16.NewDecoder()), ""
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

// utf16 is that with a byte-order mark.
var utf16 = unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM)

// isUTF16 reports whether head begins with UTF-16's byte-order mark.
func isUTF16(head []byte) bool {
	return bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff"))
}

// cleaner replaces the bytes that XML forbids, which would otherwise end the
// reading.
type cleaner struct {
	transform.NopResetter
	replaced int
}

// Transform implements transform.Transformer.
func (c *cleaner) Transform(dst, src []byte, atEOF bool) (n, _ int, err error) {
	if len(dst) < len(src) {
		src, atEOF, err = src[:len(dst)], false, transform.ErrShortDst
	}
	for copy(dst, src); n < len(src); {
		b := dst[n:len(src)]
		r, size := rune(b[0]), 1
		if r >= utf8.RuneSelf {
			r, size = utf8.DecodeRune(b)
		}
		switch {
		case r == utf8.RuneError && size == 1:
			if !atEOF && !utf8.FullRune(b) {
				return n, n, cmp.Or(err, transform.ErrShortSrc)
			}
			b[0] = '?'
			c.replaced++
		case r == 0xFFFE || r == 0xFFFF:
			copy(b[:size], "???")
			c.replaced += size
		case r < ' ' && r != '\n' && r != '\t' && r != '\r':
			b[0] = ' '
			c.replaced++
		}
		n += size
	}
	return n, n, err
}
