// Package survey reads velocity logs of survey receivers in ASCII: BESTVELA (speed over
// ground, course, vertical speed, and how old the velocity is) and BESTPOSA, whose
// position is taken where it has the instant of a velocity.
//
// Model: a line is a header whose sixth and seventh fields are GPS week and seconds, a
// semicolon, the data, and a CRC-32 of all between # and *, without the usual inversions.
// The time of a fix is that of its header less the latency given with the velocity.
//
// Limits: UTC is taken for GPS time less 18 s, as since 2017. Binary logs and the other
// ASCII logs are passed over; a line with a wrong checksum, without a solution or without
// a time of the receiver's own is not kept, and told.
package survey

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"hash/crc32"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// surveyLog is one such line.
type surveyLog struct {
	name   string
	gps    time.Time // GPS time
	good   bool      // its time is that of a receiver that has one
	fields []string
}

// gpsZero is where GPS weeks count from, and sinceUTC what UTC is behind since 2017.
var gpsZero = time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC)

const (
	sinceUTC   = 18 * time.Second
	block      = 64 << 10
	surveyStep = 0.0001 // m/s; four decimals
)

// Sum is the checksum of a line's body, all between # and *.
func Sum(body []byte) uint32 {
	// The table's update inverts before and after; undone, the register begins at 0.
	return ^crc32.Update(math.MaxUint32, crc32.IEEETable, body)
}

// errCRC says that a line's checksum does not fit.
var errCRC = errors.New("the CRC-32 does not fit")

// parseSurvey reads a line; ok is false where it is no log of this kind.
func parseSurvey(line []byte) (l surveyLog, ok bool, err error) {
	i := bytes.IndexByte(line, '#')
	if i < 0 {
		return l, false, nil
	}
	body, sum, ok := bytes.Cut(line[i+1:], []byte("*"))
	head, data, semi := bytes.Cut(body, []byte(";"))
	h := strings.Split(string(head), ",")
	sum = bytes.TrimSpace(sum)
	if !ok || !semi || len(h) < 10 || len(sum) < 8 || !strings.HasSuffix(h[0], "A") {
		return l, false, nil
	}
	given, err := strconv.ParseUint(string(sum[:8]), 16, 32)
	if err != nil {
		return l, false, nil
	}
	l = surveyLog{name: h[0], fields: strings.Split(string(data), ",")}
	if uint32(given) != Sum(body) {
		return l, true, errCRC
	}
	week, err1 := strconv.Atoi(h[5])
	seconds, err2 := strconv.ParseFloat(h[6], 64)
	if err := cmp.Or(err1, err2); err != nil || week < 0 || week > 9999 || !(seconds >= 0 && seconds < 604800) {
		return l, true, errors.New("its week and seconds cannot be read")
	}
	l.good = h[4] != "UNKNOWN" && h[4] != "APPROXIMATE" && week > 0
	l.gps = gpsZero.Add(time.Duration(week)*7*24*time.Hour + time.Duration(math.Round(seconds*1e3))*time.Millisecond)
	return l, true, nil
}

// numbers reads some of the fields.
func (l *surveyLog) numbers(at ...int) (v []float64, ok bool) {
	for _, i := range at {
		if i >= len(l.fields) {
			return nil, false
		}
		x, err := strconv.ParseFloat(l.fields[i], 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, false
		}
		v = append(v, x)
	}
	return v, true
}

// Sniff says how surely a head holds velocity logs of survey receivers, from 0 to 100.
func Sniff(head []byte) int {
	n := 0
	for line := range bytes.Lines(head) {
		if l, ok, err := parseSurvey(line); ok && err == nil && l.name == "BESTVELA" {
			n++
		}
	}
	switch {
	case n >= 3:
		return 100
	case n > 0:
		return 60
	}
	return 0
}

// reader reads a log line by line.
type reader struct {
	rec      *recording.Recording
	vel, pos recording.Sequence
	logs     int
	latent   bool
}

