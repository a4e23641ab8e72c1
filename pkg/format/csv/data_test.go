package csv

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

const dataDir = "../../../../shared/data/csv"

// readData reads a real recording, or skips where the folder is absent.
func readData(t *testing.T, name string, opts Options) *recording.Recording {
	t.Helper()
	f, err := os.Open(filepath.Join(dataDir, name))
	if os.IsNotExist(err) {
		t.Skipf("%s is absent", dataDir)
	}
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	rec, err := Read(context.Background(), f, name, opts)
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

func TestRealRecordingsKeepTheirRows(t *testing.T) {
	for _, c := range []struct {
		file   string
		clock  string
		source recording.Source
		fixes  int
		unit   float64 // of speed, m/s
		accel  int
	}{
		{"hemisphere-column.csv", clock.UTC, recording.GNSS, 747, 1 / 3.6, 0},
		{"kit_0-60_20170804.csv", clock.TimeOfDay, recording.Wheel, 847, 1 / 3.6, 0},
		{"kit_0-60_20180301.csv", clock.TimeOfDay, recording.Wheel, 860, 1 / 3.6, 0},
		{"munich1_launch_50hz.csv", clock.Elapsed, recording.Wheel, 3249, 1 / 3.6, 0},
		{"rpi_accel_10hz.csv", clock.Elapsed, "", 0, 0, 5489},
		{"rpi_gnss_1hz.csv", clock.Elapsed, recording.GNSS, 550, 1, 0},
		{"t19_2_launch1_obd_15hz.csv", clock.Elapsed, recording.Wheel, 1499, 1, 0},
		{"t19_2_launch1_reference_5hz.csv", clock.Elapsed, recording.Inertial, 501, 1, 0},
		{"units-in-cells.csv", clock.UTC, recording.GNSS, 1121, 1 / 3.6, 0},
		{"no-run-60s/accelerometer.csv", clock.Elapsed, "", 0, 0, 6256},
		{"no-run-60s/can_speed.csv", clock.Elapsed, recording.Wheel, 4974, 1, 0},
		{"no-run-60s/gnss_ublox.csv", clock.UTC, recording.GNSS, 579, 1, 0},
	} {
		t.Run(c.file, func(t *testing.T) {
			rec := readData(t, c.file, Options{})
			if rec.Clock != c.clock {
				t.Errorf("clock %q, want %q", rec.Clock, c.clock)
			}
			if rec.Accel.Len() != c.accel {
				t.Errorf("%d acceleration samples, want %d", rec.Accel.Len(), c.accel)
			}
			if c.fixes == 0 {
				if len(rec.Tracks) != 0 {
					t.Errorf("%d tracks, want none", len(rec.Tracks))
				}
				return
			}
			tr := rec.Primary()
			if tr == nil {
				t.Fatal("no track")
			}
			if tr.Source != c.source || tr.Len() != c.fixes || tr.SpeedUnit != c.unit {
				t.Errorf("%s, %d fixes, unit %v; want %s, %d, %v", tr.Source, tr.Len(), tr.SpeedUnit, c.source, c.fixes, c.unit)
			}
		})
	}
}

// 50 Hz rows that repeat a 10 Hz receiver: 301 stamps, the cold first row kept
// as it is, and the system's uneven clock set aside.
func TestRepeatedFixesAreJoined(t *testing.T) {
	rec := readData(t, "imu50-gnss10-false-launch.csv", Options{})
	tr := rec.Primary()
	if tr.Len() != 301 || rec.Accel.Len() != 1500 || tr.SpeedUnit != 1/3.6 {
		t.Errorf("%d fixes, %d samples, unit %v", tr.Len(), rec.Accel.Len(), tr.SpeedUnit)
	}
	if d := tr.NanoAt(1) - tr.NanoAt(0); d != 1e8 || tr.Value(recording.Speed, 0) != 0 || tr.Value(recording.Speed, 1) < 14.7 {
		t.Errorf("first fixes %v and %v", tr.At(0), tr.At(1))
	}
}

// One row whose receiver columns are damaged costs its own fix at most: the
// others keep the receiver's stamps.
func TestOneBadRowMovesNoOther(t *testing.T) {
	name := "imu50-gnss10-false-launch.csv"
	whole := readData(t, name, Options{})
	text, err := os.ReadFile(filepath.Join(dataDir, name))
	if err != nil {
		t.Fatal(err)
	}
	rows := bytes.SplitAfter(text, []byte("\n"))
	rows[700] = bytes.Map(func(r rune) rune {
		if r == '.' {
			return '#'
		}
		return r
	}, rows[700])
	rec, err := readBytes(bytes.Join(rows, nil))
	if err != nil {
		t.Fatal(err)
	}
	if changed, lost := testlog.Loss(whole, rec); changed+lost > 1 {
		t.Errorf("%d fixes changed, %d lost", changed, lost)
	}
}

// Values as the files print them, at places chosen by hand.
func TestRealRecordingsKeepTheirValues(t *testing.T) {
	for _, c := range []struct {
		file string
		fix  int
		time string
		v    float64 // m/s
		step float64 // m/s
	}{
		{"munich1_launch_50hz.csv", 0, "0001-01-01T00:00:35.016Z", 28.3125 / 3.6, 1 / 64.0 / 3.6},
		{"kit_0-60_20180301.csv", 859, "0001-01-01T07:07:26.942Z", 105 / 3.6, 1 / 3.6},
		{"units-in-cells.csv", 0, "2008-05-04T12:52:47Z", 0.865 / 3.6, 0.001 / 3.6},
		{"rpi_gnss_1hz.csv", 549, "0001-01-01T00:09:15.804Z", 13.3, 0.1},
		{"t19_2_launch1_reference_5hz.csv", 500, "0001-01-01T19:16:21.4Z", 0.0117307288776103, 0},
		{"no-run-60s/gnss_ublox.csv", 578, "2018-08-02T16:15:47.999Z", 12.213, 0.001},
	} {
		tr := readData(t, c.file, Options{}).Primary()
		if got := tr.TimeAt(c.fix).Format("2006-01-02T15:04:05.999999999Z"); got != c.time {
			t.Errorf("%s: fix %d at %s, want %s", c.file, c.fix, got, c.time)
		}
		if v := tr.Value(recording.Speed, c.fix); math.Abs(v-c.v) > 1e-9 || math.Abs(tr.SpeedStep-c.step) > 1e-5 {
			t.Errorf("%s: fix %d has %v m/s in steps of %v, want %v, %v", c.file, c.fix, v, tr.SpeedStep, c.v, c.step)
		}
	}
}
