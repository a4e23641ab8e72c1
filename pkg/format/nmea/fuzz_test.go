package nmea

import (
	"bytes"
	"context"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	gonmea "github.com/adrianmo/go-nmea"

	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
	"fromrest/pkg/unit"
)

var seeds = []string{
	"GNRMC,101500.25,A,5212.34567,N,00112.65432,W,12.345,91.25,140626,1.2,E,D,V",
	"GPRMC,101500,A,5212.3,S,17959.9,E,0.0,,140694",
	"GPRMC,,V,,,,,,,,,,N",
	"GPRMC,235960.00,A,5212.3,N,00112.6,E,,,311216,,,A",
	"GNVTG,91.25,T,90.05,M,12.345,N,22.863,K,D",
	"GPVTG,,T,,M,,N,,K,N",
	"GPVTG,91.25,90.05,12.345,22.863",
	"GNGGA,101500.25,5212.34567,N,00112.65432,W,4,12,0.78,88.4,M,45.3,M,1.2,0123",
	"GPGGA,101500,5212.34567,N,00112.65432,W,0,00,99.99,,,,,,",
	"GNGNS,101500.25,5212.34567,N,00112.65432,W,AADN,12,0.78,88.4,45.3,,,V",
	"GNGLL,5212.34567,N,00112.65432,W,101500.25,A,D",
	"GPZDA,101500.25,14,06,2026,00,00",
	"GNGSA,A,3,01,02,03,04,,,,,,,,,1.40,0.75,1.18,1",
	"GPGSA,A,2,07,44,70,193,301,412,,,,,,,99.99,2.0,0.0",
	"GNGST,101500.25,1.2,0.9,0.7,45.0,0.8,0.6,1.5",
	"IIXDR,G,0.512,g,ACCX,G,-0.25,G,ACCY,C,,C,TEMP",
	"GNTXT,01,01,02,ROM 3.01",
	"GPTXT,01",
	"GPALC,01",
	"GAGSV,1,1,02,102,00,179,,36,09,321,44,7",
	"GPGSV,3,1,11,02,32,180,41,03,00,056,,06,52,139,45,12,24,297,48,1",
}

// FuzzAgainstGoNMEA shows that the hand-written parser and go-nmea agree, field
// by field and bit by bit, on every sentence that both accept. The known traps
// of go-nmea, where they may differ:
//
//   - an empty number is 0 there and absent here;
//   - times are rounded to milliseconds there, without a carry;
//   - times and dates that do not exist are accepted there;
//   - NaN, infinities, hexadecimal and negative speeds, courses above 360 and
//     negative HDOP are accepted there, and absent here;
//   - a latitude with the letter E, minutes of 60 and more, and signs beside a
//     letter are accepted there; a signed number's minutes are computed there
//     from its floor, which is another place;
//   - a sentence with status V is read there; nothing of it is used here.
func FuzzAgainstGoNMEA(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, body string) {
		if strings.ContainsAny(body, "*$!\r\n\\ ") || !isText([]byte(body)) {
			t.Skip()
		}
		line := trim(sum(body))
		var p parser
		if !p.regular([]byte(line)) || len(p.out) != 1 || p.out[0].kind == kindOther && len(p.views) == 0 {
			return
		}
		var l library
		l.p = &gonmea.SentenceParser{}
		m, err := l.parse(line)
		if err != nil {
			return
		}
		agree(t, line, &p.out[0], m)
		agreeOnSky(t, line, p.views, m)
	})
}

