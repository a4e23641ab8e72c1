package format

import (
	"bytes"
	"context"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
)

// drive is a simulated log of about a minute in every format.
func drive(t *testing.T) map[string][]byte {
	t.Helper()
	tr, err := synth.SimulateRun(rand.New(rand.NewPCG(1, 2)), synth.Electric(), synth.Road{}, synth.Variation{})
	if err != nil {
		t.Fatal(err)
	}
	rec := synth.Single(tr, 64, 12).Recording(synth.Receiver{Noise: 0.05, PositionNoise: 1}, &synth.Accelerometer{}, 5)
	out := map[string][]byte{}
	for name, write := range map[string]func(*bytes.Buffer) error{
		"nmea": func(b *bytes.Buffer) error { return synth.WriteNMEA(b, rec, synth.NMEAOptions{}) },
		"csv":  func(b *bytes.Buffer) error { return synth.WriteCSV(b, rec, synth.CSVOptions{}) },
		"gpx":  func(b *bytes.Buffer) error { return synth.WriteGPX(b, rec) },
		"fit":  func(b *bytes.Buffer) error { return synth.WriteFIT(b, rec, synth.FITOptions{}) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(name, err)
		}
		out[name] = b.Bytes()
	}
	return out
}

func stretch(t *testing.T, from, to string) recording.Part {
	t.Helper()
	var p recording.Part
	var err error
	if p.From, err = recording.ParseBound(from, nil); err == nil {
		p.To, err = recording.ParseBound(to, nil)
	}
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// In every format the part is what a cut through the whole gives.
func TestPartIsACutThroughTheWhole(t *testing.T) {
	for name, data := range drive(t) {
		whole, err := Read(context.Background(), bytes.NewReader(data), name, Options{})
		if err != nil {
			t.Fatal(name, err)
		}
		all := whole.Recording.Primary()
		start := all.TimeAt(0)
		from, to := start.Add(10*time.Second), start.Add(20*time.Second)
		for _, p := range []recording.Part{
			stretch(t, "10", "20"),
			stretch(t, from.Format("15:04:05.999999999"), to.Format("15:04:05.999999999")),
			stretch(t, from.Format("2006-01-02T15:04:05.999999999"), "20"),
		} {
			log, err := Read(context.Background(), bytes.NewReader(data), name, Options{Part: Part{Span: p}})
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			n := 0
			tr := log.Recording.Primary()
			for i := range all.Len() {
				if at := all.TimeAt(i); at.Before(from) || !at.Before(to) {
					continue
				}
				if n >= tr.Len() || !tr.TimeAt(n).Equal(all.TimeAt(i)) || tr.Value(recording.Speed, n) != all.Value(recording.Speed, i) {
					t.Fatalf("%s, %v: fix %d is missing or another", name, p, i)
				}
				n++
			}
			if n != tr.Len() || n < 90 {
				t.Errorf("%s, %v: %d fixes, want %d", name, p, tr.Len(), n)
			}
			if a := log.Recording.Accel; name == "fit" && (a.Len() == 0 || a.Len() >= whole.Recording.Accel.Len()) {
				t.Errorf("%s: %d of %d accelerometer samples", name, a.Len(), whole.Recording.Accel.Len())
			}
			if log.SHA256 != whole.SHA256 {
				t.Errorf("%s: the hash is that of a part", name)
			}
		}
		_, err = Read(context.Background(), bytes.NewReader(data), name, Options{Part: Part{Span: stretch(t, "5000", "")}})
		if err == nil || !strings.HasPrefix(err.Error(), name+": no fix from 5000 s to its end: the log goes from 2026-05-09 08:") || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// What lies outside takes no room, and what is wrong there is counted.
func TestPartKeepsNoMore(t *testing.T) {
	for name, data := range drive(t) {
		if name != "nmea" && name != "csv" {
			continue
		}
		lines := bytes.SplitAfter(data, []byte("\n"))
		head := 0
		if name == "csv" {
			head = 1
		}
		long := bytes.Clone(bytes.Join(lines[:head], nil))
		day := time.Date(2026, 6, 14, 9, 0, 0, 0, time.UTC)
		for i := range 60000 { // 100 minutes
			at := day.Add(time.Duration(i) * 100 * time.Millisecond)
			if name == "csv" {
				long = append(long, at.Format("2006-01-02T15:04:05.000Z")...)
				for range bytes.Count(lines[1], []byte(",")) {
					long = append(long, ",1.5"...)
				}
				long = append(long, '\n')
				continue
			}
			s := "$GNRMC," + at.Format("150405.00") + ",A,5200.00000,N,00100.00000,E,3.5,64.0," + at.Format("020106") + ",,,A*00\r\n"
			if i%1000 != 999 {
				s = fix(s)
			}
			long = append(long, s...)
		}
		if name == "csv" {
			long = append(long, "broken\n"...)
		}
		log, err := Read(context.Background(), bytes.NewReader(long), name, Options{Part: Part{Span: stretch(t, "10:00", "10:01")}})
		if err != nil {
			t.Fatal(name, err)
		}
		tr := log.Recording.Primary()
		if c := cap(tr.Col(recording.Speed)); tr.Len() < 590 || tr.Len() > 600 || c > 20000 {
			t.Errorf("%s: %d fixes in room for %d", name, tr.Len(), c)
		}
		if n := log.Recording.Problems.Count(diag.Dropped); n == 0 {
			t.Errorf("%s: nothing is said of what is wrong outside the part", name)
		}
	}
}

func TestOnlyTheTracksAskedFor(t *testing.T) {
	data := drive(t)["fit"]
	for only, want := range map[string]string{
		"gnss":         "gps_metadata record 0",
		"GPS_metadata": "gps_metadata 0",
		"gnss,accel":   "gps_metadata record accel",
	} {
		log, err := Read(context.Background(), bytes.NewReader(data), "x", Options{Part: Part{Tracks: strings.Split(only, ",")}})
		if err != nil {
			t.Errorf("%s: %v", only, err)
			continue
		}
		var got []string
		for _, tr := range log.Recording.Tracks {
			got = append(got, tr.Name)
		}
		last := "0"
		if log.Recording.Accel.Len() > 0 {
			last = "accel"
		}
		if s := strings.Join(append(got, last), " "); s != want {
			t.Errorf("%s: %s, want %s", only, s, want)
		}
	}
	_, err := Read(context.Background(), bytes.NewReader(data), "x", Options{Part: Part{Tracks: []string{"wheel"}}})
	if err == nil || !strings.HasPrefix(err.Error(), "x: no track wheel in it; it has gnss (gps_metadata)") {
		t.Errorf("a track that is not there: %v", err)
	}
}
