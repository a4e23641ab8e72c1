package main

import (
	"archive/zip"
	"bytes"
	"compress/zlib"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"

	"fromrest/pkg/synth"
)

// What the logs of the test hold and no output may have.
const (
	secretLat, secretLon = 52.837461, -21.946583
	secretSerial         = "KX88-4417902"
	secretFolder         = "home-of-tess"
)

// secrets are the notations of a place, from which no output may have any, and the rest that it
// may not have. What is on the site differs from the place in the third decimal of a degree.
func secrets() map[string]*regexp.Regexp {
	out := map[string]*regexp.Regexp{"a serial number": regexp.MustCompile(`KX88|4417902`), "a folder": regexp.MustCompile(secretFolder + `|` + regexp.QuoteMeta(os.TempDir()+"/"))}
	for name, x := range map[string]float64{"a latitude": secretLat, "a longitude": secretLon} {
		x = math.Abs(x)
		deg, min := math.Floor(x), 60*(x-math.Floor(x))
		near := func(x float64, digits int) string { // the last digit one less to one more
			scale := math.Pow10(digits)
			var any []string
			for d := -1.; d <= 1; d++ {
				s := fmt.Sprintf("%.*f", digits, (math.Floor(x*scale)+d)/scale)
				any = append(any, strings.Replace(s, ".", "[.,]", 1))
			}
			return "(?:" + strings.Join(any, "|") + ")"
		}
		out[name+" in degrees"] = regexp.MustCompile(`\b` + near(x, 2) + `[0-9]{3,}`)
		out[name+" in degrees and minutes"] = regexp.MustCompile(fmt.Sprintf(`\b0?%.0f(?:°|º| )?\s*%s[0-9]+`, deg, near(min, 0)+`[.,][0-9]{2}`))
		out[name+" in degrees, minutes and seconds"] = regexp.MustCompile(fmt.Sprintf(`\b%.0f\s*[°º]\s*%s\s*['′’]`, deg, near(min, 0)))
		out[name+" in radians"] = regexp.MustCompile(`\b` + near(x*math.Pi/180, 4) + `[0-9]{3,}`)
		semi := fmt.Sprintf("%.0f", x/180*(1<<31))
		out[name+" in semicircles"] = regexp.MustCompile(`\b` + semi[:len(semi)-5] + `[0-9]{5}\b`)
		whole := fmt.Sprintf("%.0f", x*1e7)
		out[name+" in units of 1e-7 degrees"] = regexp.MustCompile(`\b` + whole[:len(whole)-5] + `[0-9]{5}\b`)
	}
	return out
}

// revealed lists what of the secrets is in some bytes, unpacked where they are packed.
func revealed(t *testing.T, name string, data []byte) (found []string) {
	t.Helper()
	all := append([]byte(nil), data...)
	if z, err := zip.NewReader(bytes.NewReader(data), int64(len(data))); err == nil {
		for _, f := range z.File {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			b, _ := io.ReadAll(r)
			all = append(all, b...)
		}
	}
	for rest := data; strings.HasSuffix(name, ".pdf"); {
		_, after, ok := bytes.Cut(rest, []byte("stream\n"))
		if !ok {
			break
		}
		if z, err := zlib.NewReader(bytes.NewReader(after)); err == nil {
			b, _ := io.ReadAll(z)
			all = append(all, b...)
		}
		rest = after
	}
	for what, re := range secrets() {
		if m := re.Find(all); m != nil {
			found = append(found, fmt.Sprintf("%s: %q", what, m))
		}
	}
	slices.Sort(found)
	return found
}

// secretLogs are logs that hold a place, a serial number and cells that cannot be read, in a folder
// that says whose it is.
func secretLogs(t *testing.T) (dir string, logs []string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), secretFolder)
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for i, mode := range []string{"calm", "full"} {
		var ev []synth.Event
		for k := range 4 {
			ev = append(ev, synth.Event{Kind: synth.Start, Vehicle: synth.Van(mode), Reverse: k%2 == 1})
		}
		s, err := synth.Scenario{Begin: time.Date(2026, 5, 9, 9, 40*i, 0, 0, time.UTC), HeadingDeg: 64, LatDeg: secretLat, LonDeg: secretLon,
			Variation: synth.Variation{Power: 0.01, Distance: 430}, Events: ev}.Simulate(uint64(7 + i))
		if err != nil {
			t.Fatal(err)
		}
		rec := s.Recording(synth.Receiver{Noise: 0.05, PositionNoise: 0.8}, nil, uint64(i))
		var b bytes.Buffer
		if i == 0 {
			b.WriteString(sentence("GNTXT,01,01,02,SN " + secretSerial))
			err = synth.WriteNMEA(&b, rec, synth.NMEAOptions{})
		} else {
			err = synth.WriteCSV(&b, rec, synth.CSVOptions{})
			spoiled := strings.Split(b.String(), "\n")
			spoiled[40] = strings.Replace(spoiled[40], ",52.8", ",~52.8", 1) // a cell that cannot be read is quoted
			b.Reset()
			b.WriteString(strings.Join(spoiled, "\n"))
		}
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, mode+map[int]string{0: ".nmea", 1: ".csv"}[i])
		if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		if len(revealed(t, path, b.Bytes())) < 2 {
			t.Fatalf("%s holds no place: the search would find nothing", path)
		}
		logs = append(logs, path)
	}
	return dir, logs
}

