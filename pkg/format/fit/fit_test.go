package fit

import (
	"bytes"
	"context"
	"errors"
	"math"
	"testing"
	"testing/iotest"
	"time"

	tormoder "github.com/tormoder/fit"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
	"fromrest/pkg/unit"
)

// recorded returns a real recording; the test is skipped where it is absent.
func recorded(t testing.TB, name string) []byte {
	t.Helper()
	return testlog.Logs(t, "fit/"+name)["fit/"+name]
}

// TestRealFiles pins what every real recording holds.
func TestRealFiles(t *testing.T) {
	for _, c := range []struct {
		file    string
		fixes   int
		top     float64 // m/s
		marks   int
		dropped int
		kind    string // of a problem that must be told
	}{
		{"0134902991.fit", 715, 13.449, 1, 24, "time-repeated"},
		{"2015-10-13-08-43-15.fit", 221, 13.567, 14, 0, ""},
		{"activity-activity-filecrc.fit", 14, 0.368, 6, 14, "checksum"},
		{"activity-filecrc.fit", 14, 0.368, 3, 0, "checksum"},
		{"activity-plain.fit", 8823, 16.954, 72, 0, ""},
		{"activity-settings-corruptheader.fit", 14, 0.368, 3, 1, "trailing"},
		{"activity-settings-nodata.fit", 14, 0.368, 3, 1, "truncated"},
		{"activity-settings.fit", 14, 0.368, 3, 0, ""},
		{"activity-unexpected-eof.fit", 14, 0.368, 3, 1, "truncated"},
		{"bad-endian.fit", 1778, 12.825, 15, 3, "framing"}, // two rides run together
		{"compressed-speed-distance.fit", 754, 4.28, 14, 0, "clock"},
		{"header-12-bytes.fit", 537, 4.282, 9, 3, ""},
		{"header-crc-zero.fit", 1286, 11.835, 18, 0, ""},
		{"triathlon_summary_last.fit", 4043, 16.525, 13, 0, ""},
		{"walk.fit", 997, 10.31, 4, 0, ""},
	} {
		t.Run(c.file, func(t *testing.T) {
			b := recorded(t, c.file)
			if Sniff(b) != 100 {
				t.Error("not told for a FIT file")
			}
			rec := read(t, b)
			tr := rec.Primary()
			top := 0.0
			for _, v := range tr.Col(recording.Speed) {
				if v > top {
					top = v
				}
			}
			if tr.Name != "record" || tr.Source != recording.GNSS || tr.Len() != c.fixes || top != c.top || len(rec.Marks) != c.marks {
				t.Errorf("%s by %s: %d fixes to %g m/s, %d marks", tr.Name, tr.Source, tr.Len(), top, len(rec.Marks))
			}
			if n := rec.Problems.Count(diag.Dropped); n != c.dropped || c.kind != "" && count(rec, c.kind) == 0 {
				t.Errorf("%d dropped, want %d", n, c.dropped)
				for _, g := range rec.Problems.Groups() {
					t.Logf("%s %s %d at %s: %s", g.Kind, g.Effect, g.Count, g.First().Place(), g.First().Text)
				}
			}
		})
	}
}

