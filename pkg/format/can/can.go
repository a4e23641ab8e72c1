// Package can reads the speed that a signal of a CAN bus log holds: a log of candump, with -l
// or its screen with times, or the ASCII trace of CAN tools.
//
// A bus says nothing of what its frames hold: the user names the signal as database files of
// CAN write it. Speed is wheel speed, in m/s; one below zero is absent. Stamps from 1970 are
// UTC, those of a trace count from the date in its head, others from an arbitrary zero.
//
// Limits: classic identifiers of 11 and 29 bits are not told apart by their length; a trace
// whose stamps are relative to each other is refused; of database files (DBC), signals that are
// multiplexed or floating-point numbers are.
package can

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/recording"
)

// signal is where a quantity lies in the frames of one identifier, as database files of
// CAN write it: start bit | length @ byte order, sign, factor and offset.
type signal struct {
	id          uint32
	start, bits int
	little      bool // Intel byte order; the start is the least significant bit, else the most
	signed      bool
	factor, off float64
	unit        header.Unit
}

// signalForm is 0x1A0:16|16@le,unsigned*0.01+0:km/h.
var signalForm = regexp.MustCompile(`^\s*speed\s*=\s*(0[xX][0-9a-fA-F]{1,8}|[0-9]{1,9}):(\d{1,3})\|(\d{1,2})@(le|be),(unsigned|signed)\*([-+0-9.eE]+?)([-+][0-9.eE]+)?:(\S+)\s*$`)

// parseSignal reads the signal of a mapping of columns.
func parseSignal(columns string) (s signal, err error) {
	if Database(columns) != "" {
		s, err = fromDatabase(columns)
	} else {
		s, err = spelledOut(columns)
	}
	switch {
	case err != nil:
		return s, fmt.Errorf("columns: %w", err)
	case s.factor == 0 || math.IsInf(s.factor+s.off, 0) || math.IsNaN(s.factor+s.off):
		return s, fmt.Errorf("columns: a factor of %g and an offset of %g give no speed", s.factor, s.off)
	case s.bits < 1 || s.bits > 64 || s.start >= 8*mostPayload:
		return s, fmt.Errorf("columns: %d|%d are no bits of a frame", s.start, s.bits)
	}
	return s, nil
}

// errNoSignal is for a mapping without a signal.
var errNoSignal = errors.New("a log of a CAN bus needs the signal that is the speed: --columns 'speed=vehicle.dbc#WheelSpeed', of a database file, or 'speed=0x1A0:16|16@le,unsigned*0.01+0:km/h', which is identifier:start bit|length@byte order,sign*factor+offset:unit")

// spelledOut is a signal whose bits the mapping gives.
func spelledOut(columns string) (s signal, err error) {
	m := signalForm.FindStringSubmatch(columns)
	if m == nil {
		return s, errNoSignal
	}
	id, err := strconv.ParseUint(m[1], 0, 32)
	if err != nil {
		return s, fmt.Errorf("identifier %q: %w", m[1], err)
	}
	s.id = uint32(id)
	s.start, _ = strconv.Atoi(m[2]) // digits, by the form
	s.bits, _ = strconv.Atoi(m[3])
	s.little, s.signed = m[4] == "le", m[5] == "signed"
	if s.factor, err = strconv.ParseFloat(m[6], 64); err == nil && m[7] != "" {
		s.off, err = strconv.ParseFloat(m[7], 64)
	}
	if err != nil {
		return s, fmt.Errorf("factor and offset %q cannot be read", m[6]+m[7])
	}
	s.unit, err = header.SpeedUnit(m[8])
	return s, err
}

