package gpx

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"golang.org/x/text/encoding/unicode"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

const head11 = `<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1" xmlns:a="urn:a"><trk><trkseg>
`
const tail = "</trkseg></trk></gpx>\n"

func pt(at, inside string) string {
	return `<trkpt lat="50.5" lon="-7.25"><time>` + at + `</time>` + inside + "</trkpt>\n"
}

func TestSpeedFromExtensions(t *testing.T) {
	for name, inside := range map[string]string{
		"a wrapper in a namespace": `<extensions><a:TrackPointExtension><a:speed>12.5</a:speed><a:course>271.5</a:course></a:TrackPointExtension></extensions>`,
		"bare":                     `<extensions><speed>12.5</speed><course>271.5</course></extensions>`,
		"two makers, first kept":   `<extensions><a:speed>12.5</a:speed><b:speed>45</b:speed><c:course>271.5</c:course></extensions>`,
		"GPX 1.0":                  `<course>271.5</course><speed>12.5</speed>`,
		"spaces and CDATA":         "<extensions><a:speed>\n <![CDATA[12.5]]> </a:speed><a:course> 271.5 </a:course></extensions>",
		"a comment inside":         `<speed>12<!-- x -->.5</speed><course>271.5</course>`,
	} {
		t.Run(name, func(t *testing.T) {
			tr := read(t, head11+pt("2026-05-09T08:30:00Z", inside)+tail).Primary()
			f := tr.At(0)
			if tr.Source != recording.GNSS || f.Q[recording.Speed] != 12.5 || f.Q[recording.Course] != 271.5 || tr.SpeedStep != 0.1 || tr.SpeedUnit != 1 {
				t.Errorf("%s: %v, step %g", tr.Source, f.Q, tr.SpeedStep)
			}
			if f.Q[recording.LatDeg] != 50.5 || f.Q[recording.LonDeg] != -7.25 {
				t.Errorf("position %v", f.Q)
			}
		})
	}
}

func TestNoSpeed(t *testing.T) {
	rec := read(t, head11+pt("2026-05-09T08:30:00Z", "<ele>81.25</ele><sat>11</sat><hdop>0.9</hdop>")+pt("2026-05-09T08:30:01Z", "<speed/>")+tail)
	tr := rec.Primary()
	f := tr.At(0)
	if tr.Source != recording.Position || tr.Has(recording.Speed) || count(rec, "no-speed", diag.Note) != 1 {
		t.Errorf("%s, %v", tr.Source, rec.Problems.Groups())
	}
	if f.Q[recording.Altitude] != 81.25 || f.Q[recording.Satellites] != 11 || f.Q[recording.HDOP] != 0.9 {
		t.Errorf("%v", f.Q)
	}
}

func TestTimes(t *testing.T) {
	for in, want := range map[string]string{
		"2026-05-09T08:30:00Z":           "2026-05-09T08:30:00Z",
		"2026-05-09T08:30:00.25Z":        "2026-05-09T08:30:00.25Z",
		"2026-05-09T08:30:00.123456789Z": "2026-05-09T08:30:00.123456789Z",
		"2026-05-09T10:30:00.5+02:00":    "2026-05-09T08:30:00.5Z",
		"2026-05-08T23:30:00-09:00":      "2026-05-09T08:30:00Z",
		" 2026-05-09T08:30:00Z\n":        "2026-05-09T08:30:00Z",
		"2026-05-09T08:30:00":            "2026-05-09T08:30:00Z",
		"2026-05-09T08:30:61Z":           "",
		"2026-02-30T08:30:00Z":           "",
		"0000-00-00T00:00:00Z":           "",
		"yesterday":                      "",
	} {
		got, _, _, ok := parseTime([]byte(strings.TrimSpace(in)))
		if ok != (want != "") || ok && got.Format(time.RFC3339Nano) != want {
			t.Errorf("%q is %v (%v), want %s", in, got, ok, want)
		}
	}
	rec := read(t, head11+pt("2026-05-09T08:30:00.125", "")+pt("2026-05-09T08:30:01.25", "")+tail)
	if count(rec, "no-zone", diag.Note) != 1 || rec.Primary().TimeStep != time.Millisecond {
		t.Errorf("%v, step %v", rec.Problems.Groups(), rec.Primary().TimeStep)
	}
}

