package nmea

import (
	"math"
	"testing"
	"time"

	"fromrest/pkg/unit"
)

// Marks of the sources below: [R] the published text was read; [M] written
// from memory; [C] computed here from the format's definition. The checksum of
// every line was computed again. "gpsd" is www/NMEA.adoc, "NMEA Revealed", of
// the gpsd project; "gpsd log" a regression log of the same project (BSD).

// one parses a line and returns the only record it makes.
func one(t *testing.T, line string) sentence {
	t.Helper()
	var p parser
	p.lines([]byte(line + "\r\n"))
	if len(p.out) != 1 {
		t.Fatalf("%s: %d records", line, len(p.out))
	}
	return p.out[0]
}

// near compares to half a unit of the last printed decimal; NaN equals NaN.
func near(got, want, tol float64) bool {
	return got != got && want != want || math.Abs(got-want) <= tol
}

func hms(h, m int, s float64) int64 {
	return int64(h)*int64(time.Hour) + int64(m)*int64(time.Minute) + int64(math.Round(s*1e9))
}

func dayOf(y int, m time.Month, d int) int32 {
	return int32(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

var nan = math.NaN()

func TestPublishedSentences(t *testing.T) {
	for _, c := range []struct {
		line                              string
		kind                              kind
		tod                               int64
		day                               int32
		lat, lon, speed, course, alt, hdp float64
		sats                              uint8
		flags                             uint16
	}{
		// gpsd [R]: only 13 data fields, the last two are missing.
		{"$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M*47", kindGGA,
			hms(0, 10, 43), noDay, 44.069006, -121.314326833, nan, nan, 1113.0, 0.98, 12, 0},
		// gpsd [R].
		{"$GNGLL,4404.14012,N,12118.85993,W,001037.00,A,A*67", kindGLL,
			hms(0, 10, 37), noDay, 44.069002, -121.314332167, nan, nan, nan, nan, noSats, 0},
		// gpsd [R]: GPS autonomous, GLONASS none; altitude empty.
		{"$GPGNS,112257.00,3844.24011,N,00908.43828,W,AN,03,10.5,,*57", kindGNS,
			hms(11, 22, 57), noDay, 38.737335167, -9.140638, nan, nan, nan, 10.5, 3, 0},
		// gpsd [R]: course empty, not 0.
		{"$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B", kindRMC,
			hms(0, 10, 31), dayOf(2017, 1, 10), 44.068998833, -121.314337167, 0.0751088889, nan, nan, nan, noSats, 0},
		// gpsd [R].
		{"$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34", kindVTG,
			noTime, noDay, nan, nan, 1.311833333, 220.86, nan, nan, noSats, 0},
		// gpsd [R]: zone -1 h, which is not applied: the time is UTC.
		{"$GPZDA,160012.71,11,03,2004,-1,00*7D", kindZDA,
			hms(16, 0, 12.71), dayOf(2004, 3, 11), nan, nan, nan, nan, nan, nan, noSats, 0},
		// gpsd [R]: 11 fields, no mode.
		{"$GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E*68", kindRMC,
			hms(22, 54, 46), dayOf(1994, 11, 19), 49.274166667, -123.185333333, 0.257222222, 54.7, nan, nan, noSats, 0},
		// Textbook lines [M], checksums right.
		{"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A", kindRMC,
			hms(12, 35, 19), dayOf(1994, 3, 23), 48.1173, 11.516666667, 11.523555556, 84.4, nan, nan, noSats, 0},
		{"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", kindGGA,
			hms(12, 35, 19), noDay, 48.1173, 11.516666667, nan, nan, 545.4, 0.9, 8, 0},
		{"$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48", kindVTG,
			noTime, noDay, nan, nan, 2.829444444, 54.7, nan, nan, noSats, 0},
		// gpsd log neo-m8n [R].
		{"$GNRMC,171926.00,A,4404.14063,N,12118.85478,W,0.117,,180315,,,A*76", kindRMC,
			hms(17, 19, 26), dayOf(2015, 3, 18), 44.069010500, -121.314246333, 0.06019, nan, nan, nan, noSats, 0},
		{"$GNVTG,,T,,M,0.117,N,0.216,K,A*3F", kindVTG,
			noTime, noDay, nan, nan, 0.06019, nan, nan, nan, noSats, 0},
		{"$GNGGA,171926.00,4404.14063,N,12118.85478,W,1,12,0.91,1147.2,M,-21.3,M,,*44", kindGGA,
			hms(17, 19, 26), noDay, 44.069010500, -121.314246333, nan, nan, 1147.2, 0.91, 12, 0},
		// gpsd log bt451 [R]: km/h disagrees by 0.055 %; knots are taken.
		{"$GPVTG,221.16,T,,M,30.324,N,56.191,K,A*37", kindVTG,
			noTime, noDay, nan, nan, 56.160048 / 3.6, 221.16, nan, nan, noSats, 0},
		{"$GPVTG,221.54,T,,M,32.000,N,59.295,K,A*3E", kindVTG,
			noTime, noDay, nan, nan, 59.264 / 3.6, 221.54, nan, nan, noSats, 0},
		// A receiver module's data sheet [R].
		{"$GPGGA,053740.000,2503.6319,N,12136.0099,E,1,08,1.1,63.8,M,15.2,M,,0000*64", kindGGA,
			hms(5, 37, 40), noDay, 25.060531667, 121.600165, nan, nan, 63.8, 1.1, 8, 0},
		{"$GPVTG,34.92,T,,M,0.01,N,0.02,K,D*07", kindVTG,
			noTime, noDay, nan, nan, 0.01 * unit.Knot, 34.92, nan, nan, noSats, 0},
		// gpsd log april6_2019 [R]: the date "2208-1" is none, the rest is of use.
		{"$GPRMC,000231.099,A,4829.0005,N,00022.0015,E,0.15,212.28,2208-1,,,A*73", kindRMC,
			hms(0, 2, 31.099), noDay, 48.483341667, 0.366691667, 0.15 * unit.Knot, 212.28, nan, nan, noSats, flagBadDate},
		// gpsd log bt451 [R]: before the first fix everything is empty.
		{"$GPRMC,,V,,,,,,,,,,N*53", kindRMC, noTime, noDay, nan, nan, nan, nan, nan, nan, noSats, flagVoid},
		{"$GPVTG,,,,,,,,,N*30", kindVTG, noTime, noDay, nan, nan, nan, nan, nan, nan, noSats, flagVoid},
		{"$GPGGA,,,,,,0,00,99.99,,,,,,*48", kindGGA, noTime, noDay, nan, nan, nan, nan, nan, nan, noSats, flagVoid},
		{"$GPGLL,,,,,,V,N*64", kindGLL, noTime, noDay, nan, nan, nan, nan, nan, nan, noSats, flagVoid},
		{"$GNGNS,074150.799,,,,,NNNN,00,,,0.0,,0000*63", kindGNS,
			hms(7, 41, 50.799), noDay, nan, nan, nan, nan, nan, nan, noSats, flagVoid},
		// gpsd log gp-320fw [R]: zeros instead of empty fields are no position.
		{"$GPRMC,235959.00,V,0000.0000,N,00000.0000,E,,,250910,,,N*48", kindRMC,
			hms(23, 59, 59), dayOf(2010, 9, 25), nan, nan, nan, nan, nan, nan, noSats, flagVoid},
		// gpsd [R]: status V with full numbers.
		{"$GPRMC,125106,V,3854.5087,N,07726.4523,W,0.0,0.0,241011,10.5,W,S*28", kindRMC,
			hms(12, 51, 6), dayOf(2011, 10, 24), nan, nan, nan, nan, nan, nan, noSats, flagVoid},
		// gpsd [R]: a position, but no navigational status: kept and flagged.
		{"$GNGNS,120213.000,5957.0062,N,01100.6429,E,NDD,11,1.3,168.9,39.5,,,V*57", kindGNS,
			hms(12, 2, 13), noDay, 59.950103333, 11.010715, nan, nan, 168.9, 1.3, 11, flagNavStatus},
	} {
		s := one(t, c.line)
		if s.kind != c.kind || s.sum != sumRight || s.tod != c.tod || s.day != c.day || s.sats != c.sats || s.flags != c.flags {
			t.Errorf("%s: got %+v", c.line, s)
		}
		for _, q := range []struct {
			name           string
			got, want, tol float64
		}{
			{"lat", s.lat, c.lat, 5e-10}, {"lon", s.lon, c.lon, 5e-10}, {"speed", s.speed, c.speed, 5e-10},
			{"course", s.course, c.course, 0}, {"alt", s.alt, c.alt, 0}, {"hdop", s.hdop, c.hdp, 0},
		} {
			if !near(q.got, q.want, q.tol) {
				t.Errorf("%s: %s %v, want %v", c.line, q.name, q.got, q.want)
			}
		}
	}
}

func TestWrongChecksumsFail(t *testing.T) {
	for _, c := range []struct {
		line  string
		right byte
	}{
		// docs.rs, crate nmea, "parse_rmc" [R]: printed so; the right one is 2B.
		{"$GPRMC,225446.33,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E,A*68", 0x2b},
		// A gist with blanks that do not belong to it [R]; without them 61 is right.
		{"$GPRMC,170047.00,A,4121.23302,N,00201.31654,W,2.703,,200417,,,A*64", 0x61},
	} {
		s := one(t, c.line)
		if s.sum != sumWrong || s.computed != c.right {
			t.Errorf("%s: state %v, computed %02X", c.line, s.sum, s.computed)
		}
	}
}

// gpsd [R]: XDR quadruplets without acceleration in an acceleration's unit are
// not taken for one.
func TestXDRWithoutAcceleration(t *testing.T) {
	for _, l := range []string{
		"$HCXDR,A,171,D,PITCH,A,-37,D,ROLL,G,367,,MAGX,G,2420,,MAGY,G,-8984,,MAGZ*41",
		"$IIXDR,C,,C,AIRTEMP,A,-1.0,D,HEEL,A,2.9,D,TRIM,P,,B,BARO,A,-3.9,D,RUDDER*29",
	} {
		if s := one(t, l); s.kind != kindXDR || s.flags != 0 {
			t.Errorf("%s: %+v", l, s)
		}
	}
}

func TestXDRAcceleration(t *testing.T) {
	s := one(t, trim(sum("IIXDR,G,0.5,g,ACCX,G,-0.25,g,ACCY,G,,g,ACCZ,C,20.1,C,TEMP")))
	got, want := s.accel(), [3]float64{0.5 * 9.80665, -0.25 * 9.80665, nan}
	for i := range got {
		if !near(got[i], want[i], 1e-15) {
			t.Errorf("axis %d: %v, want %v", i, got[i], want[i])
		}
	}
	if s := one(t, trim(sum("IIXDR,G,1.5,m/s2,AX"))); s.accel()[0] != 1.5 || s.flags&flagMS2 == 0 {
		t.Errorf("m/s2: %+v", s)
	}
}

// trim takes the line end off.
func trim(l string) string { return l[:len(l)-2] }

// Forms that go-nmea refuses although receivers send them [R, library notes].
func TestFormsOfOldAndOddReceivers(t *testing.T) {
	for _, c := range []struct {
		body string
		kind kind
		want float64 // speed in knots, or altitude
	}{
		{"GPRMC,101500,A,5200.0,N,00100.0,E,12.5,90.0,140626", kindRMC, 12.5},        // 9 fields
		{"GPRMC,101500,A,5200.0,N,00100.0,E,12.5,90.0,140626,,,A,X", kindRMC, 12.5},  // unknown status
		{"GPRMC,101500,A,5200.0,n,00100.0,e,12.5,90.0,140626,,,A", kindRMC, 12.5},    // lower case
		{"GPVTG,90.0,91.5,12.5,23.2", kindVTG, 12.5},                                 // old form
		{"GPVTG,90.0,T,91.5,M,,N,18.52,K", kindVTG, 10},                              // only km/h
		{"GPGGA,101500,5200.0,N,00100.0,E,9,08,0.9,45.5,M,,M", kindGGA, 45.5},        // quality 9
		{"GPGGA,101500,5200.0,N,00100.0,E,1,12.0,0.9,45.5,M,,M,,", kindGGA, 45.5},    // 12.0 satellites
		{"GNGNS,101500,5200.0,N,00100.0,E,AXU,12,0.9,45.5,,,", kindGNS, 45.5},        // unknown modes
		{"GPGGA, 101500,5200.0,N,00100.0,E,1,12,0.9,45.5,M,,M,,", kindGGA, 45.5},     // padded
		{"GPRMC,101500,A,5200.0,N,00100.0,E,+1.25e1,90.0,140626,,,A", kindRMC, 12.5}, // exponent: by the library
	} {
		s := one(t, trim(sum(c.body)))
		got := s.alt
		if c.kind == kindRMC || c.kind == kindVTG {
			got = s.speed / unit.Knot
		}
		if s.kind != c.kind || s.flags&(flagUnusable|flagVoid) != 0 || !near(got, c.want, 1e-12) {
			t.Errorf("%s: %+v", c.body, s)
		}
	}
}

func TestNumbersAreTheNearestFloat(t *testing.T) {
	for _, c := range []struct {
		s   string
		v   float64
		dec uint8
		ok  bool
	}{
		{"0", 0, 0, true}, {"-0.5", -0.5, 1, true}, {"4404.14036", 4404.14036, 5, true}, {"5.", 5, 0, true}, {".5", .5, 1, true},
		{"12345678901.12345", 12345678901.12345, 5, true}, {"0.000000000000001", 1e-15, 15, true},
		{"", 0, 0, false}, {".", 0, 0, false}, {"-", 0, 0, false}, {"1.2.3", 0, 0, false}, {"NaN", 0, 0, false},
		{"1e3", 0, 0, false}, {"0x1p4", 0, 0, false}, {"+1", 0, 0, false}, {"99999999999999999999", 0, 0, false},
	} {
		v, dec, ok := number([]byte(c.s))
		if ok != c.ok || ok && (v != c.v || dec != c.dec) {
			t.Errorf("%q: %v, %d decimals, %v", c.s, v, dec, ok)
		}
	}
}

func TestTimesAndDatesThatDoNotExist(t *testing.T) {
	for _, s := range []string{"256199", "240000", "006000", "000060", "12345", "12345x", "123456,", "123456.x", "-12345"} {
		if _, _, _, ok := clock([]byte(s)); ok {
			t.Errorf("time %s accepted", s)
		}
	}
	if tod, _, leap, ok := clock([]byte("235960.5")); !ok || !leap || tod != hms(24, 0, 0.5) {
		t.Errorf("leap second: %d %v %v", tod, leap, ok)
	}
	for _, s := range []string{"310226", "991326", "000026", "010026", "-10226", "290225", "1406260", "14062"} {
		if _, ok := new(fields).date([]byte(s)); ok {
			t.Errorf("date %s accepted", s)
		}
	}
	// The day count against the standard library, every day from 1980 to 2079.
	for d := time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC); d.Year() < 2080; d = d.AddDate(0, 0, 1) {
		if got, ok := new(fields).date([]byte(d.Format("020106"))); !ok || int64(got)*86400 != d.Unix() {
			t.Fatalf("%v: day %d, %v", d, got, ok)
		}
	}
}

// Times finer than a millisecond are kept whole; go-nmea makes .9996 into 1000
// ms without carrying.
func TestTimesFinerThanMilliseconds(t *testing.T) {
	for _, c := range []struct {
		s    string
		nano int64
		dec  uint8
	}{{"000000.12345", 123450000, 5}, {"000000.9996", 999600000, 4}, {"000000.123456789", 123456789, 9}, {"000000.1234567899", 123456789, 9}, {"000000.", 0, 0}} {
		if tod, dec, _, ok := clock([]byte(c.s)); !ok || tod != c.nano || dec != c.dec {
			t.Errorf("%s: %d ns, %d decimals, %v", c.s, tod, dec, ok)
		}
	}
}
