package nmea

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"io"
	"slices"
)

// source cuts a log into pieces that end at a line end.
type source struct {
	r     io.Reader
	size  int    // bytes of a piece
	rest  []byte // start of the next piece
	eof   bool
	err   error
	utf16 bool
}

// newSource looks at the first bytes for a byte order mark and, for UTF-16, puts
// a decoder between the reader and the pieces.
func newSource(r io.Reader, opts Options) *source {
	s := &source{r: r, size: opts.ChunkBytes}
	head := make([]byte, 4)
	n, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		s.eof, s.err = true, err
	}
	s.rest = head[:n]
	if big, mark, wide := utf16Order(s.rest); wide {
		s.utf16 = true
		s.r = &narrow{r: io.MultiReader(bytes.NewReader(s.rest[mark:]), r), big: big}
		s.rest = nil
	}
	s.rest = bytes.TrimPrefix(s.rest, []byte("\xef\xbb\xbf"))
	return s
}

// longestLine is how far a piece without a line feed is read on before it is
// cut elsewhere: binary data can be long between two of them.
const longestLine = 1 << 16

// fill appends from the reader to buf until it holds size bytes.
func (s *source) fill(buf []byte, size int) []byte {
	buf = slices.Grow(buf, max(0, size-len(buf)))
	for len(buf) < size && !s.eof {
		n, err := s.r.Read(buf[len(buf):size])
		buf = buf[:len(buf)+n]
		if err != nil {
			s.eof = true
			if !errors.Is(err, io.EOF) {
				s.err = err
			}
		}
	}
	return buf
}

// next returns the next piece in buf's memory; after the last, eof is set.
func (s *source) next(buf []byte) []byte {
	buf = append(slices.Grow(buf[:0], s.size+maxSentence), s.rest...)
	s.rest = s.rest[:0]
	for size := s.size; ; size *= 2 {
		buf = s.fill(buf, size)
		if s.eof {
			return buf
		}
		if size >= longestLine || bytes.IndexByte(buf, '\n') >= 0 {
			break
		}
	}
	at := cutAt(buf)
	s.rest = append(s.rest, buf[at:]...)
	return buf[:at]
}

// cutAt chooses where a piece ends: after its last line feed, else after its
// last carriage return with a byte behind it, else before its last dollar,
// else at its end.
func cutAt(b []byte) int {
	if i := bytes.LastIndexByte(b, '\n'); i >= 0 {
		return i + 1
	}
	if i := bytes.LastIndexByte(b[:len(b)-1], '\r'); i >= 0 {
		return i + 1
	}
	if i := bytes.LastIndexByte(b, '$'); i > 0 {
		return i
	}
	return len(b)
}

// piece is a part of the log and what its lines hold.
type piece struct {
	parser
	buf  []byte
	done chan struct{} // parsed
}

// parse reads the lines of the piece.
func (q *piece) parse() {
	q.out, q.views, q.line, q.lib.told, q.second = q.out[:0], q.views[:0], 0, q.lib.told[:0], noTime
	q.lines(q.buf)
}

// sequential parses and assembles piece by piece.
func sequential(ctx context.Context, src *source, a *assembler) error {
	var q piece
	for !src.eof {
		if err := ctx.Err(); err != nil {
			return err
		}
		q.buf = src.next(q.buf)
		q.parse()
		a.take(&q)
	}
	return src.err
}

// parallel parses each piece on its own and assembles them in order. Pieces are
// used again, which bounds how many there are at a time: one that is cut and one
// that is assembled beside those that are parsed.
func parallel(ctx context.Context, src *source, a *assembler, workers int) error {
	free := make(chan *piece, workers+2)
	for range cap(free) {
		free <- &piece{done: make(chan struct{}, 1)}
	}
	order := make(chan *piece, cap(free))
	go func() {
		defer close(order)
		for !src.eof && ctx.Err() == nil {
			q := <-free
			q.buf = src.next(q.buf)
			go func() {
				q.parse()
				q.done <- struct{}{}
			}()
			order <- q
		}
	}()
	for q := range order {
		<-q.done
		if ctx.Err() == nil {
			a.take(q)
		}
		free <- q
	}
	return cmp.Or(ctx.Err(), src.err)
}
