package text

import "bytes"

// Split cuts a line into fields, appended to f. Fields are trimmed; quotes are
// taken off. A quote inside a field that did not begin with one is text, since
// degrees, minutes and seconds are written with it. The fields share memory
// with the line, except where a quoted field held a doubled quote. A delimiter
// that is a blank stands for any run of blanks and tabs.
func Split(line []byte, delim byte, f [][]byte) [][]byte {
	if delim == ' ' {
		return splitBlanks(line, f)
	}
	quoted := bytes.IndexByte(line, '"') >= 0
	for more := true; more; {
		var cell []byte
		if quoted {
			line = bytes.TrimLeft(line, " ")
		}
		if quoted && len(line) > 0 && line[0] == '"' {
			cell, line, more = unquote(line[1:], delim)
		} else {
			cell, line, more = cutAt(line, delim)
		}
		f = append(f, Trim(cell))
	}
	return f
}

// cutAt cuts b at the first sep, which ok reports.
func cutAt(b []byte, sep byte) (before, after []byte, ok bool) {
	i := bytes.IndexByte(b, sep)
	if i < 0 {
		return b, nil, false
	}
	return b[:i], b[i+1:], true
}

// unquote reads a quoted field whose opening quote is already taken. Without a
// closing quote the field ends at the next delimiter, so that one lost quote
// costs one field.
func unquote(b []byte, delim byte) (cell, rest []byte, more bool) {
	for i := 0; ; i += len(`""`) {
		j := bytes.IndexByte(b[i:], '"')
		if j < 0 {
			return cutAt(b, delim)
		}
		i += j
		if !bytes.HasPrefix(b[i:], []byte(`""`)) {
			cell = b[:i]
			if bytes.IndexByte(cell, '"') >= 0 {
				cell = bytes.ReplaceAll(cell, []byte(`""`), []byte(`"`))
			}
			_, rest, more = cutAt(b[i+1:], delim)
			return cell, rest, more
		}
	}
}

func splitBlanks(line []byte, f [][]byte) [][]byte {
	for {
		line = bytes.TrimLeft(line, " \t")
		if len(line) == 0 {
			return f
		}
		if line[0] == '"' {
			if cell, rest, closed := cutAt(line[1:], '"'); closed {
				f = append(f, Trim(cell))
				line = rest
				continue
			}
		}
		i := bytes.IndexAny(line, " \t")
		if i < 0 {
			return append(f, line)
		}
		f = append(f, line[:i])
		line = line[i:]
	}
}

// Trim takes blanks, NUL bytes and no-break spaces off both ends.
func Trim(b []byte) []byte {
	for len(b) > 0 && b[0] <= ' ' {
		b = b[1:]
	}
	for len(b) > 0 && b[len(b)-1] <= ' ' {
		b = b[:len(b)-1]
	}
	if len(b) > 1 && b[0] == 0xc2 && b[1] == 0xa0 {
		return Trim(b[2:])
	}
	if n := len(b); n > 1 && b[n-2] == 0xc2 && b[n-1] == 0xa0 {
		return Trim(b[:n-2])
	}
	return b
}

// Field gives cell i of a row, nil where it has none.
func Field(row [][]byte, i int) []byte {
	if i < 0 || i >= len(row) {
		return nil
	}
	return row[i]
}

// Column gives the cells of column i that hold something.
func Column(rows [][][]byte, i int) [][]byte {
	var out [][]byte
	for _, row := range rows {
		if c := Field(row, i); !Missing(c) {
			out = append(out, c)
		}
	}
	return out
}

// missingWords say that there is no value, voidWords that there is no fix.
var (
	missingWords = wordSet("-", "?", "*", ".", "--", "---", "na", "n/a", "#n/a", "nan", "null", "nil", "none", "inf", "-inf",
		"unknown", "invalid", "undefined", "(null)", "-nan", "<null>", "-.-", "--.-")
	voidWords = wordSet("v", "nofix", "no fix", "void", "invalid", "false", "no")
)

func wordSet(words ...string) map[string]bool {
	set := map[string]bool{}
	for _, w := range words {
		set[w] = true
	}
	return set
}

// Missing reports whether a cell says that there is no value.
func Missing(b []byte) bool { return len(b) == 0 || !isDigit(b[0]) && among(missingWords, b) }

// IsVoid reports whether a cell says that there is no fix.
func IsVoid(b []byte) bool { return len(b) > 0 && among(voidWords, b) }

// among reports whether a cell is one of the words, whatever its case. It needs
// no memory.
func among(words map[string]bool, b []byte) bool {
	var low [len("undefined")]byte // the longest word
	if len(b) > len(low) {
		return false
	}
	for i, c := range b {
		if c >= 'A' && c <= 'Z' {
			c |= 0x20
		}
		low[i] = c
	}
	return words[string(low[:len(b)])]
}
