package csv

import "bytes"

// split cuts a line into fields, appended to f. Fields are trimmed; quotes are
// taken off. A quote inside a field that did not begin with one is text, since
// degrees, minutes and seconds are written with it. The fields share memory
// with the line, except where a quoted field held a doubled quote.
func split(line []byte, delim byte, f [][]byte) [][]byte {
	if delim == ' ' {
		return splitSpaces(line, f)
	}
	if bytes.IndexByte(line, '"') >= 0 {
		return splitQuoted(line, delim, f)
	}
	for {
		i := bytes.IndexByte(line, delim)
		if i < 0 {
			return append(f, trim(line))
		}
		f = append(f, trim(line[:i]))
		line = line[i+1:]
	}
}

// splitSpaces takes any run of blanks and tabs as one delimiter.
func splitSpaces(line []byte, f [][]byte) [][]byte {
	for {
		line = bytes.TrimLeft(line, " \t")
		if len(line) == 0 {
			return f
		}
		if line[0] == '"' {
			if j := bytes.IndexByte(line[1:], '"'); j >= 0 {
				f = append(f, trim(line[1:1+j]))
				line = line[j+2:]
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

func splitQuoted(line []byte, delim byte, f [][]byte) [][]byte {
	for {
		for len(line) > 0 && line[0] == ' ' && delim != ' ' {
			line = line[1:]
		}
		if len(line) == 0 || line[0] != '"' {
			i := bytes.IndexByte(line, delim)
			if i < 0 {
				return append(f, trim(line))
			}
			f = append(f, trim(line[:i]))
			line = line[i+1:]
			continue
		}
		field, rest, more := unquote(line[1:], delim)
		f = append(f, trim(field))
		if !more {
			return f
		}
		line = rest
	}
}

// unquote reads a quoted field whose opening quote is already taken. Without a
// closing quote the field ends at the next delimiter, so that one lost quote
// costs one field.
func unquote(b []byte, delim byte) (field, rest []byte, more bool) {
	i, doubled := 0, false
	for {
		j := bytes.IndexByte(b[i:], '"')
		if j < 0 {
			j = bytes.IndexByte(b, delim)
			if j < 0 {
				return b, nil, false
			}
			return b[:j], b[j+1:], true
		}
		i += j
		if i+1 < len(b) && b[i+1] == '"' {
			doubled = true
			i += 2
			continue
		}
		break
	}
	field, rest = b[:i], b[i+1:]
	if doubled {
		field = bytes.ReplaceAll(field, []byte(`""`), []byte(`"`))
	}
	j := bytes.IndexByte(rest, delim)
	if j < 0 {
		return field, nil, false
	}
	return field, rest[j+1:], true
}

// trim takes blanks, NUL bytes and no-break spaces off both ends.
func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] <= ' ') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] <= ' ') {
		b = b[:len(b)-1]
	}
	if len(b) > 1 && b[0] == 0xc2 && b[1] == 0xa0 {
		return trim(b[2:])
	}
	if n := len(b); n > 1 && b[n-2] == 0xc2 && b[n-1] == 0xa0 {
		return trim(b[:n-2])
	}
	return b
}
