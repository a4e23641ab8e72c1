package nmea

import (
	"bytes"
	"context"
	"errors"
	"io"
	"slices"
	"sync"
)

// source cuts a log into pieces that end at a line end.
type source struct {
	r        io.Reader
	size     int
	rest     []byte // start of the next piece
	progress func(int64)
	read     int64
	eof      bool
	err      error
	started  bool
	utf16    bool
}

func newSource(r io.Reader, opts Options) *source {
	s := &source{size: opts.ChunkBytes, progress: opts.Progress}
	s.r = r
	return s
}

// longestLine is how far a piece without a line feed is read on before it is
// cut elsewhere: binary data can be long between two of them.
const longestLine = 1 << 16

// fill appends from the reader to buf until it holds size bytes.
func (s *source) fill(buf []byte, size int) []byte {
	if !s.started {
		s.started = true
		buf = s.start(buf)
	}
	for len(buf) < size && !s.eof {
		n, err := s.r.Read(buf[len(buf):size])
		buf = buf[:len(buf)+n]
		s.read += int64(n)
		if err != nil {
			s.eof = true
			if !errors.Is(err, io.EOF) {
				s.err = err
			}
		}
	}
	if s.progress != nil {
		s.progress(s.read)
	}
	return buf
}

// start looks at the first bytes for a byte order mark and, for UTF-16, puts a
// decoder between the reader and the pieces.
func (s *source) start(buf []byte) []byte {
	var head [4]byte
	n, err := io.ReadFull(s.r, head[:])
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		s.eof, s.err = true, err
	}
	s.read += int64(n)
	h := head[:n]
	big, mark, wide := utf16Order(h)
	switch {
	case wide:
		s.utf16 = true
		s.r = &narrow{r: io.MultiReader(bytes.NewReader(append([]byte(nil), h[mark:]...)), s.r), big: big}
	case bytes.HasPrefix(h, []byte("\xef\xbb\xbf")):
		buf = append(buf, h[3:]...)
	default:
		buf = append(buf, h...)
	}
	return buf
}

// utf16Order tells UTF-16 by its mark, or by NUL bytes around a dollar sign.
func utf16Order(h []byte) (big bool, mark int, wide bool) {
	switch {
	case bytes.HasPrefix(h, []byte{0xff, 0xfe}):
		return false, 2, true
	case bytes.HasPrefix(h, []byte{0xfe, 0xff}):
		return true, 2, true
	case len(h) == 4 && h[0] == '$' && h[1] == 0 && h[3] == 0 && h[2] != 0:
		return false, 0, true
	case len(h) == 4 && h[0] == 0 && h[1] == '$' && h[2] == 0 && h[3] != 0:
		return true, 0, true
	}
	return false, 0, false
}

// narrow turns UTF-16 into bytes. Characters outside ASCII, which no sentence
// holds, become '?'.
type narrow struct {
	r   io.Reader
	big bool
	buf [8192]byte
	n   int // bytes of buf left over, 0 or 1
}

// Read implements io.Reader.
func (w *narrow) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	limit := min(len(w.buf), 2*len(p))
	n, err := w.r.Read(w.buf[w.n:limit])
	n += w.n
	out, i := 0, 0
	for ; i+1 < n; i += 2 {
		lo, hi := w.buf[i], w.buf[i+1]
		if w.big {
			lo, hi = hi, lo
		}
		switch {
		case lo == 0 && hi != 0 && hi < 0x80: // a byte is missing: out of step
			i--
			continue
		case hi != 0 || lo > 0x7f:
			lo = '?'
		}
		p[out] = lo
		out++
	}
	w.n = n - i
	copy(w.buf[:], w.buf[i:n])
	return out, err
}

// next returns the next piece in buf's memory, nil at the end.
func (s *source) next(buf []byte) []byte {
	if cap(buf) < s.size+maxSentence {
		buf = make([]byte, 0, s.size+maxSentence)
	}
	buf = append(buf[:0], s.rest...)
	s.rest = s.rest[:0]
	for size := s.size; ; size *= 2 {
		buf = s.fill(slices.Grow(buf, max(0, size-len(buf))), size)
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

// sequential parses and assembles piece by piece.
func sequential(ctx context.Context, src *source, a *assembler) error {
	var p parser
	var buf []byte
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		b := src.next(buf)
		if len(b) > 0 {
			p.out, p.line, p.lib.told = p.out[:0], 0, p.lib.told[:0]
			p.parse(b)
			a.take(p.out, p.line, p.lib.told, len(b))
		}
		if src.eof {
			return src.err
		}
		buf = b
	}
}

// piece is a part of the log on its way through a worker.
type piece struct {
	buf   []byte
	out   []sentence
	lines int
	told  []string
	done  chan struct{}
}

// parallel parses pieces in workers and assembles them in order.
func parallel(ctx context.Context, src *source, a *assembler, workers int) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	free := make(chan *piece, workers+2)
	for range workers + 2 {
		free <- &piece{done: make(chan struct{}, 1)}
	}
	jobs := make(chan *piece, workers+2)
	order := make(chan *piece, workers+2)
	var wg sync.WaitGroup
	defer wg.Wait()
	for range workers {
		wg.Go(func() { parsePieces(jobs) })
	}
	wg.Go(func() { src.cut(ctx, free, jobs, order) })
	for q := range order {
		<-q.done
		if ctx.Err() == nil {
			a.take(q.out, q.lines, q.told, len(q.buf))
		}
		free <- q
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return src.err
}

// parsePieces is a worker.
func parsePieces(jobs <-chan *piece) {
	var p parser
	for q := range jobs {
		p.out, p.line, p.lib.told = q.out[:0], 0, nil
		p.parse(q.buf)
		q.out, q.lines, q.told = p.out, p.line, p.lib.told
		q.done <- struct{}{}
	}
}

// cut fills free pieces until the log ends and hands each to the workers and,
// in the order of the log, to the assembler.
func (s *source) cut(ctx context.Context, free <-chan *piece, jobs, order chan<- *piece) {
	defer close(order)
	defer close(jobs)
	for {
		var q *piece
		select {
		case q = <-free:
		case <-ctx.Done():
			return
		}
		q.buf = s.next(q.buf)
		jobs <- q
		order <- q
		if s.eof {
			return
		}
	}
}
