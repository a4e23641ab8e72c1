package format

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/format/csv"
	"fromrest/pkg/format/jsonlines"
	"fromrest/pkg/recording"
)

// The first line of reports is the example of gpsd_json(5), gpsd 3.25; the others have
// its keys.
func TestReportsOfGPSD(t *testing.T) {
	var b strings.Builder
	b.WriteString(`{"class":"VERSION","release":"3.25","rev":"3.25","proto_major":3,"proto_minor":15}` + "\n")
	b.WriteString(`{"class":"TPV","device":"stdin","time":"2010-04-30T11:48:20.10Z","ept":0.005,"lat":46.498204497,"lon":7.568061439,"altMSL":1327.689,"epx":15.319,"epy":17.054,"epv":124.484,"track":10.3797,"speed":0.091,"climb":-0.085,"eps":34.11,"mode":3}` + "\n")
	b.WriteString(`{"class":"SKY","device":"stdin","satellites":[{"PRN":23,"el":6,"az":84,"ss":0,"used":false}]}` + "\n")
	b.WriteString(`{"class":"TPV","device":"stdin","mode":1}` + "\n")
	for i := range 40 {
		fmt.Fprintf(&b, `{"class":"TPV","device":"stdin","time":"2010-04-30T11:48:%02d.%d0Z","lat":46.498,"lon":7.568,"speed":%.3f,"mode":3}`+"\n", 21+i/10, i%10, float64(i)/10)
	}
	b.WriteString(`{"class":"TPV","device":"std` + "\n")
	log, err := Read(t.Context(), strings.NewReader(b.String()), "gpsd.json", Options{})
	if err != nil {
		t.Fatal(err)
	}
	rec := log.Recording
	tr := rec.Primary()
	f := tr.At(0)
	if rec.Format != "json" || tr.Len() != 41 || rec.Clock != "utc" || f.Q[recording.Speed] != 0.091 || f.Q[recording.LatDeg] != 46.498204497 ||
		f.Q[recording.Course] != 10.3797 || f.Q[recording.Altitude] != 1327.689 || f.Time.Format("15:04:05.00") != "11:48:20.10" || !math.IsNaN(tr.Value(recording.Course, 1)) {
		t.Errorf("%s: %d fixes, first %+v", rec.Format, tr.Len(), f)
	}
	got := map[string]int{}
	for _, g := range rec.Problems.Groups() {
		got[fmt.Sprintf("%s %d %s", g.Kind, g.Count, g.First().Place())]++
	}
	if got["no-fix 1 line 4"] != 1 || got["row 1 line 45"] != 1 {
		t.Errorf("problems %v", got)
	}
}

// Lines of JSON of any logger, and an array with a line for each object.
func TestLinesOfJSON(t *testing.T) {
	var lines []string
	for i := range 50 {
		lines = append(lines, fmt.Sprintf(`{"ts":%d,"note":"a\tb","gps":{"lat":52.1,"lon":1.2,"speed_kmh":%g},"acc":[1,{"x":[2]}],"ok":true}`, 1781430000000+100*i, 3.6*float64(i)))
	}
	for name, in := range map[string]string{
		"lines": strings.Join(lines, "\n") + "\n", "array": "[\n" + strings.Join(lines, ",\n") + "\n]\n", "mark": "\xef\xbb\xbf" + strings.Join(lines, "\r\n"),
	} {
		log, err := Read(t.Context(), strings.NewReader(in), "x", Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		tr := log.Recording.Primary()
		if tr.Len() != 50 || math.Abs(tr.Value(recording.Speed, 49)-49) > 1e-9 || tr.TimeAt(49).UnixMilli() != 1781430004900 || tr.Value(recording.LatDeg, 0) != 52.1 {
			t.Errorf("%s: %d fixes, %v", name, tr.Len(), tr.At(tr.Len()-1))
		}
	}
	for name, in := range map[string]string{"no speed": strings.Repeat(`{"a":"b"}`+"\n", 20), "one object": `{"speed":1,"time":2}`, "deep": strings.Repeat(`{"a":`, 5000) + "1" + strings.Repeat("}", 5000)} {
		if log, err := Read(t.Context(), strings.NewReader(in), "x", Options{}); err == nil {
			t.Errorf("%s: read as %s", name, log.Recording.Format)
		}
	}
}

// FuzzObjects reads any bytes as lines of JSON: no panic, fixes in order.
func FuzzObjects(f *testing.F) {
	f.Add([]byte(`{"class":"TPV","time":"2010-04-30T11:48:20.10Z","speed":0.091,"mode":3}` + "\n"))
	f.Add([]byte(`{"ts":1,"speed_kmh":2}` + "\n" + `{"ts":2,"speed_kmh":2}` + "\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		rec, _ := jsonlines.Read(t.Context(), strings.NewReader(string(b)), "x", csv.Options{})
		if rec == nil {
			return
		}
		for _, tr := range rec.Tracks {
			for i := 1; i < tr.Len(); i++ {
				if tr.NanoAt(i) <= tr.NanoAt(i-1) {
					t.Fatal("fixes are not in order")
				}
			}
		}
	})
}
