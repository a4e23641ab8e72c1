package synth

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/adrianmo/go-nmea"
	"github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	tormoder "github.com/tormoder/fit"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// testRecording is a short session with both sensors.
func testRecording(t *testing.T, rx Receiver) *recording.Recording {
	t.Helper()
	sc := Scenario{HeadingDeg: 72, LatDeg: -33.41, LonDeg: -2.1, Altitude: 80,
		Events: []Event{{Kind: Creep}, {Kind: Start, Vehicle: Electric()}}}
	return mustSimulate(t, sc, 3).Recording(rx, &Accelerometer{Noise: 0.3, Mounting: Level}, 4)
}

func TestNMEAIsWhatALibraryReads(t *testing.T) {
	rec := testRecording(t, Receiver{Noise: 0.05, Hold: 0.3})
	var buf bytes.Buffer
	if err := WriteNMEA(&buf, rec, NMEAOptions{}); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(buf.String(), "\r\n"), "\r\n")
	tr := rec.Primary()
	if len(lines) != 3*tr.Len() {
		t.Fatalf("%d lines for %d fixes", len(lines), tr.Len())
	}
	for i := range tr.Len() {
		f := tr.At(i)
		s, err := nmea.Parse(lines[3*i]) // checks the checksum
		if err != nil {
			t.Fatalf("%s: %v", lines[3*i], err)
		}
		m := s.(nmea.RMC)
		if math.Abs(m.Speed*unit.Knot-f.Q[recording.Speed]) > 0.0005*unit.Knot+1e-9 {
			t.Fatalf("fix %d: %s has not %.4f m/s", i, lines[3*i], f.Q[recording.Speed])
		}
		if math.Abs(m.Latitude-f.Q[recording.LatDeg]) > 1e-9 || math.Abs(m.Longitude-f.Q[recording.LonDeg]) > 1e-9 {
			t.Fatalf("fix %d: %s is not at %.9f %.9f", i, lines[3*i], f.Q[recording.LatDeg], f.Q[recording.LonDeg])
		}
		if got := nmea.DateTime(2000, m.Date, m.Time); !got.Equal(f.Time) {
			t.Fatalf("fix %d: %s is not at %s", i, lines[3*i], f.Time)
		}
		if empty := strings.Split(lines[3*i], ",")[8] == ""; empty == f.Has(recording.Course) {
			t.Fatalf("fix %d: course empty %v in %s", i, empty, lines[3*i])
		}
		for _, l := range lines[3*i+1 : 3*i+3] {
			if _, err := nmea.Parse(l); err != nil {
				t.Fatalf("%s: %v", l, err)
			}
		}
	}
	if err := WriteNMEA(&buf, &recording.Recording{}, NMEAOptions{}); err == nil {
		t.Error("a recording without fixes was written")
	}
}

func TestNMEADecimalsFollowTheStep(t *testing.T) {
	for _, c := range []struct {
		step float64
		want int
	}{{0.1 * unit.Knot, 1}, {0.001 * unit.Knot, 3}, {0, 3}, {unit.Knot, 0}} {
		var buf bytes.Buffer
		if err := WriteNMEA(&buf, testRecording(t, Receiver{Step: c.step}), NMEAOptions{RMCOnly: true}); err != nil {
			t.Fatal(err)
		}
		_, dec, _ := strings.Cut(strings.Split(buf.String(), ",")[7], ".")
		if len(dec) != c.want {
			t.Errorf("step %g m/s: speed has %d decimals, want %d", c.step, len(dec), c.want)
		}
	}
}

