package nmea

import (
	"bytes"
)

// parser turns bytes into sentences. Each piece has its own.
type parser struct {
	f    fields
	lib  library
	line int // lines seen in the piece
	out  []sentence
	// views are what GSA and GSV say of the sky; their sentences name them.
	views []view
	// second is the whole second of the last instant in the lines before, and seen
	// are the pages of GSV that it had; noTime after a sentence that may not count.
	second int64
	seen   [numPages]bool
}

// next returns a cleared record at the end of out.
func (p *parser) next() *sentence {
	if len(p.out) == cap(p.out) {
		p.out = append(p.out, sentence{})
	} else {
		p.out = p.out[:len(p.out)+1]
	}
	s := &p.out[len(p.out)-1]
	*s = blank
	s.line = p.line
	return s
}

// drop takes back the record that next returned.
func (p *parser) drop() { p.out = p.out[:len(p.out)-1] }

// found notes an issue at the present line.
func (p *parser) found(is issue, typ [3]byte) {
	s := p.next()
	s.kind, s.issue, s.typ = kindIssue, is, typ
}

// lines reads whole lines and appends to p.out. They are counted from 1 in the
// piece.
func (p *parser) lines(b []byte) {
	for len(b) > 0 {
		i := bytes.IndexByte(b, '\n')
		line := b
		if i >= 0 {
			line, b = b[:i], b[i+1:]
		} else {
			b = nil
		}
		p.line++
		if n := len(line); n > 0 && line[n-1] == '\r' {
			line = line[:n-1]
		}
		if !p.regular(line) {
			p.irregular(line, i >= 0)
		}
	}
}

// maxSentence bounds a sentence. The standard says 82 bytes; receivers exceed
// it, but none comes near this.
const maxSentence = 1024

// regular takes a line that is exactly one sentence with a right checksum. It
// reports false, having done nothing, for anything else.
func (p *parser) regular(line []byte) bool {
	n := len(line)
	if n < 10 || n > maxSentence || line[0] != '$' || line[n-3] != '*' {
		return false
	}
	given, ok := hexByte(line[n-2:])
	if !ok {
		return false
	}
	sum, clean := p.f.split(line[:n-3])
	if sum != given || !clean {
		return false
	}
	s := p.next()
	ok = parse(&p.f, s)
	switch s.kind {
	case kindOther, kindText, kindXDR:
		// A stray '$' inside means that two sentences have run together.
		ok = bytes.IndexByte(line[1:], '$') < 0 && (s.kind == kindOther || p.lib.read(&p.f, s))
	}
	if !ok {
		p.drop()
		return false
	}
	p.look(s)
	return true
}

// hexByte reads two hexadecimal digits.
func hexByte(p []byte) (byte, bool) {
	x, y := hexDigit[p[0]], hexDigit[p[1]]
	return x<<4 | y&15, x|y < 16
}

var hexDigit = func() (t [256]byte) {
	for i := range t {
		t[i] = 255
	}
	for i, c := range []byte("0123456789ABCDEF") {
		t[c], t[c|0x20] = byte(i), byte(i)
	}
	return t
}()

// irregular takes any other line: junk around sentences, several sentences,
// lone carriage returns, binary. ended is false for a last line without an end.
func (p *parser) irregular(line []byte, ended bool) {
	if bytes.IndexByte(line, 0) >= 0 {
		p.found(issueNUL, [3]byte{})
		line = bytes.ReplaceAll(line, []byte{0}, nil)
	}
	for {
		first, rest, more := bytes.Cut(line, []byte{'\r'})
		p.one(first, ended || more)
		if !more {
			return
		}
		if line = rest; len(line) > 0 {
			p.line++
		}
	}
}

// one takes a line without line ends in it.
func (p *parser) one(line []byte, ended bool) {
	line = bytes.Trim(line, " \t\r")
	if len(line) == 0 || p.regular(line) {
		return
	}
	if line[0] == '#' && isText(line) { // a comment; what it quotes is not data
		p.found(issueText, [3]byte{})
		return
	}
	whole, sentences, before := line, 0, false
	for len(line) > 0 {
		i := bytes.IndexAny(line, "$!")
		if i < 0 {
			break
		}
		before = before || i > 0
		var took bool
		line, took = p.candidate(line[i:], ended, before)
		if took {
			sentences++
		}
		before = !took
	}
	switch rest := bytes.TrimSpace(line); {
	case sentences == 0 && isText(whole):
		p.found(issueText, [3]byte{})
	case sentences == 0, !isText(rest):
		p.found(issueBinary, [3]byte{})
	case len(rest) > 0:
		if last := &p.out[len(p.out)-1]; last.issue != issueCut { // what is left of a cut one is no news
			p.found(issueJunkAfter, last.typ)
		}
	}
}

// isText reports whether b is printable ASCII.
func isText(b []byte) bool {
	for _, c := range b {
		if (c < ' ' || c > '~') && c != '\t' {
			return false
		}
	}
	return true
}

// candidate looks at bytes that start with '$' or '!'. It returns what follows
// and whether a sentence was there, good or bad.
func (p *parser) candidate(b []byte, ended, before bool) (rest []byte, took bool) {
	end := 1 // first byte that cannot belong to the body
	for end < len(b) && end < maxSentence && b[end] >= ' ' && b[end] <= '~' && b[end] != '*' && b[end] != '$' {
		end++
	}
	s := sentence{typ: typeOf(b[:end])}
	if s.typ[0] == 0 { // not an address: a stray dollar
		return b[end:], false
	}
	sum, _ := p.f.split(b[:end])
	s.computed = sum
	switch {
	case end+2 < len(b) && b[end] == '*':
		given, ok := hexByte(b[end+1 : end+3])
		if !ok {
			p.found(issueCut, s.typ)
			return b[end+1:], true
		}
		s.given, rest = given, b[end+3:]
		if given != sum {
			s.sum = sumWrong
		}
	case end == len(b) && ended:
		s.sum = sumMissing
	default: // another '$', binary, '*' at the end, or the log's last bytes
		p.found(issueCut, s.typ)
		if end < len(b) && b[end] != '$' && b[end] != '!' {
			end++
		}
		return b[end:], true
	}
	p.accept(&s)
	if before {
		p.found(issueJunkBefore, s.typ)
	}
	return rest, true
}

// typeOf returns the three letters of the sentence type, zeros where b does
// not start with an address.
func typeOf(b []byte) [3]byte {
	address, _, _ := bytes.Cut(b, []byte{','})
	n := len(address)
	if n < 5 || n > 16 {
		return [3]byte{}
	}
	for _, c := range address[1:] {
		if (c < 'A' || c > 'Z') && (c < '0' || c > '9') {
			return [3]byte{}
		}
	}
	return [3]byte(address[n-3:])
}

// accept reads the sentence that p.f holds, with the checksum state in from.
func (p *parser) accept(from *sentence) {
	s := p.next()
	ok := parse(&p.f, s)
	if !ok && bytes.IndexByte(p.f.b, ' ') >= 0 {
		// Some loggers pad fields with blanks.
		p.drop()
		s = p.next()
		p.f.split(bytes.ReplaceAll(p.f.b, []byte(" "), nil))
		ok = parse(&p.f, s)
	}
	s.sum = from.sum
	if s.kind == kindText || s.kind == kindXDR {
		ok = p.lib.read(&p.f, s)
	}
	if ok {
		p.look(s)
	} else {
		k := s.kind
		p.drop()
		s = p.next()
		s.kind, s.flags = k, flagUnusable
	}
	s.typ, s.sum, s.given, s.computed = from.typ, from.sum, from.given, from.computed
	p.second = noTime
}
