package nmea

import (
	"bytes"
	"io"
)

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
