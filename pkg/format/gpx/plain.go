package gpx

import "bytes"

// plain reads the tokens that tracks are made of, tags with quoted attributes
// and text without entities, straight from the buffer. It stops before anything
// else, which encoding/xml then reads: both give the same tokens, so that it
// may stop between any two.
//
// It must not be called while the decoder holds back a part of a token.
func (p *parser) plain() {
	s := p.src
	for {
		s.next(false)
		b := s.win[s.pos:]
		n := 0
		switch {
		case len(b) == 0:
		case b[0] != '<':
			n = p.plainText(b)
		default:
			n = p.plainTag(b)
		}
		if n == 0 && (len(b) >= s.maxToken || !s.more()) {
			return
		}
	}
}

// plainText takes the text that begins b, and returns its length, 0 where it is
// not plain or its end is not in sight.
func (p *parser) plainText(b []byte) int {
	n := bytes.IndexByte(b, '<')
	if n < 0 || n+1 >= p.src.maxToken {
		return 0
	}
	t := b[:n]
	wanted := p.leaf != none
	if bytes.IndexByte(t, '&') >= 0 || bytes.IndexByte(t, ']') >= 0 ||
		wanted && bytes.IndexByte(t, '\r') >= 0 { // line ends are made one
		return 0
	}
	if wanted {
		p.text = append(p.text, t...)
	}
	p.src.took(n)
	return n
}

// plainTag takes the tag that begins b, and returns its length, 0 where it is
// not plain or its end is not in sight.
func (p *parser) plainTag(b []byte) int {
	end := len(b) > 1 && b[1] == '/'
	i := 1
	if end {
		i = 2
	}
	local, i := plainName(b, i)
	if i == 0 {
		return 0
	}
	p.attrs = p.attrs[:0]
	for {
		from := i
		for i < len(b) && isBlank(b[i]) {
			i++
		}
		switch {
		case i+1 >= len(b) || i+1 >= p.src.maxToken:
			return 0
		case b[i] == '>':
			p.src.took(i + 1)
			if end {
				p.end(local)
			} else {
				p.start(local, p.attrs)
			}
			return i + 1
		case b[i] == '/' && b[i+1] == '>' && !end:
			if i+2 >= p.src.maxToken {
				return 0
			}
			p.src.took(i + 2)
			p.start(local, p.attrs)
			p.end(local)
			return i + 2
		case end || i == from:
			return 0
		}
		var a attr
		if a.name, i = plainName(b, i); i == 0 {
			return 0
		}
		if a.value, i = plainValue(b, i); i == 0 {
			return 0
		}
		p.attrs = append(p.attrs, a)
	}
}

// plainName reads a name at i and returns what stands behind its prefix, and
// where it ends, 0 where it is not plain.
func plainName(b []byte, i int) (local []byte, end int) {
	from, colon := i, -1
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case c|0x20 >= 'a' && c|0x20 <= 'z', c == '_':
		case c == ':' && colon < 0 && i > from:
			colon = i
		case (c >= '0' && c <= '9' || c == '-' || c == '.') && i > from:
		case i == from || colon == i-1 || c == ':' || c >= 0x80:
			return nil, 0
		default:
			if colon >= 0 {
				from = colon + 1
			}
			return b[from:i], i
		}
	}
	return nil, 0
}

// plainValue reads a value in quotes behind an equals sign at i.
func plainValue(b []byte, i int) (value []byte, end int) {
	if i+2 >= len(b) || b[i] != '=' || b[i+1] != '"' && b[i+1] != '\'' {
		return nil, 0
	}
	quote := b[i+1]
	i += 2
	for k := i; k < len(b); k++ {
		switch b[k] {
		case quote:
			return b[i:k], k + 1
		case '<', '&', ']', '\r':
			return nil, 0
		}
	}
	return nil, 0
}

func isBlank(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }
