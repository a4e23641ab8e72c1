package align

import (
	"context"
	"math"
	"os"
	"strings"
	"testing"

	"fromrest/pkg/format/csv"
	fitlog "fromrest/pkg/format/fit"
	"fromrest/pkg/motion/accel"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// open reads a real recording.
func open(t *testing.T, path string) *recording.Recording {
	t.Helper()
	f, err := os.Open("../../../../shared/data/" + path)
	if err != nil {
		t.Skip("the folder of real recordings is absent")
	}
	defer func() { _ = f.Close() }()
	var rec *recording.Recording
	if strings.HasSuffix(path, ".fit") {
		rec, err = fitlog.Read(context.Background(), f, path, fitlog.Options{})
	} else {
		rec, err = csv.Read(context.Background(), f, path, csv.Options{})
	}
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

func alignReal(t *testing.T, a *recording.Accel, tr *recording.Track, u float64) (*accel.Alignment, Speed) {
	t.Helper()
	sp := speedOf(tr, u)
	al, err := Align(context.Background(), a, sp)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%q: forward %.3f ± %.3f, up %.3f, gain %.3f ± %.3f, bias %.3f, gravity %.3f, offset %.4f ± %.4f, begins %v, correlation %.3f, %.1f Hz, noise %.3f and %.3f, rho %.2f",
		al.Reason, al.Forward, al.ForwardU, al.Up, al.Gain.X, al.Gain.U, al.Bias.X, al.Gravity, al.Offset.X, al.Offset.U, al.Begin, al.Correlation, al.Rate, al.Rest, al.Moving, al.Rho)
	return al, sp
}

// A drive in town, the device tilted on the dashboard: forward is between -Y and
// -Z, gravity reads 1.02 g, and the samples' stamps are 0.1 to 0.3 s before those
// of the speed. The road is not level, the receiver stutters, and the gain of 0.8
// says that the mount leans back under acceleration.
func TestCarWithAccelerometer(t *testing.T) {
	rec := open(t, "fit/car-10hz-gps-100hz-accelerometer.fit")
	al, _ := alignReal(t, rec.Accel, rec.Primary(), 0.05)
	if al.Reason != "" {
		t.Fatal(al.Reason)
	}
	if g := al.Gravity / unit.GravityStandard; math.Abs(g-1.02) > 0.01 {
		t.Errorf("gravity %.4f g", g)
	}
	if e := accel.Angle(al.Forward, accel.Unit([3]float64{0.14, -0.94, -0.31})); e > 0.25 {
		t.Errorf("forward %.3f, %.2f rad from where it should be", al.Forward, e)
	}
	if al.Correlation < 0.78 || al.Correlation > 0.85 {
		t.Errorf("correlation %.3f, was 0.80", al.Correlation)
	}
	if al.Offset.X < 0.1 || al.Offset.X > 0.3 || al.Offset.U > 0.02 {
		t.Errorf("offset %.3f ± %.3f s", al.Offset.X, al.Offset.U)
	}
	if al.Gaps != 0 || al.Clipped != 0 || math.Abs(al.Rate-100) > 0.5 {
		t.Errorf("%d gaps, %d clipped, %.2f Hz", al.Gaps, al.Clipped, al.Rate)
	}
}

// A minute of driving without a stop in three files: the sensor counts seconds
// since it was switched on, the receiver UTC. The receiver's file has both, with
// the delay of its messages: second 46408.654976 stands beside 16:14:48.299. The
// sensor's first sample, 74.942 ms before that row, then lies 75 ms less the delay
// after that instant at the earliest; the delay comes out as 0.16 s.
func TestThreeFilesAlign(t *testing.T) {
	acc := open(t, "csv/no-run-60s/accelerometer.csv").Accel
	acc.OwnClock = true
	al, sp := alignReal(t, acc, open(t, "csv/no-run-60s/gnss_ublox.csv").Primary(), 0.05)
	if al.Reason != "" {
		t.Fatal(al.Reason)
	}
	begin := al.Begin.Sub(sp.Start).Seconds() // after 16:14:48.299
	if delay := begin + 0.074942; delay < 0.05 || delay > 0.25 {
		t.Errorf("the receiver's messages are %.3f s late", delay)
	}
	if accel.Angle(al.Forward, [3]float64{1, 0, 0}) > 0.15 || accel.Angle(al.Up, [3]float64{0, 0, -1}) > 0.15 {
		t.Errorf("forward %.3f, up %.3f", al.Forward, al.Up)
	}
	if al.Correlation < 0.85 {
		t.Errorf("correlation %.3f, was 0.87", al.Correlation)
	}
	if math.Abs(al.Gain.X-1) > 3*al.Gain.U {
		t.Errorf("gain %.3f ± %.3f", al.Gain.X, al.Gain.U)
	}
	// The wheels' speed is on the sensor's clock. It swings with the driveline, and
	// the offset that it tells, which is about 0, is good to no more than a tenth
	// of a second; that must be said.
	wheel, _ := alignReal(t, acc, open(t, "csv/no-run-60s/can_speed.csv").Primary(), 0.05)
	if wheel.Reason != "" || math.Abs(wheel.Offset.X-0.02) > 2.5*wheel.Offset.U || wheel.Offset.U > 0.12 {
		t.Errorf("wheels: %q, offset %.3f ± %.3f", wheel.Reason, wheel.Offset.X, wheel.Offset.U)
	}
}

// What cannot be used says why.
func TestRealSensorsSetAside(t *testing.T) {
	slow := open(t, "csv/rpi_accel_10hz.csv").Accel
	al, _ := alignReal(t, slow, open(t, "csv/rpi_gnss_1hz.csv").Primary(), 0.06)
	if al.Reason != "it gives 10.0 samples a second, at least 20 are needed" {
		t.Errorf("10 Hz: %q", al.Reason)
	}
	// Half a minute at 53 km/h, give or take 1.
	rec := open(t, "csv/imu50-gnss10-false-launch.csv")
	al, _ = alignReal(t, rec.Accel, rec.Primary(), 0.05)
	if !strings.HasPrefix(al.Reason, "the speed changes too little to tell forward") {
		t.Errorf("steady drive: %q", al.Reason)
	}
}
