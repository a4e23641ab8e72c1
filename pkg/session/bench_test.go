package session_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"testing"
	"time"

	"fromrest/pkg/format"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

// longLog is a 10 Hz NMEA log of some hours with the given number of standing
// starts at its beginning, then driving about and standing still by turns.
func longLog(b *testing.B, hours float64, starts int, rmcOnly bool) []byte {
	b.Helper()
	rec := longDrive(b, hours, starts).Recording(synth.Receiver{Noise: 0.05, PositionNoise: 0.8, Step: 0.001 * unit.Knot}, nil, 5)
	var buf bytes.Buffer
	if err := synth.WriteNMEA(&buf, rec, synth.NMEAOptions{RMCOnly: rmcOnly}); err != nil {
		b.Fatal(err)
	}
	return buf.Bytes()
}

// longDrive simulates what longLog logs.
func longDrive(b *testing.B, hours float64, starts int) *synth.Session {
	b.Helper()
	v := synth.Automatic()
	sc := synth.Scenario{HeadingDeg: 64, LatDeg: 47.1, LonDeg: -19.8, RestMin: 4, RestMax: 8}
	for i := range starts {
		sc.Events = append(sc.Events, synth.Event{Kind: synth.Start, Vehicle: v, Reverse: i%2 == 1})
	}
	// What is left is filled up with about 20 minutes at a time.
	base, err := sc.Simulate(5)
	if err != nil {
		b.Fatal(err)
	}
	for left := hours*3600 - base.Motion.End(); left > 0; left -= 1200 {
		d := min(left, 1200)
		sc.Events = append(sc.Events, synth.Event{Kind: synth.Drive, Seconds: d * 0.7}, synth.Event{Kind: synth.Idle, Seconds: d * 0.3})
	}
	s, err := sc.Simulate(5)
	if err != nil {
		b.Fatal(err)
	}
	return s
}

// BenchmarkHour is the whole way from the bytes of a one-hour 10 Hz log (RMC, VTG
// and GGA) with four standing starts to the times in its table.
func BenchmarkHour(b *testing.B) {
	log := longLog(b, 1, 4, false)
	b.SetBytes(int64(len(log)))
	b.ReportAllocs()
	for b.Loop() {
		if n := len(startsOf(fromBytes(b, log))); n != 4 {
			b.Fatalf("%d standing starts", n)
		}
	}
}

// BenchmarkHourFused is the same hour with a three-axis accelerometer of 100
// samples a second in one FIT log. FROMREST_HOUR names a file to keep that log in.
func BenchmarkHourFused(b *testing.B) {
	acc := synth.Accelerometer{Mounting: synth.Rotation{0, 0, 1, 1, 0, 0, 0, 1, 0}, Noise: 0.3, Offset: 0.7, Bias: [3]float64{0.1, 0.1, -0.1}}
	rec := longDrive(b, 1, 4).Recording(synth.Receiver{Noise: 0.05, PositionNoise: 0.8}, &acc, 5)
	var buf bytes.Buffer
	if err := synth.WriteFIT(&buf, rec, synth.FITOptions{}); err != nil {
		b.Fatal(err)
	}
	if keep := os.Getenv("FROMREST_HOUR"); keep != "" {
		if err := os.WriteFile(keep, buf.Bytes(), 0o644); err != nil {
			b.Fatal(err)
		}
	}
	b.SetBytes(int64(buf.Len()))
	b.ReportAllocs()
	for b.Loop() {
		res := fromBytes(b, buf.Bytes())
		if n := len(startsOf(res)); n != 4 || res.Logs[0].Quality.Alignment.Reason != "" {
			b.Fatalf("%d standing starts, accelerometer %s", n, res.Logs[0].Quality.Accel)
		}
	}
}

// BenchmarkLength compares logs of 1, 10 and 100 hours with the same four starts,
// and with 16, in turns of one run; the quickest turn of each counts, because the
// machine may be busy with other work. Past reading is the whole less reading the
// same bytes; x-past and x-read are its and reading's ratio to one hour with four
// starts. What is left of the length past reading is the search for the runs and
// for the noise: scan-over-read compares an hour of it with an hour of reading.
// x-run-100h is what one more run costs in 100 hours over what it costs in one.
func BenchmarkLength(b *testing.B) {
	cases := []struct {
		name   string
		hours  float64
		starts int
		log    []byte
		read   float64 // s
		whole  float64 // s
	}{{name: "1h", hours: 1, starts: 4}, {name: "10h", hours: 10, starts: 4}, {name: "100h", hours: 100, starts: 4},
		{name: "1h-16runs", hours: 1, starts: 16}, {name: "100h-16runs", hours: 100, starts: 16}}
	for i := range cases {
		c := &cases[i]
		c.log = longLog(b, c.hours, c.starts, true)
		c.read, c.whole = math.Inf(1), math.Inf(1)
	}
	for b.Loop() {
		for i := range cases {
			c := &cases[i]
			begin := time.Now()
			if _, err := format.Read(context.Background(), bytes.NewReader(c.log), "drive.nmea", format.Options{}); err != nil {
				b.Fatal(err)
			}
			c.read = min(c.read, time.Since(begin).Seconds())
			begin = time.Now()
			if n := len(startsOf(fromBytes(b, c.log))); n != c.starts {
				b.Fatalf("%s: %d standing starts, want %d", c.name, n, c.starts)
			}
			c.whole = min(c.whole, time.Since(begin).Seconds())
		}
	}
	one := cases[0]
	for _, c := range cases {
		b.ReportMetric(1e3*c.read, fmt.Sprintf("ms-read-%s", c.name))
		b.ReportMetric(1e3*(c.whole-c.read), fmt.Sprintf("ms-past-%s", c.name))
		if c.name != one.name {
			b.ReportMetric((c.whole-c.read)/(one.whole-one.read), fmt.Sprintf("x-past-%s", c.name))
			b.ReportMetric(c.read/one.read, fmt.Sprintf("x-read-%s", c.name))
		}
	}
	past := func(i int) float64 { return cases[i].whole - cases[i].read }
	b.ReportMetric(1e3*(past(3)-past(0))/12, "ms-a-run-1h")
	b.ReportMetric((past(4)-past(2))/(past(3)-past(0)), "x-run-100h")
	b.ReportMetric((past(2)-past(0))/(cases[2].read-cases[0].read), "scan-over-read")
}
