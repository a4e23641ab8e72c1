package nmea

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// logOf joins sentences, giving each its checksum.
func logOf(bodies ...string) string {
	var b strings.Builder
	for _, s := range bodies {
		b.WriteString(sum(s))
	}
	return b.String()
}

// rmc writes an RMC of an invented drive.
func rmc(tod string, kn float64, date string) string {
	return fmt.Sprintf("GNRMC,%s,A,5200.00000,N,00100.00000,E,%.2f,90.0,%s,,,A", tod, kn, date)
}

func gga(tod string) string {
	return "GNGGA," + tod + ",5200.00000,N,00100.00000,E,1,12,0.8,45.0,M,,M,,"
}

// reading reads a log that must give fixes.
func reading(t *testing.T, log string) *recording.Recording {
	t.Helper()
	r, err := Read(context.Background(), strings.NewReader(log), "test", Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// times prints the instants of the fixes.
func times(r *recording.Recording) (out []string) {
	for i := range r.Primary().Len() {
		out = append(out, r.Primary().TimeAt(i).Format("2006-01-02T15:04:05.999999999"))
	}
	return out
}

// knots returns the speeds in knots, rounded to a millionth.
func knots(r *recording.Recording) (out []string) {
	for i := range r.Primary().Len() {
		out = append(out, fmt.Sprintf("%.6g", r.Primary().Value(recording.Speed, i)/unit.Knot))
	}
	return out
}

// problems counts the problems by kind.
func problems(r *recording.Recording) map[string]int {
	m := map[string]int{}
	for _, g := range r.Problems.Groups() {
		m[g.Kind] += g.Count
	}
	return m
}

func same2[T any](t *testing.T, what string, want, got T) {
	t.Helper()
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}

// gpsd log gp-320fw [R]: 23:59:59 and 00:00:02 are 3.00 s apart, and the date
// rolls with them. There both are void; here they are given fixes.
func TestMidnightPair(t *testing.T) {
	r := reading(t, logOf(rmc("235959.00", 1, "250910"), rmc("000002.00", 2, "260910")))
	same2(t, "times", []string{"2010-09-25T23:59:59", "2010-09-26T00:00:02"}, times(r))
	if d := r.Primary().TimeAt(1).Sub(r.Primary().TimeAt(0)); d != 3*time.Second {
		t.Errorf("%v apart", d)
	}
}

func TestDateIsCarriedOverMidnightAndBack(t *testing.T) {
	want := []string{"2026-06-13T23:59:58", "2026-06-13T23:59:59", "2026-06-14T00:00:00", "2026-06-14T00:00:01"}
	for name, log := range map[string]string{
		"date before midnight":   logOf(rmc("235958.00", 1, "130626"), gga("235959.00"), gga("000000.00"), gga("000001.00")),
		"date after midnight":    logOf(gga("235958.00"), gga("235959.00"), gga("000000.00"), rmc("000001.00", 1, "140626")),
		"ZDA in the middle":      logOf(gga("235958.00"), gga("235959.00"), "GNZDA,235959.00,13,06,2026,00,00", gga("000000.00"), gga("000001.00")),
		"ZDA at the end":         logOf(gga("235958.00"), gga("235959.00"), gga("000000.00"), gga("000001.00"), "GNZDA,000002.00,14,06,2026,00,00"),
		"ZDA first":              logOf("GNZDA,235957.00,13,06,2026,00,00", gga("235958.00"), gga("235959.00"), gga("000000.00"), gga("000001.00")),
		"a guess, then the date": logOf("GNRMC,235957.00,V,,,,,,,060180,,,N", gga("235958.00"), gga("235959.00"), gga("000000.00"), rmc("000001.00", 1, "140626")),
	} {
		r := reading(t, log)
		same2(t, name, want, times(r))
		if r.Undated || r.Clock != "utc" {
			t.Errorf("%s: undated %v, clock %s", name, r.Undated, r.Clock)
		}
	}
}

func TestNoDateAtAll(t *testing.T) {
	r := reading(t, logOf(gga("235959.00"), gga("000000.00")))
	same2(t, "times", []string{"0001-01-01T23:59:59", "0001-01-02T00:00:00"}, times(r))
	if !r.Undated || r.Clock != "time-of-day" || r.Primary().Source != recording.Position {
		t.Errorf("undated %v, clock %s, source %s", r.Undated, r.Clock, r.Primary().Source)
	}
	same2(t, "problems", map[string]int{"position-only": 1}, problems(r))
}

// Whatever the order of a receiver's sentences, they make the same fixes.
func TestOrderOfSentences(t *testing.T) {
	tods := []string{"101500.0", "101500.1", "101500.2", "101500.3", "101500.4", "101500.5"}
	for _, order := range []string{"RVG", "RGV", "GRV", "VRG", "VGR", "GVR"} {
		var bodies []string
		for i, tod := range tods {
			for _, c := range order {
				switch kn := 10 + 1.111*float64(i); c {
				case 'R':
					bodies = append(bodies, fmt.Sprintf("GNRMC,%s,A,5200.0,N,00100.0,E,%.1f,,140626,,,A", tod, kn))
				case 'V':
					bodies = append(bodies, fmt.Sprintf("GNVTG,90.5,T,,M,%.3f,N,,K,A", kn))
				case 'G':
					bodies = append(bodies, gga(tod))
				}
			}
		}
		r := reading(t, logOf(bodies...))
		if n := r.Primary().Len(); n != len(tods) {
			t.Errorf("%s: %d fixes", order, n)
			continue
		}
		same2(t, order, []string{"10", "11.111", "12.222", "13.333", "14.444", "15.555"}, knots(r))
		f := r.Primary().At(3)
		if f.Q[recording.Course] != 90.5 || f.Q[recording.Altitude] != 45 || f.Q[recording.Satellites] != 12 || f.Q[recording.HDOP] != 0.8 {
			t.Errorf("%s: %+v", order, f)
		}
		if st := r.Primary().SpeedStep; st != unit.Knot/1000 {
			t.Errorf("%s: step %v", order, st)
		}
	}
}

func TestSpeedIsTakenFromTheBestField(t *testing.T) {
	pos := "A,5200.0,N,00100.0,E,"
	for _, c := range []struct {
		name, rmc, vtg string
		want           float64 // m/s
		unit, step     float64
	}{
		{"RMC has as many decimals", pos + "10.12,,140626", "GPVTG,,T,,M,10.13,N,18.761,K", 10.12 * unit.Knot, unit.Knot, .01 * unit.Knot},
		{"VTG has more", pos + "10.1,,140626", "GPVTG,,T,,M,10.13,N,18.761,K", 10.13 * unit.Knot, unit.Knot, .01 * unit.Knot},
		{"VTG has more and disagrees", pos + "10.1,,140626", "GPVTG,,T,,M,11.131,N,18.761,K", 10.1 * unit.Knot, unit.Knot, .1 * unit.Knot},
		{"RMC is empty", pos + ",,140626", "GPVTG,,T,,M,10.13,N,18.761,K", 10.13 * unit.Knot, unit.Knot, .01 * unit.Knot},
		{"only km/h", pos + ",,140626", "GPVTG,,T,,M,,N,18.761,K", 18.761 * unit.KMH, unit.KMH, .001 * unit.KMH},
		{"km/h has more decimals", pos + "10.1,,140626", "GPVTG,,T,,M,,N,18.761,K", 10.1 * unit.Knot, unit.Knot, .1 * unit.Knot},
		{"VTG is not valid", pos + "10.1,,140626", "GPVTG,,T,,M,10.131,N,18.761,K,N", 10.1 * unit.Knot, unit.Knot, .1 * unit.Knot},
	} {
		r := reading(t, logOf("GPRMC,101500.00,"+c.rmc, c.vtg))
		tr := r.Primary()
		if got := tr.Value(recording.Speed, 0); !near(got, c.want, 1e-14) || tr.SpeedUnit != c.unit || !near(tr.SpeedStep, c.step, 1e-15) {
			t.Errorf("%s: %v m/s, unit %v, step %v", c.name, got, tr.SpeedUnit, tr.SpeedStep)
		}
	}
}

func TestEmptySpeedIsAbsent(t *testing.T) {
	r := reading(t, logOf("GPRMC,101500.00,A,5200.0,N,00100.0,E,,,140626,,,A", rmc("101501.00", 1, "140626")))
	same2(t, "speeds", []string{"NaN", "1"}, knots(r))
	same2(t, "problems", map[string]int{"no-speed": 1}, problems(r))
}

func TestVoidIsNoFix(t *testing.T) {
	r := reading(t, logOf(
		"GPRMC,101458.00,V,0000.0000,N,00000.0000,E,,,140626,,,N", "GPVTG,,T,,M,0.000,N,0.000,K,N", "GPGGA,101458.00,0000.0000,N,00000.0000,E,0,00,99.9,,M,,M,,",
		"GPRMC,101459.00,V,5200.0,N,00100.0,E,12.0,90.0,140626,,,S", "GPVTG,90.0,T,,M,12.000,N,22.224,K",
		rmc("101500.00", 5, "140626"),
		// RMC void, yet GGA has a position: no speed from any sentence.
		"GPRMC,101501.00,V,,,,,,,140626,,,N", gga("101501.00"), "GPVTG,90.0,T,,M,12.000,N,22.224,K,A"))
	same2(t, "times", []string{"2026-06-14T10:15:00", "2026-06-14T10:15:01"}, times(r))
	same2(t, "speeds", []string{"5", "NaN"}, knots(r))
	same2(t, "problems", map[string]int{"no-fix": 2, "void-with-position": 1}, problems(r))
}

func TestDoubtfulModesAreFlagged(t *testing.T) {
	for _, m := range []string{"E", "M", "S", "N"} {
		r := reading(t, logOf("GPRMC,101500.00,A,5200.0,N,00100.0,E,1.0,,140626,,,"+m))
		same2(t, m, map[string]int{"mode": 1}, problems(r))
	}
	for _, m := range []string{"A", "D", "F", "P", "R", ""} {
		r := reading(t, logOf("GPRMC,101500.00,A,5200.0,N,00100.0,E,1.0,,140626,,,"+m))
		same2(t, m, map[string]int{}, problems(r))
	}
}

func TestALittleLateIsMendedAndRepeatedIsDropped(t *testing.T) {
	r := reading(t, logOf(rmc("101500.00", 1, "140626"), rmc("101501.00", 2, "140626"),
		rmc("101500.50", 3, "140626"), rmc("101501.00", 4, "140626"), rmc("101502.00", 5, "140626")))
	same2(t, "speeds", []string{"1", "3", "2", "5"}, knots(r))
	same2(t, "problems", map[string]int{"time-order": 1, "time-repeated": 1}, problems(r))
	for _, g := range r.Problems.Groups() {
		if p := g.First(); g.Kind == "time-order" && p.Line != 3 || g.Kind == "time-repeated" && (p.Line != 4 || p.Text != "the time 2026-06-14 10:15:01 is repeated") {
			t.Errorf("%s: %s", p.Place(), p.Text)
		}
	}
}

// One wrong date must not cost the rest of the log.
func TestLoneJumpAhead(t *testing.T) {
	ok := func(s string) string { return rmc(s, 1, "140626") }
	want := []string{"2026-06-14T10:15:00", "2026-06-14T10:15:02", "2026-06-14T10:15:03"}
	r := reading(t, logOf(ok("101500.00"), rmc("101501.00", 1, "140646"), ok("101502.00"), ok("101503.00")))
	same2(t, "in the middle", want, times(r))
	same2(t, "problems", map[string]int{"time-leap": 1}, problems(r))
	r = reading(t, logOf(rmc("101459.00", 1, "140646"), ok("101500.00"), ok("101502.00"), ok("101503.00")))
	same2(t, "at the start", want, times(r))
	// A pause of two hours is no error.
	r = reading(t, logOf(ok("101500.00"), ok("121500.00"), ok("121501.00")))
	same2(t, "a pause", []string{"2026-06-14T10:15:00", "2026-06-14T12:15:00", "2026-06-14T12:15:01"}, times(r))
	same2(t, "problems", map[string]int{}, problems(r))
}

func TestLeapSecond(t *testing.T) {
	r := reading(t, logOf(rmc("235959.00", 1, "311216"), rmc("235960.00", 2, "311216"), rmc("000000.00", 3, "010117")))
	same2(t, "times", []string{"2016-12-31T23:59:59", "2017-01-01T00:00:00"}, times(r))
	same2(t, "problems", map[string]int{"leap-second": 1}, problems(r))
}

func TestChecksumRules(t *testing.T) {
	line := func(i int) (r, g string) {
		tod := fmt.Sprintf("1015%02d.00", i)
		return sum(rmc(tod, 1, "140626")), sum(gga(tod))
	}
	spoil := func(s string) string { return s[:10] + "9" + s[11:] } // another minute's digit, checksum kept
	bare := func(s string) string { return s[:strings.IndexByte(s, '*')] + "\r\n" }
	build := func(f func(i int, r, g string) string) string {
		var b strings.Builder
		for i := range 40 {
			r, g := line(i)
			b.WriteString(f(i, r, g))
		}
		return b.String()
	}
	wrong := func(s string) string { // its last digit is another
		i := strings.IndexByte(s, '*') + 2
		if s[i] == '0' {
			return s[:i] + "1" + s[i+1:]
		}
		return s[:i] + "0" + s[i+1:]
	}
	for _, c := range []struct {
		name string
		log  string
		n    int // fixes with speed
		want map[string]int
	}{
		{"two damaged sentences are dropped", build(func(i int, r, g string) string {
			if i == 7 || i == 9 {
				r = spoil(r)
			}
			return r + g
		}), 38, map[string]int{"checksum": 2}},
		{"a type that always fails is kept", build(func(_ int, r, g string) string { return wrong(r) + g }), 40,
			map[string]int{"checksum-type": 1}},
		{"half of a type fails", build(func(i int, r, g string) string {
			if i%2 == 0 {
				r = wrong(r)
			}
			return r + g
		}), 20, map[string]int{"checksum": 20}},
		{"no checksums at all", build(func(_ int, r, g string) string { return bare(r) + bare(g) }), 40,
			map[string]int{"checksum-absent": 1}},
		{"one without among those with", build(func(i int, r, g string) string {
			if i == 3 {
				r = bare(r)
			}
			return r + g
		}), 39, map[string]int{"no-checksum": 1}},
	} {
		r := reading(t, c.log)
		n := 0
		for _, v := range r.Primary().Col(recording.Speed) {
			if v == v {
				n++
			}
		}
		if n != c.n {
			t.Errorf("%s: %d fixes with speed, want %d", c.name, n, c.n)
		}
		same2(t, c.name, c.want, problems(r))
	}
	// When every checksum of the log is wrong, nothing says that the logger is to blame.
	_, err := Read(context.Background(), strings.NewReader(build(func(_ int, r, g string) string { return wrong(r) + wrong(g) })), "", Options{})
	if err == nil || err.Error() != "no usable sentence: all 80 checksums are wrong" {
		t.Errorf("all wrong: %v", err)
	}
}

// Two good fixes around each kind of dirt: the dirt is passed over and counted.
func TestDirtIsPassedOver(t *testing.T) {
	a, b := sum(rmc("101500.00", 1, "140626")), sum(rmc("101501.00", 2, "140626"))
	ubx := "\xb5\x62\x01\x07\x04\x00\x0a$\x00\x0d\x2d\x9f"
	rtcm := "\xd3\x00\x13\x3e\xd0\x00\x03\x8a\n\x58\xd9\x49\x3c\x87\x2f\x34\x10\x9d\x07\xd6\xaf\x48\x20\x5a\xd7\xf7"
	for _, c := range []struct {
		name, log string
		want      map[string]int
	}{
		{"header line", "Logger 1.0, day 3\r\n" + a + b, map[string]int{"not-nmea": 1}},
		{"no comment: bytes of a frame that end in a line end and #", a + "#\x01\xb5" + b, map[string]int{"junk-before": 1}},
		{"comment with a sentence in it", "# like " + a + a + b, map[string]int{"not-nmea": 1}},
		{"byte order mark", "\xef\xbb\xbf" + a + b, map[string]int{}},
		{"UBX frame in front", a + ubx + b, map[string]int{"binary": 1, "junk-before": 1, "not-nmea": 1, "nul-bytes": 2}},
		{"RTCM frame between", a + rtcm + "\r\n" + b, map[string]int{"binary": 2, "nul-bytes": 1}},
		{"NUL bytes", a + "\x00\x00\x00" + b, map[string]int{"nul-bytes": 1}},
		{"NUL in a sentence", a + b[:9] + "\x00" + b[9:], map[string]int{"nul-bytes": 1}},
		{"time stamp in front", "10:15:00.123 " + a + "10:15:01.123 " + b, map[string]int{"junk-before": 2}},
		{"two on a line", a[:len(a)-2] + b, map[string]int{}},
		{"words behind", a[:len(a)-2] + " ok\r\n" + b, map[string]int{"junk-after": 1}},
		{"lone carriage returns", a[:len(a)-1] + b[:len(b)-1], map[string]int{}},
		{"lone line feeds", a[:len(a)-2] + "\n" + b[:len(b)-2] + "\n", map[string]int{}},
		{"two carriage returns", a[:len(a)-2] + "\r\r\n" + b, map[string]int{}},
		{"no end of the last line", a + b[:len(b)-2], map[string]int{}},
		{"cut last line", a + b + a[:20], map[string]int{"cut-sentence": 1}},
		{"cut in the checksum", a + b + a[:len(a)-3], map[string]int{"cut-sentence": 1}},
		{"cut by the next", a + a[:30] + b, map[string]int{"cut-sentence": 1}},
		{"doubled letter", a + "$G" + a[1:] + b, map[string]int{"checksum": 1}},
		{"lone dollar", a + "$\r\n" + b, map[string]int{"not-nmea": 1}},
		{"blank lines", "\r\n\n" + a + " \r\n" + b, map[string]int{}},
		{"encapsulated sentence", a + "!" + sum("AIVDM,1,1,,A,15M0,0")[1:] + b, map[string]int{}},
	} {
		r := reading(t, c.log)
		same2(t, c.name+": times", []string{"2026-06-14T10:15:00", "2026-06-14T10:15:01"}, times(r))
		same2(t, c.name+": problems", c.want, problems(r))
	}
}

func TestUTF16(t *testing.T) {
	log := logOf(rmc("101500.00", 1, "140626"), rmc("101501.00", 2, "140626"))
	for _, big := range []bool{false, true} {
		for _, mark := range []bool{true, false} {
			var w []byte
			if mark {
				w = append(w, 0xff, 0xfe)
			}
			for i := range len(log) {
				w = append(w, log[i], 0)
			}
			if big {
				for i := 0; i+1 < len(w); i += 2 {
					w[i], w[i+1] = w[i+1], w[i]
				}
			}
			// One byte at a time, so that characters are cut in two.
			r, err := Read(context.Background(), iotest.OneByteReader(strings.NewReader(string(w))), "", Options{})
			if err != nil {
				t.Fatalf("big %v, mark %v: %v", big, mark, err)
			}
			same2(t, "speeds", []string{"1", "2"}, knots(r))
			if s := Sniff(w); s < 80 {
				t.Errorf("big %v, mark %v: sniff %d", big, mark, s)
			}
		}
	}
}

func TestLineNumbers(t *testing.T) {
	good := sum(rmc("101500.00", 1, "140626"))
	bad := good[:len(good)-4] + "00\r\n"
	for _, c := range []struct {
		log  string
		line int
	}{
		{good + bad, 2}, {"x\n\n" + good + bad, 4}, {"x\r\r" + good[:len(good)-1] + bad[:len(bad)-1], 4}, {"x\r\n" + good + "y\r" + bad, 4},
	} {
		r := reading(t, c.log)
		found := false
		for _, g := range r.Problems.Groups() {
			if g.Kind == "checksum" {
				found = true
				if l := g.First().Line; l != c.line {
					t.Errorf("%q: line %d, want %d", c.log, l, c.line)
				}
			}
		}
		if !found {
			t.Errorf("%q: no checksum problem", c.log)
		}
	}
}

func TestAccelerationIsSpreadBetweenFixes(t *testing.T) {
	var bodies []string
	for i := range 12 {
		bodies = append(bodies, rmc(fmt.Sprintf("1015%02d.00", i), 1, "140626"))
		for k := range 5 {
			bodies = append(bodies, fmt.Sprintf("IIXDR,G,%.2f,G,ACCX,G,1.00,G,ACCZ", float64(k)/10))
		}
	}
	r := reading(t, logOf(bodies...))
	a := r.Accel
	if a.Len() != 60 || a.Y != nil || !a.OwnClock || a.Unit != "g" {
		t.Fatalf("%d samples, %+v", a.Len(), a)
	}
	for i, n := range a.NanoUTC {
		if want := r.Primary().NanoAt(0) + int64(i)*int64(200*time.Millisecond); n != want {
			t.Fatalf("sample %d at %d, want %d", i, n, want)
		}
	}
	if a.X[7] != 0.2*unit.GravityStandard || a.Z[7] != unit.GravityStandard {
		t.Errorf("sample 7: %v %v", a.X[7], a.Z[7])
	}
}

func TestResolutionIsWhatTheLogPrints(t *testing.T) {
	for _, c := range []struct {
		tod  string
		step time.Duration
	}{{"101500", time.Second}, {"101500.1", 100 * time.Millisecond}, {"101500.00", 10 * time.Millisecond}, {"101500.1234", 100 * time.Microsecond}} {
		if got := reading(t, logOf(rmc(c.tod, 1, "140626"))).Primary().TimeStep; got != c.step {
			t.Errorf("%s: %v", c.tod, got)
		}
	}
}

func TestErrorsSayWhyThereIsNoFix(t *testing.T) {
	for _, c := range []struct{ log, want string }{
		{"", "no NMEA sentence found"},
		{"words\n", "no NMEA sentence found"},
		{logOf("GPGSV,1,1,00"), "no fix: none of 1 sentences is RMC, GGA, GNS, GLL or PUBX,00"},
		{logOf("GPRMC,,A,5200.0,N,00100.0,E,1.0,,,,,A"), "no fix: no sentence has a time"},
		{logOf("GPRMC,,V,,,,,,,,,,N", "GPGGA,,,,,,0,00,99.99,,,,,,"), "no fix: the receiver had none in any of 2 sentences"},
	} {
		r, err := Read(context.Background(), strings.NewReader(c.log), "", Options{})
		if err == nil || err.Error() != c.want || r == nil {
			t.Errorf("%q: %v, want %s", c.log, err, c.want)
		}
	}
}

func TestReadReportsTheReadersError(t *testing.T) {
	gone := errors.New("medium is gone")
	log := sum(rmc("101500.00", 1, "140626"))
	for _, workers := range []int{1, 3} {
		src := &failing{strings.NewReader(log), gone}
		r, err := Read(context.Background(), src, "", Options{Workers: workers})
		if !errors.Is(err, gone) || r.Primary().Len() != 1 {
			t.Errorf("%d workers: %v", workers, err)
		}
	}
}

// failing reads all of r and then fails.
type failing struct {
	r   *strings.Reader
	err error
}

func (f *failing) Read(p []byte) (int, error) {
	if f.r.Len() == 0 {
		return 0, f.err
	}
	return f.r.Read(p)
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, workers := range []int{1, 3} {
		if _, err := Read(ctx, strings.NewReader(string(drive(5000))), "", Options{Workers: workers}); !errors.Is(err, context.Canceled) {
			t.Errorf("%d workers: %v", workers, err)
		}
	}
}
