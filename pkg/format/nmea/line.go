package nmea

import (
	"bytes"
)

// parser turns bytes into sentences. Each goroutine has its own.
type parser struct {
	f    fields
	lib  library
	line int // lines seen in the chunk
	out  []sentence
	tmp  []byte
}

// next returns a cleared record at the end of out.
func (p *parser) next() *sentence {
	if len(p.out) == cap(p.out) {
		p.out = append(p.out, sentence{})
	} else {
		p.out = p.out[:len(p.out)+1]
	}
	s := &p.out[len(p.out)-1]
	s.reset()
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

// parse reads whole lines and appends to p.out. Lines are counted from 1 in
// the chunk.
func (p *parser) parse(b []byte) {
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
	given, ok := hex(line[n-2], line[n-1])
	if !ok {
		return false
	}
	sum, clean := p.f.split(line[:n-3])
	if sum != given || !clean {
		return false
	}
	s := p.next()
	switch parse(&p.f, s) {
	case taken:
		return true
	case refused:
		p.drop()
		return false
	}
	if s.kind == kindXDR || s.kind == kindText {
		p.drop()
		return false
	}
	// A type that carries nothing a recording holds; a stray '$' inside means
	// that two sentences have run together.
	if bytes.IndexByte(line[1:], '$') >= 0 {
		p.drop()
		return false
	}
	return true
}

// hex reads two hexadecimal digits.
func hex(a, b byte) (byte, bool) {
	x, y := hexDigit[a], hexDigit[b]
	return x<<4 | y&15, x|y < 16
}

var hexDigit = func() (t [256]byte) {
	for i := range t {
		t[i] = 255
	}
	for i := range 10 {
		t['0'+i] = byte(i)
	}
	for i := range 6 {
		t['A'+i], t['a'+i] = byte(10+i), byte(10+i)
	}
	return t
}()

// irregular takes any other line: junk around sentences, several sentences,
// lone carriage returns, binary. ended is false for a last line without an end.
func (p *parser) irregular(line []byte, ended bool) {
	if bytes.IndexByte(line, 0) >= 0 {
		p.tmp = p.tmp[:0]
		for _, c := range line {
			if c != 0 {
				p.tmp = append(p.tmp, c)
			}
		}
		p.found(issueNUL, [3]byte{})
		line = p.tmp
	}
	for {
		i := bytes.IndexByte(line, '\r')
		if i < 0 {
			p.one(line, ended)
			return
		}
		p.one(line[:i], true)
		line = line[i+1:]
		if len(line) > 0 {
			p.line++
		}
	}
}

// one takes a line without line ends in it.
func (p *parser) one(line []byte, ended bool) {
	line = bytes.Trim(line, " \t\r")
	if len(line) == 0 {
		return
	}
	if p.regular(line) {
		return
	}
	if line[0] == '#' { // a comment; what it quotes is not data
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
		given, ok := hex(b[end+1], b[end+2])
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
	comma := bytes.IndexByte(b, ',')
	if comma < 0 {
		comma = len(b)
	}
	if comma < 5 || comma > 16 {
		return [3]byte{}
	}
	for _, c := range b[1:comma] {
		if (c < 'A' || c > 'Z') && (c < '0' || c > '9') {
			return [3]byte{}
		}
	}
	return [3]byte{b[comma-3], b[comma-2], b[comma-1]}
}

// accept reads the sentence that p.f holds, with the checksum state in from:
// first by hand, then by the library.
func (p *parser) accept(from *sentence) {
	s := p.next()
	v := parse(&p.f, s)
	if v == refused && bytes.IndexByte(p.f.b, ' ') >= 0 {
		// Some loggers pad fields with blanks.
		k := s.line
		s.reset()
		s.line = k
		p.f.split(bytes.ReplaceAll(p.f.b, []byte(" "), nil))
		v = parse(&p.f, s)
	}
	if v != taken && (from.sum == sumRight || s.kind != kindOther) {
		v = p.lib.read(&p.f, s, v)
	}
	s.typ, s.sum, s.given, s.computed = from.typ, from.sum, from.given, from.computed
	if v == refused {
		k, line := s.kind, s.line
		s.reset()
		s.kind, s.line, s.typ = k, line, from.typ
		s.sum, s.given, s.computed = from.sum, from.given, from.computed
		s.flags = flagUnusable
	}
}
