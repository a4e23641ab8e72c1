package fit

import (
	"bytes"
	"encoding/binary"

	"fromrest/pkg/diag"
)

// walker steps over the messages of one file of the input and hands the wanted
// ones on. It knows the framing and nothing of the values, so that what the
// libraries refuse, and what is damaged, costs no more than itself.
type walker struct {
	s        *stream
	problems *diag.List
	emit     func(*message)

	local [16]*definition
	known map[string]*definition // definitions are often sent again
	end   int64                  // where the messages end, -1 where the header does not say
	stamp uint32                 // last time stamp, for compressed ones
	stamps
	msg message // the one at hand
}

// header is what a file's header says.
type header struct {
	size int
	data uint32
}

// maxKnown bounds the definitions that are remembered.
const maxKnown = 1024

// parseHeader reads a file header, ok where b begins with one.
func parseHeader(b []byte) (h header, ok bool) {
	if len(b) < 12 || b[0] != 12 && b[0] != 14 || string(b[8:12]) != ".FIT" {
		return h, false
	}
	return header{int(b[0]), binary.LittleEndian.Uint32(b[4:])}, true
}

func (w *walker) note(kind string, effect diag.Effect, at int64, format string, args ...any) {
	w.problems.AddfByte(kind, effect, at, format, args...)
}

// file reads one file of the input, from its header to its checksum.
func (w *walker) file(h header) {
	s := w.s
	begin := s.off
	s.crc = 0
	b := s.peek(h.size)
	if h.size == 14 && len(b) == 14 {
		if c := binary.LittleEndian.Uint16(b[12:]); c != 0 && c != checksum(0, b[:12]) {
			w.note("header-checksum", diag.Note, begin, "the header's checksum is wrong")
		}
	}
	s.skip(len(b))
	w.end = s.off + int64(h.data)
	if h.data == 0 {
		w.end = -1
		w.note("no-size", diag.Note, begin, "the header gives no size, as when power is cut while logging; read to the end of the file")
	}
	w.messages()
	w.close()
}

// messages steps through the messages to the end of the file.
func (w *walker) messages() {
	for w.left(1) {
		if n := w.one(); n > 0 {
			w.s.skip(n)
			continue
		}
		if w.atTail() {
			return
		}
		w.resync()
	}
}

// left reports whether n more bytes belong to the messages. A message that
// reaches over the end that the header gave shows that the header is wrong.
func (w *walker) left(n int) bool {
	if w.end >= 0 && w.s.off+int64(n) > w.end {
		if w.s.off == w.end && w.endsHere() {
			return false
		}
		w.note("size", diag.Note, w.s.off, "the size in the header does not fit the messages; read on")
		w.end = -1
	}
	return len(w.s.peek(n)) == n
}

// endsHere reports whether the end that the header gives is one: a right
// checksum, the end of the input, or another file comes.
func (w *walker) endsHere() bool {
	b := w.s.peek(16)
	return len(b) <= 2 || binary.LittleEndian.Uint16(b) == w.s.crc || isHeader(b[2:])
}

// atTail reports whether only a checksum can be left, of a file whose size is
// not known.
func (w *walker) atTail() bool { return w.end < 0 && len(w.s.peek(3)) <= 2 }

// one reads the message that comes next and returns its length, 0 where there
// is none.
func (w *walker) one() int {
	b := w.s.peek(1)
	head := b[0]
	if head&(headerCompressed|headerDefinition) == headerDefinition {
		b = w.s.peek(maxDefinition)
		n := w.define(b)
		if n > 0 && !w.left(n) {
			return 0
		}
		return n
	}
	d := w.local[localType(head)]
	// A header with a time in it before a message with a time of its own is a
	// contradiction: the framing has slipped.
	if d == nil || head&headerCompressed != 0 && d.time >= 0 || !w.left(1+d.size) {
		return 0
	}
	stamp := w.time(head, d, w.s.peek(1 + d.size)[1:])
	if !w.believable(d, stamp) {
		if !w.chain(w.s.peek(chainWindow), false) {
			return 0
		}
		w.believe(stamp)
	}
	if stamp != invalidStamp && d.global != mesgCorrelation {
		w.stamp = stamp
	}
	if d.want != nil {
		w.msg = message{d, w.s.peek(1 + d.size)[1:], stamp, w.s.off}
		w.emit(&w.msg)
	}
	return 1 + d.size
}

func localType(head byte) byte {
	if head&headerCompressed != 0 {
		return head >> 5 & 3
	}
	return head & 15
}

// time returns the time stamp of a message, which its header may hold.
func (w *walker) time(head byte, d *definition, payload []byte) uint32 {
	if head&headerCompressed == 0 {
		return d.stamp(payload)
	}
	if w.stamp == 0 {
		return invalidStamp // nothing to count from
	}
	return w.stamp + (uint32(head)-w.stamp)&31
}

// define takes a definition message and returns its length.
func (w *walker) define(b []byte) int {
	var d definition
	n := parseDefinition(b, &d)
	if n == 0 {
		return 0
	}
	slot := b[0] & 15
	if k := w.known[string(b[:n])]; k != nil {
		w.local[slot] = k
		return n
	}
	d.choose(profile[d.global])
	if w.known == nil || len(w.known) >= maxKnown {
		w.known = make(map[string]*definition)
	}
	w.known[string(b[:n])] = &d
	w.local[slot] = &d
	return n
}

