package csv

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/recording"
)

// moment is one row of an invented drive: the demonstration van waits, pulls
// away on the airfield, and brakes.
type moment struct {
	i        int
	t        float64 // s since the start
	at       time.Time
	v        float64 // m/s
	lat, lon float64 // degrees
	course   float64 // degrees
	a        float64 // m/s², along the vehicle
}

// drive makes a drive of n rows at hz.
func drive(hz float64, n int) []moment {
	start := time.Date(2026, 6, 14, 9, 58, 40, 0, time.UTC)
	out := make([]moment, n)
	x := 0.0
	speed := func(t float64) float64 {
		switch {
		case t < 5:
			return 0
		case t < 15:
			return 3 * (t - 5) * (1 - 0.02*(t-5))
		case t < 20:
			return 24
		}
		return max(0, 24-4*(t-20))
	}
	for i := range out {
		t := float64(i) / hz
		v := speed(t)
		if i > 0 {
			x += (v + speed(t-1/hz)) / 2 / hz
		}
		const perDeg = 111194.9
		out[i] = moment{i, t, start.Add(time.Duration(math.Round(t * 1e9))), v,
			52.1 + x*math.Cos(math.Pi/3)/perDeg, 11.3 + x*math.Sin(math.Pi/3)/perDeg/math.Cos(52.1*math.Pi/180), 60,
			(speed(t+0.01) - speed(t-0.01)) / 0.02}
	}
	return out
}

// logger is an invented logger: a header and how it writes a row.
type logger struct {
	name   string
	hz     float64
	head   string
	row    func(m moment) string
	opts   Options
	encode func(string) []byte

	clock  string
	source recording.Source
	tol    float64 // m/s, of speed
	tolT   float64 // s, of time after the first row
	fixes  int     // 0 for one a row
	accel  bool
	check  func(t *testing.T, rec *recording.Recording)
}

func comma(s string) string { return strings.ReplaceAll(s, ".", ",") }

const kmh = 3.6

