package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func render(t *testing.T, f func(io.Writer, *session.Result) error, res *session.Result) string {
	t.Helper()
	var b bytes.Buffer
	if err := f(&b, res); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestGolden pins what each form looks like, so that a change of looks is seen.
func TestGolden(t *testing.T) {
	for name, f := range map[string]func(io.Writer, *session.Result) error{
		"runs.txt": RunsText, "runs.json": RunsJSON, "runs.csv": RunsCSV(document.CSVStyle{}), "runs.md": RunsMarkdown,
		"check.txt": CheckText, "check.json": CheckJSON,
	} {
		t.Run(name, func(t *testing.T) {
			got := render(t, f, sample())
			path := filepath.Join("testdata", name)
			if *update {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(string(want), got); d != "" {
				t.Errorf("-want +got; go test ./pkg/report -update if that is meant\n%s", d)
			}
		})
	}
}

func TestTextStaysWithinTheTerminal(t *testing.T) {
	for name, f := range map[string]func(io.Writer, *session.Result) error{"runs": RunsText, "check": CheckText} {
		for i, line := range strings.Split(render(t, f, sample()), "\n") {
			if n := utf8.RuneCountInString(line); n > document.TextWidth {
				t.Errorf("%s line %d is %d wide: %q", name, i+1, n, line)
			}
		}
	}
}

func TestNumbersAlignOnThePoint(t *testing.T) {
	tt := TimingTable(sample())
	for col := range tt.Columns {
		var b strings.Builder
		if err := document.Text(&b, tt.Cut(col, col+1)); err != nil {
			t.Fatal(err)
		}
		at := -1
		for _, s := range strings.Split(b.String(), "\n") {
			s, _, number := strings.Cut(s, "±")
			if !number {
				continue
			}
			p := utf8.RuneCountInString(s[:strings.LastIndexByte(s, '.')])
			if at >= 0 && p != at {
				t.Errorf("column %d: point at %d, want %d: %q", col, p, at, s)
			}
			at = p
		}
		if at < 0 {
			t.Errorf("column %d has no number", col)
		}
	}
}

// TestTimesComeWithTheirHalfWidth looks at a time that can be worked out by
// hand: 60 mph is 26.8224 m/s, at 3 m/s² that takes 8.9408 s. With ±0.0951 s it
// prints as 8.941 ±0.095.
func TestTimesComeWithTheirHalfWidth(t *testing.T) {
	for name, f := range map[string]func(io.Writer, *session.Result) error{"text": RunsText, "md": RunsMarkdown} {
		if got := render(t, f, sample()); !strings.Contains(got, "8.941 ±0.095") {
			t.Errorf("%s lacks 8.941 ±0.095:\n%s", name, got)
		}
	}
	res := sample()
	for i := range res.Runs[0].Times {
		res.Runs[0].Times[i].U95 = math.NaN()
	}
	if got := render(t, RunsText, res); !strings.Contains(got, "8.941 ±?") {
		t.Errorf("an unknown half-width is not shown as ±?:\n%s", got)
	}
}

func TestJSONFollowsTheContract(t *testing.T) {
	res := sample()
	res.Failed = []*session.InputError{{Path: "x.nmea", Err: errors.New("empty file")}}
	res.Runs[0].MaxSpeed = math.Inf(1)
	text := render(t, RunsJSON, res)
	if regexp.MustCompile(`NaN|Inf`).MatchString(text) {
		t.Error("a number that is not finite was written")
	}
	var d struct {
		Schema string
		Logs   []map[string]any
		Runs   []struct {
			ID, Log, Mode, Kind string
			Launch              struct{ UTC string }
			Counted             *bool
			Heading             *float64 `json:"heading_deg"`
			Times               []map[string]any
			Flags               []struct{ Code, Text string }
		}
		Warnings []string
	}
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		t.Fatal(err)
	}
	if d.Schema != "fromrest.runs/1" || len(d.Logs) != 2 || len(d.Runs) != 4 || len(d.Warnings) != 1 {
		t.Fatalf("schema %q, %d logs, %d runs, %d warnings", d.Schema, len(d.Logs), len(d.Runs), len(d.Warnings))
	}
	for _, k := range []string{"path", "format", "rate_hz", "fixes", "speed_noise_mps", "sha256", "problems"} {
		if _, ok := d.Logs[0][k]; !ok {
			t.Errorf("log lacks %q", k)
		}
	}
	if got := d.Runs[0].Launch.UTC; got != "2026-06-14T09:58:43.123456Z" {
		t.Errorf("launch %q", got)
	}
	if r := d.Runs[3]; r.Counted == nil || *r.Counted || r.Heading != nil || len(r.Flags) != 1 || r.Kind != "standing-start" {
		t.Errorf("excluded run: %+v", r)
	}
	for _, k := range []string{"name", "from", "seconds", "u95_s"} {
		if _, ok := d.Runs[0].Times[0][k]; !ok {
			t.Errorf("time lacks %q", k)
		}
	}
}

func TestCSVIsRFC4180(t *testing.T) {
	text := render(t, RunsCSV(document.CSVStyle{}), sample())
	if strings.Count(text, "\n") != strings.Count(text, "\r\n") {
		t.Error("a line does not end in CR LF")
	}
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	times := 0
	for _, r := range sample().Runs {
		times += len(r.Times) + len(r.Pulls)
	}
	if len(rows) != 1+times {
		t.Errorf("%d rows, want %d", len(rows), 1+times)
	}
	for _, h := range rows[0] {
		if strings.Contains(h, "speed") && !strings.HasSuffix(h, "_mph") || strings.HasPrefix(h, "u95") && !strings.HasSuffix(h, "_s") {
			t.Errorf("column %q lacks its unit", h)
		}
	}
}

func TestSpeedsFollowTheUnits(t *testing.T) {
	res := sample()
	res.Settings.Units = "kmh"
	text := render(t, RunsText, res)
	// 16 s at 3 m/s² end at 48 m/s, 172.8 km/h.
	if !strings.Contains(text, "173 km/h") || !strings.Contains(text, "trap speed, with rollout, km/h") {
		t.Errorf("speeds are not in km/h:\n%s", text)
	}
}

func TestMarkdownCellsStayInTheirTable(t *testing.T) {
	res := sample()
	res.Runs[0].Mode = "a|b"
	text := render(t, RunsMarkdown, res)
	for _, line := range strings.Split(text, "\n") {
		if !strings.HasPrefix(line, "|") {
			continue
		}
		if n := strings.Count(strings.ReplaceAll(line, `\|`, ""), "|"); n != 6 {
			t.Errorf("%d bars in %q", n, line)
		}
	}
}

func TestBrakingRunsHaveTheirOwnTable(t *testing.T) {
	res := sample()
	r := res.Runs[2]
	r.Kind, r.Times, r.Pulls = segment.Braking, nil, nil
	r.Stop = &timing.Stop{InitialSpeed: 28, Distance: 45.678, U95: 0.321, Nominal: 27.7778, Corrected: 44.95, CorU95: 0.33, MFDD: 8.9, MFDDU95: 0.2, Seconds: 3.21, SecU95: 0.05}
	tt := BrakingTable(res)
	if len(tt.Columns) != 1 || len(TimingTable(res).Columns) != 3 {
		t.Fatalf("%d braking, %d timed", len(tt.Columns), len(TimingTable(res).Columns))
	}
	if text := render(t, RunsText, res); !strings.Contains(text, "149.9   ±1.1") {
		t.Errorf("no braking distance:\n%s", text)
	}
}

func TestNothingFoundIsSaid(t *testing.T) {
	res := sample()
	res.Runs = nil
	for name, f := range map[string]func(io.Writer, *session.Result) error{"text": RunsText, "md": RunsMarkdown} {
		if got := render(t, f, res); !strings.Contains(got, "No run was found") {
			t.Errorf("%s: %s", name, got)
		}
	}
}