func TestOrder(t *testing.T) {
	text := head11
	for _, s := range []string{"00", "01", "01", "03", "02", "04"} {
		text += pt("2026-05-09T08:30:"+s+"Z", "<speed>1</speed>")
	}
	text += "</trkseg>\n<trkseg>" + pt("2026-05-09T08:30:08Z", "") + "</trkseg></trk>\n<trk><trkseg>" + pt("2026-05-09T08:30:12Z", "") + tail
	rec := read(t, text)
	if n := rec.Primary().Len(); n != 7 || count(rec, "time-repeated", diag.Dropped) != 1 || count(rec, "time-order", diag.Note) != 1 {
		t.Errorf("%d fixes, %v", n, rec.Problems.Groups())
	}
	for _, g := range rec.Problems.Groups() {
		if g.Kind == "time-repeated" && g.First().Line != 5 || g.Kind == "time-order" && g.First().Line != 7 {
			t.Errorf("%s at line %d", g.Kind, g.First().Line)
		}
	}
	if len(rec.Marks) != 2 || rec.Marks[0].Text != "a segment begins" || rec.Marks[1].Text != "a track begins" {
		t.Errorf("marks %v", rec.Marks)
	}
	// Segments in another order are sorted.
	rec = read(t, head11+pt("2026-05-09T08:31:00Z", "")+"</trkseg><trkseg>"+pt("2026-05-09T08:30:00Z", "")+pt("2026-05-09T08:30:01Z", "")+tail)
	if tr := rec.Primary(); tr.Len() != 3 || tr.TimeAt(0).Minute() != 30 || count(rec, "segment-order", diag.Note) != 1 {
		t.Errorf("%d fixes, %v", tr.Len(), rec.Problems.Groups())
	}
	// A single wrong date costs itself only.
	rec = read(t, head11+pt("2026-05-09T08:30:00Z", "")+pt("2062-05-09T08:30:01Z", "")+pt("2026-05-09T08:30:02Z", "")+tail)
	if rec.Primary().Len() != 2 || count(rec, "time-leap", diag.Dropped) != 1 {
		t.Errorf("%d fixes, %v", rec.Primary().Len(), rec.Problems.Groups())
	}
}

func TestBrokenXML(t *testing.T) {
	a, b, c := pt("2026-05-09T08:30:00Z", ""), pt("2026-05-09T08:30:01Z", ""), pt("2026-05-09T08:30:02Z", "")
	for name, x := range map[string]struct {
		text  string
		fixes int
		kind  string
		line  int
	}{
		"cut in a point":         {head11 + a + b + c[:30], 2, "truncated", 5},
		"cut in a tag":           {head11 + a + b + c + "</trk", 3, "truncated", 6},
		"no end":                 {head11 + a + b + c, 3, "truncated", 6},
		"broken in the middle":   {head11 + a + `<trkpt lat="1" <<< lon` + "\n" + b + c + tail, 3, "xml", 4},
		"broken tail":            {head11 + a + b + "<&&&<<", 2, "xml", 5},
		"end tag lost":           {head11 + a + `<trkpt lat="1" lon="2"><time>2026-05-09T08:30:00.5Z</time>` + "\n" + b + c + tail, 3, "point", 4},
		"no time":                {head11 + a + `<trkpt lat="1" lon="2"></trkpt>` + "\n" + b + tail, 2, "no-time", 4},
		"latitude out of range":  {head11 + a + `<trkpt lat="91" lon="2"><time>2026-05-09T08:30:01Z</time><speed>3</speed></trkpt>` + "\n" + tail, 2, "value", 4},
		"not a number":           {head11 + a + pt("2026-05-09T08:30:01Z", "<speed>NaN</speed>") + tail, 2, "value", 4},
		"NUL and stray bytes":    {head11 + a + "\x00\x00\xff" + b + tail, 2, "bytes", 0},
		"beginning lost":         {`9" lon="5"/>` + "\n" + a + b + tail, 2, "", 0},
		"undefined entity":       {head11 + a + pt("2026-05-09T08:30:01Z", "<name>&x;&lt;</name>") + tail, 2, "", 0},
		"entity expansion":       {`<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>` + head11 + pt("2026-05-09T08:30:00Z", "<name>&b;</name>") + tail, 1, "", 0},
		"a token without an end": {head11 + a + "<!-- " + strings.Repeat("x", 3<<20) + "\n" + b + tail, 2, "xml", 4},
	} {
		t.Run(name, func(t *testing.T) {
			rec := read(t, x.text)
			if n := rec.Primary().Len(); n != x.fixes {
				t.Errorf("%d fixes, want %d", n, x.fixes)
			}
			found := x.kind == ""
			for _, g := range rec.Problems.Groups() {
				if g.Kind == x.kind {
					found = true
					if g.First().Line != x.line {
						t.Errorf("%s at line %d, want %d", g.Kind, g.First().Line, x.line)
					}
				}
			}
			if !found {
				t.Errorf("%s is not told", x.kind)
			}
		})
	}
}

