package csv

import (
	"bytes"
	"context"
	"fmt"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fromrest/pkg/recording"
)

func TestParseMapping(t *testing.T) {
	m, err := ParseMapping(`time=utc_ms:ms, speed="Speed, GPS: raw":km/h,lat=Lat,ax=#3:g`)
	if err != nil {
		t.Fatal(err)
	}
	want := []MappedColumn{{"time", "utc_ms", "ms", ""}, {"speed", "Speed, GPS: raw", "km/h", ""}, {"lat", "Lat", "", ""}, {"ax", "#3", "g", ""}}
	if d := cmp.Diff(want, m.Columns); d != "" {
		t.Error(d)
	}
	for in, want := range map[string]string{
		"speed":                 "has no =",
		"velocity=Speed":        `"velocity" is no role`,
		"speed=Speed:furlongs":  `"furlongs" is no unit`,
		"time=t:km/h":           `"km/h" is no unit`,
		`speed="Speed`:          "not closed",
		"speed=":                "no column is named",
		`speed="Speed"x,time=t`: "follows a quoted column",
	} {
		if _, err := ParseMapping(in); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v, want %s", in, err, want)
		}
	}
}

func TestMappingFile(t *testing.T) {
	const text = `# airfield box, firmware 3
delimiter = ";"
decimal = ","
header = 2
date-order = "mdy"

[columns]
time = "Uhr:tod"
date = "Tag"
speed = {column = "V", unit = "mph", source = "wheel"}
`
	dir := t.TempDir()
	path := filepath.Join(dir, "box.toml")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	table := "box 3\nTag;Uhr;V;W\n" + rowsOf("06/05/2026;12:00:%02d,5;%d,0;1\n", 30, func(i int) []any { return []any{i, i} })
	rec, err := Read(context.Background(), strings.NewReader(table), "log.csv", Options{Columns: path})
	if err != nil {
		t.Fatal(err)
	}
	tr := rec.Primary()
	if tr.Source != recording.Wheel || tr.Len() != 30 || tr.SpeedUnit != 0.44704 {
		t.Errorf("%s, %d fixes, unit %v", tr.Source, tr.Len(), tr.SpeedUnit)
	}
	if got := tr.TimeAt(0).Format("2006-01-02T15:04:05.0"); got != "2026-06-05T12:00:00.5" {
		t.Errorf("begins %s", got)
	}
	for in, want := range map[string]string{
		"delimiter = \";\"\ncolour = 3\n":                   `x.toml: line 2: unknown key "colour"`,
		"[columns]\nspeed = {column=\"a\", units=\"b\"}\n":  `unknown key "units"`,
		"[columns]\ntime = \"t:s\"\nvelocity = \"V:mph\"\n": `x.toml: line 3: "velocity" is no role`,
		"header = = 1\n":    "x.toml: line 1:",
		"decimal = \"x\"\n": `decimal "x" is neither`,
	} {
		if _, err := ReadMapping(strings.NewReader(in), "x.toml"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, want %s", in, err, want)
		}
	}
	if _, err := Read(context.Background(), strings.NewReader(table), "log.csv", Options{Columns: "speed=Q:km/h"}); err == nil ||
		!strings.Contains(err.Error(), `no column "Q"; columns are`) {
		t.Errorf("error %v", err)
	}
}

// A table written in any dialect reads back as the same fixes.
func TestAnyDialectReadsBack(t *testing.T) {
	rng := rand.New(rand.NewSource(3))
	speeds := map[string]float64{"km/h": 3.6, "m/s": 1, "mph": 1 / 0.44704, "kn": 3600.0 / 1852}
	names := []string{"km/h", "m/s", "mph", "kn"}
	for range 150 {
		delim := []string{",", ";", "\t", "|"}[rng.Intn(4)]
		dec := delim != "," && rng.Intn(2) == 0
		unitName := names[rng.Intn(4)]
		eol := []string{"\n", "\r\n", "\r"}[rng.Intn(3)]
		timeForm, quote, trailing := rng.Intn(5), rng.Intn(3) == 0, rng.Intn(3) == 0
		swap := rng.Intn(2) == 0
		rows := drive([]float64{5, 10, 20, 25}[rng.Intn(4)], 300)
		cell := func(s string, number bool) string {
			if dec && number {
				s = comma(s)
			}
			if quote {
				s = `"` + s + `"`
			}
			return s
		}
		var b strings.Builder
		line := func(a, c string) {
			if swap {
				a, c = c, a
			}
			b.WriteString(a + delim + c)
			if trailing {
				b.WriteString(delim)
			}
			b.WriteString(eol)
		}
		heads := []string{"Time (s)", "time_ms", "timestamp", "UTC", "t [us]"}
		line(cell(heads[timeForm], false), cell("Speed ["+unitName+"]", false))
		for _, m := range rows {
			var ts string
			switch timeForm {
			case 0:
				ts = cell(fmt.Sprintf("%.3f", m.t), true)
			case 1:
				ts = cell(fmt.Sprintf("%d", m.at.UnixMilli()), true)
			case 2:
				ts = cell(m.at.Format("2006-01-02T15:04:05.000Z"), false)
			case 3:
				ts = cell(m.at.Format("15:04:05.000"), false)
			default:
				ts = cell(fmt.Sprintf("%.0f", m.t*1e6), true)
			}
			line(ts, cell(fmt.Sprintf("%.3f", m.v*speeds[unitName]), true))
		}
		what := fmt.Sprintf("delimiter %q, decimal comma %v, %s, end %q, time %d, quotes %v, trailing %v, swapped %v",
			delim, dec, unitName, eol, timeForm, quote, trailing, swap)
		rec, err := Read(context.Background(), bytes.NewReader([]byte(b.String())), "log.csv", Options{})
		if err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		tr := rec.Primary()
		if tr.Len() != len(rows) {
			t.Errorf("%s: %d fixes", what, tr.Len())
			continue
		}
		l := logger{tol: 0.0006, clock: rec.Clock}
		if checkDrive(t, &l, tr, rows); t.Failed() {
			t.Fatal(what)
		}
	}
}