var loggers = []logger{
	{name: "iso time, km/h", hz: 10, head: "Time,Latitude,Longitude,Speed (km/h)\n",
		row: func(m moment) string {
			return fmt.Sprintf("%s,%.7f,%.7f,%.2f", m.at.Format("2006-01-02T15:04:05.000Z"), m.lat, m.lon, m.v*kmh)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.002},
	{name: "iso time with zone, mph", hz: 10, head: "timestamp,lat,lon,speed_mph\n",
		row: func(m moment) string {
			return fmt.Sprintf("%s,%.7f,%.7f,%.2f", m.at.In(time.FixedZone("", 7200)).Format("2006-01-02T15:04:05.000-07:00"), m.lat, m.lon, m.v/0.44704)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.003},
	{name: "semicolon and decimal comma, German", hz: 10, head: "Datum;Uhrzeit;Breitengrad;Längengrad;Geschwindigkeit [km/h];Höhe [m]\n",
		row: func(m moment) string {
			return m.at.Format("02.01.2006;15:04:05,00") + comma(fmt.Sprintf(";%.7f;%.7f;%.1f;53.2", m.lat, m.lon, m.v*kmh))
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.015},
	{name: "Latin-1 header", hz: 10, head: "Zeit [s];Geschwindigkeit [km/h];K\xfchlwasser [\xb0C]\n",
		row:   func(m moment) string { return comma(fmt.Sprintf("%.2f;%.1f;88.0", m.t, m.v*kmh)) },
		clock: clock.Elapsed, source: recording.GNSS, tol: 0.015},
	{name: "tabs, units line", hz: 20, head: "# logger 3\n# run of the day\nTime\tGPS Speed\tEngine Speed\tLatAcc\n[s]\t[kn]\t[1/min]\t[g]\n",
		row: func(m moment) string {
			return fmt.Sprintf("%.2f\t%.3f\t%d\t0.01", m.t, m.v/0.514444444, 800+int(m.v*100))
		},
		clock: clock.Elapsed, source: recording.GNSS, tol: 0.001},
	{name: "metadata before the header", hz: 10, head: "Device;Airfield box\nDate;14.06.2026\n\nVersion;1.4\nt;v;n\ns;km/h;1/min\n",
		row:   func(m moment) string { return comma(fmt.Sprintf("%.1f;%.2f;%d", m.t, m.v*kmh, 800)) },
		clock: clock.Elapsed, source: recording.GNSS, tol: 0.002},
	{name: "quoted cells with units", hz: 5, head: "\"Nr\",\"Date Time\",\"Lat\",\"Lon\",\"Speed\"\n",
		row: func(m moment) string {
			return fmt.Sprintf("\"%d\",\"%s\",\"%.7f\",\"%.7f\",\"%.1f km/h\"", m.i, m.at.Format("2006/01/02 15:04:05.0"), m.lat, m.lon, m.v*kmh)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.015},
	{name: "UTF-16", hz: 10, head: "time_ms,speed_kmh\r\n",
		row:    func(m moment) string { return fmt.Sprintf("%.0f,%.2f\r", m.t*1000, m.v*kmh) },
		encode: utf16le, clock: clock.Elapsed, source: recording.GNSS, tol: 0.002},
	{name: "BOM, epoch ms", hz: 10, head: "\ufefftimestamp,latitude,longitude,speed,accuracy\n",
		row: func(m moment) string {
			return fmt.Sprintf("%d,%.7f,%.7f,%.2f,3.9", m.at.UnixMilli(), m.lat, m.lon, m.v)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.006},
	{name: "epoch s", hz: 10, head: "epoch,lat,lng,sog\n",
		row: func(m moment) string {
			return fmt.Sprintf("%.3f,%.7f,%.7f,%.2f", float64(m.at.UnixMilli())/1000, m.lat, m.lon, m.v/0.514444444)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.004},
	{name: "epoch us", hz: 10, head: "utime,lat,lon,velocity_mps\n",
		row:   func(m moment) string { return fmt.Sprintf("%d,%.7f,%.7f,%.2f", m.at.UnixMicro(), m.lat, m.lon, m.v) },
		opts:  Options{Columns: "time=utime:us"},
		clock: clock.UTC, source: recording.GNSS, tol: 0.006},
	{name: "epoch ns", hz: 10, head: "time,lat,lon,v_cm_s\n",
		row:   func(m moment) string { return fmt.Sprintf("%d,%.7f,%.7f,%.0f", m.at.UnixNano(), m.lat, m.lon, m.v*100) },
		clock: clock.UTC, source: recording.GNSS, tol: 0.006},
	{name: "GPS week and seconds", hz: 10, head: "GPS_Week,GPS_TOW_s,vel_N_mps,vel_E_mps,vel_D_mps\n",
		row: func(m moment) string {
			s := m.at.Sub(time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC)).Seconds() + 18
			return fmt.Sprintf("%d,%.2f,%.3f,%.3f,0.001", int(s/604800), math.Mod(s, 604800), m.v*0.5, m.v*math.Sqrt(0.75))
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.002},
	{name: "serial days", hz: 10, head: "Date/Time;Speed km/h\n",
		row: func(m moment) string {
			return comma(fmt.Sprintf("%.11f;%.2f", float64(m.at.UnixMilli())/86400e3+25569, m.v*kmh))
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.002, tolT: 2e-6},
	{name: "hhmmss and ddmmyy", hz: 10, head: "utc,date,lat,ns,lon,ew,knots\n",
		row: func(m moment) string {
			return fmt.Sprintf("%s,%s,%.7f,N,%.7f,E,%.3f", m.at.Format("150405.00"), m.at.Format("020106"), m.lat, m.lon, m.v/0.514444444)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.001},
	{name: "degrees and minutes, hemisphere columns", hz: 10, head: "UTC Time,Lat,N/S,Lon,E/W,Speed,\n",
		row: func(m moment) string {
			la, lo := math.Floor(m.lat), math.Floor(m.lon)
			return fmt.Sprintf("%s,%010.5f,S,%011.5f,W,%.2f,", m.at.Format("15:04:05.0"), la*100+(m.lat-la)*60, lo*100+(m.lon-lo)*60, m.v/0.514444444)
		}, clock: clock.TimeOfDay, source: recording.GNSS, tol: 0.004,
		check: func(t *testing.T, rec *recording.Recording) {
			if f := rec.Primary().At(0); math.Abs(f.Q[recording.LatDeg]+52.1) > 1e-6 || math.Abs(f.Q[recording.LonDeg]+11.3) > 1e-6 {
				t.Errorf("position %v, %v", f.Q[recording.LatDeg], f.Q[recording.LonDeg])
			}
		}},
	{name: "am and pm", hz: 1, head: "Device Time, Speed (OBD)(mph), GPS Speed (Meters/second), Latitude, Longitude, G(x), G(y), G(z)\n",
		row: func(m moment) string {
			return fmt.Sprintf("%s,%.1f,%.2f,%.7f,%.7f,0.01,0.02,0.99", m.at.Format("02-Jan-2006 3:04:05.000 PM"), m.v/0.44704, m.v, m.lat, m.lon)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.006},
	{name: "vehicle bus beside slow GNSS", hz: 20, head: "Time (s),Vehicle speed (km/h),GPS speed (km/h),GPS Latitude (deg),GPS Longitude (deg)\n",
		row: func(m moment) string {
			if m.i%20 == 0 {
				return fmt.Sprintf("%.3f,%.2f,%.1f,%.6f,%.6f", m.t, m.v*kmh, m.v*kmh, m.lat, m.lon)
			}
			return fmt.Sprintf("%.3f,%.2f,,,", m.t, m.v*kmh)
		}, clock: clock.Elapsed, source: recording.Wheel, tol: 0.002,
		check: func(t *testing.T, rec *recording.Recording) {
			if len(rec.Tracks) != 2 || rec.Tracks[1].Source != recording.GNSS || rec.Tracks[1].Len() != 30 {
				t.Errorf("tracks %d", len(rec.Tracks))
			}
		}},
	{name: "phone: one sensor a row", hz: 50, head: "time_ns,accelX,accelY,accelZ,lat,lon,speed_mps,bearing\n",
		row: func(m moment) string {
			if m.i%50 == 3 {
				return fmt.Sprintf("%d,,,,%.7f,%.7f,%.2f,60", int64(m.t*1e9), m.lat, m.lon, m.v)
			}
			return fmt.Sprintf("%d,0.01,%.3f,9.81,,,,", int64(m.t*1e9), m.a)
		}, clock: clock.Elapsed, source: recording.GNSS, tol: 0.006, fixes: 12, accel: true},
	{name: "50 Hz rows with 10 Hz GNSS repeated", hz: 50, head: "ms,ax_g,ay_g,az_g,lat,lon,kmh\n",
		row: func(m moment) string {
			k := drive(50, m.i/5*5+1)[m.i/5*5]
			return fmt.Sprintf("%d,%.4f,%.4f,%.4f,%.7f,%.7f,%.2f", m.i*20, m.a/9.80665, 0.001*float64(m.i%7), 1+0.001*float64(m.i%3), k.lat, k.lon, k.v*kmh)
		}, clock: clock.Elapsed, source: recording.GNSS, tol: 0.002, fixes: 120, accel: true},
	{name: "whole seconds, ten rows in each", hz: 10, head: "time,lat,lon,speed_kmh\n",
		row: func(m moment) string {
			return fmt.Sprintf("%s,%.7f,%.7f,%.2f", m.at.Format("15:04:05"), m.lat, m.lon, m.v*kmh)
		}, clock: clock.TimeOfDay, source: recording.GNSS, tol: 0.002, tolT: 1e-6},
	{name: "coarse date beside fine elapsed ms", hz: 10, head: "datetime,elapsed_ms,speed_kmh\n",
		row: func(m moment) string {
			return fmt.Sprintf("%s,%d,%.2f", m.at.Format("2006-01-02 15:04:05"), 7000+m.i*100, m.v*kmh)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.002},
	{name: "coarse date beside minutes and seconds", hz: 10, head: "datetime,elapsed,speed_kmh\n",
		row: func(m moment) string {
			return fmt.Sprintf("%s,%02d:%04.1f,%.2f", m.at.Format("2006-01-02 15:04:05"), int(m.t/60), math.Mod(m.t, 60), m.v*kmh)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.002},
	{name: "hours", hz: 1, head: "t,speed_kmh\n",
		row:  func(m moment) string { return fmt.Sprintf("%.7f,%.2f", m.t/3600, m.v*kmh) },
		opts: Options{Columns: "time=t:h"}, clock: clock.Elapsed, source: recording.GNSS, tol: 0.002, tolT: 2e-4},
	{name: "year to millisecond in columns", hz: 10, head: "Year,Month,Day,Hour,Minute,Second,ms,Speed[kph]\n",
		row: func(m moment) string {
			return fmt.Sprintf("%s,%d,%.2f", m.at.Format("2006,1,2,15,4,5"), m.at.Nanosecond()/1e6, m.v*kmh)
		}, clock: clock.UTC, source: recording.GNSS, tol: 0.002},
	{name: "no header, position", hz: 10, head: "",
		row:   func(m moment) string { return fmt.Sprintf("%.1f,%.7f,%.7f,%.2f", m.t, m.lat, m.lon, m.v*kmh) },
		clock: clock.Elapsed, source: recording.GNSS, tol: 0.002},
	{name: "no header, mapped by number", hz: 10, head: "",
		row:   func(m moment) string { return fmt.Sprintf("%.1f,%.2f", m.t, m.v*kmh) },
		opts:  Options{Columns: "time=#1:s,speed=#2:km/h"},
		clock: clock.Elapsed, source: recording.GNSS, tol: 0.002},
	{name: "blanks between columns", hz: 10, head: "  time_s   speed_mps\n",
		row:   func(m moment) string { return fmt.Sprintf("  %8.2f  %10.3f", m.t, m.v) },
		clock: clock.Elapsed, source: recording.GNSS, tol: 0.001},
	{name: "blanks within the time", hz: 10, head: "date time speed(km/h)\n",
		row: func(m moment) string {
			return m.at.Format("2006-01-02 15:04:05.0") + fmt.Sprintf(" %.2f", m.v*kmh)
		},
		clock: clock.UTC, source: recording.GNSS, tol: 0.002},
	{name: "mm/s and 1e-7 degrees", hz: 10, head: "iTOW [ms],lat [1e-7 deg],lon [1e-7 deg],gSpeed [mm/s],hAcc [mm],sAcc [mm/s],numSV\n",
		row: func(m moment) string {
			return fmt.Sprintf("%d,%.0f,%.0f,%.0f,800,50,17", 302400000+m.i*100, m.lat*1e7, m.lon*1e7, m.v*1000)
		}, clock: clock.Elapsed, source: recording.GNSS, tol: 0.001,
		check: func(t *testing.T, rec *recording.Recording) {
			f := rec.Primary().At(9)
			if f.Q[recording.SpeedSD] != 0.05 || f.Q[recording.PosSD] != 0.8 || f.Q[recording.Satellites] != 17 || math.Abs(f.Q[recording.LatDeg]-52.1) > 1e-6 {
				t.Errorf("fix %v", f.Q)
			}
		}},
	{name: "two units of one speed", hz: 10, head: "Time,Speed (mph),Speed (m/s),Lap\n",
		row:   func(m moment) string { return fmt.Sprintf("%.2f,%.1f,%.3f,%d", m.t, m.v/0.44704, m.v, 1+m.i/300) },
		clock: clock.Elapsed, source: recording.GNSS, tol: 0.001,
		check: func(t *testing.T, rec *recording.Recording) {
			if len(rec.Tracks) != 1 || len(rec.Marks) != 1 || rec.Marks[0].Kind != "lap" {
				t.Errorf("%d tracks, marks %v", len(rec.Tracks), rec.Marks)
			}
		}},
	{name: "past midnight", hz: 10, head: "time;speed_kmh\n",
		row: func(m moment) string {
			return comma(m.at.Add(14*time.Hour+time.Minute).Format("15:04:05.0") + fmt.Sprintf(";%.2f", m.v*kmh))
		}, clock: clock.TimeOfDay, source: recording.GNSS, tol: 0.002},
	{name: "minutes and seconds", hz: 10, head: "Elapsed,Speed (km/h)\n",
		row: func(m moment) string {
			return fmt.Sprintf("%02d:%04.1f,%.2f", 59+int(m.t/60), math.Mod(m.t, 60), m.v*kmh)
		},
		clock: clock.Elapsed, source: recording.GNSS, tol: 0.002},
}

func utf16le(s string) []byte {
	b := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u), byte(u>>8))
	}
	return b
}

// write makes the logger's file.
func (l *logger) write(rows []moment) []byte {
	var b strings.Builder
	b.WriteString(l.head)
	for _, m := range rows {
		b.WriteString(l.row(m))
		b.WriteByte('\n')
	}
	if l.encode != nil {
		return l.encode(b.String())
	}
	return []byte(b.String())
}

func TestInventedLoggers(t *testing.T) {
	for _, l := range loggers {
		t.Run(l.name, func(t *testing.T) {
			rows := drive(l.hz, 600)
			text := l.write(rows)
			if Sniff(text[:min(len(text), 65536)]) < 30 {
				t.Errorf("sniffed as %d", Sniff(text[:min(len(text), 65536)]))
			}
			rec, err := Read(context.Background(), bytes.NewReader(text), "log.csv", l.opts)
			if err != nil {
				t.Fatal(err)
			}
			if rec.Clock != l.clock {
				t.Errorf("clock %q, want %q", rec.Clock, l.clock)
			}
			tr := rec.Primary()
			if tr == nil {
				t.Fatal("no track")
			}
			want := l.fixes
			if want == 0 {
				want = len(rows)
			}
			if tr.Source != l.source || tr.Len() != want {
				t.Errorf("%s with %d fixes, want %s with %d", tr.Source, tr.Len(), l.source, want)
			}
			if (rec.Accel.Len() > 0) != l.accel && l.name != "am and pm" {
				t.Errorf("%d acceleration samples", rec.Accel.Len())
			}
			checkDrive(t, &l, tr, rows)
			if l.check != nil {
				l.check(t, rec)
			}
			if t.Failed() {
				for _, g := range rec.Problems.Groups() {
					t.Logf("%s %s %d line %d: %s", g.Kind, g.Effect, g.Count, g.First().Line, g.First().Text)
				}
			}
		})
	}
}

// checkDrive compares the track with the drive.
func checkDrive(t *testing.T, l *logger, tr *recording.Track, rows []moment) {
	t.Helper()
	tolT := max(l.tolT, 2e-9)
	step := len(rows) / tr.Len()
	first := rows[0]
	if l.clock == clock.UTC {
		if d := tr.TimeAt(0).Sub(first.at).Seconds(); math.Abs(d) > tolT {
			t.Errorf("begins at %v, want %v", tr.TimeAt(0), first.at)
		}
	}
	t0 := tr.TimeAt(0)
	bad := 0
	for i := range tr.Len() {
		m := rows[min(i*step+(len(rows)-tr.Len()*step)*0, len(rows)-1)]
		if step == 50 {
			m = rows[i*step+3]
		}
		if d := tr.TimeAt(i).Sub(t0).Seconds() - (m.t - rows[mod(step)].t); math.Abs(d) > tolT && bad < 3 {
			t.Errorf("fix %d is %g s off", i, d)
			bad++
		}
		if d := tr.Value(recording.Speed, i) - m.v; !(math.Abs(d) <= l.tol) && bad < 3 {
			t.Errorf("fix %d is %g m/s off", i, d)
			bad++
		}
	}
}

// mod is the first row with a fix.
func mod(step int) int {
	if step == 50 {
		return 3
	}
	return 0
}
