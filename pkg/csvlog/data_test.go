package csvlog

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"fromrest/pkg/recording"
)

const dataDir = "../../../shared/data/csv"

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
	defer f.Close()
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
		{"hemisphere-column.csv", clockUTC, recording.GNSS, 747, 1 / 3.6, 0},
		{"kit_0-60_20170804.csv", clockTOD, recording.Wheel, 847, 1 / 3.6, 0},
		{"kit_0-60_20180301.csv", clockTOD, recording.Wheel, 860, 1 / 3.6, 0},
		{"munich1_launch_50hz.csv", clockElapsed, recording.Wheel, 3249, 1 / 3.6, 0},
		{"rpi_accel_10hz.csv", clockElapsed, "", 0, 0, 5489},
		{"rpi_gnss_1hz.csv", clockElapsed, recording.GNSS, 550, 1, 0},
		{"t19_2_launch1_obd_15hz.csv", clockElapsed, recording.Wheel, 1499, 1, 0},
		{"t19_2_launch1_reference_5hz.csv", clockElapsed, recording.Inertial, 501, 1, 0},
		{"units-in-cells.csv", clockUTC, recording.GNSS, 1121, 1 / 3.6, 0},
		{"no-run-60s/accelerometer.csv", clockElapsed, "", 0, 0, 6256},
		{"no-run-60s/can_speed.csv", clockElapsed, recording.Wheel, 4974, 1, 0},
		{"no-run-60s/gnss_ublox.csv", clockUTC, recording.GNSS, 579, 1, 0},
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