func TestEncodings(t *testing.T) {
	text := head11 + pt("2026-05-09T08:30:00Z", "<speed>2</speed><name>Straße</name>") + tail
	wide, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(strings.Replace(text, "UTF-8", "UTF-16", 1))
	if err != nil {
		t.Fatal(err)
	}
	latin := strings.Replace(strings.Replace(text, "UTF-8", "ISO-8859-1", 1), "ß", "\xdf", 1)
	for name, in := range map[string]string{"UTF-8": text, "with a mark": "\xef\xbb\xbf" + text, "UTF-16": wide, "Latin 1": latin,
		"Latin 1, not said": strings.Replace(text, "ß", "\xdf", 1), "unknown": strings.Replace(text, "UTF-8", "x-own", 1)} {
		rec := read(t, in)
		if rec.Primary().Value(recording.Speed, 0) != 2 || Sniff([]byte(in)) < 80 {
			t.Errorf("%s: %v, sniffed with %d", name, rec.Primary().At(0), Sniff([]byte(in)))
		}
	}
}

func TestNoLog(t *testing.T) {
	for name, text := range map[string]string{
		"empty": "", "text": "hello", "no points": head11 + tail, "HTML": "<html><body>x</body></html>",
		"way-points only": strings.ReplaceAll(head11+pt("2026-05-09T08:30:00Z", "")+tail, "trkpt", "wpt"),
	} {
		rec, err := Read(context.Background(), strings.NewReader(text), "", Options{})
		if err == nil || rec == nil {
			t.Errorf("%s: no error", name)
		}
	}
	for _, s := range []string{"", "hello", "<html>", "$GPRMC,1", "time,speed"} {
		if Sniff([]byte(s)) != 0 {
			t.Errorf("%q is told for GPX", s)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Read(ctx, strings.NewReader(head11+pt("2026-05-09T08:30:00Z", "")+tail), "", Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	broken := errors.New("the disk fails")
	if _, err := Read(context.Background(), iotest.ErrReader(broken), "", Options{}); !errors.Is(err, broken) {
		t.Errorf("broken: %v", err)
	}
}

func TestNumber(t *testing.T) {
	for in, want := range map[string]float64{"12.50": 12.5, "-0.5": -0.5, "1e2": 100, "+7": 7} {
		if v, _, ok := number([]byte(in)); !ok || v != want {
			t.Errorf("%q is %g", in, v)
		}
	}
	for _, in := range []string{"", "NaN", "Inf", "0x10", "1_000", "1,5", "12 km/h", "1e999"} {
		if v, _, ok := number([]byte(in)); ok {
			t.Errorf("%q is read as %g", in, v)
		}
	}
	if !math.IsNaN(recording.NewFix(time.Time{}).Q[0]) {
		t.Error("a new fix is not empty")
	}
}