// agree compares what both parsers made of a line.
func agree(t *testing.T, line string, s *sentence, m gonmea.Sentence) {
	t.Helper()
	number := func(what, field string, mine, theirs float64) {
		t.Helper()
		switch {
		case field == "":
			if mine == mine {
				t.Errorf("%s: %s is empty, read as %v", line, what, mine)
			}
		case mine != mine: // left out; only what is no plain number may be
			if _, _, ok := optional([]byte(field)); ok && theirs >= 0 && !(what == "course" && theirs > 360) && theirs < 1e6 && !strings.Contains(field, "-") {
				t.Errorf("%s: %s %q left out", line, what, field)
			}
		case math.Float64bits(mine) != math.Float64bits(theirs) && mine != theirs:
			t.Errorf("%s: %s %v, go-nmea %v", line, what, mine, theirs)
		}
	}
	clock := func(at gonmea.Time) {
		t.Helper()
		if at.Valid != (s.tod != noTime) {
			t.Errorf("%s: time %d, go-nmea %v", line, s.tod, at)
		}
		ms := int64(at.Hour)*3600e3 + int64(at.Minute)*60e3 + int64(at.Second)*1e3 + int64(at.Millisecond)
		if at.Valid && (s.tod-ms*1e6 > 500_001 || ms*1e6-s.tod > 500_001) {
			t.Errorf("%s: time %d ns, go-nmea %d ms", line, s.tod, ms)
		}
	}
	place := func(f []string, lat, lon float64) {
		t.Helper()
		if f[0] == "" || f[1] == "" || f[2] == "" || f[3] == "" || s.flags&flagSigned != 0 {
			return
		}
		number("latitude", f[0], s.lat, lat)
		number("longitude", f[2], s.lon, lon)
	}
	void := s.flags&flagVoid != 0
	switch m := m.(type) {
	case gonmea.RMC:
		clock(m.Time)
		if void != (m.Validity != gonmea.ValidRMC) {
			t.Errorf("%s: void %v, go-nmea %q", line, void, m.Validity)
		}
		if s.day != noDay {
			if got := recording.Instant(int64(s.day) * dayNanos).Format("020106"); got != m.Fields[8] {
				t.Errorf("%s: date %s", line, got)
			}
		} else if _, err := time.Parse("020106", m.Fields[8]); err == nil && !strings.ContainsAny(m.Fields[8], "+-") {
			// time.Parse takes a sign for a digit of the year.
			t.Errorf("%s: the date %s is left out", line, m.Fields[8])
		}
		if !void {
			number("speed", m.Fields[6], s.speed, m.Speed*unit.Knot)
			number("course", m.Fields[7], s.course, m.Course)
			place(m.Fields[2:6], m.Latitude, m.Longitude)
		}
	case gonmea.VTG:
		if void {
			return
		}
		number("course", m.Fields[0], s.course, m.TrueTrack)
		if len(m.Fields) >= 8 {
			if s.flags&flagKMH == 0 {
				number("knots", m.Fields[4], s.speed, m.GroundSpeedKnots*unit.Knot)
			} else {
				number("km/h", m.Fields[6], s.speed, m.GroundSpeedKPH*unit.KMH)
			}
		}
	case gonmea.GGA:
		clock(m.Time)
		if void != (m.FixQuality == "" || m.FixQuality == gonmea.Invalid) {
			t.Errorf("%s: void %v, go-nmea %q", line, void, m.FixQuality)
		}
		if !void {
			place(m.Fields[1:5], m.Latitude, m.Longitude)
			number("HDOP", m.Fields[7], s.hdop, m.HDOP)
			number("altitude", m.Fields[8], s.alt, m.Altitude)
			if s.sats != noSats && int64(s.sats) != m.NumSatellites {
				t.Errorf("%s: %d satellites, go-nmea %d", line, s.sats, m.NumSatellites)
			}
		}
	case gonmea.GNS:
		clock(m.Time)
		if none := !slices.ContainsFunc(m.Mode, func(c string) bool { return c != gonmea.NoFixGNS }); void != none {
			t.Errorf("%s: void %v, go-nmea %q", line, void, m.Mode)
		}
		if !void {
			if s.sats != noSats && int64(s.sats) != m.SVs {
				t.Errorf("%s: %d satellites, go-nmea %d", line, s.sats, m.SVs)
			}
			place(m.Fields[1:5], m.Latitude, m.Longitude)
			number("HDOP", m.Fields[7], s.hdop, m.HDOP)
			number("altitude", m.Fields[8], s.alt, m.Altitude)
		}
	case gonmea.GLL:
		clock(m.Time)
		if !void {
			place(m.Fields[0:4], m.Latitude, m.Longitude)
		}
	case gonmea.ZDA:
		clock(m.Time)
		if s.day != noDay {
			at := recording.Instant(int64(s.day) * dayNanos)
			if int64(at.Year()) != m.Year || int64(at.Month()) != m.Month || int64(at.Day()) != m.Day {
				t.Errorf("%s: date %v, go-nmea %d %d %d", line, at, m.Year, m.Month, m.Day)
			}
		}
	case gonmea.GSA:
		if !void {
			number("HDOP", m.Fields[15], s.hdop, m.HDOP)
		}
	}
}

// agreeOnSky compares what both parsers made of GSA or GSV. go-nmea takes numbers
// with a sign, and the signal's id for the system's.
func agreeOnSky(t *testing.T, line string, views []view, m gonmea.Sentence) {
	t.Helper()
	if len(views) == 0 {
		return
	}
	v := &views[0]
	satellite := func(i int, s system, field string, number int64) {
		t.Helper()
		if small([]byte(field)) >= 0 && v.sats[i] != satelliteOf(s, int(number)) {
			t.Errorf("%s: satellite %d is %x, go-nmea %d", line, i+1, v.sats[i], number)
		}
	}
	switch m := m.(type) {
	case gonmea.GSA:
		if len(m.Fields) > 17 && len(m.Fields[17]) > 1 {
			return
		}
		s := system(m.SystemID)
		if m.SystemID < int64(gps) || m.SystemID > int64(navic) {
			s = talkerSystem([]byte(m.Talker))
		}
		for i, field := range m.Fields[2:14] {
			number, _ := strconv.ParseInt(field, 10, 64)
			satellite(i, s, field, number)
		}
		for i, theirs := range []float64{m.PDOP, m.HDOP, m.VDOP} {
			_, _, plain := number([]byte(m.Fields[14+i]))
			if mine := v.dop[i]; mine == mine && mine != theirs || mine != mine && plain && theirs > 0 && theirs < noDOP {
				t.Errorf("%s: dilution %d is %v, go-nmea %v", line, i, mine, theirs)
			}
		}
	case gonmea.GSV:
		if int64(v.total) != m.TotalMessages || int64(v.page.number()) != m.MessageNumber {
			t.Errorf("%s: sentence %d of %d", line, v.page.number(), v.total)
		}
		for i, info := range m.Info {
			satellite(i, v.page.system(), m.Fields[3+4*i], info.SVPRNNumber)
			if c := m.Fields[6+4*i]; small([]byte(c)) >= 0 && info.SNR < 100 && int64(v.cn0[i]) != info.SNR {
				t.Errorf("%s: C/N0 %d is %d, go-nmea %d", line, i+1, v.cn0[i], info.SNR)
			}
		}
	}
}

