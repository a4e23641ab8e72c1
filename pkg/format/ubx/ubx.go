// Package ubx reads navigation solutions from UBX, the open binary protocol of
// u-blox receivers, also where its frames lie between NMEA sentences or RTCM
// messages.
//
// It takes NAV-PVT (the receiver's GNSS solution: UTC with nanoseconds,
// position, velocity north, east and down, its own accuracies) and HNR-PVT (the
// high-rate solution that inertial receivers add), each into a track of its own. Where
// there is no NAV-PVT, the NAV-VELNED, NAV-POSLLH, NAV-SOL, NAV-TIMEGPS and NAV-TIMEUTC
// of one time of week are a solution, as older receivers send it. Acceleration comes
// from ESF-MEAS, on the sensor's own clock, else from HNR-INS or ESF-INS. Every other frame
// is passed over.
//
// Limits: a solution without valid date and time, or without a fix, is not
// kept. Layouts are written from memory of the protocol's public description
// and agree with recordings in which NMEA sentences of the same instants stand
// beside the frames. The receiver's accuracies are taken for one standard
// deviation, which its maker does not promise.
package ubx

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

const (
	sync1, sync2 = 0xb5, 0x62
	overhead     = 8       // sync, class, id, length, checksum
	longest      = 1 << 10 // payload bytes taken for a frame; no solution comes near
	block        = 256 << 10
)

// frame is one message. The payload is only valid until the next is read.
type frame struct {
	class, id byte
	payload   []byte
	at        int64 // offset of its first byte in the log
}

// next finds the first whole frame in b. n is how many bytes it and what stands
// before it take; ok is false where b holds no further whole frame, and then n
// bytes need not be looked at again. bad is set where a checksum did not fit; f
// then is what the frame would have been.
func next(b []byte, last bool) (f frame, n int, ok, bad bool) {
	i := bytes.IndexByte(b, sync1)
	if i < 0 {
		return f, len(b), false, false
	}
	rest := b[i:]
	if len(rest) < overhead {
		if last {
			i = len(b)
		}
		return f, i, false, false
	}
	size := int(binary.LittleEndian.Uint16(rest[4:]))
	if rest[1] != sync2 || size > longest {
		return f, i + 1, false, false
	}
	if len(rest) < size+overhead {
		if last { // cut short, or no frame at all: a whole one may begin inside
			return f, i + 1, false, false
		}
		return f, i, false, false
	}
	f = frame{class: rest[2], id: rest[3], payload: rest[6 : size+6], at: int64(i)}
	body := rest[2 : size+6]
	a, c := fletcher(body)
	if a != rest[size+6] || c != rest[size+7] {
		return f, i + 1, false, true
	}
	return f, i + size + overhead, true, false
}

// fletcher is the protocol's checksum: two running sums modulo 256.
func fletcher(b []byte) (a, c byte) {
	for _, x := range b {
		a += x
		c += a
	}
	return a, c
}

// Sniff says how surely head (up to 64 KiB) holds UBX navigation, from 0 to
// 100: whole frames with a right checksum, more if a solution is among them.
func Sniff(head []byte) int {
	frames, solutions := 0, 0
	for len(head) > 0 {
		f, n, ok, _ := next(head, true)
		if ok {
			frames++
			if layoutOf(f) != nil || f.class == msgVELNED>>8 && f.id == msgVELNED&0xff {
				solutions++
			}
		}
		head = head[n:]
	}
	switch {
	case solutions >= 3:
		return 100
	case solutions > 0:
		return 80
	case frames >= 2:
		return 30
	}
	return 0
}

// Read reads the solutions in a log. It returns what it could decode even with
// an error. The error is non-nil if reading from r fails, ctx is cancelled or
// the log has no fix.
func Read(ctx context.Context, r io.Reader, name string) (*recording.Recording, error) {
	l := newLog(name)
	err := l.scan(ctx, r)
	l.closePieces()
	for i := range l.tracks {
		seq := &l.tracks[i]
		seq.Close()
		if seq.Track.Len() > 0 {
			l.rec.Tracks = append(l.rec.Tracks, seq.Track)
		}
	}
	l.rec.Accel = l.accel()
	switch {
	case err != nil || len(l.rec.Tracks) > 0:
		return l.rec, err
	case l.solutions > 0:
		return l.rec, fmt.Errorf("no fix: the receiver had none in any of %d solutions", l.solutions)
	}
	return l.rec, fmt.Errorf("no fix: none of %d UBX frames is NAV-PVT, HNR-PVT or NAV-VELNED", l.frames)
}

// scan goes through the bytes frame by frame.
func (l *log) scan(ctx context.Context, r io.Reader) error {
	in := bufio.NewScanner(r)
	in.Buffer(make([]byte, block), block)
	var base int64 // offset of what is looked at
	in.Split(func(b []byte, last bool) (n int, _ []byte, _ error) {
		for n < len(b) {
			f, k, ok, bad := next(b[n:], last)
			f.at += base + int64(n)
			switch {
			case ok:
				l.take(f)
			case bad && layoutOf(f) != nil:
				l.rec.Problems.AddfByte(diag.Checksum, diag.Dropped, f.at, "checksum mismatch in a %s solution", layoutOf(f).name)
			}
			if k == 0 { // the start of a frame: more bytes are needed
				break
			}
			n += k
		}
		base += int64(n)
		return n, nil, ctx.Err()
	})
	in.Scan() // there are no tokens: one call reads all
	return in.Err()
}