// stamps are the last believed time stamps, since power-on (0) and in UTC (1).
type stamps struct {
	last [2]uint32
	seen [2]bool
}

// clockOf tells stamps since power-on (0) from UTC (1).
func clockOf(stamp uint32) int {
	if stamp < systemTime {
		return 0
	}
	return 1
}

// maxStep is how far a time stamp may lie from the one before and be believed
// at once. Where it lies further away the messages after it must agree: it may
// be a message of the wrong layout after damage, or the clock set. Assumed.
const maxStep = 86400 // s

// near reports whether a stamp is the first of its clock or near the last.
func (s *stamps) near(stamp uint32) bool {
	k := clockOf(stamp)
	d := int64(stamp) - int64(s.last[k])
	return !s.seen[k] || d > -maxStep && d < maxStep
}

func (s *stamps) believe(stamp uint32) {
	k := clockOf(stamp)
	s.last[k], s.seen[k] = stamp, true
}

// believable compares a time stamp with the last, and believes it if it fits.
func (w *walker) believable(d *definition, stamp uint32) bool {
	if stamp == invalidStamp || d.global == mesgFileID || d.global == mesgCorrelation {
		return true
	}
	k := clockOf(stamp)
	if !w.near(stamp) || !w.seen[k] && w.seen[1-k] {
		return false
	}
	w.believe(stamp)
	return true
}

// resync looks for the place where messages fit together again.
func (w *walker) resync() {
	at := w.s.off
	for len(w.s.peek(1)) == 1 {
		b := w.s.peek(window / 2)
		whole := len(b) < window/2
		for i := 1; i < len(b) && (whole || i < len(b)-chainWindow); i++ {
			if w.chain(b[i:min(i+chainWindow, len(b))], w.seen[0] || w.seen[1]) {
				w.s.skip(i)
				w.note("framing", diag.Dropped, at, "%d bytes are damaged and were passed over", w.s.off-at)
				return
			}
			if w.end >= 0 && w.s.off+int64(i) == w.end || isHeader(b[i:]) {
				w.s.skip(i)
				w.note("framing", diag.Dropped, at, "%d bytes to the end of the file are damaged and were passed over", w.s.off-at)
				w.end = w.s.off
				return
			}
		}
		if whole {
			w.s.skip(len(b))
			break
		}
		w.s.skip(len(b) - chainWindow)
	}
	if w.end >= 0 && w.s.off < w.end || w.end < 0 {
		w.note(diag.Truncated, diag.Dropped, at, "the file ends inside a message; %d bytes are lost", w.s.off-at)
		w.end = w.s.off
		return
	}
	w.note("framing", diag.Dropped, at, "%d bytes at the end are damaged and were passed over", w.s.off-at)
}

// isHeader reports whether b begins with a file header.
func isHeader(b []byte) bool {
	_, ok := parseHeader(b)
	return ok
}

// close reads the checksum that ends a file.
func (w *walker) close() {
	s := w.s
	at := s.off
	if w.end >= 0 && s.off < w.end {
		w.note(diag.Truncated, diag.Note, at, "the file ends %d bytes before the end that its header gives", w.end-s.off)
		return
	}
	b := s.peek(16)
	if len(b) < 2 || isHeader(b) {
		w.note(diag.NoChecksum, diag.Note, at, "the file ends without its checksum")
		return
	}
	want := s.crc
	got := binary.LittleEndian.Uint16(b)
	s.skip(2)
	if got != want {
		w.note(diag.Checksum, diag.Suspect, at, "the file's checksum is %04X, computed %04X; some values may be damaged", got, want)
	}
}

// nextFile moves to the header of the next file and reports whether there is
// one. What lies before it is passed over.
func (w *walker) nextFile() (header, bool) {
	s := w.s
	at := s.off
	for b := s.peek(window / 2); len(b) > 0; b = s.peek(window / 2) {
		if i := findHeader(b); i >= 0 {
			s.skip(i)
			if i = int(s.off - at); i > 0 {
				w.note("trailing", diag.Dropped, at, "%d bytes between two files are no messages", i)
			}
			return parseHeader(s.peek(maxHeader))
		}
		n := len(b)
		if n == window/2 {
			n -= maxHeader // one may be cut by the window
		}
		s.skip(n)
	}
	if s.off > at {
		w.note("trailing", diag.Dropped, at, "%d bytes after the end of the file are no messages", s.off-at)
	}
	return header{}, false
}

// maxHeader is the length of the longest file header.
const maxHeader = 14

// findHeader returns where in b a file header begins, -1 for nowhere.
func findHeader(b []byte) int {
	const mark, before = ".FIT", 8 // bytes of the header before the mark
	for at := before; at < len(b); at++ {
		i := bytes.Index(b[at:], []byte(mark))
		if i < 0 {
			break
		}
		if at += i; isHeader(b[at-before:]) {
			return at - before
		}
	}
	return -1
}
