package format

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// driven is a log of 60 s at 20 m/s, as a table or as GPX, whose speeds are so many
// times the metres a second.
func driven(form, head, cell string, times float64) string {
	var b strings.Builder
	b.WriteString(head)
	for i := range 600 {
		at := fmt.Sprintf("2026-06-14T10:%02d:%04.1fZ", i/600, float64(i)/10)
		lat := 52 + float64(i)*2/111250 // m to a degree at this latitude
		fmt.Fprintf(&b, form, at, lat, fmt.Sprintf("%.3f%s", 20*times, cell))
	}
	return b.String()
}

const (
	tableRow = "%s,%.8f,1.0,%s\n"
	point    = "<trkpt lat=\"%[2]s\" lon=\"1.0\"><time>%[1]s</time><speed>%[3]s</speed></trkpt>\n"
	gpxHead  = "<?xml version=\"1.0\"?>\n<gpx version=\"1.0\" xmlns=\"http://www.topografix.com/GPX/1/0\"><trk><trkseg>\n"
)

func TestSpeedIsHeldAgainstPositions(t *testing.T) {
	gpx := strings.ReplaceAll(point, "%[2]s", "%.8[2]f")
	head := func(unit string) string { return "time,lat,lon,speed (" + unit + ")\n" }
	for name, c := range map[string]struct {
		in         string
		speedUnit  string
		columns    string
		want       float64 // m/s, 0 where it is refused
		says, flag string
	}{
		"right":                     {in: driven(tableRow, head("km/h"), "", 3.6), want: 20},
		"m/s over km/h":             {in: driven(tableRow, head("m/s"), "", 3.6), says: "speed (speed (m/s)) is 3.6 times what positions say over"},
		"km/h over mph":             {in: driven(tableRow, head("km/h"), "", 1/unit.MPH), says: "is 0.621 times what positions say over"},
		"mph over knots":            {in: driven(tableRow, head("mph"), "", 1/unit.Knot), says: ": kn? say it with --speed-unit kn"},
		"settled by the flag":       {in: driven(tableRow, head("m/s"), "", 3.6), speedUnit: "km/h", want: 20},
		"settled by the mapping":    {in: driven(tableRow, head("m/s"), "", 3.6), columns: "speed=speed (m/s):km/h", want: 20},
		"settled against positions": {in: driven(tableRow, head("m/s"), "", 3.6), speedUnit: "m/s", want: 72, flag: "speed-scale"},
		"tyres":                     {in: driven(tableRow, head("m/s"), "", 1.07), want: 21.4, flag: "speed-scale"},
		"in the cells":              {in: driven(tableRow, "time,lat,lon,speed\n", " km/h", 3.6), want: 20},
		"in the cells, not the head": {in: driven(tableRow, head("m/s"), " mph", 1/unit.MPH), want: 20,
			flag: "unit"},
		"GPX in m/s":              {in: driven(gpx, gpxHead, "", 1), want: 20},
		"GPX in km/h":             {in: driven(gpx, gpxHead, "", 3.6), says: "speed is 3.6 times what positions say over"},
		"GPX in km/h by the flag": {in: driven(gpx, gpxHead, "", 3.6), speedUnit: "km/h", want: 20},
	} {
		if strings.HasPrefix(c.in, "<?xml") {
			c.in += "</trkseg></trk></gpx>\n"
		}
		log, err := Read(t.Context(), strings.NewReader(c.in), "x", Options{SpeedUnit: c.speedUnit, Columns: c.columns})
		if c.want == 0 {
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s: %v, want %s", name, err, c.says)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if v := log.Recording.Primary().Value(recording.Speed, 300); v < c.want*0.999 || v > c.want*1.001 {
			t.Errorf("%s: %.4f m/s, want %g", name, v, c.want)
		}
		flagged := ""
		for _, g := range log.Recording.Problems.Groups() {
			if g.Kind == "speed-scale" || g.Kind == "unit" {
				flagged = g.Kind
			}
		}
		if flagged != c.flag {
			t.Errorf("%s: flagged %q, want %q", name, flagged, c.flag)
		}
	}
}

// No real log is refused for its unit, and where a factor is told it is that of a wheel.
func TestRealLogsAgreeWithTheirPositions(t *testing.T) {
	root := "../../../shared/data"
	if _, err := os.Stat(root); err != nil {
		t.Skip("the folder of real recordings is absent")
	}
	logs, _, _ := Expand([]string{root})
	for _, l := range logs {
		log, err := Open(t.Context(), l.Path, Options{})
		if err != nil {
			if strings.Contains(err.Error(), errUnit.Error()) {
				t.Error(err)
			}
			continue
		}
		for _, g := range log.Recording.Problems.Groups() {
			if g.Kind == "speed-scale" {
				t.Logf("%s: %s", filepath.Base(l.Path), g.First().Text)
			}
		}
	}
}
