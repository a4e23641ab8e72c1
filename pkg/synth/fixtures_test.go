package synth

import (
	"bytes"
	"encoding/csv"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"fromrest/pkg/unit"
)

var update = flag.Bool("update", false, "write the fixtures anew instead of comparing")

// fixtureDir is the project's own fixtures, see fixtures/README.md.
const fixtureDir = "../../fixtures"

// fixtureSession is four starts, two each way, among creeping, a start given up
// and turning round.
func fixtureSession(t *testing.T) *Session {
	v := Van("plain")
	return mustSimulate(t, Scenario{HeadingDeg: 64, LatDeg: 47.1, LonDeg: -19.8, Altitude: 61, RestMin: 2, RestMax: 5,
		Road: Road{Grade: 0.003, HeadWind: 1.5}, Variation: Variation{Power: 0.006, Build: 0.02},
		Events: []Event{
			{Kind: Creep}, {Kind: Start, Mode: "plain", Vehicle: v}, {Kind: Start, Mode: "plain", Vehicle: v, Reverse: true},
			{Kind: Aborted, Mode: "plain", Vehicle: v}, {Kind: Start, Mode: "plain", Vehicle: v},
			{Kind: Creep}, {Kind: Start, Mode: "plain", Vehicle: v, Reverse: true}, {Kind: Circle}}}, 2031)
}

// writeTruth writes what the runs of a session really did.
func writeTruth(w io.Writer, s *Session) error {
	cw := csv.NewWriter(w)
	rows := [][]string{{"run", "launch_utc", "heading_deg", "rollout_s", "0-30_mph_s", "0-60_mph_s", "60_ft_s", "1/4_mile_s",
		"0-30_mph_rollout_s", "0-60_mph_rollout_s", "60_ft_rollout_s", "1/4_mile_rollout_s", "1/4_mile_rollout_trap_mps"}}
	num := func(x float64, _ bool) string { return strconv.FormatFloat(x, 'f', 6, 64) }
	for i, r := range s.Starts() {
		row := []string{strconv.Itoa(i + 1), s.LaunchTime(r).Format("2006-01-02T15:04:05.000000Z"), num(r.HeadingDeg(), true), num(r.Rollout(), true)}
		for _, rollout := range []bool{false, true} {
			row = append(row, num(r.TimeToSpeed(30*unit.MPH, rollout)), num(r.TimeToSpeed(60*unit.MPH, rollout)),
				num(r.TimeToDistance(60*unit.Foot, rollout)), num(r.TimeToDistance(unit.Mile/4, rollout)))
		}
		rows = append(rows, append(row, num(r.TrapSpeed(unit.Mile/4, true))))
	}
	return cw.WriteAll(rows)
}

// TestFixtures checks that the generator still gives the bytes in fixtures/;
// with -update it writes them.
func TestFixtures(t *testing.T) {
	s := fixtureSession(t)
	rx := Receiver{Noise: 0.05, PositionNoise: 0.8, Step: 0.001 * unit.Knot}
	slow := rx
	slow.Rate, slow.Hold = 5, 0.3
	ten := s.Recording(rx, nil, 1)
	both := s.Recording(rx, &Accelerometer{Noise: 0.3, Bias: [3]float64{0.2, -0.1, 0.15}, Scale: [3]float64{0.03, 0.03, 0.03},
		Mounting: Rotation{0, -1, 0, 1, 0, 0, 0, 0, 1}, Pitch: 0.004}, 1)
	five := s.Recording(slow, nil, 2)
	total := 0
	for _, f := range []struct {
		name  string
		write func(w io.Writer) error
	}{
		{"session-10hz.nmea", func(w io.Writer) error { return WriteNMEA(w, ten, NMEAOptions{}) }},
		{"session-10hz-accel.fit", func(w io.Writer) error { return WriteFIT(w, both, FITOptions{SincePowerOn: true}) }},
		{"session-10hz.csv", func(w io.Writer) error { return WriteCSV(w, ten, CSVOptions{KMH: true}) }},
		{"session-5hz-hold.gpx", func(w io.Writer) error { return WriteGPX(w, five) }},
		{"session-truth.csv", func(w io.Writer) error { return writeTruth(w, s) }},
	} {
		var buf bytes.Buffer
		if err := f.write(&buf); err != nil {
			t.Fatalf("%s: %v", f.name, err)
		}
		total += buf.Len()
		path := filepath.Join(fixtureDir, f.name)
		if *update {
			if err := os.WriteFile(path, buf.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		old, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(old, buf.Bytes()) {
			t.Errorf("%s differs from what the generator gives: run go test ./pkg/synth -run TestFixtures -update if that is meant", f.name)
		}
	}
	if total > 3<<20 {
		t.Errorf("fixtures take %d bytes, more than 3 MB", total)
	}
}
