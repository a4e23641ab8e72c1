package synth_test

import (
	"bytes"
	"context"
	"math"
	"testing"

	"fromrest/pkg/format/csv"
	"fromrest/pkg/format/fit"
	"fromrest/pkg/format/gpx"
	"fromrest/pkg/format/nmea"
	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

// roundTrip is a session with both sensors as it was logged.
func roundTrip(t *testing.T, rx synth.Receiver) *recording.Recording {
	t.Helper()
	s, err := synth.Scenario{HeadingDeg: 301, LatDeg: -33.41, LonDeg: 179.9995, Altitude: 80, Road: synth.Road{Grade: 0.01},
		Events: []synth.Event{{Kind: synth.Creep}, {Kind: synth.Start, Vehicle: synth.Automatic()}, {Kind: synth.Circle}}}.Simulate(3)
	if err != nil {
		t.Fatal(err)
	}
	return s.Recording(rx, &synth.Accelerometer{Noise: 0.3}, 4)
}

// tolerance is how far a value may come back from a format, by column.
type tolerance map[recording.Column]float64

// compare holds every fix of got to what was written.
func compare(t *testing.T, got *recording.Recording, want *recording.Recording, tol tolerance) {
	t.Helper()
	g, w := got.Primary(), want.Primary()
	if g == nil || g.Len() != w.Len() {
		t.Fatalf("%d fixes come back, want %d", g.Len(), w.Len())
	}
	for i := range w.Len() {
		if d := g.TimeAt(i).Sub(w.TimeAt(i)); math.Abs(d.Seconds()) > 0.00051 {
			t.Fatalf("fix %d comes back %v late", i, d)
		}
		for c, e := range tol {
			a, b := g.Value(c, i), w.Value(c, i)
			d := math.Abs(a - b)
			if c == recording.Course {
				d = math.Min(d, 360-d)
			}
			if math.IsNaN(a) != math.IsNaN(b) || d > e {
				t.Fatalf("fix %d, column %d: %v comes back, want %v", i, c, a, b)
			}
		}
	}
}

var receivers = map[string]synth.Receiver{
	"10 Hz":       {Noise: 0.05, PositionNoise: 1},
	"25 Hz":       {Rate: 25, Noise: 0.02},
	"static hold": {Noise: 0.05, Hold: 0.4, Step: 0.1 * unit.Knot},
	"components":  {Noise: 0.05, Velocity: true},
	"gaps":        {Rate: 5, Noise: 0.1, DropOuts: 3, Jitter: 0.02},
}

func TestNMEARoundTrip(t *testing.T) {
	for name, rx := range receivers {
		t.Run(name, func(t *testing.T) {
			want := roundTrip(t, rx)
			var buf bytes.Buffer
			if err := synth.WriteNMEA(&buf, want, synth.NMEAOptions{}); err != nil {
				t.Fatal(err)
			}
			got, err := nmea.Read(context.Background(), &buf, "x.nmea", nmea.Options{})
			if err != nil {
				t.Fatal(err)
			}
			clean(t, got)
			compare(t, got, want, tolerance{recording.Speed: 0.00051 * unit.Knot, recording.Course: 0.0051,
				recording.LatDeg: 1e-9, recording.LonDeg: 1e-9, recording.Altitude: 0.0051})
		})
	}
}

func TestGPXRoundTrip(t *testing.T) {
	for name, rx := range receivers {
		t.Run(name, func(t *testing.T) {
			want := roundTrip(t, rx)
			var buf bytes.Buffer
			if err := synth.WriteGPX(&buf, want); err != nil {
				t.Fatal(err)
			}
			got, err := gpx.Read(context.Background(), &buf, "x.gpx", gpx.Options{})
			if err != nil {
				t.Fatal(err)
			}
			clean(t, got)
			compare(t, got, want, tolerance{recording.Speed: 0.000051, recording.Course: 0.0051,
				recording.LatDeg: 1e-9, recording.LonDeg: 1e-9, recording.Altitude: 0.0051})
		})
	}
}

func TestCSVRoundTrip(t *testing.T) {
	for _, opts := range []synth.CSVOptions{{}, {KMH: true}} {
		for name, rx := range receivers {
			t.Run(name, func(t *testing.T) {
				want := roundTrip(t, rx)
				var buf bytes.Buffer
				if err := synth.WriteCSV(&buf, want, opts); err != nil {
					t.Fatal(err)
				}
				got, err := csv.Read(context.Background(), &buf, "x.csv", csv.Options{})
				if err != nil {
					t.Fatal(err)
				}
				compare(t, got, want, tolerance{recording.Speed: 0.000051, recording.Course: 0.0051,
					recording.LatDeg: 1e-9, recording.LonDeg: 1e-9, recording.Altitude: 0.0051})
			})
		}
	}
}

func TestFITRoundTrip(t *testing.T) {
	for _, opts := range []synth.FITOptions{{}, {SincePowerOn: true}} {
		for name, rx := range receivers {
			t.Run(name, func(t *testing.T) {
				want := roundTrip(t, rx)
				var buf bytes.Buffer
				if err := synth.WriteFIT(&buf, want, opts); err != nil {
					t.Fatal(err)
				}
				got, err := fit.Read(context.Background(), &buf, "x.fit", fit.Options{})
				if err != nil {
					t.Fatal(err)
				}
				clean(t, got)
				compare(t, got, want, tolerance{recording.Speed: 0.00051, recording.Course: 0.0051,
					recording.LatDeg: 5e-8, recording.LonDeg: 5e-8, recording.Altitude: 0.11,
					recording.VelNorth: 0.0051, recording.VelEast: 0.0051, recording.VelUp: 0.0051})
				if got.Accel.Len() != want.Accel.Len() {
					t.Fatalf("%d samples come back, want %d", got.Accel.Len(), want.Accel.Len())
				}
				for i := range want.Accel.X { // 2048 counts a g
					if d := got.Accel.Z[i] - want.Accel.Z[i]; math.Abs(d) > 0.00241 {
						t.Fatalf("sample %d: %.4f m/s² comes back, want %.4f", i, got.Accel.Z[i], want.Accel.Z[i])
					}
					if d := got.Accel.NanoUTC[i] - want.Accel.NanoUTC[i]; d > 1e6 || d < -1e6 {
						t.Fatalf("sample %d is %d ns off", i, d)
					}
				}
			})
		}
	}
}

// clean fails for each problem that a reader saw in a log without any.
func clean(t *testing.T, rec *recording.Recording) {
	t.Helper()
	for _, p := range rec.Problems.Groups() {
		t.Errorf("problem in a clean log: %s, %s", p.Kind, p.First().Text)
	}
}
