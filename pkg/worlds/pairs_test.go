package worlds

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// pairsAt is where recordings of one drive by two sources lie.
const pairsAt = "../../../shared/data"

// pair is one drive on one clock, seen by two sources.
type pair struct{ what, a, b string }

var pairs = []pair{
	{"dead-reckoning receiver 1 Hz, vehicle bus 2 Hz", "pairs/carlogger-gnss-1hz.csv", "pairs/carlogger-bus-2hz.csv"},
	{"dead-reckoning receiver 1 Hz, with accelerometer", "pairs/carlogger-gnss-1hz.csv", "pairs/carlogger-gnss-1hz-imu-100hz.csv.gz"},
	{"wheel speed 50 Hz, receiver 1 Hz", "pairs/munich1-wheel-50hz.csv", "pairs/munich1-gnss-1hz.csv"},
	{"inertial reference 5 Hz, wheel speed 15 Hz, first start", "csv/t19_2_launch1_reference_5hz.csv", "csv/t19_2_launch1_obd_15hz.csv"},
	{"the same, second start", "csv/t19_2_launch2_reference_5hz.csv", "csv/t19_2_launch2_obd_15hz.csv"},
	{"the same, third start", "csv/t19_2_launch3_reference_5hz.csv", "csv/t19_2_launch3_obd_15hz.csv"},
	{"survey-grade reference 1 Hz, automotive receiver 1 Hz", "nmea/reference-bad-rmc-checksums-1hz.nmea", "nmea/f9k-three-launches-1hz.nmea"},
}

const pairsHead = `
## Real recordings of one drive by two sources

The share of common times that differ by no more than the root of the sum of squares of both half-widths,
of all starts that both logs show; nothing is left out for a flag. Starts are the same where their launches
lie within 5 s of each other on the common clock.

| drive | starts | times from rest | agree | times with rollout | agree |
|---|---:|---:|---:|---:|---:|
`

func startsOf(t *testing.T, name string) []*session.TimedRun {
	t.Helper()
	res, err := session.Run(context.Background(), []session.Input{{Path: filepath.Join(pairsAt, name)}}, session.Options{NoTraces: true})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(name, err, res.Failed)
	}
	return res.StandingStarts()
}

// row is the pair's row of the table, "" where its recordings are not here.
func (p pair) row(t *testing.T) string {
	t.Helper()
	for _, name := range []string{p.a, p.b} {
		if _, err := os.Stat(filepath.Join(pairsAt, name)); err != nil {
			return ""
		}
	}
	n, agree, both := map[timing.Origin]int{}, map[timing.Origin]int{}, 0
	others := startsOf(t, p.b)
	for _, a := range startsOf(t, p.a) {
		for _, b := range others {
			if math.Abs(a.Launch.Sub(b.Launch).Seconds()) > 5 {
				continue
			}
			both++
			for _, x := range a.Times {
				if y, ok := b.Time(x.Name, x.From); ok && !math.IsNaN(x.Seconds-y.Seconds) {
					n[x.From]++
					if math.Abs(x.Seconds-y.Seconds) <= math.Hypot(x.U95, y.U95) {
						agree[x.From]++
					}
				}
			}
			break
		}
	}
	return fmt.Sprintf("| %s | %d | %d | %d | %d | %d |", p.what, both, n[timing.FromRest], agree[timing.FromRest], n[timing.FromRollout], agree[timing.FromRollout])
}

func TestPairsAreThere(t *testing.T) {
	if pairs[0].row(t) == "" {
		t.Skip("skipped: the recordings are not at " + pairsAt)
	}
	for _, p := range pairs {
		row := p.row(t)
		t.Log(row)
		if row == "" {
			t.Errorf("%s: a recording is missing", p.what)
		}
	}
}

// What one source of a real drive shows later than the other is what was measured on these
// recordings by other means.
func TestBesideRealRecordings(t *testing.T) {
	beside := func(name, other string) *session.Beside {
		for _, f := range []string{name, other} {
			if _, err := os.Stat(filepath.Join(pairsAt, f)); err != nil {
				t.Skip("skipped: the recordings are not at " + pairsAt)
			}
		}
		_, b, err := session.RunBeside(context.Background(), session.Input{Path: filepath.Join(pairsAt, name)}, session.Input{Path: filepath.Join(pairsAt, other)}, session.Options{NoTraces: true})
		if err != nil {
			t.Fatal(name, err)
		}
		for _, c := range b.Common {
			if !c.Agree {
				t.Errorf("%s %s from %s differs by %.2f ± %.2f s", c.Run.ID, c.Less.Name, c.Less.From, c.Less.Seconds, c.Less.U95)
			}
		}
		t.Logf("%s beside %s: %+v, %d common times", name, other, b.Behind, len(b.Common))
		return b
	}
	car := beside("pairs/carlogger-gnss-1hz.csv", "pairs/carlogger-gnss-1hz-imu-100hz.csv.gz")
	if len(car.Sensors) != 1 || math.Abs(car.Sensors[0].Late.X-0.25) > 0.05 || math.Abs(car.Behind.Late.X) > 0.01 {
		t.Errorf("the receiver is %+v behind the accelerometer, measured 0.25 ± 0.05 s", car.Sensors)
	}
	munich := beside("pairs/munich1-gnss-1hz.csv", "pairs/munich1-wheel-50hz.csv")
	if l := munich.Behind.Late; math.Abs(l.X-1) > 0.1 || l.U95() > 0.1 {
		t.Errorf("the receiver is %.2f ± %.2f s late, measured about 1", l.X, l.U95())
	}
	if h := munich.Other.Quality.StaticHold; h > 0 {
		t.Errorf("the wheel speed is said to hold below %.2f m/s, and shows 0.013", h)
	}
	if f9k := beside("nmea/f9k-three-launches-1hz.nmea", "nmea/reference-bad-rmc-checksums-1hz.nmea"); math.Abs(f9k.Behind.Late.X) > 0.05 || len(f9k.Common) < 28 {
		t.Errorf("%+v, %d common times", f9k.Behind, len(f9k.Common))
	}
}
