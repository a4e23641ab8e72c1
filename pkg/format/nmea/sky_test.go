package nmea

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fromrest/pkg/recording"
)

// Sources are marked as in TestPublishedSentences. "lib" is the documentation of
// go-nmea's GSA and GSV [R]; "f9k" an automotive receiver's log published with
// google/gps-measurement-tools, "lc79d" a regression log of gpsd [R].

// spread is a summary in short.
func spread(n int, median, low, high float64) recording.Spread {
	return recording.Spread{N: n, Median: median, Low: low, High: high}
}

// skyOf reads the lines in one second, after an RMC.
func skyOf(t *testing.T, lines ...string) *recording.Sky {
	t.Helper()
	return reading(t, sum(rmc("101500.00", 1, "140626"))+strings.Join(lines, "\r\n")+"\r\n").Sky
}

func TestSkyOfPublishedSentences(t *testing.T) {
	one := func(x float64) recording.Spread { return spread(1, x, x, x) }
	for _, c := range []struct {
		name  string
		lines []string
		want  recording.Sky
	}{
		{"lib, GLONASS by its numbers and BeiDou by its system id", []string{
			"$GNGSA,A,3,80,71,73,79,69,,,,,,,,1.83,1.09,1.47*17",
			"$GNGSA,A,3,13,12,22,19,08,21,,,,,,,1.05,0.64,0.83,4*0B",
		}, recording.Sky{Used: one(11), PDOP: one(1.83), HDOP: one(1.09), VDOP: one(1.47)}},
		{"lib, a round of which two sentences are missing", []string{
			"$GPGSV,3,1,11,09,76,148,32,05,55,242,29,17,33,054,30,14,27,314,24*71",
		}, recording.Sky{}},
		{"f9k, GPS 13 on two signals and GPS 02 on one are two satellites; the numbers of the four systems overlap", []string{
			"$GNGSA,A,3,13,17,02,06,28,12,15,24,19,,,,1.40,0.75,1.18,1*0D",
			"$GNGSA,A,3,80,83,73,84,82,,,,,,,,1.40,0.75,1.18,2*0C",
			"$GNGSA,A,3,31,24,12,01,11,33,,,,,,,1.40,0.75,1.18,3*0A",
			"$GNGSA,A,3,27,37,30,28,36,,,,,,,,1.40,0.75,1.18,4*06",
			"$GPGSV,3,1,10,02,28,180,39,06,48,143,49,12,21,294,29,13,14,208,30,1*67",
			"$GPGSV,3,2,10,15,14,238,28,17,49,041,50,19,72,025,48,24,46,302,38,1*65",
			"$GPGSV,3,3,10,28,31,083,44,30,05,147,38,1*69",
			"$GPGSV,3,1,10,02,28,180,,06,48,143,44,12,21,294,27,13,14,208,,6*6A",
			"$GPGSV,3,2,10,15,14,238,29,17,49,041,44,19,72,025,,24,46,302,39,6*6B",
			"$GPGSV,3,3,10,28,31,083,,30,05,147,34,6*62",
		}, recording.Sky{Used: one(25), Tracked: one(10), PDOP: one(1.40), HDOP: one(0.75), VDOP: one(1.18),
			CN0: one(39)}}, // 29 29 30 38 39 39 44 48 49 50
		{"lc79d, GPS told twice by two talkers, and a round that goes on in another signal", []string{
			"$GPGSV,3,1,10,02,25,260,40,04,15,092,27,05,,,14,06,12,215,45*43",
			"$GPGSV,3,2,10,07,80,137,44,09,53,089,27,30,55,211,49*44",
			"$GPGSV,3,3,10,06,,,40,09,,,27,30,,,39,8*6B",
			"$GPGSA,A,3,02,04,06,07,09,30,,,,,,,1.35,0.83,1.06*04",
			"$GNGSA,A,3,02,04,06,07,09,30,,,,,,,1.35,0.83,1.06*1A",
			"$GNGSA,A,3,70,73,74,88,,,,,,,,,1.35,0.83,1.06*17",
		}, recording.Sky{Used: one(10), Tracked: one(7), PDOP: one(1.35), HDOP: one(0.83), VDOP: one(1.06),
			CN0: one(40)}}, // 14 27 27 40 44 45 49
		{"gpsd log switzerland: dead reckoning has no satellites and no dilution", []string{
			"$GPGSA,A,2,,,,,,,,,,,,,50.0,50.0,50.0*06",
		}, recording.Sky{Used: one(0)}},
	} {
		got := skyOf(t, c.lines...)
		if c.want == (recording.Sky{}) {
			if got != nil {
				t.Errorf("%s: %+v, want nothing", c.name, got)
			}
			continue
		}
		if d := cmp.Diff(&c.want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
}

func TestSatellitesHaveOneName(t *testing.T) {
	for _, c := range []struct {
		system, other system
		n, m          int
		same          bool
	}{
		{gps, anySystem, 7, 7, true}, {glonass, anySystem, 70, 70, true}, {glonass, glonass, 6, 70, true},
		{gps, glonass, 70, 6, true}, {galileo, galileo, 301, 1, true}, {galileo, anySystem, 1, 301, true},
		{beidou, anySystem, 12, 412, true}, {beidou, beidou, 212, 12, true}, {qzss, gps, 2, 194, true},
		{gps, augmentation, 46, 133, true}, {gps, anySystem, 133, 46, true},
		{gps, galileo, 7, 7, false}, {galileo, beidou, 7, 7, false}, {glonass, gps, 7, 7, false}, {navic, gps, 3, 3, false},
	} {
		a, b := satelliteOf(c.system, c.n), satelliteOf(c.other, c.m)
		if (a == b) != c.same || a == 0 || b == 0 {
			t.Errorf("%d of system %d is %x, %d of system %d is %x", c.n, c.system, a, c.m, c.other, b)
		}
	}
	for _, n := range []int{-1, 0, 110, 999} {
		if s := satelliteOf(anySystem, n); s != 0 {
			t.Errorf("%d of no system is %x", n, s)
		}
	}
}

// gsv writes a round of one sentence, each satellite with the same C/N0.
func gsv(cn0 int, numbers ...int) string {
	b := fmt.Sprintf("GPGSV,1,1,%02d", len(numbers))
	for _, n := range numbers {
		b += fmt.Sprintf(",%02d,40,090,%02d", n, cn0)
	}
	return b
}

func TestSkyIsSampledOnceASecond(t *testing.T) {
	var bodies []string
	for i := range 50 { // 5 s at 10 Hz; within a second C/N0 falls and the fix loses a satellite
		bodies = append(bodies, rmc(fmt.Sprintf("1015%02d.%d0", i/10, i%10), 1, "140626"))
		used := "04,05,"
		if i%10 > 0 {
			used = "04,,"
		}
		bodies = append(bodies, "GPGSA,A,3,"+used+"09,12,,,,,,,,,2.5,1.3,2.1", gsv(40+i/10-i%10, 4, 5, 9, 12))
	}
	log := logOf(bodies...)
	want := &recording.Sky{Used: spread(5, 4, 4, 4), Tracked: spread(5, 4, 4, 4), CN0: spread(5, 42, 40, 44),
		PDOP: spread(5, 2.5, 2.5, 2.5), HDOP: spread(5, 1.3, 1.3, 1.3), VDOP: spread(5, 2.1, 2.1, 2.1)}
	same2(t, "whole", want, reading(t, log).Sky)
	part := recording.Part{From: recording.Bound{Kind: recording.SinceStart, After: time.Second},
		To: recording.Bound{Kind: recording.SinceStart, After: 3 * time.Second}}
	r, err := Read(context.Background(), strings.NewReader(log), "", Options{Part: part})
	if err != nil {
		t.Fatal(err)
	}
	same2(t, "two seconds", spread(2, 41.5, 41, 42), r.Sky.CN0)
}

func TestSkyIsAbsentWhereNothingIsSaid(t *testing.T) {
	if sky := reading(t, logOf(rmc("101500.00", 1, "140626"), gga("101500.00"))).Sky; sky != nil {
		t.Errorf("%+v", sky)
	}
	for _, body := range []string{
		"GPGSA,A,1,,,,,,,,,,,,,99.99,99.99,99.99", // no fix
		"GPGSV,3,0,11", "GPGSV,1,2,04", "GPGSV,,,", "GPGSV,1", "GPGSV,x,1,04,02,40,090,40",
	} {
		if sky := skyOf(t, trim(sum(body))); sky != nil {
			t.Errorf("%s: %+v", body, sky)
		}
	}
	// None in sight is a value; satellites without a signal have no strength.
	for _, body := range []string{"GPGSV,1,1,00", "GPGSV,1,1,00,1", "GPGSV,1,1,01,02,40,090,", "GPGSV,1,1,01,02,40,090,00"} {
		same2(t, body, &recording.Sky{Tracked: spread(1, 0, 0, 0)}, skyOf(t, trim(sum(body))))
	}
	// A damaged sentence leaves its round incomplete.
	if sky := skyOf(t, "$GPGSV,1,1,01,02,40,090,40*00"); sky != nil {
		t.Errorf("wrong checksum: %+v", sky)
	}
}

// TestSkyOfRealRecordings pins what an independent count of the same logs gives.
func TestSkyOfRealRecordings(t *testing.T) {
	files := dataFiles(t)
	for name, want := range map[string]recording.Sky{
		"f9k-three-launches-1hz":      {Used: spread(191, 24, 23, 25), Tracked: spread(190, 33, 30, 35), PDOP: spread(191, 1.59, 1.37, 3.12), HDOP: spread(191, 0.83, 0.75, 1.84), VDOP: spread(191, 1.31, 1.15, 2.86), CN0: spread(190, 42, 36, 45)},
		"track-btnmea_GST":            {Used: spread(9, 31, 31, 31), Tracked: spread(9, 40, 39, 40), PDOP: spread(9, 0.98, 0.94, 1.04), HDOP: spread(9, 0.55, 0.52, 0.58), VDOP: spread(9, 0.81, 0.78, 0.87), CN0: spread(9, 41.5, 37.5, 45)},
		"corner-quectelLC79D":         {Used: spread(30, 12, 10, 13), Tracked: spread(30, 16, 16, 17), PDOP: spread(30, 1.3, 1.29, 1.37), HDOP: spread(30, 0.78, 0.77, 0.83), VDOP: spread(30, 1.03, 1.03, 1.14), CN0: spread(30, 36.5, 35, 39)},
		"corner-ublox-neo-m9n-nmea":   {Used: spread(61, 25, 23, 25), Tracked: spread(61, 28, 26, 29), PDOP: spread(61, 1.04, 0.99, 1.23), HDOP: spread(61, 0.57, 0.54, 0.61), VDOP: spread(61, 0.88, 0.83, 1.07), CN0: spread(61, 37, 36, 38.5)},
		"corner-nl2008u":              {Used: spread(9, 16, 16, 16), Tracked: spread(9, 22, 21, 22), PDOP: spread(9, 1.3, 1.2, 1.3), HDOP: spread(9, 0.7, 0.6, 0.7), VDOP: spread(9, 1.1, 1, 1.1), CN0: spread(9, 38.5, 38, 39)},
		"switzerland-static-hold-1hz": {Used: spread(7744, 8, 0, 10), Tracked: spread(2602, 9, 0, 12), PDOP: spread(7678, 1.8, 1.2, 16), HDOP: spread(7678, 1, 0.8, 16), VDOP: spread(7678, 1.5, 0.9, 7.1), CN0: spread(2569, 35.5, 8, 42)},
		"munich-tunnel-1hz":           {Used: spread(1846, 5, 0, 8), Tracked: spread(1865, 7, 0, 9), PDOP: spread(1825, 4.2, 2, 56.6), HDOP: spread(1825, 2.4, 1.2, 49.9), VDOP: spread(1625, 3.9, 1.6, 51.4), CN0: spread(1845, 36, 16, 42)},
		"milliseconds":                {Used: spread(11, 6, 6, 6), PDOP: spread(11, 3.2, 3.2, 3.2), HDOP: spread(11, 1.7, 1.7, 1.7), VDOP: spread(11, 2.7, 2.7, 2.7)},
		"utf16-crlf":                  {Used: spread(154, 6, 5, 6), Tracked: spread(31, 6, 6, 6), PDOP: spread(154, 4.7, 4.7, 4.9), HDOP: spread(154, 1.6, 1.6, 1.6), VDOP: spread(154, 4.4, 4.3, 4.6), CN0: spread(31, 42, 41, 42.5)},
	} {
		r, err := Read(context.Background(), strings.NewReader(string(files["nmea/"+name+".nmea"])), name, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(&want, r.Sky); d != "" {
			t.Errorf("%s (-want +got):\n%s", name, d)
		}
	}
}