// raw takes the signal's bits out of a payload; ok is false where it is too short.
func (s *signal) raw(p []byte) (v float64, ok bool) {
	var n uint64
	// Of Motorola order the bit after the lowest of a byte is the highest of the next.
	bit := s.start
	for i := range s.bits {
		if bit/8 >= len(p) {
			return 0, false
		}
		b := uint64(p[bit/8]>>(bit%8)) & 1
		if s.little {
			n |= b << i
			bit++
			continue
		}
		n = n<<1 | b
		if bit%8 == 0 {
			bit += 15
		} else {
			bit--
		}
	}
	if s.signed && n>>(s.bits-1) == 1 {
		return float64(int64(n | ^uint64(0)<<(s.bits-1))), true
	}
	return float64(n), true
}

// busFrame is a line of a bus log.
type busFrame struct {
	seconds float64
	id      uint32
	data    []byte
	dated   bool // its stamp is a date without a zone
}

// Forms of a frame: candump's log (with -l), its screen with a time (-ta, -tz) or a date (-tA),
// and the ASCII trace of CAN tools.
var (
	candumpLog    = regexp.MustCompile(`^\s*\((\d+\.\d+)\)\s+\S+\s+([0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})##?([0-9A-Fa-f.]*)`)
	candumpDated  = regexp.MustCompile(`^\s*\((\d{4}-\d\d-\d\d \d\d:\d\d:\d\d\.\d+)\)\s+\S+\s+([0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})\s+\[\d+\]\s+([0-9A-Fa-f ]*)`)
	candumpScreen = regexp.MustCompile(`^\s*\((\d+\.\d+)\)\s+\S+\s+([0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})\s+\[\d+\]\s+([0-9A-Fa-f ]*)`)
	asciiTrace    = regexp.MustCompile(`^\s*(\d+\.\d+)\s+\d+\s+([0-9A-Fa-f]{1,8})(x?)\s+(?:Rx|Tx)\s+d\s+(?:\d|1[0-5])((?:\s+[0-9A-Fa-f]{2})*)`)
)

// frameIn reads a line, ok where it is a frame with data. decimal is set for a trace
// that says that its identifiers are decimal.
func frameIn(line []byte, decimal bool) (f busFrame, ok bool) {
	m, fd := candumpLog.FindSubmatch(line), bytes.Contains(line, []byte("##"))
	if m == nil {
		m = candumpScreen.FindSubmatch(line)
	}
	base := 16
	data := 3
	if m == nil {
		m = candumpDated.FindSubmatch(line)
	}
	if m == nil {
		if m = asciiTrace.FindSubmatch(line); m == nil {
			return f, false
		}
		data = 4
		if decimal {
			base = 10
		}
	}
	id, err := strconv.ParseUint(string(m[2]), base, 32)
	if err != nil {
		return f, false
	}
	f.id = uint32(id)
	if f.seconds, err = strconv.ParseFloat(string(m[1]), 64); err != nil {
		var t time.Time
		t, err = time.Parse("2006-01-02 15:04:05", string(m[1]))
		f.seconds, f.dated = float64(t.UnixMicro())/1e6, true
	}
	digits := strings.NewReplacer(" ", "", "\t", "", ".", "").Replace(string(m[data]))
	if fd && len(digits) > 0 {
		digits = digits[1:] // its flags
	}
	b, e := hex.DecodeString(digits)
	f.data = b
	return f, err == nil && e == nil && len(b) <= mostPayload
}

// isTrace reports whether a head is that of the ASCII trace of CAN tools.
func isTrace(head []byte) bool {
	return bytes.HasPrefix(head, []byte("date ")) && bytes.Contains(head[:min(len(head), 400)], []byte("base "))
}

// Sniff says how surely, from 0 to 100, a head is a log of a CAN bus.
func Sniff(head []byte) int {
	frames, lines := 0, 0
	for line := range bytes.Lines(head) {
		if _, ok := frameIn(line, false); ok {
			frames++
		}
		if lines++; lines == 200 {
			break
		}
	}
	switch {
	case frames >= 3 && isTrace(head), frames >= 3 && 2*frames > lines:
		return 95
	}
	return 0
}