// TestFITIsWhatLibrariesRead reads the records with one library and the sensors
// with the other.
func TestFITIsWhatLibrariesRead(t *testing.T) {
	rec := testRecording(t, Receiver{Noise: 0.05})
	tr := rec.Primary()
	var buf bytes.Buffer
	if err := WriteFIT(&buf, rec, FITOptions{SincePowerOn: true}); err != nil {
		t.Fatal(err)
	}
	file, err := tormoder.Decode(bytes.NewReader(buf.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	act, err := file.Activity()
	if err != nil {
		t.Fatal(err)
	}
	if want := (tr.Len() + 9) / 10; len(act.Records) != want {
		t.Errorf("%d records, want %d", len(act.Records), want)
	}
	for i, r := range act.Records {
		if got, want := r.GetEnhancedSpeedScaled(), tr.Value(recording.Speed, 10*i); math.Abs(got-want) > 0.00051 {
			t.Fatalf("record %d: %.3f m/s, want %.4f", i, got, want)
		}
	}
	decoded, err := decoder.New(bytes.NewReader(buf.Bytes())).Decode()
	if err != nil {
		t.Fatal(err)
	}
	var fixes, samples, correlations int
	for i := range decoded.Messages {
		m := &decoded.Messages[i]
		switch m.Num {
		case typedef.MesgNumGpsMetadata:
			g := mesgdef.NewGpsMetadata(m)
			want := tr.At(fixes)
			if math.Abs(g.EnhancedSpeedScaled()-want.Q[recording.Speed]) > 0.00051 {
				t.Fatalf("gps_metadata %d: %.3f m/s, want %.4f", fixes, g.EnhancedSpeedScaled(), want.Q[recording.Speed])
			}
			if ms := want.Time.Nanosecond() / 1e6; int(g.TimestampMs) != (ms+250)%1000 {
				t.Fatalf("gps_metadata %d has %d ms, want %d after power-on", fixes, g.TimestampMs, (ms+250)%1000)
			}
			fixes++
		case typedef.MesgNumAccelerometerData:
			samples += len(mesgdef.NewAccelerometerData(m).AccelX)
		case typedef.MesgNumTimestampCorrelation:
			correlations++
		}
	}
	if fixes != tr.Len() || samples != rec.Accel.Len() || correlations != 1 {
		t.Errorf("%d fixes, %d samples, %d correlations; want %d, %d, 1", fixes, samples, correlations, tr.Len(), rec.Accel.Len())
	}
}

func TestCSV(t *testing.T) {
	rec := testRecording(t, Receiver{Noise: 0.05, Hold: 0.3})
	var buf bytes.Buffer
	if err := WriteCSV(&buf, rec, CSVOptions{KMH: true}); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&buf).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	tr := rec.Primary()
	if len(rows) != tr.Len()+1 {
		t.Fatalf("%d rows for %d fixes", len(rows), tr.Len())
	}
	for i, row := range rows[1:] {
		v, err := strconv.ParseFloat(row[1], 64)
		if err != nil || math.Abs(v*unit.KMH-tr.Value(recording.Speed, i)) > 2e-5 {
			t.Fatalf("row %d: %q (%v), want %.5f m/s", i+2, row[1], err, tr.Value(recording.Speed, i))
		}
		if f := tr.At(i); (row[2] == "") == f.Has(recording.Course) {
			t.Fatalf("row %d: course %q", i+2, row[2])
		}
	}
}

func TestGPX(t *testing.T) {
	rec := testRecording(t, Receiver{Noise: 0.05})
	var buf bytes.Buffer
	if err := WriteGPX(&buf, rec); err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Points []struct {
			Lat   float64 `xml:"lat,attr"`
			Time  string  `xml:"time"`
			Speed float64 `xml:"extensions>TrackPointExtension>speed"`
		} `xml:"trk>trkseg>trkpt"`
	}
	if err := xml.Unmarshal(buf.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	tr := rec.Primary()
	if len(doc.Points) != tr.Len() {
		t.Fatalf("%d points for %d fixes", len(doc.Points), tr.Len())
	}
	for i, p := range doc.Points {
		if math.Abs(p.Speed-tr.Value(recording.Speed, i)) > 6e-5 || math.Abs(p.Lat-tr.Value(recording.LatDeg, i)) > 1e-9 {
			t.Fatalf("point %d differs: %+v", i, p)
		}
		if want := tr.TimeAt(i).Format("2006-01-02T15:04:05.000Z"); p.Time != want {
			t.Fatalf("point %d at %s, want %s", i, p.Time, want)
		}
	}
}