// TestAgainstGoNMEAOnRealRecordings runs the same comparison on every line of
// the real recordings and counts that enough was compared.
func TestAgainstGoNMEAOnRealRecordings(t *testing.T) {
	compared := 0
	var l library
	l.p = &gonmea.SentenceParser{}
	for _, b := range dataFiles(t) {
		for line := range bytes.Lines(b) {
			line = bytes.TrimRight(line, "\r\n")
			var p parser
			if !p.regular(line) || p.out[0].kind == kindOther && len(p.views) == 0 {
				continue
			}
			if m, err := l.parse(string(line)); err == nil {
				agree(t, string(line), &p.out[0], m)
				agreeOnSky(t, string(line), p.views, m)
				compared++
			}
		}
	}
	if compared < 30_000 {
		t.Errorf("only %d sentences compared", compared)
	}
}

// FuzzRead reads any bytes: no panic, fixes in order, sane values, and the same
// result with any cut. It keeps to one goroutine, so that coverage is repeatable.
func FuzzRead(f *testing.F) {
	all := logOf(seeds...)
	f.Add([]byte(all), 64)
	f.Add([]byte("\xff\xfe$\x00G\x00P\x00"), 3)
	f.Add([]byte("\xb5\x62\x01\x07\x04\x00\x0a$\x00\x0d\x2d\x9f"+all), 10)
	f.Add([]byte(strings.ReplaceAll(all, "\r\n", "\r")), 33)
	f.Add([]byte("$GPRMC,101500,A,5200,N,1,E,1,,140626\n$"), 1)
	f.Fuzz(func(t *testing.T, b []byte, cut int) {
		r, err := Read(context.Background(), bytes.NewReader(b), "", Options{Workers: 1})
		other := testlog.Dump(Read(context.Background(), bytes.NewReader(b), "", Options{Workers: 1, ChunkBytes: 1 + cut&0xffff}))
		if len(b) < longestLine && testlog.Dump(r, err) != other {
			t.Fatalf("another cut gives another result:\n%s\n%s", testlog.Dump(r, err), other)
		}
		tr := r.Primary()
		if tr == nil {
			return
		}
		for i := range tr.Len() {
			if i > 0 && tr.NanoAt(i) <= tr.NanoAt(i-1) {
				t.Fatalf("fix %d at %v after %v", i, tr.TimeAt(i), tr.TimeAt(i-1))
			}
			fix := tr.At(i)
			if v := fix.Q[recording.Speed]; v < 0 || math.IsInf(v, 0) || math.Abs(fix.Q[recording.LatDeg]) > 90 || math.Abs(fix.Q[recording.LonDeg]) > 180 {
				t.Fatalf("fix %+v", fix)
			}
		}
	})
}

// FuzzSniff only must not panic, and stay within its range.
func FuzzSniff(f *testing.F) {
	f.Add([]byte(logOf(seeds...)))
	f.Add([]byte("\x89PNG\r\n\x1a\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if s := Sniff(b); s < 0 || s > 100 {
			t.Fatal(s)
		}
	})
}

func TestSniff(t *testing.T) {
	one := sum(rmc("101500.00", 1, "140626"))
	for _, c := range []struct {
		head   string
		lo, hi int
	}{
		{"", 0, 0}, {"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", 0, 0}, {"time,speed\n1,2\n", 0, 0}, {"<?xml version=\"1.0\"?><gpx>", 0, 0},
		{"price $GREAT, cheap*00\n", 0, 0}, {one, 70, 99}, {strings.Repeat(one, 3), 100, 100}, {"# header\n" + strings.Repeat(one, 3), 100, 100},
		{"$GPRMC,101500.00,A,5200.0,N,00100.0,E,1.0,,140626\n", 40, 80}, {strings.Repeat("\xb5\x62\x01\x07", 50) + strings.Repeat(one, 3), 100, 100},
	} {
		if s := Sniff([]byte(c.head)); s < c.lo || s > c.hi {
			t.Errorf("%.30q: %d, want %d to %d", c.head, s, c.lo, c.hi)
		}
	}
}