// traceStart is the date of an ASCII trace's head, zero where it cannot be read.
func traceStart(line []byte) time.Time {
	text := strings.Join(strings.Fields(string(line)), " ")
	for _, form := range []string{"date Mon Jan 2 03:04:05.000 pm 2006", "date Mon Jan 2 15:04:05.000 2006", "date Mon Jan 2 03:04:05 pm 2006", "date Mon Jan 2 15:04:05 2006"} {
		if t, err := time.Parse(form, text); err == nil {
			return t
		}
	}
	return time.Time{}
}

// Read reads the speed of the signal that columns names, such as speed=vehicle.dbc#WheelSpeed or
// speed=0x1A0:16|16@le,unsigned*0.01+0:km/h. It returns what it could decode even with an
// error, which is for a signal that cannot be read or is in no frame, for relative stamps, for
// a failing r and for a cancelled ctx.
func Read(ctx context.Context, r io.Reader, name, columns string) (*recording.Recording, error) {
	rec := &recording.Recording{Name: name, Format: "can", Clock: "utc"}
	s, err := parseSignal(columns)
	if err != nil {
		return rec, err
	}
	t := &recording.Track{Source: recording.Wheel, Name: fmt.Sprintf("CAN %X", s.id), SpeedUnit: s.unit.SI, SpeedStep: math.Abs(s.factor) * s.unit.SI, TimeStep: time.Microsecond}
	seq := recording.Sequence{Track: t, Problems: &rec.Problems}
	in := bufio.NewReaderSize(r, longestLine)
	var start time.Time
	var decimal, relative, elapsed, dated bool
	frames, backs, last := 0, 0, math.Inf(-1)
	for n := 1; ; n++ {
		line, err := in.ReadSlice('\n')
		for errors.Is(err, bufio.ErrBufferFull) {
			_, err = in.ReadSlice('\n')
		}
		switch {
		case bytes.HasPrefix(line, []byte("date ")):
			start = traceStart(bytes.TrimSpace(line))
		case bytes.HasPrefix(line, []byte("base ")):
			decimal = bytes.Contains(line, []byte("base dec"))
			relative = bytes.Contains(line, []byte("timestamps relative"))
		}
		f, ok := frameIn(line, decimal)
		if ok {
			frames++
			if f.seconds < last {
				backs++
			}
			last, dated = f.seconds, dated || f.dated
		}
		if relative && ok {
			return rec, errors.New("the trace's time stamps are relative to the frame before; write it with absolute ones")
		}
		if ok && f.id == s.id {
			if v, whole := s.raw(f.data); whole {
				at := start
				if f.seconds < epochSeconds && start.IsZero() {
					at, elapsed = recording.Epoch0, true
				} else if f.seconds >= epochSeconds {
					at = time.Unix(0, 0).UTC()
				}
				fix := recording.NewFix(at.Add(time.Duration(math.Round(f.seconds*1e6)) * time.Microsecond))
				if v = (v*s.factor + s.off) * s.unit.SI; v >= 0 {
					fix.Q[recording.Speed] = v
				}
				seq.Steps.InOrder = elapsed
				seq.Add(&fix, recording.Place{Line: n})
			} else {
				rec.Problems.Addf(diag.Value, diag.Dropped, n, "the frame is too short for the signal")
			}
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err := cmp.Or(err, ctx.Err()); err != nil {
			return rec, err
		}
	}
	if frames >= fewestFrames && float64(backs) > oftenBack*float64(frames) {
		return rec, errors.New("time steps back all the time: stamps that count from the frame before are of no use, write absolute ones (candump -l or -ta)")
	}
	seq.Close()
	if elapsed {
		rec.Clock = "elapsed"
	}
	if t.Len() == 0 {
		return rec, fmt.Errorf("none of %d frames has the identifier 0x%X and the signal's bits", frames, s.id)
	}
	if !start.IsZero() || dated {
		rec.Problems.Addf("clock", diag.Note, 1, "the log's date has no zone and is taken as UTC")
	}
	rec.Tracks = []*recording.Track{t}
	return rec, nil
}