// sentence is an NMEA sentence with its checksum.
func sentence(s string) string {
	sum := byte(0)
	for i := range len(s) {
		sum ^= s[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", s, sum)
}

// No coordinate, no folder and no serial number is in the bytes of any output, of the command
// line's or of the page's, unless it is a raw log.
func TestOutputsRevealNothing(t *testing.T) {
	dir, logs := secretLogs(t)
	args := []string{"calm=" + logs[0], "full=" + logs[1]}
	sheet := filepath.Join(dir, "vehicle.toml")
	if err := os.WriteFile(sheet, []byte("[vehicle]\nmass_kg = 2080.0\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	to := func(name string) string { return filepath.Join(filepath.Dir(dir), "out-"+name) }
	for _, c := range []struct {
		out     string // written, "" for standard output
		command []string
	}{
		{"", []string{"runs"}}, {"", []string{"runs", "--format", "json"}}, {"", []string{"runs", "--format", "csv"}}, {"", []string{"runs", "--format", "md"}},
		{"", []string{"runs", "--format", "json", "--with-positions"}},
		{"", []string{"check"}}, {"", []string{"check", "--full"}}, {"", []string{"check", "--format", "json"}}, {"", []string{"check", "--columns-found"}},
		{"", []string{"compare"}}, {"", []string{"compare", "--format", "json"}}, {"", []string{"compare", "--format", "md"}},
		{"", []string{"explain", "--sheet", sheet}}, {"", []string{"explain", "--format", "json", "--sheet", sheet}}, {"", []string{"sheet"}},
		{"", []string{"table"}}, {"", []string{"table", "--by", "run", "--format", "csv"}}, {"", []string{"table", "--format", "json"}}, {"", []string{"table", "--format", "latex"}},
		{"", []string{"table", "--format", "methods"}}, {"", []string{"table", "--format", "html"}}, {"t.xlsx", []string{"table", "--format", "xlsx", "-o", to("t.xlsx")}},
		{"r.html", []string{"report", "-o", to("r.html")}}, {"full.html", []string{"report", "--full", "-o", to("full.html")}},
		{"o.svg", []string{"overlay", "-o", to("o.svg"), "--data", to("o.csv")}}, {"o.csv", nil}, {"o.pdf", []string{"overlay", "-o", to("o.pdf")}},
		{"s.svg", []string{"overlay", "--show", "site", "-o", to("s.svg"), "--data", to("s.csv")}}, {"s.csv", nil},
	} {
		var data []byte
		if c.command != nil {
			var stdout, stderr bytes.Buffer
			line := append([]string{"fromrest"}, append(c.command, args...)...)
			if code := run(context.Background(), line, &stdout, &stderr); code != exitDone {
				t.Errorf("%q: %d %s", c.command, code, stderr.String())
				continue
			}
			data = stdout.Bytes()
		}
		if c.out != "" {
			var err error
			if data, err = os.ReadFile(to(c.out)); err != nil {
				t.Error(err)
			}
		}
		if len(data) < 50 {
			t.Errorf("%q gave %q", c.command, data)
		}
		if found := revealed(t, c.out, data); found != nil {
			t.Errorf("%q %s has %s", c.command, c.out, strings.Join(found, "; "))
		}
	}
	sets := to("sets")
	out(t, append([]string{"runs", "--format", "parquet", "--session", "day", "-o", sets}, args...)...)
	for _, set := range []string{"runs", "times", "traces", "means", "differences"} {
		data, err := os.ReadFile(filepath.Join(sets, set, "session=day", "part-0.parquet"))
		if err != nil {
			t.Fatal(err)
		}
		if found := revealed(t, set, data); found != nil {
			t.Errorf("%s.parquet has %s", set, strings.Join(found, "; "))
		}
		f, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range f.Schema().Columns() {
			if n := strings.ToLower(c[0]); strings.Contains(n, "lat") && !strings.Contains(n, "flat") || strings.Contains(n, "lon") && n != "along_m" {
				t.Errorf("%s.parquet has a column %s", set, n)
			}
		}
	}
	page := servePage(t, "", logs...)
	var limits struct{ Exports [][2]string }
	top, _, _ := strings.Cut(page.base, "/sessions/")
	(&localPage{t, top}).json("GET", "/limits", "", &limits)
	if len(limits.Exports) < 15 {
		t.Fatalf("%d exports", len(limits.Exports))
	}
	for _, e := range limits.Exports {
		if found := revealed(t, e[0], page.ask("GET", "/export/"+e[0], "")); found != nil {
			t.Errorf("the page's %s has %s", e[0], strings.Join(found, "; "))
		}
	}
}

// With positions, an output says so and has the way from the start line alone.
func TestWithPositions(t *testing.T) {
	_, logs := secretLogs(t)
	plain, with := out(t, "runs", "--format", "json", logs[0]), out(t, "runs", "--format", "json", "--with-positions", logs[0])
	if strings.Contains(plain, "along_m") || strings.Contains(plain, `"positions"`) {
		t.Error("positions stand in an output that did not ask for them")
	}
	if !strings.Contains(with, `"positions": true`) || strings.Count(with, "along_m") < 3 {
		t.Errorf("positions do not stand in an output that asked for them:\n%.600s", with)
	}
}