// TestCar is the recording with everything: the README of the recordings gives
// its rate, its speeds, the count of samples and that it begins moving.
func TestCar(t *testing.T) {
	b := recorded(t, "car-10hz-gps-100hz-accelerometer.fit")
	rec := read(t, b)
	tr := rec.Primary()
	speed := tr.Col(recording.Speed)
	lo, hi := math.Inf(1), 0.0
	for _, v := range speed {
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	if tr.Name != "gps_metadata" || tr.Source != recording.GNSS || lo != 0 || hi != 19.66 || tr.Len() != 1419 {
		t.Errorf("%s: %d fixes, %g to %g m/s", tr.Name, tr.Len(), lo, hi)
	}
	if span := tr.TimeAt(tr.Len() - 1).Sub(tr.TimeAt(0)).Seconds(); math.Abs(float64(tr.Len()-1)/span-10) > 0.15 {
		t.Errorf("%.2f Hz", float64(tr.Len()-1)/span)
	}
	// By its timestamp_correlation 69.109 s since power-on is 2017-06-28T02:34:13Z;
	// the first fix is stamped 68.609 s.
	if got, want := tr.TimeAt(0), time.Date(2017, 6, 28, 2, 34, 12, 500e6, time.UTC); !got.Equal(want) || rec.Clock != "utc" {
		t.Errorf("first fix at %v on %s, want %v", got, rec.Clock, want)
	}
	// The velocity's parts agree with speed and course.
	for i := range tr.Len() {
		f := tr.At(i)
		n, e := f.Q[recording.VelNorth], f.Q[recording.VelEast]
		if v := f.Q[recording.Speed]; v > 2 {
			course := math.Mod(math.Atan2(e, n)*180/math.Pi+360, 360)
			if math.Abs(math.Hypot(n, e)-v) > 0.02*v+0.03 || math.Abs(math.Remainder(course-f.Q[recording.Course], 360)) > 2 {
				t.Fatalf("fix %d: north %g, east %g, speed %g, course %g", i, n, e, v, f.Q[recording.Course])
			}
		}
	}
	a := rec.Accel
	mean := 0.0
	for i := range a.Len() {
		mean += math.Sqrt(a.X[i]*a.X[i]+a.Y[i]*a.Y[i]+a.Z[i]*a.Z[i]) / unit.GravityStandard
	}
	mean /= float64(a.Len())
	if a.Len() != 20760 || math.Abs(mean-1.02) > 0.01 {
		t.Errorf("%d samples of mean %.4f g", a.Len(), mean)
	}
	if rate := float64(a.Len()-1) / (float64(a.NanoUTC[a.Len()-1]-a.NanoUTC[0]) / 1e9); math.Abs(rate-99.93) > 0.01 {
		t.Errorf("%.2f samples a second", rate)
	}
	if len(rec.Tracks) != 2 || rec.Tracks[1].Name != "record" {
		t.Error("the records are not the second track")
	}
}

// Traps of the libraries, each with a file that shows it.
func TestTraps(t *testing.T) {
	const t0 = 1000000000
	t.Run("a valid speed does not overwrite a better enhanced speed", func(t *testing.T) {
		w := newWriter(14)
		w.define(0, mesgRecord, fieldTime, typeUint32, 4, 6, typeUint16, 2, 73, typeUint32, 4)
		w.values(0, t0, 4, 65534, 2, 70000, 4)
		w.values(0, t0+1, 4, 12000, 2, 0xFFFFFFFF, 4)
		got := read(t, w.file()).Primary().Col(recording.Speed)
		if got[0] != 70 || got[1] != 12 {
			t.Errorf("speeds %v, want 70 and 12", got)
		}
	})
	t.Run("invalid values are absent", func(t *testing.T) {
		w := newWriter(14)
		w.define(0, mesgRecord, fieldTime, typeUint32, 4, 0, typeSint32, 4, 1, typeSint32, 4, 6, typeUint16, 2, 2, typeUint16, 2)
		w.values(0, t0, 4, 0x7FFFFFFF, 4, 0x7FFFFFFF, 4, 5000, 2, 0xFFFF, 2)
		w.values(0, t0+1, 4, 536870912, 4, -536870912, 4, 0xFFFF, 2, 3135, 2)
		w.values(0, t0+2, 4, 536870912, 4, 0x7FFFFFFF, 4, 0xFFFF, 2, 3135, 2)
		tr := read(t, w.file()).Primary()
		a, b := tr.At(0), tr.At(1)
		if tr.Len() != 2 || a.Has(recording.LatDeg) || a.Has(recording.Altitude) || a.Q[recording.Speed] != 5 ||
			b.Has(recording.Speed) || b.Q[recording.LatDeg] != 45 || b.Q[recording.LonDeg] != -45 || b.Q[recording.Altitude] != 127 {
			t.Errorf("%d fixes: %v %v", tr.Len(), a, b)
		}
	})
	t.Run("speed_1s: its stamp belongs to the last, 0xFF is absent", func(t *testing.T) {
		w := newWriter(14)
		w.define(0, mesgRecord, fieldTime, typeUint32, 4, 17, typeUint8, 4)
		w.values(0, t0, 4, 16, 1, 0xFF, 1, 32, 1, 40, 1)
		tr := read(t, w.file()).Primary()
		if tr.Len() != 3 || tr.Value(recording.Speed, 0) != 1 || tr.Value(recording.Speed, 2) != 2.5 || tr.SpeedStep != 0.0625 ||
			tr.TimeAt(0).Unix() != epochUnix+t0-3 || tr.TimeAt(2).Unix() != epochUnix+t0 {
			t.Errorf("%d fixes %v", tr.Len(), tr.Col(recording.Speed))
		}
	})
	t.Run("an unexpected field does not cost the file", func(t *testing.T) {
		w := newWriter(14)
		w.define(0, mesgRecord, fieldTime, typeUint32, 4, 6, typeUint16, 2, 3, typeUint32, 4, 2, typeUint8, 1, 13, typeString, 3)
		w.values(0, t0, 4, 5000, 2, 7, 4, 9, 1, 0, 1, 0, 1, 0, 1)
		if _, err := tormoder.Decode(bytes.NewReader(w.file())); err == nil {
			t.Fatal("the library reads this now: find another field")
		}
		rec := read(t, w.file())
		if rec.Primary().Value(recording.Speed, 0) != 5 || count(rec, "field") != 1 {
			t.Errorf("%v, problems %v", rec.Primary().At(0), rec.Problems.Groups())
		}
	})
	t.Run("big endian", func(t *testing.T) {
		w := newWriter(12)
		w.big = true
		w.define(0, mesgRecord, fieldTime, typeUint32, 4, 0, typeSint32, 4, 1, typeSint32, 4, 6, typeUint16, 2)
		w.values(0, t0, 4, 536870912, 4, -1, 4, 5000, 2)
		f := read(t, w.file()).Primary().At(0)
		if f.Q[recording.Speed] != 5 || f.Q[recording.LatDeg] != 45 || f.Time.Unix() != epochUnix+t0 {
			t.Errorf("%v", f)
		}
	})
}

// TestContainers reads the same records in every kind of file.
func TestContainers(t *testing.T) {
	made := func(f func(*writer), head int) []byte {
		w := newWriter(head)
		w.define(0, mesgRecord, fieldTime, typeUint32, 4, 6, typeUint16, 2)
		for i := range int64(20) {
			w.values(0, 1000000000+i, 4, 1000*i, 2)
		}
		if f != nil {
			f(w)
		}
		return w.file()
	}
	plain := made(nil, 14)
	nosize := made(func(w *writer) { w.noSize = true }, 14)
	second := newWriter(14)
	second.define(0, mesgRecord, fieldTime, typeUint32, 4, 6, typeUint16, 2)
	second.values(0, 1000000100, 4, 7, 2)
	for name, c := range map[string]struct {
		data  []byte
		fixes int
		kind  string
	}{
		"14-byte header":     {plain, 20, ""},
		"12-byte header":     {made(nil, 12), 20, ""},
		"header CRC 0":       {made(func(w *writer) { w.noHeaderCRC = true }, 14), 20, ""},
		"size 0":             {nosize, 20, "no-size"},
		"size 0, cut":        {nosize[:len(nosize)-5], 19, "truncated"},
		"cut":                {plain[:len(plain)-10], 18, "truncated"},
		"cut before CRC":     {plain[:len(plain)-2], 20, "no-checksum"},
		"size too small":     {append(append(bytes.Clone(plain[:4]), 60, 0, 0, 0), plain[8:]...), 20, "size"},
		"size too great":     {append(append(bytes.Clone(plain[:4]), 60, 0, 1, 0), plain[8:]...), 20, "truncated"},
		"chained":            {append(bytes.Clone(plain), second.file()...), 21, ""},
		"junk between":       {append(append(bytes.Clone(plain), "some junk.FIT and more"...), second.file()...), 21, "trailing"},
		"junk before":        {append([]byte("xx"), plain...), 20, "trailing"},
		"wrong header CRC":   {append(append(bytes.Clone(plain[:12]), 1, 2), plain[14:]...), 20, "header-checksum"},
		"one byte at a time": {plain, 20, ""},
	} {
		t.Run(name, func(t *testing.T) {
			r := bytes.NewReader(c.data)
			rec, err := Read(context.Background(), iotest.OneByteReader(r), "", Options{})
			if err != nil {
				t.Fatal(err)
			}
			if rec.Primary().Len() != c.fixes || c.kind != "" && count(rec, c.kind) == 0 {
				t.Errorf("%d fixes, want %d and a problem %q", rec.Primary().Len(), c.fixes, c.kind)
			}
			for _, g := range rec.Problems.Groups() {
				if c.kind == "" && g.Kind != "source" {
					t.Errorf("unexpected %s: %s", g.Kind, g.First().Text)
				}
			}
		})
	}
}

func gpsFile(times [][3]int64, corr ...[4]int64) []byte {
	w := newWriter(14)
	w.define(0, mesgGPS, fieldTime, typeUint32, 4, 0, typeUint16, 2, 4, typeUint32, 4, 6, typeUint32, 4)
	w.define(1, mesgCorrelation, fieldTime, typeUint32, 4, 0, typeUint16, 2, 1, typeUint32, 4, 2, typeUint16, 2)
	for _, x := range times {
		w.values(0, x[0], 4, x[1], 2, 1000, 4, x[2], 4)
	}
	for _, c := range corr {
		w.values(1, c[0], 4, c[1], 2, c[2], 4, c[3], 2)
	}
	return w.file()
}

func TestClocks(t *testing.T) {
	const none, t0 = 0xFFFFFFFF, 1000000000
	utc := func(s float64) time.Time { return time.Unix(epochUnix+t0, 0).Add(time.Duration(s * 1e9)).UTC() }
	for name, c := range map[string]struct {
		data  []byte
		clock string
		want  []time.Time
	}{
		"UTC itself":  {gpsFile([][3]int64{{t0, 100, none}, {t0, 200, none}}), "utc", []time.Time{utc(0.1), utc(0.2)}},
		"correlation": {gpsFile([][3]int64{{10, 100, none}, {10, 600, none}}, [4]int64{t0, 16384, 10, 0}), "utc", []time.Time{utc(0.6), utc(1.1)}},
		"two correlations, 1 ms apart in 10 s": {gpsFile([][3]int64{{10, 0, none}, {15, 0, none}, {20, 0, none}},
			[4]int64{t0, 0, 10, 0}, [4]int64{t0 + 10, 33, 20, 0}), "utc", []time.Time{utc(0), utc(5.000503540), utc(10.001007080)}},
		"whole seconds of UTC": {gpsFile([][3]int64{{10, 700, t0}, {10, 800, t0 + 1}, {10, 900, t0 + 1}}), "utc", []time.Time{utc(0.9), utc(1), utc(1.1)}},
		"nothing":              {gpsFile([][3]int64{{10, 700, none}, {10, 800, none}}), "elapsed", []time.Time{recording.Epoch0.Add(10700 * time.Millisecond), recording.Epoch0.Add(10800 * time.Millisecond)}},
	} {
		t.Run(name, func(t *testing.T) {
			rec := read(t, c.data)
			tr := rec.Primary()
			if rec.Clock != c.clock || tr.Len() != len(c.want) {
				t.Fatalf("clock %s, %d fixes", rec.Clock, tr.Len())
			}
			for i, want := range c.want {
				if d := tr.TimeAt(i).Sub(want); d < -2 || d > 2 { // ns
					t.Errorf("fix %d at %v, want %v", i, tr.TimeAt(i), want)
				}
			}
		})
	}
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Read(ctx, bytes.NewReader(recordsFile(10)), "", Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	broken := errors.New("the disk fails")
	if _, err := Read(context.Background(), iotest.ErrReader(broken), "", Options{}); !errors.Is(err, broken) {
		t.Errorf("error %v", err)
	}
}