// take reads one line.
func (s *reader) take(line []byte, n int) {
	l, ok, err := parseSurvey(line)
	if !ok || l.name != "BESTVELA" && l.name != "BESTPOSA" {
		return
	}
	s.logs++
	drop := func(kind string, effect diag.Effect, text string) {
		s.rec.Problems.Addf(kind, effect, n, "%s: %s", l.name, text)
	}
	switch {
	case errors.Is(err, errCRC):
		drop(diag.Checksum, diag.Dropped, err.Error())
		return
	case err != nil:
		drop("malformed", diag.Dropped, err.Error())
		return
	case l.fields[0] != "SOL_COMPUTED":
		drop(diag.NoFix, diag.Note, "the receiver had no solution at this instant")
		return
	case !l.good:
		drop(diag.NoTime, diag.Dropped, "the receiver had no time of its own yet")
		return
	}
	fix := recording.NewFix(l.gps.Add(-sinceUTC))
	if l.name == "BESTPOSA" {
		v, ok := l.numbers(2, 3, 4, 7, 8)
		if !ok || math.Abs(v[0]) > 90 || math.Abs(v[1]) > 180 {
			drop("malformed", diag.Dropped, "a field cannot be read")
			return
		}
		fix.Q[recording.LatDeg], fix.Q[recording.LonDeg], fix.Q[recording.Altitude] = v[0], v[1], v[2]
		fix.Q[recording.PosSD] = math.Hypot(v[3], v[4])
		s.pos.Add(&fix, recording.Place{Line: n})
		return
	}
	v, ok := l.numbers(2, 4, 5, 6)
	if !ok || v[1] < 0 || v[0] < 0 || v[0] > 10 || v[2] < 0 || v[2] > 360 {
		drop("malformed", diag.Dropped, "a field cannot be read")
		return
	}
	// The velocity is as old as its latency says.
	s.latent = s.latent || v[0] > 0
	fix.Time = fix.Time.Add(-time.Duration(math.Round(v[0]*1e3)) * time.Millisecond)
	fix.Q[recording.Speed], fix.Q[recording.Course], fix.Q[recording.VelUp] = v[1], v[2], v[3]
	s.vel.Add(&fix, recording.Place{Line: n})
}

// Read reads velocity logs of survey receivers. Where nothing is kept, or the log cannot
// be read on, the recording so far comes with the error.
func Read(ctx context.Context, r io.Reader, name string) (*recording.Recording, error) {
	rec := &recording.Recording{Name: name, Format: "survey", Clock: "utc"}
	track := func(source recording.Source, name string) recording.Sequence {
		return recording.Sequence{Problems: &rec.Problems, Track: &recording.Track{Source: source, Name: name, SpeedStep: surveyStep, SpeedUnit: 1, TimeStep: time.Millisecond}}
	}
	s := &reader{rec: rec, vel: track(recording.GNSS, "BESTVELA"), pos: track(recording.Position, "BESTPOSA")}
	in := bufio.NewReaderSize(r, block)
	for n := 1; ; n++ {
		line, err := in.ReadSlice('\n')
		for errors.Is(err, bufio.ErrBufferFull) {
			_, err = in.ReadSlice('\n')
		}
		s.take(line, n)
		if errors.Is(err, io.EOF) {
			break
		}
		if err := cmp.Or(err, ctx.Err()); err != nil {
			return rec, err
		}
	}
	s.vel.Close()
	s.pos.Close()
	if s.vel.Track.Len() == 0 {
		return rec, errors.New("no fix: no BESTVELA has a solution that can be read")
	}
	s.vel.Track.Complete(s.pos.Track) // a latency may have put the two apart
	rec.Problems.Addf("clock", diag.Note, 1, "the time is GPS time less 18 leap seconds, as since 2017")
	if s.latent {
		rec.Problems.Addf("latency", diag.Note, 1, "the latency that the receiver gives with its velocity was taken off the time")
	}
	rec.Tracks = []*recording.Track{s.vel.Track}
	return rec, nil
}
